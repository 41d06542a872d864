"""A plan with many beams: each site in the beam that asks for least, and nothing else moved."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from siteplan.errors import NetworkError
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.beams.assign import candidates
from siteplan.planning.beams.settings import settings
from siteplan.planning.plan import make_plan
from siteplan.planning.site_budget import site_budgets
from siteplan.results import Plan
from tests.planning.beams.two import EAST, WEST, sites_and_network, with_beams

TODAY = dt.date(2026, 1, 1)
OTHERS = ("other_beam", "other_beam_antenna_m", "other_beam_buc_w", "other_beam_margin_db")


@pytest.fixture(scope="module")
def sample() -> tuple[Sites, Network]:
    return sites_and_network()


def planned(sites: Sites, network: Network, **options: Any) -> Plan:
    return make_plan(sites, network, today=TODAY, **options)


def same(found: Plan, expected: Plan) -> None:
    for name, values in expected.columns.items():
        if name not in {"beam", *OTHERS}:
            np.testing.assert_array_equal(found.columns[name], values, err_msg=name)


def test_one_beam_for_all_is_the_plan_without_beams(sample: tuple[Sites, Network]) -> None:
    sites, network = sample
    plain = planned(sites, network, with_tables=True)
    found = planned(sites, with_beams(network, {"name": "all"}), with_tables=True)
    same(found, plain)
    assert set(found.columns["beam"]) == {"all"}
    assert set(found.columns["other_beam"]) == {""}
    for name, table in plain.tables.items():
        np.testing.assert_array_equal(found.tables[name], table, err_msg=name)
    assert found.facts.remedies == plain.facts.remedies
    assert found.facts.fewest == plain.facts.fewest


@pytest.mark.parametrize("beam", [WEST, EAST], ids=["west", "east"])
def test_a_site_in_a_beam_is_as_in_a_network_of_that_beam_alone(
    sample: tuple[Sites, Network], beam: dict[str, Any]
) -> None:
    """The beam's keys written into the shared tables: another way to the same link."""
    sites, network = sample
    found = planned(sites, with_beams(network, WEST, EAST))
    rows = np.flatnonzero(found.columns["beam"] == beam["name"])
    assert len(rows) > 8
    tables = {
        table: {**{k: getattr(of, k) for k in of.model_fields_set}, **beam.get(table, {})}
        for table in ("outbound", "inbound", "hub")
        for of in (getattr(network, table),)
    }
    given = {k: getattr(network, k) for k in network.model_fields_set} | tables
    alone = planned(sites.take(rows), Network.model_validate(given))
    for name, values in alone.columns.items():
        if values.dtype.kind == "f" and name != "source_row":
            np.testing.assert_allclose(
                found.columns[name][rows], values, rtol=1e-9, atol=1e-9, err_msg=name
            )
    assert found.columns["flags"][rows].tolist() == alone.columns["flags"].tolist()


def test_a_site_in_two_beams_takes_the_one_with_the_smaller_kit(
    sample: tuple[Sites, Network],
) -> None:
    sites, network = sample
    both = with_beams(network, WEST, EAST)
    found = planned(sites, both)
    several = np.flatnonzero(candidates(sites, both, settings(both)[0].footprints).all(axis=1))
    assert len(several) > 3
    alone = {}
    for name in ("west", "east"):
        named = replace(sites, beam=np.full(len(sites), name, dtype=object))
        alone[name] = planned(named, both).columns

    def order(name: str, i: int) -> tuple[Any, ...]:
        c = alone[name]
        fits = not (np.isnan(c["antenna_m"][i]) or np.isnan(c["buc_w"][i]))
        size = (c["antenna_m"][i], c["buc_w"][i]) if fits else (0, 0)
        return (not fits, *size, -round(c["margin_db"][i], 6))

    for i in several.tolist():
        best, other = sorted(("west", "east"), key=lambda name: order(name, i))
        assert found.columns["beam"][i] == best
        assert found.columns["other_beam"][i] == other
        assert found.columns["margin_db"][i] == alone[best]["margin_db"][i]
        for name in ("antenna_m", "buc_w", "margin_db"):
            told = found.columns[f"other_beam_{name}"][i]
            np.testing.assert_equal(told, alone[other][name][i])


def test_equal_beams_go_by_the_order_of_the_file(sample: tuple[Sites, Network]) -> None:
    sites, network = sample
    found = planned(sites, with_beams(network, {"name": "b"}, {"name": "a"}))
    assert set(found.columns["beam"]) == {"b"}
    assert set(found.columns["other_beam"]) == {"a"}
    np.testing.assert_array_equal(found.columns["other_beam_margin_db"], found.columns["margin_db"])


def test_a_named_beam_is_taken_wherever_its_area_ends(sample: tuple[Sites, Network]) -> None:
    sites, network = sample
    named = replace(sites, beam=np.full(len(sites), "east", dtype=object))
    found = planned(named, with_beams(network, WEST, EAST))
    assert set(found.columns["beam"]) == {"east"}
    assert set(found.columns["other_beam"]) == {""}


