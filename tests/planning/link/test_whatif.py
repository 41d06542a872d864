"""The what-if tables: they repeat the plan at its target, and lines between points are near."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.link import whatif
from siteplan.planning.link.outage import margin_db
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
    hub = done.link.network.hub
    loss = np.array(whatif.hub_curves_db(done.link.hub, hub.power_control_db)[way])

    def at_hub(p: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
        fade = along(np.tile(loss, (len(p), 1)), p)
        if way == 0:
            return np.asarray(clear[:, 0] - fade)
        parts = (10 ** (-x / 10) for x in (clear[:, 1], clear[:, 2] - fade))
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


@pytest.mark.parametrize("band", [{}, KA], ids=["Ku", "Ka"])
def test_the_curves_give_any_target_within_a_tenth(
    basin: Sites, tropical: Network, band: dict[str, Any]
) -> None:
    checked = Network.model_validate(tropical.model_dump(exclude_unset=True) | band)
    done = work_out(basin, setting(checked))
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


def test_the_budget_adds_up(tropical: Network, basin: Sites) -> None:
    plan = make_plan(basin, tropical, with_tables=True)
    budget = plan.tables[whatif.BUDGET]
    for way, name in enumerate(whatif.DIRECTIONS):
        margin = plan.columns[f"{name}_fade_margin_db"] - budget[:, way, 1:].sum(axis=1)
        np.testing.assert_allclose(margin, plan.columns[f"{name}_margin_db"], atol=1e-9)
        hop = budget[:, way, 0]
        seen = ~np.isnan(hop)
        clear = plan.columns[f"{name}_clear_es_n0_db"]
        kitted = ~np.isnan(clear)
        assert kitted.sum() > 10
        assert np.all(hop[kitted] > clear[kitted])
        assert np.all(budget[seen, way, 1:] >= -1e-9)


def test_rain_takes_one_end_at_a_time(worked: Worked) -> None:
    budget = whatif.budget_db(worked.ways, worked.split, worked.p_pct)
    site, hub = budget[:, :, 1:3].sum(axis=2), budget[:, :, 3]
    assert np.nanmax(np.minimum(site, hub)) == 0


def test_inbound_noise_is_the_wet_dish_alone(tropical: Network, basin: Sites) -> None:
    # Rain at the transmitting end raises no receiver's noise (ITU-R P.618-14 section 3).
    wet = tropical.terminal.model_copy(update={"wet_loss_db": 0.8})
    soaked = work_out(basin, setting(tropical.model_copy(update={"terminal": wet})))
    dry = work_out(basin, setting(tropical))
    calm, rough = (whatif.budget_db(w.ways, w.split, w.p_pct) for w in (dry, soaked))
    assert np.nanmax(np.abs(calm[:, 1, 2])) < 1e-8  # margins are worked out to 1e-9 dB
    assert np.nanmax(rough[:, 1, 2]) > 0.3


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
