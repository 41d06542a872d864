"""Power at the satellite: the remote's share in clear sky, and what a fade gives back."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.plan import make_plan

LAT, LON = np.array([-3.1, 20.0, -30.0]), np.array([-60.0, -80.0, -60.0])


def plan(share: str = "own", control: float | None = None, **rules: Any) -> dict[str, Any]:
    """A carrier far over its share: a sensitive satellite and one large BUC, installed."""
    terminal = {} if control is None else {"power_control_db": control}
    checked = Network.model_validate(
        {
            "satellite": {"longitude_deg": -61},
            "inbound": {"power_share": share, "sfd_dbw_m2": -96.0},
            "terminal": terminal,
            "antennas": [{"diameter_m": 1.8}],
            "bucs": [{"rated_w": 8}],
            **rules,
        }
    )
    kit = {"fixed_antenna_m": np.full(3, 1.8), "fixed_buc_w": np.full(3, checked.bucs[0].rated_w)}
    return dict(make_plan(Sites.at(LAT, LON, **kit), checked).columns)


def test_the_clear_sky_power_is_cut_to_the_share() -> None:
    own, free = plan(), plan("free")
    assert np.all(own["power_cut_db"] > 3)
    assert own["power_cut_by"].tolist() == ["share"] * 3
    # 8 W less 1 dB of back-off, less the cut.
    expected = 8 * 10 ** (-(1 + own["power_cut_db"]) / 10)
    np.testing.assert_allclose(own["tx_power_w"], expected, rtol=1e-12)
    # A carrier of 256 ksym/s and 20 % of roll-off occupies 0.3072 MHz: it takes that power.
    np.testing.assert_allclose(own["power_equivalent_mhz"], 0.3072, rtol=1e-9)
    assert np.all(free["power_cut_db"] == 0)
    grown = 0.3072 * 10 ** (own["power_cut_db"] / 10)
    np.testing.assert_allclose(free["power_equivalent_mhz"], grown, rtol=1e-9)
    np.testing.assert_allclose(
        free["remote_eirp_dbw"] - own["remote_eirp_dbw"], own["power_cut_db"], atol=1e-9
    )
    assert np.all(own["inbound_margin_db"] < free["inbound_margin_db"])


def test_the_remote_gives_back_in_its_rain_what_it_was_turned_down() -> None:
    """The fade margin falls by the net fade alone, as far as the remote can raise its drive."""
    for control in (0.0, 1.5, None):
        c = plan(control=control)
        fade = c["uplink_attenuation_db"] - c["uplink_gas_db"]
        back = c["power_cut_db"] if control is None else np.minimum(c["power_cut_db"], control)
        net = np.maximum(fade - back, 0)
        np.testing.assert_allclose(
            c["inbound_margin_db"], c["inbound_fade_margin_db"] - net, atol=1e-9
        )


def test_turning_down_is_told_as_a_setting() -> None:
    own, free = plan(), plan("free")
    assert "turn the BUC down by" in own["flag_notes"][0]
    assert "power_share" in own["flags"][0].split(";")
    assert "lease the power of" in free["flag_notes"][0]
    assert "turn the BUC down" not in free["flag_notes"][0]


@pytest.mark.parametrize("share", ["own", "free"])
def test_a_carrier_under_its_share_is_left_alone(share: str) -> None:
    c = plan(share, bucs=[{"rated_w": 0.05}])
    assert np.all(c["power_cut_db"] == 0)
    assert c["power_cut_by"].tolist() == [""] * 3
    assert not any("power_share" in flags for flags in c["flags"])
    assert np.all(c["power_equivalent_mhz"] < 0.3072)
