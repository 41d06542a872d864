"""The pick, installed kit, the diameter that would just do, and reasons."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.results import Plan

Maker = Callable[..., Plan]


def test_the_pick_is_the_smallest_that_fits(tropical: Network, basin: Sites) -> None:
    """Against a plain search through one-pair catalogues."""
    plan = make_plan(basin, tropical)
    base = tropical.model_dump(exclude_unset=True)
    expected = np.full((len(basin), 2), np.nan)
    for antenna in (1.2, 1.8, 2.4):
        for buc in (1.0, 2.0, 3.0):
            pair = {"antennas": [{"diameter_m": antenna}], "bucs": [{"rated_w": buc}]}
            margin = make_plan(basin, Network.model_validate(base | pair)).columns["margin_db"]
            fits = (margin >= 1.0) & (plan.columns["elevation_deg"] >= 10)
            first = fits & np.isnan(expected[:, 0])
            expected[first] = antenna, buc
    np.testing.assert_array_equal(plan.columns["antenna_m"], expected[:, 0])
    np.testing.assert_array_equal(plan.columns["buc_w"], expected[:, 1])
    assert np.isfinite(expected[:, 0]).sum() > 20


def test_catalogue_order_does_not_matter(tropical: Network, plan_of: Maker) -> None:
    shuffled = [{"diameter_m": d} for d in (2.4, 1.2, 1.8)]
    a = plan_of(-3.1, -60.0, tropical)
    b = plan_of(-3.1, -60.0, tropical, antennas=shuffled)
    assert a.columns["antenna_m"][0] == b.columns["antenna_m"][0]
    assert a.columns["margin_1_8_m_db"][0] == b.columns["margin_1_8_m_db"][0]


def test_required_antenna_just_does(tropical: Network, plan_of: Maker) -> None:
    first = plan_of(-3.1, -60.0, tropical)
    needed = float(first.columns["required_antenna_m"][0])
    buc = float(first.columns["buc_w"][0])
    for change, fits in ((1e-4, True), (-1e-4, False)):
        again = plan_of(-3.1, -60.0, tropical, antennas=[{"diameter_m": needed + change}],
                        bucs=[{"rated_w": buc}])  # fmt: skip
        assert np.isfinite(again.columns["antenna_m"][0]) == fits
        assert again.columns["margin_db"][0] == pytest.approx(1.0, abs=2e-3)


def test_next_size_up(tropical: Network, plan_of: Maker) -> None:
    plan = plan_of(-3.1, -60.0, tropical, outbound={"satellite_eirp_dbw": 45.0})
    assert plan.columns["antenna_m"][0] == 1.8
    assert plan.columns["next_antenna_m"][0] == 2.4
    assert plan.columns["next_antenna_margin_db"][0] == plan.columns["margin_2_4_m_db"][0]
    assert plan.columns["margin_1_8_m_db"][0] == plan.columns["margin_db"][0]


def test_no_fit_names_the_nearest_miss(tropical: Network, plan_of: Maker) -> None:
    plan = plan_of(-3.1, -60.0, tropical, network={"availability_pct": 99.97})
    c = plan.columns
    assert np.isnan(c["antenna_m"][0])
    assert np.isnan(c["buc_w"][0])
    assert c["kit_source"][0] == "none"
    short = 1.0 - c["margin_db"][0]
    assert (
        f"2.4 m with 3 W, is {short:.1f} dB short {c['limiting_direction'][0]}"
        in (c["no_fit_reason"][0])
    )
    assert c["margin_db"][0] == c["margin_2_4_m_db"][0]
    assert "no_fit" in c["flags"][0].split(";")


def test_no_antenna_at_all(tropical: Network, plan_of: Maker) -> None:
    plan = plan_of(-3.1, -60.0, tropical, outbound={"es_n0_db": 25.0})
    assert np.isnan(plan.columns["required_antenna_m"][0])
    assert "No antenna up to 30 m would do" in plan.columns["no_fit_reason"][0]


@pytest.mark.parametrize(
    ("antenna", "buc", "source"),
    [
        (1.2, 1.0, "installed"),
        (3.7, np.nan, "part_installed"),
        (np.nan, 2.0, "part_installed"),
        (np.nan, np.nan, "picked"),
    ],
)
def test_installed_kit_is_judged(
    tropical: Network, plan_of: Maker, antenna: float, buc: float, source: str
) -> None:
    known = {"fixed_antenna_m": np.array([antenna]), "fixed_buc_w": np.array([buc])}
    c = plan_of(-3.1, -60.0, tropical, known).columns
    assert c["kit_source"][0] == source
    if np.isfinite(antenna):
        assert c["antenna_m"][0] == antenna
    if np.isfinite(buc):
        assert c["buc_w"][0] == buc
    assert np.isfinite(c["margin_db"][0])


def test_installed_kit_that_misses_keeps_its_margin(tropical: Network, plan_of: Maker) -> None:
    known = {"fixed_antenna_m": np.array([0.6]), "fixed_buc_w": np.array([1.0])}
    c = plan_of(-3.1, -60.0, tropical, known).columns
    assert c["margin_db"][0] < 0
    assert "margin_negative" in c["flags"][0].split(";")
    assert "no_fit" not in c["flags"][0].split(";")


def test_part_installed_kit_that_cannot_be_completed(tropical: Network, plan_of: Maker) -> None:
    c = plan_of(-3.1, -60.0, tropical, {"fixed_antenna_m": np.array([0.6])}).columns
    assert c["antenna_m"][0] == 0.6
    assert np.isnan(c["buc_w"][0])
    assert c["no_fit_reason"][0].startswith("Nothing beside the installed kit")


def test_nothing_is_picked_too_low(tropical: Network, plan_of: Maker) -> None:
    c = plan_of([51.0, 58.0], [0.0, 8.0], tropical, rules={"min_elevation_deg": 0.0}).columns
    assert 5 < c["elevation_deg"][0] < 10
    assert 0 < c["elevation_deg"][1] < 5
    assert c["kit_source"].tolist() == ["picked", "none"]
    assert "method_range" in c["flags"][1].split(";")
    assert np.isfinite(c["margin_db"][1])  # computed all the same, never picked
