"""What the summary says of the clouds: the edition in use, where its maps come from, residuals."""

from __future__ import annotations

import pytest

from siteplan.fields import METHODS
from siteplan.planning.report import clouds
from siteplan.results import Facts

OLDER = Facts(cloud_edition="P.840-7", cloud_maps="of the itur package")
CURRENT = Facts(cloud_edition="P.840-9", cloud_maps="maps of ours")
# Largest differences to P.618-14's own examples [dB], as tests/reference/test_itu_total.py finds.
WITH_OLDER = (
    "0.104 dB at 13.75 GHz, 0.449 dB at 14.25 GHz, 0.145 dB at 17 GHz and 0.880 dB at 20 GHz"
)
WITH_CURRENT = (
    "0.010 dB at 13.75 GHz, 0.041 dB at 14.25 GHz, 0.054 dB at 17 GHz and 0.108 dB at 20 GHz"
)


@pytest.mark.parametrize(("facts", "current"), [(OLDER, False), (CURRENT, True)])
def test_figures_for_the_summary(facts: Facts, current: bool) -> None:
    found = clouds.figures(facts)
    assert found["edition"] == facts.cloud_edition
    assert found["current"] is current
    assert found["maps"] == facts.cloud_maps
    assert found["residual_db"]["14.25 GHz"] == {"P.840-7": 0.449, "P.840-9": 0.041}
    assert list(found["residual_db"]) == ["13.75 GHz", "14.25 GHz", "17 GHz", "20 GHz"]


def test_the_older_maps_limit_says_by_how_much_and_what_would_help() -> None:
    told = clouds.limit(OLDER)
    assert told.startswith("Clouds follow P.840-7's maps,")
    assert f"above the examples by up to {WITH_OLDER}, on the cautious side" in told
    assert "the editions differ there by up to 0.60 dB)" in told
    assert told.endswith(f"they lie within {WITH_CURRENT}.")


def test_the_current_maps_limit_says_where_they_come_from() -> None:
    told = clouds.limit(CURRENT)
    assert told.startswith("Clouds follow P.840-9's maps (maps of ours): totals lie within ")
    assert f"within {WITH_CURRENT} of P.618-14's own examples" in told
    assert told.endswith(f"With P.840-7's maps they lie up to {WITH_OLDER} above them.")


@pytest.mark.parametrize(("facts", "edition"), [(OLDER, "P.840-8"), (CURRENT, "P.840-9")])
def test_the_method_that_holds(facts: Facts, edition: str) -> None:
    assert METHODS[clouds.method(facts)].edition.startswith(f"ITU-R {edition}")
