"""Side lobes of the network's dishes: which pattern each has on either side, and its gain off axis.

Patterns go by number, so that the dishes of many sites can have theirs in an array: the reference
patterns first, then those that makers measured.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from siteplan.arrays import FloatArray, IntArray
from siteplan.network import Antenna, Hub, Network
from siteplan.physics.radio.patterns import (
    PATTERNS,
    MeasuredPattern,
    measured_gain_dbi,
    off_axis_gain_dbi,
)

#: A pattern: the name of a reference pattern, or a measured one.
Pattern = str | MeasuredPattern
#: Which side of a dish: receiving, sending.
Side = Literal["rx", "tx"]
#: Number of the pattern of a dish whose diameter is not the catalogue's.
S580 = PATTERNS.index("s580")


class Sides(NamedTuple):
    """The patterns of a dish: receiving and sending."""

    rx: Pattern
    tx: Pattern


def by_size(network: Network) -> tuple[Antenna, ...]:
    """Return the antennas of the catalogue, smallest first."""
    return tuple(sorted(network.antennas, key=lambda a: a.diameter_m))


def all_sides(network: Network) -> tuple[Sides, ...]:
    """Return the patterns by number: reference ones, then those of files, the hub's last."""
    dishes: tuple[Antenna | Hub, ...] = (*by_size(network), network.hub)
    measured = [of for of in dishes if of.pattern == "file"]
    named = [Sides(name, name) for name in PATTERNS]
    return (*named, *(Sides(_side(of, "rx"), _side(of, "tx")) for of in measured))


def _side(of: Antenna | Hub, side: Side) -> Pattern:
    """Return the pattern of one side of a dish whose gains come from a file."""
    gains = of.pattern_gains
    column = None if gains is None else getattr(gains, f"{side}_gain_dbi")
    if gains is None or column is None:
        return of.rx_pattern if side == "rx" else of.tx_pattern
    return MeasuredPattern(np.array(gains.angle_deg), np.array(column))


def numbers(network: Network) -> tuple[list[int], int]:
    """Return the number of the pattern of each antenna, smallest first, and of the hub's."""
    found, files = [], len(PATTERNS)
    for dish in (*by_size(network), network.hub):
        if dish.pattern == "file":
            found.append(files)
            files += 1
        else:
            found.append(PATTERNS.index(dish.pattern))
    return found[:-1], found[-1]


def without_files(number: IntArray | int) -> IntArray | int:
    """Return the numbers of patterns for other diameters than the measured ones: S.580 there."""
    kept = np.where(np.asarray(number) < len(PATTERNS), number, S580)
    return kept if kept.ndim else int(kept)


def side_gain_dbi(
    sides: tuple[Sides, ...],
    side: Side,
    number: IntArray | int,
    off_axis_deg: FloatArray,
    *,
    gain_dbi: FloatArray | float,
    wavelengths: FloatArray | float,
) -> FloatArray:
    """Return the gain of dishes off their axis (..., n) [dBi].

    Parameters
    ----------
    sides : tuple of Sides
        Patterns by number.
    side : str
        Receiving or sending.
    number : int or (n,) array
        Of the pattern of each dish.
    off_axis_deg : (..., n) array
        Angles from the axis [deg].
    gain_dbi, wavelengths : float or (n,) array
        Gain on the axis [dBi], and D / lambda.
    """
    kinds = np.unique(number)
    if len(kinds) == 1:
        pattern = getattr(sides[kinds[0]], side)
        return gain_off_axis_dbi(pattern, off_axis_deg, gain_dbi=gain_dbi, wavelengths=wavelengths)
    n = off_axis_deg.shape[-1]
    gain, x, which = (np.broadcast_to(v, n) for v in (gain_dbi, wavelengths, number))
    found = np.empty_like(off_axis_deg)
    for kind in kinds:
        here = which == kind
        pattern = getattr(sides[kind], side)
        found[..., here] = gain_off_axis_dbi(
            pattern, off_axis_deg[..., here], gain_dbi=gain[here], wavelengths=x[here]
        )
    return found


def gain_off_axis_dbi(
    pattern: Pattern,
    off_axis_deg: FloatArray,
    *,
    gain_dbi: FloatArray | float,
    wavelengths: FloatArray | float,
) -> FloatArray:
    """Return the gain of one pattern off the axis [dBi]; arguments as in `side_gain_dbi`."""
    if isinstance(pattern, str):
        return off_axis_gain_dbi(pattern, off_axis_deg, gain_dbi, wavelengths)
    return measured_gain_dbi(pattern, off_axis_deg, gain_dbi)
