"""Margin under a mask: closed form against a search, powers, terminals, bandwidths, own masks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.physics.radio.antennas import gain_dbi, wavelength_m
from siteplan.physics.radio.masks import Mask, Segment, limit_db, named_mask
from siteplan.physics.radio.off_axis import Radiator, allowed_feed_dbw, density_dbw, tightest
from siteplan.physics.radio.patterns import (
    PATTERNS,
    MeasuredPattern,
    measured_gain_dbi,
    off_axis_gain_dbi,
)

UPLINKS = {
    **{"47cfr25_ku": (14.25,), "47cfr25_ka": (28.5, 29.5), "s524_9": (6.0, 14.0, 29.0)},
    **{"s728_1": (14.25,), "en301428": (14.25,), "en301459": (29.75,)},
}
NAMED = [named_mask(name, uplink) for name, uplinks in UPLINKS.items() for uplink in uplinks]
KU = named_mask("47cfr25_ku", 14.25)


def own(*segments: tuple[float, float, float, float]) -> Mask:
    """Return an operator's mask, counted from the satellite."""
    return Mask("own", "", "", "", (), 40.0, "satellite", tuple(Segment(*s) for s in segments))


#: Steeper than side lobes; rising; from the axis on; with a gap.
OWN = [
    own((1.5, 20, 40, 35), (20, 180, -5, 0)),
    own((2, 30, -10, -12), (30, 180, 20, 0)),
    own((0, 1, 60, 0), (1, 180, 50, 20)),
    own((0.5, 3, 40, 10), (5, 60, 30, 30)),
]
masks = st.sampled_from(NAMED + OWN)
patterns = st.sampled_from(PATTERNS)
diameters = st.lists(st.floats(0.4, 6), min_size=1, max_size=4)


def dishes(pattern, diameters_m, efficiency=0.65, frequency=14.25):
    diameter = np.array(diameters_m)
    return Radiator(
        pattern, gain_dbi(diameter, efficiency, frequency), diameter / wavelength_m(frequency)
    )


def searched(mask, gain_at, away):
    """Return the least of limit less gain over 20 000 angles of each segment."""
    counted = away if mask.angle_from == "satellite" else 0.0
    least = np.inf
    for part in mask.segments:
        first = max(part.from_deg, 1e-4)
        angle = np.geomspace(first, part.to_deg, 20_000).clip(part.from_deg, part.to_deg)
        room = limit_db(mask, angle)[:, np.newaxis] - gain_at(angle[:, np.newaxis] - counted)
        least = np.minimum(least, room.min(axis=0))
    return least


@settings(max_examples=60, deadline=None)
@given(masks, patterns, diameters, st.floats(0.4, 0.8), st.floats(0, 1.5))
def test_the_closed_form_against_a_search(mask, pattern, diameters_m, efficiency, away):
    """A search finds nothing below it, and nothing much above it: 20 000 angles step by 1e-4."""
    dish = dishes(pattern, diameters_m, efficiency)
    found = allowed_feed_dbw(mask, dish, 1e3, displaced_deg=away)
    known = searched(mask, dish.at_dbi, away)
    assert (found <= known + 1e-9).all()
    np.testing.assert_allclose(found, known, rtol=0, atol=0.02)


@given(masks, patterns, diameters, st.floats(0, 1.5))
def test_the_margin_is_that_of_the_angle_told(mask, pattern, diameters_m, away):
    dish = dishes(pattern, diameters_m)
    margin, angle = tightest(mask, dish, 0.0, 1e6, displaced_deg=away)
    counted = away if mask.angle_from == "satellite" else 0.0
    room = limit_db(mask, angle) - dish.at_dbi(angle - counted)
    known = room - density_dbw(0.0, 1e6, mask.reference_khz)
    # Where a limit jumps up, the angle belongs to both sides and the lower one counts.
    np.testing.assert_allclose(margin, known, rtol=0, atol=1e-6)


@given(masks, patterns, diameters, st.floats(-20, 20), st.floats(1e3, 1e8), st.floats(0, 1))
def test_allowed_is_power_and_margin(mask, pattern, diameters_m, power, rate, away):
    dish = dishes(pattern, diameters_m)
    allowed = allowed_feed_dbw(mask, dish, rate, displaced_deg=away)
    margin, _ = tightest(mask, dish, power, rate, displaced_deg=away)
    np.testing.assert_allclose(allowed, power + margin, rtol=0, atol=1e-9)
    at_most, _ = tightest(mask, dish, allowed, rate, displaced_deg=away)
    np.testing.assert_allclose(at_most, 0, rtol=0, atol=1e-9)


