"""What-if on the map at any target, Ku and Ka, against plans of those targets: within 0.1 dB."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.outputs.map.payload import write_map
from siteplan.planning.plan import make_plan
from tests.outputs.map.test_map_whatif import LAPTOP, ask, margins_at, numbers

pytestmark = pytest.mark.browser

KU: dict[str, Any] = {
    "satellite": {"longitude_deg": 13.0},
    "hub": {"lat": 50.1, "lon": 8.7, "power_control_db": 3},
    "terminal": {"wet_loss_db": 1.5},
}
KA: dict[str, Any] = {
    "satellite": {"longitude_deg": 13.0},
    "hub": {"lat": 50.1, "lon": 8.7, "antenna_m": 7, "power_control_db": 10},
    "outbound": {"uplink_ghz": 29.0, "downlink_ghz": 19.2, "satellite_eirp_dbw": 58},
    "inbound": {"uplink_ghz": 29.3, "downlink_ghz": 19.5, "satellite_g_t_db_k": 14},
}
BANDS = {
    "Ku": KU,
    "Ku, no hub": KU | {"hub": {}},
    "Ku, a share": KU | {"rules": {"hub_outage_share": 0.3}},
    # Two satellites a side, and the other polarization as strong as ours, twice over at the hub.
    "Ku, interference": KU
    | {
        "outbound": {"cross_polar_level_db": 0},
        "inbound": {"cross_polar_level_db": 3},
        "neighbours": [
            {"longitude_deg": 11.0, "uplink_dbw_40khz": 8.0},
            {"longitude_deg": 15.0},
            {"longitude_deg": 10.0},
            {"longitude_deg": 16.0},
        ],
    },
    "Ka": KA,
    "Ka, wet": KA | {"terminal": {"wet_loss_db": 1.0}},
}


@pytest.mark.parametrize("band", BANDS)
def test_any_target_is_within_a_tenth_of_a_decibel(browser: Any, tmp_path: Path, band: str) -> None:
    rng = np.random.default_rng(5)
    network = Network.model_validate(BANDS[band] | {"network": {"availability_pct": 99.0}})
    lat = rng.uniform(-55, 60, 40)
    lon = network.satellite.longitude_deg + rng.uniform(-50, 50, 40)
    kit = {"fixed_antenna_m": rng.choice([0.9, 1.2, 2.4], 40), "fixed_buc_w": np.full(40, 4.0)}
    plan = make_plan(Sites.at(lat, lon, **kit), network, with_tables=True)
    path = tmp_path / "map.html"
    write_map(plan, path)
    browser.open(path, **LAPTOP)
    looked_at = 0
    shares = np.exp(rng.uniform(np.log(0.01), np.log(5), 6))
    for target in np.round([*(100 - shares), 98.2, 99.97], 4).tolist():
        ask(browser, target)
        for name, expected in margins_at(plan, target).items():
            gap = np.abs(numbers(browser, name) - expected)
            near = expected > -20
            looked_at += near.sum()
            assert np.nanmax(gap[near]) < 0.1, (target, name)
    assert looked_at > 600
    assert browser.console() == []
