"""What limits off the axis allow each terminal: rows worked apart, and what must not matter.

Sources: 47 CFR 25.218(f) as 25.226 of 2018 has it (a public copy), ITU-R S.728-1 and S.524-9 and
ETSI EN 301 428 and 301 459 (from memory), side lobes by ITU-R S.580-6 with the Bureau's extension
and Radio Regulations Appendix 8 Annex III. The rows were computed apart, by a script of its own.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.physics.radio.masks import named_mask
from siteplan.planning.link.spectrum.limits import limits
from tests.planning.link.spectrum.ruled import (
    KU,
    S728,
    allowed_dbw,
    own_mask,
    planned,
    ruled,
    standing,
)

#: Figures that masks decide.
OF_MASKS = (
    *("off_axis_margin_db", "off_axis_angle_deg", "allowed_feed_w", "tx_power_w", "power_cut_db"),
    *("margin_db", "antenna_m", "buc_w", "required_antenna_m"),
)
#: Uplink in the band of each named mask, and downlink [GHz].
UPLINKS = {
    "47cfr25_ku": (14.25, 11.95), "47cfr25_ka": (29.5, 19.7), "s524_9": (13.9, 11.95),
    "s728_1": (14.25, 11.95), "en301428": (14.25, 11.95), "en301459": (29.75, 19.95),
}  # fmt: skip


def with_pattern(pattern: str) -> list[dict[str, Any]]:
    return [{"diameter_m": d, "pattern": pattern} for d in (1.2, 1.8, 2.4)]


REPORT = {"masks": ["47cfr25_ku"], "action": "report"}


@pytest.mark.parametrize(
    ("dish_m", "buc_w", "rate", "pattern", "margin", "angle", "allowed"),
    [
        (1.2, 2, 0.256, "s580", -2.1741, 1.500, 0.858),
        (1.2, 2, 0.256, "appendix_8", -4.0265, 1.947, 0.560),
        (1.8, 3, 0.256, "s580", -0.1886, 1.500, 2.034),
        (1.8, 3, 0.256, "appendix_8", -3.8659, 1.500, 0.872),
        (2.4, 3, 0.128, "s580", -2.9457, 1.500, 1.078),
        (2.4, 3, 0.128, "appendix_8", -5.9457, 1.500, 0.540),
    ],
)
def test_rows_worked_apart(
    dish_m: float, buc_w: float, rate: float, pattern: str, margin: float, angle: float,
    allowed: float,
) -> None:  # fmt: skip
    """Tx loss 0.5 dB, back-off 1 dB, an error of pointing from a loss of 0.3 dB: the defaults."""
    network = ruled(
        inbound={"symbol_rate_msps": rate}, antennas=with_pattern(pattern), regulation=REPORT
    )
    c = standing(network, dish_m, buc_w)
    assert c["off_axis_margin_db"][0] == pytest.approx(margin, abs=1e-3)
    assert c["off_axis_angle_deg"][0] == pytest.approx(angle, abs=1e-3)
    assert c["allowed_feed_w"][0] == pytest.approx(allowed, abs=6e-4)
    assert c["off_axis_mask"].tolist() == ["47cfr25_ku"]


@pytest.mark.parametrize(
    ("pattern", "margins"),
    [
        ("s580", (3.85, 0.84, -0.92, 7.59, 4.58, 2.82, 7.85, 4.84, 3.07)),
        ("appendix_8", (1.99, -1.02, -2.78, 3.92, 0.91, -0.86, 4.85, 1.84, 0.07)),
    ],
)
def test_a_table_of_pairs_at_512_ksym_s(pattern: str, margins: tuple[float, ...]) -> None:
    """1, 2 and 3 W with 1.2, 1.8 and 2.4 m, worked apart to a hundredth; nothing cut or cut."""
    network = ruled(
        inbound={"symbol_rate_msps": 0.512}, antennas=with_pattern(pattern), regulation=REPORT
    )
    dish, buc = np.repeat([1.2, 1.8, 2.4], 3), np.tile([1.0, 2.0, 3.0], 3)
    c = standing(network, dish, buc)
    np.testing.assert_allclose(c["off_axis_margin_db"], margins, atol=0.01)
    over = ["off_axis_exceeded" in f.split(";") for f in c["flags"]]
    assert over == [m < 0 for m in margins]
    cut = standing(network.model_copy(update={"regulation": ruled().regulation}), dish, buc)
    np.testing.assert_allclose(cut["off_axis_margin_db"], np.maximum(margins, 0), atol=0.01)
    np.testing.assert_allclose(cut["power_cut_db"], np.maximum(-np.array(margins), 0), atol=0.01)


def test_ten_terminals_at_once_cost_ten_decibels() -> None:
    one, ten = (
        standing(ruled(regulation=REPORT | {"simultaneous_terminals": n}), [1.2, 1.8, 2.4], 2)
        for n in (1, 10)
    )
    lost = one["off_axis_margin_db"] - ten["off_axis_margin_db"]
    np.testing.assert_allclose(lost, 10, atol=1e-9)
    np.testing.assert_allclose(ten["allowed_feed_w"], one["allowed_feed_w"] / 10, rtol=1e-9)
    np.testing.assert_array_equal(ten["off_axis_angle_deg"], one["off_axis_angle_deg"])


@pytest.mark.parametrize("name", sorted(UPLINKS))
@pytest.mark.parametrize("action", ["cut_power", "report"])
def test_a_mask_of_ones_own_equals_the_published_one(name: str, action: str) -> None:
    """Its figures written out as the operator's own give the same, but for the name."""
    up, down = UPLINKS[name]
    mask = named_mask(name, up)
    parts = [(s.from_deg, s.to_deg, s.a, s.b) for s in mask.segments]
    own = own_mask(parts, mask.reference_khz, mask.angle_from)
    inbound = {"uplink_ghz": up, "downlink_ghz": down}
    rule = {"action": action, "simultaneous_terminals": 400}
    named = ruled(inbound=inbound, regulation=rule | {"masks": [name]})
    ours = ruled(inbound=inbound, regulation=rule | {"masks": ["own"]}, masks=[own])
    pair = {"fixed_antenna_m": [np.nan, 1.2, 1.8], "fixed_buc_w": [np.nan, 3.0, np.nan]}
    one, other = (
        planned(n, [-3.1, 10, -20], [-60, -70, -50], availability_pct=95, **pair).columns
        for n in (named, ours)
    )
    for field in OF_MASKS:
        np.testing.assert_array_equal(one[field], other[field], err_msg=field)
    given = ~np.isnan(one["antenna_m"] + one["buc_w"])
    assert set(other["off_axis_mask"][given]) == {"own"}
    assert set(one["off_axis_mask"][given]) == {name}
    acted = one["power_cut_db"] if action == "cut_power" else -one["off_axis_margin_db"]
    assert np.nanmax(acted) > 0


