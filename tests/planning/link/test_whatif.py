"""The what-if tables: they repeat the plan at its target, and lines between points are near."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.link import whatif
from siteplan.planning.link.budget import inbound_margin_db, outbound_margin_db
from siteplan.planning.link.weather import weather
from siteplan.planning.plan import CHUNK_SITES, make_plan
from siteplan.planning.setting import setting
from tests.planning.worked import Worked, work_out


@pytest.fixture(scope="module")
def worked(tropical: Network, basin: Sites) -> Worked:
    return work_out(basin, setting(tropical))


def lines(table: np.ndarray[Any, Any], outages: Any, p_pct: float) -> np.ndarray[Any, Any]:
    """Straight lines in ln p between the columns of a table, as the map draws them."""
    k = int(np.clip(np.searchsorted(outages, p_pct, side="right") - 1, 0, len(outages) - 2))
    low, high = np.log(outages[k]), np.log(outages[k + 1])
    share = (np.log(p_pct) - low) / (high - low)
    return np.asarray(table[:, :, k] * (1 - share) + table[:, :, k + 1] * share)


def margins_at(worked: Worked, p_pct: float) -> np.ndarray[Any, Any]:
    """Margins (n, 2) [dB] of the plan's method at an outage."""
    link, kit = worked.link, worked.sizing.kit
    at = weather(link, np.full(len(link), p_pct))
    out = outbound_margin_db(link, kit.dish, at)
    return np.stack([out, inbound_margin_db(link, kit.dish, kit.buc_dbw, at)], axis=1)


def test_the_plan_s_margins_are_in_the_table_of_its_own_target(
    tropical: Network, basin: Sites
) -> None:
    targets = 100 - np.resize(np.array(whatif.OUTAGES_PCT), len(basin))
    plan = make_plan(replace(basin, availability_pct=targets), tropical, with_tables=True)
    outages = plan.facts.whatif_outages_pct
    where = [outages.index(p) for p in np.resize(np.array(whatif.OUTAGES_PCT), len(basin))]
    for way, name in enumerate(whatif.DIRECTIONS):
        found = plan.tables[whatif.MARGINS][np.arange(len(basin)), way, where]
        # The target is 100 less the outage, exact to 1e-14 of a percent.
        np.testing.assert_allclose(found, plan.columns[f"{name}_margin_db"], atol=1e-9)


@pytest.mark.parametrize("share", [0.0, 0.2, 0.5])
def test_lines_between_the_points_are_within_three_tenths(
    basin: Sites, tropical: Network, share: float
) -> None:
    rules = tropical.rules.model_copy(update={"hub_outage_share": share})
    worked = work_out(basin, setting(tropical.model_copy(update={"rules": rules})))
    outages = np.array(whatif.outages_pct(worked.link.network))
    written = np.round(whatif.margins_db(worked.link, worked.sizing.kit), 1)
    for p_pct in np.geomspace(0.01, 5, 97):
        gap = np.abs(lines(written, outages, float(p_pct)) - margins_at(worked, float(p_pct)))
        assert np.nanmax(gap) < 0.3
    for p_pct in outages:
        gap = np.abs(lines(written, outages, float(p_pct)) - margins_at(worked, float(p_pct)))
        assert np.nanmax(gap) < 0.1


def test_the_corner_of_the_rain_method_is_a_point(tropical: Network) -> None:
    # P.618-14 section 2.2.1.1: beta changes at p = 1 %, here of the site's four fifths.
    assert 1.25 in whatif.outages_pct(tropical)
    outages = whatif.outages_pct(tropical)
    assert list(outages) == sorted(set(outages))


def test_no_corner_beyond_the_table(tropical: Network) -> None:
    rules = tropical.rules.model_copy(update={"hub_outage_share": 0.9})
    changed = tropical.model_copy(update={"rules": rules})
    assert whatif.outages_pct(changed) == whatif.OUTAGES_PCT


def test_the_budget_adds_up(tropical: Network, basin: Sites) -> None:
    plan = make_plan(basin, tropical, with_tables=True)
    budget = plan.tables[whatif.BUDGET]
    for way, name in enumerate(whatif.DIRECTIONS):
        margin = plan.columns[f"{name}_fade_margin_db"] - budget[:, way, 1:].sum(axis=1)
        np.testing.assert_allclose(margin, plan.columns[f"{name}_margin_db"], atol=1e-9)
        hop = budget[:, way, 0]
        seen = ~np.isnan(hop)
        assert seen.sum() > 10
        assert np.all(hop[seen] > plan.columns[f"{name}_clear_es_n0_db"][seen])
        assert np.all(budget[seen, way, 1:] >= -1e-9)


def test_rain_takes_one_end_at_a_time(worked: Worked) -> None:
    budget = whatif.budget_db(worked.link, worked.sizing.kit, worked.weather)
    site, hub = budget[:, :, 1:3].sum(axis=2), budget[:, :, 3]
    assert np.nanmax(np.minimum(site, hub)) == 0


def test_inbound_noise_is_the_wet_dish_alone(tropical: Network, basin: Sites) -> None:
    # Rain at the transmitting end raises no receiver's noise (ITU-R P.618-14 section 3).
    wet = tropical.terminal.model_copy(update={"wet_loss_db": 0.8})
    soaked = work_out(basin, setting(tropical.model_copy(update={"terminal": wet})))
    dry = work_out(basin, setting(tropical))
    calm, rough = (whatif.budget_db(w.link, w.sizing.kit, w.weather) for w in (dry, soaked))
    assert np.nanmax(np.abs(calm[:, 1, 2])) < 1e-12
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
    for name in ("whatif_margin_db", "budget_db"):
        table = whole.tables[name]
        assert len(table) == len(basin)
        np.testing.assert_allclose(pieces.tables[name], table, rtol=0, atol=1e-9)
