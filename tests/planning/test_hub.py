"""What the hub's place means for every site: a stop under 5 degrees, cautions above."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.errors import NetworkError
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.planning.report.summary import summarize
from siteplan.results import Plan

#: A dry hub on the equator; the satellite's longitude sets its elevation.
DRY = {"lat": 0.0, "lon": -82.0}
WET = {"lat": 1.35, "lon": 103.8}


def planned(slot_deg: float, hub: dict[str, Any], **tables: Any) -> Plan:
    network = {"satellite": {"longitude_deg": slot_deg}, "hub": hub, **tables}
    return make_plan(
        Sites.at(np.array([2.0]), np.array([slot_deg])), Network.model_validate(network)
    )


def test_a_hub_lower_than_the_methods_hold_stops_the_plan() -> None:
    """P.618 and P.676 hold from 5 degrees: some 76 degrees of longitude on the equator."""
    assert planned(-82 - 75, DRY).facts.hub_elevation_deg == pytest.approx(6.3, abs=0.3)
    with pytest.raises(NetworkError, match=r"sees the satellite at 4\.\d deg: under 5 deg"):
        planned(-82 - 77, DRY)


@pytest.mark.parametrize(("away_deg", "told"), [(70.5, True), (71.5, True), (60.0, False)])
def test_a_low_hub_is_a_caution(away_deg: float, told: bool) -> None:
    plan = planned(-82 - away_deg, DRY)
    low = f"The hub sees the satellite at {plan.facts.hub_elevation_deg:.1f} deg only"
    assert (plan.facts.hub_elevation_deg < 10) == (away_deg > 70.9)
    assert any(low in c for c in plan.facts.cautions) == (plan.facts.hub_elevation_deg < 10)
    if not told:
        assert plan.facts.cautions == ()


@pytest.mark.parametrize(
    ("hub", "rules", "told"),
    [
        (WET, {}, True),
        (WET | {"power_control_db": 0.1}, {}, False),
        (WET, {"hub_outage_share": 0.2}, True),
        (WET, {"hub_outage_share": 0}, False),
        ({"lat": 24.0, "lon": 103.8}, {}, False),
    ],
)
def test_heavy_rain_at_a_hub_without_power_control_is_a_caution(
    hub: dict[str, Any], rules: dict[str, Any], told: bool
) -> None:
    plan = planned(95, hub, rules=rules)
    found = [c for c in plan.facts.cautions if "stands in heavy rain" in c]
    assert len(found) == told
    assert summarize(plan)["cautions"] == list(plan.facts.cautions)


def test_a_hub_that_is_not_placed_is_told_of_first() -> None:
    plan = planned(95, {})
    (told,) = plan.facts.cautions
    assert told.startswith("The hub is not placed: its rain and its part of the outage are in no")
    assert summarize(plan)["cautions"] == [told]
    # Where the sites are to have all of an outage nobody asks for the hub.
    assert planned(95, {}, rules={"hub_outage_share": 0}).facts.cautions == ()