def test_a_limit_restated_in_another_bandwidth_is_the_same() -> None:
    """4 kHz to 40 kHz is 10.000 dB more on either side, while the carrier is wider than both."""
    wider = tuple((start, end, a + 10, b) for start, end, a, b in KU)
    rule = REPORT | {"masks": ["own"]}
    one, other = (
        standing(ruled(regulation=rule, masks=[mask]), [1.2, 1.8, 2.4], 2)
        for mask in (own_mask(KU), own_mask(wider, 40))
    )
    np.testing.assert_allclose(one["off_axis_margin_db"], other["off_axis_margin_db"], atol=1e-9)


def test_a_carrier_narrower_than_the_bandwidth_puts_all_its_power_into_it() -> None:
    """30 ksym/s under a limit of 40 kHz: 40 log steps, not 30; by hand."""
    network = ruled(
        inbound={"symbol_rate_msps": 0.03},
        regulation=REPORT | {"masks": ["own"]},
        masks=[own_mask(S728, 40, "axis")],
    )
    c = standing(network, 1.2, 2)
    by_hand = allowed_dbw(S728, 1.2, khz=40, rate=30e3)
    assert 10 * np.log10(c["allowed_feed_w"][0]) == pytest.approx(by_hand, abs=1e-3)


@pytest.mark.parametrize("efficiency", [0.45, 0.65, 0.75])
def test_installed_antennas_have_their_own_efficiency(efficiency: float) -> None:
    """Its main lobe is what is tightest at 1.5 degrees: a poor dish may have more power."""
    c = standing(ruled(regulation=REPORT), 1.2, 2, fixed_efficiency=efficiency)
    # A loss of 0.3 dB on a beam of 70 lambda / D: 0.1940 degrees.
    by_hand = allowed_dbw(KU, 1.2, away=0.1940, efficiency=efficiency)
    assert 10 * np.log10(c["allowed_feed_w"][0]) == pytest.approx(by_hand, abs=2e-3)


