"""An outbound carrier over or under its share of power: all of its levels move by as much."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.link import whatif
from siteplan.planning.link.ends import carrier_plan, hub_eirp_dbw, hub_end
from siteplan.planning.link.spectrum.interference import outbound_ci_db, satellites_ci_db
from siteplan.planning.plan import make_plan
from siteplan.planning.setting import clouds_of
from siteplan.results import Plan
from tests.planning.others import with_faint

LAT, LON = np.array([-3.1, 20.0, -30.0, 4.0]), np.array([-60.0, -80.0, -60.0, -61.0])
#: One kit for all, so that nothing but the level differs.
KIT = {"antennas": [{"diameter_m": 1.8}], "bucs": [{"rated_w": 3}]}
LEVELS = [-6.0, -0.7, 2.5, 6.0]


def network(level: float | None = None, **tables: Any) -> Network:
    base = {
        "satellite": {"longitude_deg": -61},
        "hub": {"lat": -15.8, "lon": -47.9},
        **KIT,
        **tables,
    }
    if level is not None:
        base["outbound"] = base.get("outbound", {}) | {"level_db": level}
    return Network.model_validate(base)


def plan(level: float | None = None, **tables: Any) -> Plan:
    installed = {"fixed_antenna_m": np.full(4, 1.8), "fixed_buc_w": np.full(4, 3.0)}
    return make_plan(Sites.at(LAT, LON, **installed), network(level, **tables), with_tables=True)


def test_no_level_is_the_share_to_the_bit() -> None:
    without, with_key = plan(), plan(0.0)
    for name, values in without.columns.items():
        np.testing.assert_array_equal(with_key.columns[name], values, err_msg=name)


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("others", [False, True], ids=["alone", "with others"])
def test_the_outbound_link_moves_by_the_level(level: float, others: bool) -> None:
    """Uplink, downlink and interference stand in the same ratios: margins move dB for dB."""
    tables = with_faint({"satellite": {"longitude_deg": -61.0}}) if others else {}
    before, after = (plan(x, **tables).columns for x in (0.0, level))
    moved = ["outbound_clear_es_n0_db", "outbound_fade_margin_db", "outbound_margin_db"]
    moved += ["outbound_ci_adjacent_db", "outbound_ci_cross_polar_db", "outbound_ci_db"] * others
    for name in moved:
        np.testing.assert_allclose(after[name] - before[name], level, atol=2e-6, err_msg=name)
    for name in ("inbound_margin_db", "inbound_clear_es_n0_db", "tx_power_w", "remote_g_t_db_k"):
        np.testing.assert_array_equal(after[name], before[name], err_msg=name)


@pytest.mark.parametrize("level", LEVELS)
def test_flux_hub_eirp_and_downlink_eirp_move_by_the_level(level: float) -> None:
    share, over = (carrier_plan(network(x).outbound) for x in (0.0, level))
    assert over.share_flux_dbw_m2 - share.share_flux_dbw_m2 == pytest.approx(level, abs=1e-12)
    assert share.share_backoff_db - over.share_backoff_db == pytest.approx(level, abs=1e-12)
    eirp = [hub_eirp_dbw(n, hub_end(n, clouds_of(n))) for n in (network(), network(level))]
    assert eirp[1] - eirp[0] == pytest.approx(level, abs=1e-9)
    # At the LNB, too, and so at the modem.
    inputs = [plan(x).columns["modem_input_dbm"] for x in (0.0, level)]
    np.testing.assert_allclose(inputs[1] - inputs[0], level, atol=1e-9)


def test_neighbours_stay_at_their_own_level() -> None:
    """They are as strong as the transponder's mean, which our carrier stands 3 dB above."""
    from siteplan.planning.plan import see
    from siteplan.planning.setting import setting

    tables = {"neighbours": [{"longitude_deg": -58}, {"longitude_deg": -64}]}
    links = [see(Sites.at(LAT, LON), setting(network(x, **tables))).link for x in (0.0, 3.0)]
    from siteplan.planning.link.ends import Dish

    dish = Dish(1.2, 0.65)
    np.testing.assert_array_equal(*(link.interference.density_dbw_hz for link in links))
    for terms in (satellites_ci_db, outbound_ci_db):
        np.testing.assert_allclose(
            np.subtract(*(terms(link, dish) for link in links)), -3.0, atol=1e-9
        )


@pytest.mark.parametrize("level", [-3.0, 4.0])
def test_what_if_moves_alike(level: float) -> None:
    before, after = (plan(x).tables for x in (0.0, level))
    np.testing.assert_allclose(
        after[whatif.MARGINS][:, 0] - before[whatif.MARGINS][:, 0], level, atol=1e-9
    )
    np.testing.assert_array_equal(after[whatif.MARGINS][:, 1], before[whatif.MARGINS][:, 1])
    np.testing.assert_allclose(
        after[whatif.CLEAR][:, 0] - before[whatif.CLEAR][:, 0], level, atol=1e-9
    )


def test_a_higher_level_asks_for_smaller_antennas() -> None:
    sites = Sites.at(np.linspace(-12, 12, 60), np.linspace(-75, -50, 60))

    def sizes(level: float) -> Any:
        tables = {"satellite": {"longitude_deg": -61}, "outbound": {"level_db": level}}
        columns = make_plan(sites, Network.model_validate(tables)).columns
        return np.nan_to_num(columns["antenna_m"], nan=9.0)

    low, share, high = (sizes(x) for x in (-4.0, 0.0, 4.0))
    assert np.all(high <= share)
    assert np.all(share <= low)
    assert (low > high).sum() > 10
