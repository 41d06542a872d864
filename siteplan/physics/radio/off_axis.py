"""Off-axis EIRP density of a dish against a mask: margin, where it is least, power that is allowed.

The density is co-polar and in clear sky: power at the feed over the bandwidth, and the gain of the
side lobes. Angles along the arc, one side of the mask: an error of pointing brings the main lobe
nearer one of the sides, and that is the side that counts.

With a reference pattern the least margin is found in closed form. Between break points of mask and
pattern the difference of limit and gain has its least value at an end, but inside the main lobe,
where limit and parabola fall alike at one angle: a root of a quadratic equation. With a measured
pattern, break points and a dense row of angles are tried.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray
from siteplan.physics.radio.masks import Mask, Segment, slanting_db
from siteplan.physics.radio.patterns import (
    KNEES_DEG,
    MAIN_LOBE_DB,
    MeasuredPattern,
    envelope,
    measured_gain_dbi,
    off_axis_gain_dbi,
)

#: Angles, evenly spaced in their logarithm, that are tried of a measured pattern in a segment.
TRIED: Final = 2000
#: Margins that lie nearer than this [dB] are one: the angle told is then the least.
_SAME_DB: Final = 1e-9
#: Where the dense row of angles begins [deg] under a mask that begins at the axis.
_DENSE_FROM_DEG: Final = 1e-3
#: Of more dishes than this each segment is looked at by itself: arrays then fit the cache.
_FEW_DISHES: Final = 250
#: Limit and main lobe fall alike at (d + sqrt(d^2 + 347.44 b / x^2)) / 2, d the displacement.
_MEETING: Final = 2 / (MAIN_LOBE_DB * np.log(10))


class Radiator(NamedTuple):
    """Dishes that transmit: one pattern, and arrays that broadcast together.

    ``pattern`` is a name of `patterns.PATTERNS` or a measured pattern, ``gain_dbi`` the gain on
    axis [dBi], ``wavelengths`` D / lambda.
    """

    pattern: str | MeasuredPattern
    gain_dbi: FloatArray
    wavelengths: FloatArray

    def at_dbi(self, off_axis_deg: FloatArray) -> FloatArray:
        """Return the gain [dBi] at angles from the axis [deg]; all broadcast together."""
        if isinstance(self.pattern, str):
            return off_axis_gain_dbi(self.pattern, off_axis_deg, self.gain_dbi, self.wavelengths)
        return measured_gain_dbi(self.pattern, off_axis_deg, self.gain_dbi)


class Tightest(NamedTuple):
    """Least margin [dB] under a mask, and the angle [deg] of the mask where it is."""

    margin_db: FloatArray
    angle_deg: FloatArray


def density_dbw(
    power_dbw: ArrayLike, symbol_rate_sps: ArrayLike, reference_khz: ArrayLike
) -> FloatArray:
    """Return the power that falls into a reference bandwidth.

    Parameters
    ----------
    power_dbw : array_like
        Power of the carrier. [dBW]
    symbol_rate_sps : array_like
        Symbol rate. [symbol/s]
    reference_khz : array_like
        Reference bandwidth. [kHz] All broadcast together.

    Returns
    -------
    ndarray
        Density [dBW in the reference bandwidth]: a root-raised-cosine carrier is flat over its
        symbol rate; one that is narrower than the reference puts all its power into it.

    Examples
    --------
    1 W at 400 ksym/s is a hundredth in 4 kHz, all of it in 1 MHz.

    >>> density_dbw(0, 400e3, [4, 1000]).tolist()
    [-20.0, 0.0]
    """
    reference = 1e3 * np.asarray(reference_khz, dtype=float)
    rate = np.maximum(np.asarray(symbol_rate_sps, dtype=float), reference)
    return np.asarray(np.asarray(power_dbw, dtype=float) - 10 * np.log10(rate / reference))


def tightest(
    mask: Mask,
    radiator: Radiator,
    power_dbw: ArrayLike,
    symbol_rate_sps: ArrayLike,
    *,
    displaced_deg: ArrayLike = 0.0,
    simultaneous: ArrayLike = 1,
) -> Tightest:
    """Return the least margin under a mask and where it is: below zero the mask is exceeded.

    Parameters
    ----------
    mask : Mask
    radiator : Radiator
        Dishes, arrays of any shape.
    power_dbw : array_like
        Power at the feed. [dBW]
    symbol_rate_sps : array_like
        Symbol rate. [symbol/s]
    displaced_deg : array_like
        Error of pointing along the arc, its sign without meaning; counts where the mask's angles
        are from the satellite. [deg]
    simultaneous : array_like
        Terminals that send at once on one frequency, each as strong: the limit falls by as much.
        All broadcast together.

    Returns
    -------
    Tightest
        Of the broadcast shape; NaN where an argument is. Without end, its angle NaN, if the mask
        has no segments.

    Examples
    --------
    1.2 m at 14.25 GHz, 256 ksym/s, 1.416 W at the feed, 0.194 degrees off (S.580's pattern): the
    mask of 47 CFR 25 is exceeded by 2.17 dB at its first angle.

    >>> from siteplan.physics.radio.masks import named_mask
    >>> dish = Radiator("s580", np.array([43.196]), np.array([57.039]))
    >>> mask = named_mask("47cfr25_ku", 14.25)
    >>> margin, angle = tightest(mask, dish, 1.5103, 256e3, displaced_deg=0.194)
    >>> round(float(margin[0]), 2), float(angle[0])
    (-2.17, 1.5)
    """
    allowed, angle = _allowed(mask, radiator, symbol_rate_sps, displaced_deg, simultaneous)
    margin = allowed - np.asarray(power_dbw, dtype=float)
    return Tightest(margin, np.asarray(np.where(np.isnan(margin), np.nan, angle)))


def allowed_feed_dbw(
    mask: Mask,
    radiator: Radiator,
    symbol_rate_sps: ArrayLike,
    *,
    displaced_deg: ArrayLike = 0.0,
    simultaneous: ArrayLike = 1,
) -> FloatArray:
    """Return the largest power at the feed [dBW] under a mask; arguments as of `tightest`.

    Examples
    --------
    The same dish may have 0.858 W.

    >>> from siteplan.physics.radio.masks import named_mask
    >>> dish = Radiator("s580", np.array([43.196]), np.array([57.039]))
    >>> mask = named_mask("47cfr25_ku", 14.25)
    >>> allowed = allowed_feed_dbw(mask, dish, 256e3, displaced_deg=0.194)
    >>> round(float(10 ** (allowed[0] / 10)), 3)
    0.858
    """
    return _allowed(mask, radiator, symbol_rate_sps, displaced_deg, simultaneous)[0]


def _allowed(
    mask: Mask,
    radiator: Radiator,
    symbol_rate_sps: ArrayLike,
    displaced_deg: ArrayLike,
    simultaneous: ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    """Return the largest power at the feed [dBW], and the angle [deg] that decides it."""
    counts = mask.angle_from == "satellite"
    away = np.abs(np.asarray(displaced_deg, dtype=float)) * (1.0 if counts else 0.0)
    room, angle = _least_room(mask, radiator, away)
    spread = -density_dbw(0.0, symbol_rate_sps, mask.reference_khz)
    shared = 10 * np.log10(np.asarray(simultaneous, dtype=float))
    return np.asarray(room + spread - shared), angle


def _least_room(mask: Mask, radiator: Radiator, away: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the least of limit less gain [dB], the pattern moved ``away`` [deg], and its angle."""
    arrays = (np.asarray(radiator.gain_dbi, float), np.asarray(radiator.wavelengths, float), away)
    gain, x, away = (np.asarray(array) for array in np.broadcast_arrays(*arrays))
    dish = Radiator(radiator.pattern, gain, x)
    room = np.full(gain.shape, np.inf)
    at = np.full(gain.shape, np.nan)
    for some in _together(mask, dish):
        low, high, a, b = _columns(some, away)
        angle = np.clip(_candidates(some, dish, away), low, high)
        found = slanting_db(a, b, angle) - dish.at_dbi(angle - away)
        each = found.min(axis=1)
        where = np.where(found <= each[:, np.newaxis] + _SAME_DB, angle, np.inf).min(axis=1)
        for least, there in zip(each, where, strict=True):
            at = np.where(least < room - _SAME_DB, there, at)
            room = np.minimum(room, least)
    return room, at


def _together(mask: Mask, dish: Radiator) -> Iterator[tuple[Segment, ...]]:
    """Yield segments that are looked at in one go: all of them, where dishes are few."""
    few = isinstance(dish.pattern, str) and dish.gain_dbi.size <= _FEW_DISHES
    at_once = max(len(mask.segments), 1) if few else 1
    for first in range(0, len(mask.segments), at_once):
        yield mask.segments[first : first + at_once]


def _candidates(some: tuple[Segment, ...], dish: Radiator, away: FloatArray) -> FloatArray:
    """Return angles (s, k, ...), among which that of the least margin in each of s segments is.

    Both ends of a segment stand there, so both sides of a jump of the limit are tried; what lies
    outside it is to be drawn to an end. Angles inside the mask's first one are thus never tried.
    """
    if isinstance(dish.pattern, MeasuredPattern):
        rows = _column(np.asarray(dish.pattern.angle_deg, dtype=float), away)
        moved = [away + rows, away - rows, np.stack([_dense(s, away) for s in some])]
    else:
        moved = _turns(_columns(some, away)[3], dish.pattern, dish, away)
    moved += [*_columns(some, away)[:2], away[np.newaxis]]
    angles = [np.broadcast_to(x, (len(some), x.shape[-away.ndim - 1], *away.shape)) for x in moved]
    return np.concatenate(angles, axis=1)


def _dense(segment: Segment, away: FloatArray) -> FloatArray:
    """Return a dense row of angles (k, ...) in a segment."""
    first = np.log10(max(segment.from_deg, _DENSE_FROM_DEG))
    return _column(np.logspace(first, np.log10(segment.to_deg), TRIED), away)


def _turns(b: FloatArray, pattern: str, dish: Radiator, away: FloatArray) -> list[FloatArray]:
    """Return the angles at which the margin under slanting limits can turn from falling to rising.

    That is where main lobe and limit fall alike, and the far ends of the pattern's level parts:
    plateau and shoulder. Elsewhere, as where main lobe and side lobes meet, it turns the other
    way. A limit that rises does so on the near side of the main lobe; one that is level nowhere,
    as the gain never rises with the angle: that is ``away``, nearest the axis.
    """
    ends = [envelope(pattern, dish.wavelengths).side_deg]
    if pattern.startswith("s580"):
        ends.append(np.full(away.shape, KNEES_DEG[1]))
    root = np.sqrt(np.maximum(away**2 + _MEETING * b / dish.wavelengths**2, 0))
    return [away + np.sign(b) * np.stack(ends), (away + root) / 2]


def _columns(some: tuple[Segment, ...], away: FloatArray) -> FloatArray:
    """Return both ends [deg], a and b of s segments: arrays (s, 1, ...) over those of ``away``."""
    rows = np.array([(s.from_deg, s.to_deg, s.a, s.b) for s in some])
    return rows.T.reshape(4, len(some), 1, *(1,) * away.ndim)


def _column(angles: FloatArray, away: FloatArray) -> FloatArray:
    """Return angles (k,) along a first axis of their own before those of ``away``."""
    return angles.reshape(-1, *(1,) * away.ndim)
