"""What a gateway gives, loses and needs: figures of the plan, and what follows from its keys."""

from __future__ import annotations

import json
import math
from typing import Any

import numpy as np
import pytest

from siteplan.answers.hub import HubResult
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.gateway.heard import of_pass
from siteplan.planning.gateway.result import deicing, hubs_of, tracking_loss_db
from siteplan.planning.plan import make_plan
from siteplan.planning.setting import setting

LAT, LON = np.array([-3.1, -20.0, 10.0, -8.0]), np.array([-60.0, -45.0, -65.0, -50.0])
PLACED = {"lat": -15.8, "lon": -47.9}


def network(hub: dict[str, Any] | None = None, **tables: Any) -> Network:
    base: dict[str, Any] = {
        "network": {"date": "2026-06-01"}, "satellite": {"longitude_deg": -61.0},
    }  # fmt: skip
    return Network.model_validate(base | tables | {"hub": PLACED if hub is None else hub})


def result(of: Network) -> HubResult:
    (found,) = make_plan(Sites.at(LAT, LON), of).facts.hubs
    return found


def test_a_hub_that_is_not_placed_says_what_it_can() -> None:
    found = result(network({}))
    assert found.eirp_dbw > 0
    assert found.needed_hpa_w == pytest.approx(found.clear_hpa_w, rel=1e-12)
    assert found.deicing == "not known"
    unknown = (
        "elevation_deg", "outbound_pct", "inbound_most_pct", "up_fade_db", "down_fade_db",
        "g_t_faded_db_k", "hpa_w", "headroom_db", "mask_margin_db",
    )  # fmt: skip
    for name in unknown:
        assert math.isnan(getattr(found, name)), name
        assert found.to_json()[name] is None, name
    assert found.g_t_clear_db_k > 20


def test_rain_that_is_not_counted_takes_nothing() -> None:
    found = result(network(rules={"hub_outage_share": 0}))
    assert math.isnan(found.up_fade_db)
    assert math.isnan(found.outbound_pct)


def test_figures_are_those_of_the_link() -> None:
    of = network(PLACED | {"power_control_db": 4})
    shared, found = setting(of), result(of)
    share = max(found.outbound_pct, 0.001)
    assert found.up_fade_db == pytest.approx(float(shared.hub.up_fade.at(share)), abs=1e-9)
    assert found.up_left_db == pytest.approx(max(found.up_fade_db - 4, 0), abs=1e-9)
    down = float(shared.hub.down_fade.at(max(found.inbound_pct, 0.001)))
    assert found.down_fade_db == pytest.approx(down, abs=1e-9)
    assert found.g_t_faded_db_k < found.g_t_clear_db_k
    rise = found.g_t_clear_db_k - found.g_t_faded_db_k
    assert rise < found.down_fade_db, "the rest of the fade is attenuation"
    assert found.eirp_dbw - found.tx_gain_dbi == pytest.approx(10 * math.log10(found.feed_w))
    assert found.control_by == "network file"


def test_medians_are_of_the_sites_with_kit() -> None:
    counts = {"outbound 0.1000": 1, "outbound 0.2000": 3, "inbound 0.0000": 4, "own 1.50": 1,
              "own -0.25": 3, "9 2.00": 4, "limited": 2, "saturated": 1}  # fmt: skip
    shared = setting(network(PLACED | {"antennas_m": [9, 9]}))
    (found,) = hubs_of([shared], of_pass(0, counts), None)
    assert (found.outbound_pct, found.outbound_most_pct) == (0.2, 0.2)
    assert (found.inbound_pct, found.inbound_most_pct) == (0.0, 0.0)
    assert (found.sites, found.hub_limited_sites, found.saturated_sites) == (4, 2, 1)
    own, nine = found.antennas
    assert (own.antenna_m, own.own, own.median_db, own.worst_db) == (4.5, True, -0.25, -0.25)
    assert (nine.antenna_m, nine.own, nine.median_db, nine.buys_db) == (9.0, False, 2.0, 2.25)
    # G/T follows the area of the dish: 20 log of the diameters' ratio.
    assert nine.g_t_db_k - own.g_t_db_k == pytest.approx(20 * math.log10(2), abs=1e-9)


def test_no_sites_no_medians() -> None:
    (found,) = hubs_of([setting(network(PLACED | {"antennas_m": [9]}))], {}, None)
    assert found.sites == 0
    assert all(math.isnan(row.median_db) and math.isnan(row.worst_db) for row in found.antennas)


@pytest.mark.parametrize(
    ("redundancy", "amplifiers", "standby"), [("1:0", 1, 0), ("1:1", 2, 1), ("1:2", 3, 1)]
)
def test_amplifiers(redundancy: str, amplifiers: int, standby: int) -> None:
    """Common practice, no source."""
    (found,) = hubs_of([setting(network(PLACED | {"redundancy": redundancy}))], {}, None)
    assert (found.amplifiers, found.standby) == (amplifiers, standby)


@pytest.mark.parametrize(
    ("antenna_m", "box_deg", "tracks"),
    [(4.5, None, False), (4.5, 0.1, True), (9.0, None, True), (2.4, 0.1, False), (9.0, 0.0, False)],
)
def test_tracking(antenna_m: float, box_deg: float | None, tracks: bool) -> None:
    """12 (d / theta3)^2 with theta3 = 70 lambda / D at 14.25 GHz: Maral and Bousquet, chapter 5."""
    satellite = {"longitude_deg": -61.0, "station_keeping_deg": box_deg}
    of = network(PLACED | {"antenna_m": antenna_m}, satellite=satellite)
    d = 0.05 if box_deg is None else box_deg
    theta3 = 70 * 0.299792458 / 14.25 / antenna_m
    assert tracking_loss_db(of) == pytest.approx(12 * (d / theta3) ** 2, abs=1e-9)
    (found,) = hubs_of([setting(of)], {}, None)
    assert found.tracking == tracks
    assert ("satellite.station_keeping_deg" in found.assumed) == (box_deg is None)


@pytest.mark.parametrize(
    ("hub", "asked"),
    [({}, "not known"), ({"lat": 48.0, "lon": 10.0}, "yes"), ({"lat": -34.9, "lon": 10.0}, "no"),
     ({"lat": -35.0, "lon": 10.0}, "yes"), ({"lat": 60.0, "lon": 10.0, "snow": False}, "no"),
     ({"lat": 0.0, "lon": 10.0, "snow": True}, "yes"), ({"snow": True}, "yes")],
)  # fmt: skip
def test_deicing_is_asked_about(hub: dict[str, Any], asked: str) -> None:
    """From 35 degrees of latitude, unless the file says: common practice, no source."""
    assert deicing(network(hub)) == asked


def test_mask_margin_is_the_licences() -> None:
    of = network(regulation={"masks": ["47cfr25_ku"]})
    plan = make_plan(Sites.at(LAT, LON), of)
    assert plan.facts.licence is not None
    assert plan.facts.hubs[0].mask_margin_db == plan.facts.licence.hub.off_axis_margin_db
    assert plan.facts.hubs[0].mask == "47cfr25_ku"


def test_as_plain_data() -> None:
    found = result(network(PLACED | {"antennas_m": [9], "hpa_w": 50}))
    data = found.to_json()
    assert json.loads(json.dumps(data)) == data
    assert data["assumed"] == ["hub.tx_loss_db", "hub.hpa_backoff_db", "hub.carriers",
                               "hub.power_control_db", "satellite.station_keeping_deg"]  # fmt: skip
    assert [row["antenna_m"] for row in data["antennas"]] == [4.5, 9.0]
