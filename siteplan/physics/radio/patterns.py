"""Gain off the axis of a dish: reference patterns of its side lobes, and a maker's own.

The reference patterns are ITU-R S.580-6 as the Radiocommunication Bureau extends it, ITU-R S.465-6
and Appendix 8 (Annex III) of the Radio Regulations, co-polar. They were read in two transcriptions
of the Bureau's notes that agree, not in the texts themselves. Each is written here as one form
without branches in the angle, ``max(gm - 0.0025 (x phi)^2, min(g1, side(phi)))`` with
x = D / lambda: main lobe, plateau, side lobes. The texts' branches step by up to 0.04 dB where they
meet; this form does not.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray

#: Names of the reference patterns.
PATTERNS: Final = ("s580", "s465", "appendix_8", "s580_any_size")
#: D / lambda under which S.580-6 gives nothing and the Bureau takes Appendix 8.
SMALLEST_S580: Final = 50.0
#: Fall of the main lobe [dB] a square of angle times D / lambda; the same in all the patterns.
MAIN_LOBE_DB: Final = 0.0025
#: Angles [deg] at which side lobes change their form: 29 - 25 log phi meets -3.5 dBi, -3.5 dBi
#: meets 32 - 25 log phi, and that meets -10 dBi.
KNEES_DEG: Final = (10 ** (32.5 / 25), 10 ** (35.5 / 25), 10 ** (42 / 25))
#: Nearer than this the angle's logarithm is not taken. [deg]
_LEAST_DEG: Final = 1e-9


class Envelope(NamedTuple):
    """What fixes a reference pattern beside its main lobe; arrays of one shape.

    ``plateau_dbi`` lies between main lobe and side lobes, and those are ``side_dbi - 25 log phi``
    [dBi] until ``floor_dbi``.
    """

    plateau_dbi: FloatArray
    side_dbi: FloatArray
    floor_dbi: FloatArray

    @property
    def side_deg(self) -> FloatArray:
        """Where plateau and side lobes meet. [deg]"""
        return np.asarray(10 ** ((self.side_dbi - self.plateau_dbi) / 25))


class MeasuredPattern(NamedTuple):
    """A maker's pattern, one side of the axis: angles [deg] that rise from 0 to 180, gains [dBi].

    At least one angle is above zero.
    """

    angle_deg: FloatArray
    gain_dbi: FloatArray


def first_angle_deg(wavelengths: ArrayLike) -> FloatArray:
    """Return where the near-in side lobes begin, 100 lambda / D [deg], of D / lambda.

    Examples
    --------
    >>> first_angle_deg([50, 200]).tolist()
    [2.0, 0.5]
    """
    return np.asarray(100 / np.asarray(wavelengths, dtype=float))


def off_axis_gain_dbi(
    pattern: str, off_axis_deg: ArrayLike, gain_dbi: ArrayLike, wavelengths: ArrayLike
) -> FloatArray:
    """Return the co-polar gain that a reference pattern gives off the axis.

    Parameters
    ----------
    pattern : str
        One of `PATTERNS`. ``s580`` is ``appendix_8`` where D / lambda is below 50;
        ``s580_any_size`` is S.580-6's form there, too, as makers of small dishes often state.
    off_axis_deg : array_like
        Angle from the axis, its sign without meaning. [deg]
    gain_dbi : array_like
        Gain on the axis. [dBi]
    wavelengths : array_like
        D / lambda. All broadcast together.

    Returns
    -------
    ndarray
        Gain [dBi]; never rises with the angle.

    Raises
    ------
    ValueError
        If the pattern is unknown.

    References
    ----------
    ITU-R S.580-6 with the Bureau's extension (50 <= D / lambda < 100, and Appendix 8 below);
    ITU-R S.465-6, whose text defines nothing inside its least angle: its value there is held
    until the main lobe; Radio Regulations, Appendix 8, Annex III.

    Examples
    --------
    29 - 25 log phi at 10 degrees, and 32 - 25 log phi, by hand:

    >>> [float(off_axis_gain_dbi(name, 10, 49.2, 114)) for name in ("s580", "s465")]
    [4.0, 7.0]
    >>> off_axis_gain_dbi("s580", [0, 180], 43.2, 57).tolist()
    [43.2, -10.0]
    """
    angle = np.abs(np.asarray(off_axis_deg, dtype=float))
    x = np.asarray(wavelengths, dtype=float)
    shape = envelope(pattern, x)
    slope = 25 * np.log10(np.maximum(angle, _LEAST_DEG))
    side = np.maximum(shape.side_dbi - slope, shape.floor_dbi)
    if pattern.startswith("s580"):
        # -3.5 dBi holds until 32 - 25 log phi falls below it; Appendix 8 has no such shoulder.
        shoulder = np.maximum(side, np.minimum(-3.5, 32 - slope))
        side = shoulder if pattern == "s580_any_size" else np.where(x < 50, side, shoulder)
    main = np.asarray(gain_dbi, dtype=float) - MAIN_LOBE_DB * (x * angle) ** 2
    return np.asarray(np.maximum(main, np.minimum(shape.plateau_dbi, side)))


def envelope(pattern: str, wavelengths: ArrayLike) -> Envelope:
    """Return plateau, side lobes and floor of a reference pattern for D / lambda.

    Parameters
    ----------
    pattern : str
        One of `PATTERNS`.
    wavelengths : array_like
        D / lambda.

    Returns
    -------
    Envelope
        Arrays of the shape of ``wavelengths``. The shoulder of -3.5 dBi of S.580-6, from 19.95
        to 26.30 degrees, is not among them.

    Raises
    ------
    ValueError
        If the pattern is unknown.

    Examples
    --------
    S.465-6 from 1 degree at D / lambda 100 and more: 32 dBi there.

    >>> [float(level) for level in envelope("s465", 100)]
    [32.0, 32.0, -10.0]
    """
    x = np.asarray(wavelengths, dtype=float)
    if pattern == "s465":
        return _s465(x)
    if pattern == "appendix_8":
        return _appendix_8(x)
    if pattern == "s580_any_size":
        return _s580(x)
    if pattern != "s580":
        known = ", ".join(PATTERNS)
        raise ValueError(f"pattern {pattern!r} is not known: use one of {known}")
    small = x < SMALLEST_S580
    both = zip(_appendix_8(x), _s580(x), strict=True)
    return Envelope(*(np.where(small, below, above) for below, above in both))


def measured_gain_dbi(
    pattern: MeasuredPattern, off_axis_deg: ArrayLike, gain_dbi: ArrayLike
) -> FloatArray:
    """Return the gain of a measured pattern off the axis.

    Parameters
    ----------
    pattern : MeasuredPattern
        Between its rows the gain [dB] is linear in the logarithm of the angle; beyond the last
        row its value holds.
    off_axis_deg : array_like
        Angle from the axis, its sign without meaning. [deg]
    gain_dbi : array_like
        Gain on the axis [dBi], which holds whatever a row at 0 says. The two broadcast together.

    Returns
    -------
    ndarray
        Gain [dBi]. Inside the first angle above zero it goes from the gain on the axis to that
        row's with the square of the angle, as a main lobe does: without a turn in between.

    Examples
    --------
    Halfway between 1 and 100 degrees lies 10; halfway to the first row a quarter is lost.

    >>> pattern = MeasuredPattern(np.array([0.0, 1.0, 100.0]), np.array([41.0, 30.0, -10.0]))
    >>> measured_gain_dbi(pattern, [0, 0.5, 1, 10, -180], 42).tolist()
    [42.0, 39.0, 30.0, 10.0, -10.0]
    """
    angle = np.abs(np.asarray(off_axis_deg, dtype=float))
    rows, gains = (np.asarray(column, dtype=float) for column in pattern)
    rows, gains = rows[rows > 0], gains[rows > 0]
    on_axis = np.asarray(gain_dbi, dtype=float)
    beyond = np.interp(np.log10(np.maximum(angle, rows[0])), np.log10(rows), gains)
    inside = on_axis - (on_axis - gains[0]) * (angle / rows[0]) ** 2
    return np.asarray(np.where(angle < rows[0], inside, beyond))


def _appendix_8(x: FloatArray) -> Envelope:
    """Return Appendix 8's: the level of the side lobes rises as the dish shrinks below 100."""
    log_x = np.log10(x)
    raised = 10 * np.maximum(2 - log_x, 0)
    return Envelope(2 + 15 * log_x, 32 + raised, raised - 10)


def _s580(x: FloatArray) -> Envelope:
    """Return S.580-6's, its form between D / lambda 50 and 100 for anything smaller, too."""
    log_x = np.log10(x)
    plateau = np.where(x < 100, 25 * log_x - 21, 15 * log_x - 1)
    return Envelope(plateau, np.full_like(x, 29), np.full_like(x, -10))


def _s465(x: FloatArray) -> Envelope:
    """Return S.465-6's: its least angle has a rule for small dishes and one for the others."""
    least = np.where(x >= 50, np.maximum(1, 100 / x), np.maximum(2, 114 * x**-1.09))
    level = 32 - 25 * np.log10(least)
    return Envelope(level, np.full_like(x, 32), np.full_like(x, -10))
