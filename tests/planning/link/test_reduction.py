"""Power that remotes spare in clear sky: what they turn down, and what a fade gives back."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.arrays import FloatArray
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.link import whatif
from siteplan.planning.link.outage import margin_db
from siteplan.planning.plan import make_plan
from siteplan.planning.setting import setting
from siteplan.results import Plan
from tests.planning.others import with_faint
from tests.planning.worked import Worked, work_out

LAT, LON = np.array([-3.1, 20.0, -30.0, 4.0]), np.array([-60.0, -80.0, -60.0, -61.0])
#: A carrier far under its share that has much to spare; no hub, so that it is the site's rain.
BASE = {
    "satellite": {"longitude_deg": -61},
    "antennas": [{"diameter_m": 2.4}],
    "bucs": [{"rated_w": 2}],
    "inbound": {"sfd_dbw_m2": -80.0, "satellite_g_t_db_k": 8.0, "satellite_eirp_dbw": 58.0},
}
SITES = Sites.at(LAT, LON, fixed_antenna_m=np.full(4, 2.4), fixed_buc_w=np.full(4, 2.0))


def network(reduction: float | None, **tables: Any) -> Network:
    base = {**BASE, **{k: BASE.get(k, {}) | v if isinstance(v, dict) else v
                       for k, v in tables.items()}}  # fmt: skip
    if reduction is not None:
        base["inbound"] = base["inbound"] | {"clear_sky_reduction_db": reduction}
    return Network.model_validate(base)


def plan(reduction: float | None, **tables: Any) -> Plan:
    return make_plan(SITES, network(reduction, **tables), with_tables=True)


def worked(reduction: float, **tables: Any) -> Worked:
    return work_out(SITES, setting(network(reduction, **tables)))


def test_none_is_as_before_to_the_bit() -> None:
    before, after = plan(None), plan(0.0)
    for name, values in before.columns.items():
        np.testing.assert_array_equal(after.columns[name], values, err_msg=name)


@pytest.mark.parametrize("others", [False, True], ids=["alone", "with others"])
def test_clear_sky_falls_by_what_is_turned_down(others: bool) -> None:
    tables = with_faint({"satellite": {"longitude_deg": -61.0}}) if others else {}
    before, after = (plan(x, **tables).columns for x in (0.0, 4.0))
    spared = after["power_cut_db"] - before["power_cut_db"]
    np.testing.assert_allclose(spared, 4.0, atol=1e-9)
    for name in ("inbound_clear_es_n0_db", "inbound_fade_margin_db", "remote_eirp_dbw"):
        np.testing.assert_allclose(before[name] - after[name], spared, atol=1e-9, err_msg=name)
    np.testing.assert_allclose(
        after["power_equivalent_mhz"], before["power_equivalent_mhz"] * 10**-0.4, rtol=1e-9
    )
    assert after["power_cut_by"].tolist() == ["clear_sky_reduction"] * 4
    for name in ("outbound_margin_db", "outbound_clear_es_n0_db"):
        np.testing.assert_array_equal(after[name], before[name], err_msg=name)


def test_a_fade_deeper_than_that_leaves_the_margin_as_it_was() -> None:
    """Nothing is lost at the target: the site's own fade takes no less than was turned down."""
    before, after = (plan(x, network={"availability_pct": 99.9}).columns for x in (0.0, 1.0))
    fade = after["uplink_attenuation_db"] - after["uplink_gas_db"]
    deep = fade > 1.0
    assert deep.sum() >= 3
    np.testing.assert_allclose(
        after["inbound_margin_db"][deep], before["inbound_margin_db"][deep], atol=1e-9
    )
    expected = after["inbound_fade_margin_db"] - np.maximum(fade - after["power_cut_db"], 0)
    np.testing.assert_allclose(after["inbound_margin_db"], expected, atol=1e-9)


def test_clear_sky_keeps_threshold_and_reserve() -> None:
    after = plan(20.0, rules={"reserve_db": 2.5}).columns
    np.testing.assert_allclose(after["inbound_fade_margin_db"], 2.5, atol=2e-6)
    assert np.all(after["inbound_fade_margin_db"] >= 2.5)
    short = plan(20.0, rules={"reserve_db": 20}).columns
    np.testing.assert_array_equal(
        short["power_cut_db"], plan(0.0, rules={"reserve_db": 20}).columns["power_cut_db"]
    )


@pytest.mark.parametrize(("control", "spared"), [(0.0, 0.0), (1.5, 1.5), (9.0, 4.0), (None, 4.0)])
def test_no_more_than_power_control_gives_back(control: float | None, spared: float) -> None:
    terminal = {} if control is None else {"power_control_db": control}
    driven = worked(4.0, terminal=terminal).ways[1].driven
    assert driven.lowered_db is not None
    np.testing.assert_allclose(driven.lowered_db, spared, atol=1e-9)
    np.testing.assert_allclose(driven.raise_db, spared, atol=1e-9)