@given(st.sampled_from(NAMED), patterns, diameters, st.floats(0, 1))
def test_ten_terminals_at_once_cost_10_db(mask, pattern, diameters_m, away):
    dish = dishes(pattern, diameters_m)
    one, ten = (
        allowed_feed_dbw(mask, dish, 1e6, displaced_deg=away, simultaneous=n) for n in (1, 10)
    )
    np.testing.assert_allclose(one - ten, 10, rtol=0, atol=1e-9)


@given(st.sampled_from(NAMED), patterns, diameters, st.floats(0, 1), st.floats(1e6, 1e8))
def test_a_limit_restated_in_another_bandwidth_is_the_same(mask, pattern, diameters_m, away, rate):
    """Ten times the reference, 10 dB more: exact for carriers wider than both."""
    wider = replace(
        mask,
        reference_khz=10 * mask.reference_khz,
        segments=tuple(replace(part, a=part.a + 10) for part in mask.segments),
    )
    rate = max(rate, 1e3 * wider.reference_khz)
    dish = dishes(pattern, diameters_m)
    found = [allowed_feed_dbw(m, dish, rate, displaced_deg=away) for m in (mask, wider)]
    np.testing.assert_allclose(*found, rtol=0, atol=1e-9)
    assert density_dbw(0, rate, wider.reference_khz) - density_dbw(
        0, rate, mask.reference_khz
    ) == pytest.approx(10, abs=1e-9)


@given(patterns, diameters, st.floats(0, 1), st.floats(0, 1))
def test_a_larger_error_of_pointing_never_allows_more(pattern, diameters_m, one, other):
    dish = dishes(pattern, diameters_m)
    less, more = (
        allowed_feed_dbw(KU, dish, 256e3, displaced_deg=away) for away in sorted((one, other))
    )
    assert (more <= less + 1e-9).all()


def radiator(pattern, x, efficiency=0.65):
    return Radiator(
        pattern, 10 * np.log10(efficiency * (np.pi * np.array([x])) ** 2), np.array([x])
    )


@pytest.mark.parametrize(
    ("segment", "dish", "away", "angle"),
    [
        # The end of S.580's shelf at -3.5 dBi: 10^(35.5 / 25) degrees.
        ((20, 40, 50, 20), radiator("s580", 114.0), 0.0, 26.303),
        # Steeper than side lobes, of a dish so small that its main lobe meets them.
        ((10, 25, 40, 40), radiator("s580_any_size", 6.0, 0.9), 0.0, None),
        ((10, 25, 40, 28), radiator("s580_any_size", 4.0, 0.9), 0.3, None),
        # A limit that rises, and the side lobes' end on the near side: 1.5 - 0.533 degrees.
        ((0.5, 1.1, 0, -5), radiator("s580", 285.0), 1.5, 0.967),
    ],
)
def test_turns_that_named_masks_hardly_show(segment, dish, away, angle):
    mask = own(segment)
    found = tightest(mask, dish, 0.0, 1e3, displaced_deg=away)
    known = searched(mask, dish.at_dbi, away)
    assert (found.margin_db <= known + 1e-9).all()
    np.testing.assert_allclose(found.margin_db, known, rtol=0, atol=1e-3)
    if angle is not None:
        assert found.angle_deg == pytest.approx([angle], abs=1e-3)


def test_a_spike_of_a_measured_pattern_is_met_on_either_side():
    """20 dB more over a thousandth of a degree, between the angles of the dense row."""
    rows, gains = np.array([0.0, 0.399, 0.4, 0.401, 2, 180]), np.array([43, 30, 50, 30, 0, -10.0])
    dish = Radiator(MeasuredPattern(rows, gains), np.array([43.0]), np.array([57.0]))
    for segment, angle in (((0.5, 0.9, 40, 0), 0.6), ((1.2, 3, 40, 0), 1.4)):
        margin, at = tightest(own(segment), dish, 0.0, 1e3, displaced_deg=1.0)
        assert margin == pytest.approx([-10.0], abs=1e-9)
        assert at == pytest.approx([angle], abs=1e-9)


def test_masks_from_the_axis_know_no_error_of_pointing():
    dish = dishes("s580", [1.2, 2.4])
    mask = named_mask("s728_1", 14.25)
    found = [allowed_feed_dbw(mask, dish, 256e3, displaced_deg=away) for away in (0, 0.5)]
    np.testing.assert_array_equal(*found)
    signs = [allowed_feed_dbw(KU, dish, 256e3, displaced_deg=away) for away in (-0.5, 0.5)]
    np.testing.assert_array_equal(*signs)


