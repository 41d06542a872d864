"""Every figure that can be assumed has a place in the ranking, in plain words."""

from __future__ import annotations

import pytest

from siteplan.inputs.network.assumed import assumptions
from siteplan.model import Assumption
from siteplan.network import Network
from siteplan.network.reference import network_reference
from siteplan.planning.report.assumed import WEIGHTS, fits, rank_of, ranked, table

KEYS = sorted({f"{r.table}.{'1.' * r.is_list}{r.key}" for r in network_reference()})


@pytest.mark.parametrize("row", table())
def test_rows_are_plain_words(row: tuple[str, str, str, str]) -> None:
    _, weight, label, reason = row
    assert weight in WEIGHTS
    assert "_" not in label + reason
    assert label[0].isupper()


@pytest.mark.parametrize("key", KEYS)
def test_every_key_has_a_row_of_its_own_table(key: str) -> None:
    """The last row holds for what nobody thought of; nothing should need it."""
    assert table()[-1].key == "*"
    assert rank_of(key) < len(table()) - 1


def test_the_most_exact_row_holds() -> None:
    assert table()[rank_of("antennas.2.efficiency")].label == "Efficiency of the antennas"
    assert table()[rank_of("site.wind_m_s")].weight == "shifts"
    assert table()[rank_of("site.pole_rim_m")].key == "site.*"


def test_a_star_stands_for_anything() -> None:
    assert fits("inbound.sfd_dbw_m2", "*bound.sfd_dbw_m2")
    assert fits("antennas.2.gain_dbi", "antennas.*.gain_dbi")
    assert not fits("antennas.2.efficiency", "antennas.*.gain_dbi")
    assert fits("hub.pattern", "hub.pattern")
    assert not fits("hub.pattern_file", "hub.pattern")
    assert not fits("ab", "ab*b"), "what stands before the star is not what stands behind it"


def test_every_assumption_stands_once_the_weightiest_first() -> None:
    network = Network.model_validate({"satellite": {"longitude_deg": -30}})
    given = assumptions(network)
    found = ranked(given)
    keys = [a.key for r in found for a in r.values]
    assert sorted(keys) == sorted(a.key for a in given)
    weights = [WEIGHTS.index(r.weight) for r in found]
    assert weights == sorted(weights)
    assert found[0].label.startswith("Both ways: satellite's power")


def test_ways_that_differ_stand_apart() -> None:
    rate = [Assumption(f"{w}bound.symbol_rate_msps", v, "Msym/s", "") for w, v in
            (("out", "6"), ("in", "0.256"))]  # fmt: skip
    labels = [r.label for r in ranked(rate)]
    assert labels == ["Outbound: symbol rate", "Inbound: symbol rate"]