@pytest.mark.parametrize("order", [("own", "47cfr25_ku"), ("47cfr25_ku", "own")])
def test_of_two_masks_the_tighter_counts_and_is_named(order: tuple[str, str]) -> None:
    """One is tighter for 1.2 m, near the main lobe; the other for 2.4 m, by its side lobes."""
    far = own_mask([(3.0, 7.0, 13.0, 25.0)], angle_from="axis")
    both = ruled(regulation={"masks": list(order)}, masks=[far])
    dishes = [1.2, 1.8, 2.4]
    found = standing(both, dishes, 8)
    one = standing(ruled(regulation={"masks": ["own"]}, masks=[far]), dishes, 8)
    other = standing(ruled(), dishes, 8)
    least = np.fmin(one["allowed_feed_w"], other["allowed_feed_w"])
    np.testing.assert_array_equal(found["allowed_feed_w"], least)
    tighter = np.where(one["allowed_feed_w"] < other["allowed_feed_w"], "own", "47cfr25_ku")
    assert set(tighter) == {"own", "47cfr25_ku"}
    assert found["off_axis_mask"].tolist() == found["power_cut_by"].tolist() == tighter.tolist()
    np.testing.assert_array_equal(
        found["tx_power_w"], np.fmin(one["tx_power_w"], other["tx_power_w"])
    )


def test_an_error_of_pointing_counts_only_from_the_satellite() -> None:
    def allowed(angle_from: str, **terminal: Any) -> float:
        mask = own_mask(KU, angle_from=angle_from)
        network = ruled(regulation={"masks": ["own"]}, masks=[mask], terminal=terminal)
        return float(standing(network, 1.2, 2)["allowed_feed_w"][0])

    each: list[dict[str, float]] = [{}, {"pointing_error_deg": 0.4}, {"pointing_loss_db": 1.0}]
    axis = {allowed("axis", **terminal) for terminal in each}
    assert len(axis) == 1
    errors = (0.0, 0.1, 0.2, 0.4)
    counted = [allowed("satellite", pointing_error_deg=e) for e in errors]
    assert counted[0] == max(axis)
    for error, watts in zip(errors, counted, strict=True):
        by_hand = allowed_dbw(KU, 1.2, away=error)
        assert 10 * np.log10(watts) == pytest.approx(by_hand, abs=2e-3)
    assert counted == sorted(counted, reverse=True)


def test_a_measured_pattern_counts_as_it_sends() -> None:
    """Its side that sends is 2 dB better everywhere; the one that receives must not matter."""
    angles = np.concatenate([[0.0], np.geomspace(0.5, 180, 300)])
    tx = np.where(angles < 1.5, 30.0, 27 - 25 * np.log10(np.maximum(angles, 1.5)))
    mask = own_mask([(2.0, 7.0, 15.0, 25.0)], angle_from="axis")

    def allowed(rx: Any) -> float:
        gains = {
            "angle_deg": angles.tolist(),
            "rx_gain_dbi": rx.tolist(),
            "tx_gain_dbi": tx.tolist(),
        }
        dish = {
            "diameter_m": 1.2,
            "pattern": "file",
            "pattern_file": "g.csv",
            "pattern_gains": gains,
        }
        network = ruled(regulation={"masks": ["own"]}, masks=[mask], antennas=[dish])
        return float(standing(network, 1.2, 2)["allowed_feed_w"][0])

    one, other = allowed(tx), allowed(tx + 10)
    # 15 - 25 log phi less 27 - 25 log phi, in 64 times 4 kHz, at every angle; rows are straight in
    # the logarithm of the angle.
    assert 10 * np.log10(one) == pytest.approx(-12 + 10 * np.log10(64), abs=1e-3)
    assert one == other


def test_without_masks_there_are_no_limits_and_no_fields() -> None:
    bare = ruled(regulation={"masks": []})
    assert limits(bare) is None
    c = standing(bare, 1.2, 2)
    assert not {"off_axis_margin_db", "allowed_feed_w", "emission", "horizon_density_dbw"} & set(c)
    named = limits(ruled())
    assert named is not None
    assert named.cuts