def test_an_own_mask_of_the_same_figures_gives_the_same():
    same = Mask(
        *("mine", "", "", "", (), 4.0, "satellite"),
        (
            *(Segment(1.5, 7, 15, 25), Segment(7, 9.2, -6, 0)),
            *(Segment(9.2, 19.1, 18, 25), Segment(19.1, 180, -14, 0)),
        ),
    )
    dish = dishes("s580", [0.6, 1.2, 2.4])
    for ours, theirs in zip(
        tightest(same, dish, 2.0, 256e3, displaced_deg=0.2),
        tightest(KU, dish, 2.0, 256e3, displaced_deg=0.2),
        strict=True,
    ):
        np.testing.assert_array_equal(ours, theirs)


def test_the_lower_side_of_a_jump_decides_whichever_side_it_is_on():
    """A level pattern (the floor of -10 dBi) under limits that step down and up."""
    dish = dishes("s465", [2.4])
    down = own((60, 90, 0, 0), (90, 180, -5, 0))
    up = own((60, 90, -5, 0), (90, 180, 0, 0))
    for mask, angle in ((down, 90), (up, 60)):
        found = tightest(mask, dish, 0.0, 40e3)
        assert found.margin_db == pytest.approx([5.0], abs=1e-9)
        assert found.angle_deg == pytest.approx([angle], abs=1e-9)


def test_a_mask_that_begins_beyond_the_main_lobe_never_counts_what_is_inside():
    """Main lobe and limit fall alike at sqrt(347.44 x 25) / 2 / x degrees: 46.60 / 85.56, 0.545.

    A mask that holds there is the tighter; one that begins at 1.5 degrees does not see it.
    """
    dish = dishes("s580", [1.8])
    assert tightest(KU, dish, 0.0, 256e3).angle_deg == pytest.approx([1.5], abs=1e-12)
    longer = replace(KU, segments=(replace(KU.segments[0], from_deg=0.3), *KU.segments[1:]))
    margin, angle = tightest(longer, dish, 0.0, 256e3)
    assert angle == pytest.approx([0.5447], abs=2e-4)
    assert (margin < tightest(KU, dish, 0.0, 256e3).margin_db - 5).all()


@settings(max_examples=25, deadline=None)
@given(masks, st.floats(0, 1.5), st.integers(0, 2**32 - 1))
def test_a_measured_pattern_against_a_search(mask, away, seed):
    rng = np.random.default_rng(seed)
    rows = np.append(0.0, np.sort(rng.uniform(0.1, 180, 30)))
    measured = MeasuredPattern(rows, 43 - 25 * np.log10(1 + rows) + rng.normal(0, 3, 31))
    dish = Radiator(measured, np.array([43.0, 44.0]), np.array([57.0, 57.0]))
    found = allowed_feed_dbw(mask, dish, 1e3, displaced_deg=away)
    known = searched(mask, lambda angle: measured_gain_dbi(measured, angle, dish.gain_dbi), away)
    np.testing.assert_allclose(found, known, rtol=0, atol=0.05)


@pytest.mark.parametrize("pattern", PATTERNS)
def test_a_reference_pattern_written_as_rows_gives_the_same(pattern):
    dish = dishes(pattern, [1.2])
    rows = np.append(0.0, np.geomspace(0.05, 180, 1500))
    gains = off_axis_gain_dbi(pattern, rows, dish.gain_dbi, dish.wavelengths)
    measured = Radiator(MeasuredPattern(rows, gains), dish.gain_dbi, dish.wavelengths)
    for mask in NAMED:
        found = [
            allowed_feed_dbw(mask, each, 256e3, displaced_deg=0.2) for each in (dish, measured)
        ]
        np.testing.assert_allclose(*found, rtol=0, atol=0.01)


def test_arrays_keep_their_shape_and_what_is_unknown_stays_so():
    dish = Radiator("s580", np.array([43.0, np.nan, 43.0]), np.array([57.0, 57.0, np.nan]))
    margin, angle = tightest(KU, dish, np.zeros((2, 1)), 256e3, displaced_deg=0.2)
    assert margin.shape == angle.shape == (2, 3)
    assert np.isnan(margin).tolist() == np.isnan(angle).tolist() == [[False, True, True]] * 2
    empty = tightest(own(), dishes("s580", [1.2]), 0.0, 256e3)
    assert empty.margin_db.tolist() == [np.inf]
    assert np.isnan(empty.angle_deg).all()
    # No power: nothing is exceeded.
    assert tightest(KU, dishes("s580", [1.2]), -np.inf, 256e3).margin_db.tolist() == [np.inf]
