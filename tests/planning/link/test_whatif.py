"""The what-if tables: they repeat the plan at its target, and lines between points are near."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.physics.radio.carrier import downlink_es_n0_db, uplink_es_n0_db
from siteplan.planning.link import mispointing, whatif
from siteplan.planning.link.budget import remote_g_t_db_k
from siteplan.planning.link.ends import required_db
from siteplan.planning.link.outage import margin_db
from siteplan.planning.link.spectrum.interference import inbound_ci_db
from siteplan.planning.link.ways import Inbound, Outbound
from siteplan.planning.plan import CHUNK_SITES, make_plan
from siteplan.planning.setting import setting
from tests.planning.worked import Worked, work_out


@pytest.fixture(scope="module")
def worked(tropical: Network, basin: Sites) -> Worked:
    return work_out(basin, setting(tropical))


def along(table: np.ndarray[Any, Any], p_pct: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    """Straight lines in ln p along the last axis of a table (n, k), one percentage a site."""
    x, ln_p = np.log(np.maximum(p_pct, 0.001)), np.log(whatif.PERCENTAGES)
    return np.array([np.interp(x[i], ln_p, table[i]) for i in range(len(table))])


def shared_db(done: Worked, way: int, p_pct: float) -> np.ndarray[Any, Any]:
    """The margin (n,) that the map works out: the best of two curves, by halvings."""
    site_db = np.round(whatif.site_margins_db(done.ways)[:, way], 2)
    clear = np.round(whatif.clear_db(done.ways), 2)
    curves = np.array(whatif.hub_curves_db(done.link.hub, done.link.network))

    def at_hub(p: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
        fade, *leak = (along(np.tile(c, (len(p), 1)), p) for c in (curves[way], *curves[2:]))
        if way == 0:
            return np.asarray(clear[:, 0] - fade)
        parts = (10 ** (-x / 10) for x in (clear[:, 1], clear[:, 2] - fade, *leak))
        return np.asarray(-10 * np.log10(sum(parts)))

    low, high = np.zeros(len(site_db)), np.full(len(site_db), p_pct)
    for _ in range(45):
        middle = (low + high) / 2
        short = at_hub(middle) < along(site_db, p_pct - middle)
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return np.minimum(along(site_db, p_pct - high), at_hub(high))


KA = {
    "outbound": {"uplink_ghz": 29.0, "downlink_ghz": 19.2},
    "inbound": {"uplink_ghz": 29.3, "downlink_ghz": 19.5},
}
#: Two satellites a side, one with stations that send to ours; the other polarization in use.
OTHERS: dict[str, Any] = {
    "neighbours": [
        {"longitude_deg": -63.0, "uplink_dbw_40khz": 8.0},
        {"longitude_deg": -59.0},
        {"longitude_deg": -64.0, "downlink_level_db": 3.0},
        {"longitude_deg": -58.0},
    ],
    "outbound": {"cross_polar_level_db": 5},
    "inbound": {"cross_polar_level_db": 10},
}


def with_tables(network: Network, **tables: Any) -> Network:
    return Network.model_validate(network.model_dump(exclude_unset=True) | tables)


@pytest.mark.parametrize("band", [{}, KA, OTHERS], ids=["Ku", "Ka", "interference"])
def test_the_curves_give_any_target_within_a_tenth(
    basin: Sites, tropical: Network, band: dict[str, Any]
) -> None:
    done = work_out(basin, setting(with_tables(tropical, **band)))
    high = done.at.elevation_deg >= 5
    for p_pct in np.geomspace(0.01, 5, 41):
        for way in (0, 1):
            exact = margin_db(done.ways[way], np.full(len(basin), p_pct))
            gap = np.abs(shared_db(done, way, float(p_pct)) - exact)[high]
            assert np.nanmax(gap) < 0.1, (way, p_pct)


def test_the_corner_of_the_rain_method_is_a_point() -> None:
    # P.618-14 section 2.2.1.1: beta changes at p = 1 %.
    assert len(whatif.PERCENTAGES) == 43
    assert 1.0 in whatif.PERCENTAGES
    assert (whatif.PERCENTAGES[0], whatif.PERCENTAGES[-1]) == (0.001, 5.0)
    assert list(whatif.PERCENTAGES) == sorted(set(whatif.PERCENTAGES))


def test_the_hub_has_a_third_curve_only_where_its_rain_depolarizes(tropical: Network) -> None:
    def curves(network: Network) -> np.ndarray[Any, Any]:
        return np.array(whatif.hub_curves_db(setting(network).hub, network))

    both, need_db = curves(tropical), required_db("inbound", tropical.inbound)
    assert len(both) == 2
    crossed = curves(with_tables(tropical, inbound={"cross_polar_level_db": 10}))
    np.testing.assert_array_equal(crossed[:2], both)
    assert np.all(np.diff(crossed[2]) >= 0)
    # 10 dB more on the other polarization are 10 dB less over what rain turns over.
    weaker = curves(with_tables(tropical, inbound={"cross_polar_level_db": 0}))
    np.testing.assert_allclose(weaker[2] - crossed[2], 10, rtol=0, atol=1e-9)
    leak = setting(with_tables(tropical, inbound={"cross_polar_level_db": 10})).hub.depolarized
    assert leak is not None
    one_pct = whatif.PERCENTAGES.index(1.0)
    assert crossed[2][one_pct] == pytest.approx(float(leak.at(1.0)) - need_db, abs=1e-9)
    # Outbound the sites' own margins hold it; a hub that is not placed has no rain.
    assert len(curves(with_tables(tropical, outbound={"cross_polar_level_db": 0}))) == 2
    unplaced = with_tables(tropical, hub={}, inbound={"cross_polar_level_db": 0})
    assert len(curves(unplaced)) == 2


@pytest.mark.parametrize("others", [{}, OTHERS], ids=["as given", "interference"])
def test_the_budget_adds_up(tropical: Network, basin: Sites, others: dict[str, Any]) -> None:
    plan = make_plan(basin, with_tables(tropical, **others), with_tables=True)
    budget = plan.tables[whatif.BUDGET]
    for way, name in enumerate(whatif.DIRECTIONS):
        margin = plan.columns[f"{name}_fade_margin_db"] - budget[:, way, 2:].sum(axis=1)
        np.testing.assert_allclose(margin, plan.columns[f"{name}_margin_db"], atol=1e-9)
        hop = budget[:, way, 0]
        seen = ~np.isnan(hop)
        clear = plan.columns[f"{name}_clear_es_n0_db"]
        kitted = ~np.isnan(clear)
        assert kitted.sum() > 10
        # What the other hop takes is what the other two leave of the way down to clear sky.
        assert np.all(hop[kitted] - budget[kitted, way, 1] > clear[kitted])
        assert np.all(budget[seen, way, 1:] >= -1e-9)


def hops_db(way: Outbound | Inbound) -> tuple[np.ndarray[Any, Any], ...]:
    """Es/N0 of uplink and downlink alone in clear sky (n,) [dB], each by its own method."""
    link = way.link
    if isinstance(way, Inbound):
        return uplink_es_n0_db(link.inbound, way.driven.flux_dbw_m2), way.down_db
    carrier, clear = link.outbound, link.site.down.clear
    pointing = mispointing.loss_db(link.network, way.dish, carrier.downlink_ghz)
    down = downlink_es_n0_db(
        carrier,
        carrier.share_flux_dbw_m2,
        link.site.free_space_db + clear.total + pointing,
        remote_g_t_db_k(link, way.dish, clear, 0.0),
    )
    return uplink_es_n0_db(carrier, carrier.share_flux_dbw_m2), down


@pytest.mark.parametrize("others", [{}, OTHERS], ids=["as given", "interference"])
def test_interference_is_what_a_clean_link_has_more(
    tropical: Network, basin: Sites, others: dict[str, Any]
) -> None:
    """The step is the difference of two sums of noise over carrier, without and with C/I."""
    done = work_out(basin, setting(with_tables(tropical, **others)))
    taken = whatif.budget_db(done.ways, done.split, done.p_pct)[:, :, 1]
    for way, of in enumerate(done.ways):
        need = (done.link.outbound_required_db, done.link.inbound_required_db)[way]
        hops = hops_db(of)
        clean = -10 * np.log10(sum(10 ** (-level / 10) for level in hops))
        ci_db = of.ci_db if way == 0 else inbound_ci_db(of.link, of.driven.flux_dbw_m2)
        dirty = -10 * np.log10(10 ** (-clean / 10) + 10 ** (-np.asarray(ci_db) / 10))
        np.testing.assert_allclose(dirty, of.clear_db + need, rtol=0, atol=1e-9)
        np.testing.assert_allclose(taken[:, way], clean - dirty, rtol=0, atol=1e-9)
    assert np.nanmin(taken) > 0.01


def test_others_are_one_more_part_of_the_interference(tropical: Network, basin: Sites) -> None:
    def taken(**tables: Any) -> np.ndarray[Any, Any]:
        kit = {"fixed_antenna_m": np.full(40, 1.8), "fixed_buc_w": np.full(40, 3.0)}
        sites = Sites.at(basin.lat, basin.lon, **kit)
        done = work_out(sites, setting(with_tables(tropical, **tables)))
        return whatif.budget_db(done.ways, done.split, done.p_pct)[:, :, :2]

    alone, crowded = taken(), taken(**OTHERS)
    np.testing.assert_allclose(crowded[..., 0], alone[..., 0], rtol=0, atol=1e-9)
    assert np.nanmin(crowded[..., 1] - alone[..., 1]) > 0.1


def test_rain_takes_one_end_at_a_time(worked: Worked) -> None:
    budget = whatif.budget_db(worked.ways, worked.split, worked.p_pct)
    site, hub = budget[:, :, 2:4].sum(axis=2), budget[:, :, 4]
    assert np.nanmax(np.minimum(site, hub)) == 0


def test_inbound_noise_is_the_wet_dish_alone(tropical: Network, basin: Sites) -> None:
    # Rain at the transmitting end raises no receiver's noise (ITU-R P.618-14 section 3).
    wet = tropical.terminal.model_copy(update={"wet_loss_db": 0.8})
    soaked = work_out(basin, setting(tropical.model_copy(update={"terminal": wet})))
    dry = work_out(basin, setting(tropical))
    calm, rough = (whatif.budget_db(w.ways, w.split, w.p_pct) for w in (dry, soaked))
    assert np.nanmax(np.abs(calm[:, 1, 3])) < 1e-8  # margins are worked out to 1e-9 dB
    assert np.nanmax(rough[:, 1, 3]) > 0.3


def test_tables_are_left_out_unless_asked_for(tropical: Network, basin: Sites) -> None:
    assert dict(make_plan(basin, tropical).tables) == {}


def test_tables_are_joined_over_chunks(
    tropical: Network, basin: Sites, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = make_plan(basin, tropical, with_tables=True)
    monkeypatch.setattr("siteplan.planning.plan.CHUNK_SITES", 7)
    pieces = make_plan(basin, tropical, with_tables=True)
    assert len(basin) < CHUNK_SITES
    for name in ("whatif_site_margin_db", "whatif_clear_db", "budget_db"):
        table = whole.tables[name]
        assert len(table) == len(basin)
        np.testing.assert_allclose(pieces.tables[name], table, rtol=0, atol=1e-9)