def test_the_cut_to_the_share_comes_first_and_is_given_back_first() -> None:
    tables: dict[str, Any] = {"inbound": {"sfd_dbw_m2": -100.0}}
    share = worked(0.0, **tables).ways[1].driven
    assert np.all(share.cut_db > 2)
    control = float(share.cut_db.min()) + 1.0
    both = worked(6.0, **tables, terminal={"power_control_db": control}).ways[1].driven
    left = np.maximum(control - share.cut_db, 0.0)
    assert both.lowered_db is not None
    np.testing.assert_allclose(both.lowered_db, left, atol=1e-9)
    np.testing.assert_allclose(both.raise_db, np.minimum(share.cut_db + left, control), atol=1e-9)
    np.testing.assert_allclose(both.cut_db, share.cut_db + left, atol=1e-9)


def test_what_a_mask_takes_is_not_given_back() -> None:
    mask = {"name": "own", "reference_khz": 40, "segments": [[2, 180, 20, 25]]}
    tables: dict[str, Any] = {"masks": [mask], "regulation": {"masks": ["own"]}}
    held, both = (worked(x, **tables).ways[1].driven for x in (0.0, 3.0))
    assert held.held_db is not None
    assert both.lowered_db is not None
    assert np.all(held.held_db > 0.5)
    np.testing.assert_allclose(held.raise_db, 0.0, atol=1e-12)
    np.testing.assert_allclose(both.cut_db, held.held_db + both.lowered_db, atol=1e-9)
    np.testing.assert_allclose(both.raise_db, both.lowered_db, atol=1e-9)
    assert np.all(both.lowered_db > 0)
    found = plan(3.0, **tables).columns
    assert found["power_cut_by"].tolist() == ["own"] * 4


def test_the_hub_s_fade_finds_it_turned_down() -> None:
    tables = {"hub": {"lat": -1.4, "lon": -48.4}}
    before, after = (worked(x, **tables).ways[1] for x in (0.0, 3.0))
    p = np.full(4, 0.05)
    fall = before.hub_db(p) - after.hub_db(p)
    np.testing.assert_allclose(fall, 3.0, atol=1e-9)


def leaking(reduction: float) -> Worked:
    """A hub in the rain, with as much on the other polarization."""
    hub = {"lat": -1.4, "lon": -48.4}
    return worked(reduction, hub=hub, inbound={"cross_polar_level_db": 6})


def test_what_the_hub_s_rain_turns_over_does_not_fall_with_the_carrier() -> None:
    before, after = leaking(0.0).ways[1], leaking(2.0).ways[1]
    for p in (0.01, 0.1, 1.0):
        np.testing.assert_allclose(
            before.hub_db(np.full(4, p)) - after.hub_db(np.full(4, p)), 2.0, atol=1e-9
        )


def test_outage_and_level_of_a_leaking_hub_are_inverse() -> None:
    way = leaking(2.0).ways[1]
    for p in (0.02, 0.2, 2.0):
        level: FloatArray = way.hub_db(np.full(4, p))
        np.testing.assert_allclose(way.hub_outage_pct(level), p, rtol=2e-3)


def test_what_if_holds_what_the_margins_hold() -> None:
    """The tables at the target give the plan's margin; what leaks is set against each carrier."""
    of = leaking(2.0)
    tables = whatif.tables(of.ways, of.split, of.p_pct)
    np.testing.assert_allclose(tables[whatif.LOWERED], 2.0, atol=1e-9)
    np.testing.assert_allclose(margin_db(of.ways[1], of.p_pct), of.sizing.inbound_margin_db)
    assert whatif.LOWERED not in whatif.tables(leaking(0.0).ways, of.split, of.p_pct)


def test_sizing_takes_it_into_account() -> None:
    """A hub in heavy rain: where remotes stay turned down in its fade, they need more kit."""
    sites = Sites.at(np.linspace(-12, 12, 60), np.linspace(-75, -50, 60))
    tables = {
        "satellite": {"longitude_deg": -61},
        "hub": {"lat": -1.4, "lon": -48.4, "power_control_db": 20},
        "outbound": {"satellite_eirp_dbw": 53},
    }

    def made(reduction: float) -> Any:
        way = {"clear_sky_reduction_db": reduction, "sfd_dbw_m2": -84, "satellite_g_t_db_k": 3}
        key: dict[str, Any] = {"inbound": way}
        key |= {"network": {"availability_pct": 99.4}}
        checked = Network.model_validate(tables | key)
        return make_plan(sites, checked).columns

    none, some = made(0.0), made(6.0)
    sizes = [np.nan_to_num(c["antenna_m"], nan=9) * 100 + np.nan_to_num(c["buc_w"], nan=99)
             for c in (none, some)]  # fmt: skip
    assert np.all(sizes[1] >= sizes[0])
    assert (sizes[1] > sizes[0]).sum() > 5
    picked = ~np.isnan(some["antenna_m"])
    assert np.all(some["inbound_margin_db"][picked] >= 1 - 1e-6)
    assert np.all(some["required_antenna_m"][picked] <= some["antenna_m"][picked] + 1e-6)


def test_it_is_told_as_a_setting() -> None:
    notes = plan(3.0).columns["flag_notes"]
    assert all("turn the BUC down by 3.0 dB" in note for note in notes)
    assert all("saves power of the satellite" in note for note in notes)