def test_a_site_in_no_beam_has_no_kit_and_says_so(sample: tuple[Sites, Network]) -> None:
    sites, network = sample
    found = planned(sites, with_beams(network, {**WEST, "major_deg": 0.4, "minor_deg": 0.4}))
    none = found.columns["beam"] == ""
    assert none.any()
    assert not none.all()
    assert all("outside_beam" in flags.split(";") for flags in found.columns["flags"][none])
    for name in ("margin_db", "antenna_m", "outbound_clear_es_n0_db", "satellite_eirp_dbw"):
        stands = ~np.isnan(found.columns["fixed_antenna_m"])
        assert np.isnan(found.columns[name][none & ~stands]).all(), name
    assert not np.isnan(found.columns["elevation_deg"][none]).any()


def test_chunks_give_what_the_whole_gives(
    sample: tuple[Sites, Network], monkeypatch: pytest.MonkeyPatch
) -> None:
    sites, network = sample
    both = with_beams(network, WEST, EAST)
    whole = planned(sites, both, with_tables=True)
    monkeypatch.setattr("siteplan.planning.plan.CHUNK_SITES", 7)
    found = planned(sites, both, with_tables=True)
    assert list(found.columns) == list(whole.columns)
    for name, values in whole.columns.items():
        np.testing.assert_array_equal(found.columns[name], values, err_msg=name)
    for name, table in whole.tables.items():
        np.testing.assert_array_equal(found.tables[name], table, err_msg=name)
    assert found.facts.remedies == whole.facts.remedies
    assert found.facts.fewest == whole.facts.fewest


def test_transits_stand_by_their_sites(sample: tuple[Sites, Network]) -> None:
    """Those of each site as in a plan of that site alone."""
    sites, network = sample
    both = with_beams(network, WEST, EAST)
    tables = planned(sites, both, with_tables=True).tables
    assert (np.diff(tables["sun_site"]) >= 0).all()
    for i in np.unique(tables["sun_site"])[::7].tolist():
        alone = planned(sites.take(np.array([i])), both, with_tables=True).tables
        here = tables["sun_site"] == i
        np.testing.assert_array_equal(tables["sun_start"][here], alone["sun_start"])


def test_budgets_close_on_the_margins_of_every_beam(sample: tuple[Sites, Network]) -> None:
    sites, network = sample
    found = planned(sites, with_beams(network, WEST, EAST))
    index = np.array([int(np.flatnonzero(found.columns["beam"] == b)[0]) for b in ("west", "east")])
    for i, budget in zip(index.tolist(), site_budgets(found, index), strict=True):
        assert budget.margin_db == pytest.approx(found.columns["margin_db"][i], abs=1e-9)
        ends = [way.margin_db for way in budget.ways]
        assert min(ends) == pytest.approx(budget.margin_db, abs=1e-6)


def test_what_the_crew_tunes_to_is_the_beam_s(sample: tuple[Sites, Network]) -> None:
    sites, network = sample
    found = planned(sites, with_beams(network, WEST, EAST))
    at = {b: int(np.flatnonzero(found.columns["beam"] == b)[0]) for b in ("west", "east")}
    received = {b: found.tuning_of(i)[0] for b, i in at.items()}
    assert received["west"].carrier_ghz == network.outbound.downlink_ghz
    assert received["east"].carrier_ghz == 12.3
    assert received["east"].polarization == "horizontal"


def test_beams_with_the_same_carriers_share_a_pass(sample: tuple[Sites, Network]) -> None:
    _, network = sample
    level = {"name": "low", "outbound": {"satellite_eirp_dbw": 45.0}}
    own = [list(of.own) for of in settings(with_beams(network, WEST, EAST, level))]
    assert own == [["west", "low"], ["east"]]


def test_a_caution_names_the_beams_that_it_speaks_of(sample: tuple[Sites, Network]) -> None:
    """Belem's heavy rain without power control is the eastern hub's; an error of pointing all's."""
    sites, network = sample
    wet = {**EAST, "hub": {**EAST["hub"], "power_control_db": 0.0}}
    level = {**wet, "name": "low", "outbound": {**wet["outbound"], "satellite_eirp_dbw": 45.0}}
    coarse = network.terminal.model_copy(update={"pointing_error_deg": 0.6})
    told = planned(sites, with_beams(network, WEST, wet, terminal=coarse)).facts.cautions
    assert [text[:43] for text in told] == [
        "An error of pointing of 0.6 deg leaves the ",
        "In beam east: The hub stands in heavy rain,",
    ]
    three = planned(sites, with_beams(network, WEST, wet, level)).facts.cautions
    assert [text.partition(": The hub")[0] for text in three] == ["In beam east, low"]
    one = planned(sites, with_beams(network, wet)).facts.cautions
    assert [text[:27] for text in one] == ["The hub stands in heavy rai"]


def test_an_area_out_of_sight_is_refused_with_its_beam(sample: tuple[Sites, Network]) -> None:
    _, network = sample
    told = (
        r"^network\.toml, \[\[beams\]\] no\. 2 lat and lon: the satellite at -61 deg does not see"
        r" lat = -4, lon = 120, the centre of beam 'east'\. Check their signs"
    )
    with pytest.raises(NetworkError, match=told):
        settings(with_beams(network, WEST, {**EAST, "lon": 120.0}))
