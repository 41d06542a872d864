"""Limits of EIRP density off the axis: masks of 47 CFR 25, ITU-R S.524-9, ITU-R S.728-1 and ETSI.

``masks.csv`` holds them, a row a mask or a part of one that goes by the uplink frequency, with
edition and source. ``segments`` reads ``from to a b``: a limit of a - b log10(angle) [dBW in the
reference bandwidth] between two angles [deg]. Of ITU-R and ETSI all figures are from memory, of
47 CFR 25 they were read in public copies. The masks are co-polar, along the geostationary arc;
limits of the cross-polar side lobes are not modelled, nor that 47 CFR lets a measured pattern
exceed some of its limits by 3 dB over a tenth of the angles. Nothing is limited inside the first
angle. That the limit steps up where segments meet, by 10 dB at 48 degrees in the masks from 27.5 to
30 GHz, is as published.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Final, Literal, cast

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray
from siteplan.frozen import frozen
from siteplan.physics.tables import number, read_rows

AngleFrom = Literal["axis", "satellite"]

#: Highest frequency [GHz] at which 47 CFR 25.204(a) limits the density towards the horizon, in
#: 4 kHz; above, 25.204(b) does in 1 MHz.
HORIZON_4_KHZ_TO_GHZ: Final = 15.0
#: Elevation of the horizon [deg] above which 47 CFR 25.204(c) limits nothing.
HORIZON_LIMITED_TO_DEG: Final = 5.0
#: Nearer the axis than this the angle's logarithm is not taken. [deg]
_LEAST_DEG: Final = 1e-9


def slanting_db(a: float | FloatArray, b: float | FloatArray, angle_deg: FloatArray) -> FloatArray:
    """Return limits of a - b log10(angle) [dBW] at angles [deg]; all broadcast together."""
    return np.asarray(a - b * np.log10(np.maximum(angle_deg, _LEAST_DEG)))


@frozen
class Segment:
    """A limit of a - b log10(angle) [dBW in the reference bandwidth] between two angles [deg]."""

    from_deg: float
    to_deg: float
    a: float
    b: float

    def limit_db(self, angle_deg: FloatArray) -> FloatArray:
        """Return the segment's limit [dBW] at angles [deg], also outside it."""
        return slanting_db(self.a, self.b, angle_deg)


@frozen
class Mask:
    """A limit of EIRP density off the axis.

    ``bands_ghz`` are the uplink frequencies it is for (none: any). ``angle_from`` says what its
    angles are counted from: the main lobe's axis, or the line to the satellite, so that an error
    of pointing counts. ``segments`` rise; between them nothing is limited.
    """

    name: str
    edition: str
    date: str
    source: str
    bands_ghz: tuple[tuple[float, float], ...]
    reference_khz: float
    angle_from: AngleFrom
    segments: tuple[Segment, ...]
    tag: str = ""


def mask_names() -> tuple[str, ...]:
    """Return the names of the masks that are known, in the order of ``masks.csv``.

    Examples
    --------
    >>> mask_names()[:3]
    ('47cfr25_ku', '47cfr25_ka', 's524_9')
    """
    return tuple(dict.fromkeys(mask.name for mask in _masks()))


def named_mask(name: str, uplink_ghz: float) -> Mask:
    """Return the mask of a name, or that part of it which is for an uplink frequency.

    Parameters
    ----------
    name : str
        One of `mask_names`.
    uplink_ghz : float
        Frequency of the uplink; the ends of a band belong to it. [GHz]

    Returns
    -------
    Mask

    Raises
    ------
    ValueError
        If the mask is unknown, or is not for the frequency: the message names those that are.

    Examples
    --------
    >>> named_mask("s524_9", 14.25).edition
    'ITU-R S.524-9 recommends 3.1'
    """
    parts = [mask for mask in _masks() if mask.name == name]
    if not parts:
        known = ", ".join(mask_names())
        raise ValueError(f"mask {name!r} is not known: use one of {known}")
    for mask in parts:
        if any(low <= uplink_ghz <= high for low, high in mask.bands_ghz):
            return mask
    bands = ", ".join(f"{low:g} to {high:g}" for part in parts for low, high in part.bands_ghz)
    raise ValueError(f"mask {name!r} is for {bands} GHz: the uplink is at {uplink_ghz:g} GHz")


def limit_db(mask: Mask, angle_deg: ArrayLike) -> FloatArray:
    """Return what a mask allows at angles.

    Parameters
    ----------
    mask : Mask
    angle_deg : array_like
        Angle from what the mask counts from, its sign without meaning. [deg]

    Returns
    -------
    ndarray
        EIRP density [dBW in ``mask.reference_khz``]; where two segments meet, the lower one
        counts; NaN where nothing is limited.

    Examples
    --------
    Nothing within 1.5 degrees; 15 - 25 log phi, by hand at 5 degrees; -6 beyond 7.

    >>> limit_db(named_mask("47cfr25_ku", 14.25), [1, -5, 8]).round(3).tolist()
    [nan, -2.474, -6.0]
    """
    angle = np.abs(np.asarray(angle_deg, dtype=float))
    limit = np.full(angle.shape, np.nan)
    for segment in mask.segments:
        inside = (angle >= segment.from_deg) & (angle <= segment.to_deg)
        limit = np.where(inside, np.fmin(limit, segment.limit_db(angle)), limit)
    return np.asarray(limit)


def horizon_reference_khz(frequency_ghz: ArrayLike) -> FloatArray:
    """Return in what bandwidth [kHz] the density towards the horizon is told, at frequencies [GHz].

    Examples
    --------
    >>> horizon_reference_khz([14.25, 15, 29.5]).tolist()
    [4.0, 4.0, 1000.0]
    """
    narrow = np.asarray(frequency_ghz, dtype=float) <= HORIZON_4_KHZ_TO_GHZ
    return np.asarray(np.where(narrow, 4.0, 1000.0))


def horizon_limit_dbw(frequency_ghz: ArrayLike, horizon_deg: ArrayLike) -> FloatArray:
    """Return the limit of EIRP density towards the horizon in bands shared with terrestrial links.

    Parameters
    ----------
    frequency_ghz : array_like
        Frequency. [GHz]
    horizon_deg : array_like
        Elevation of the horizon, seen from the dish. [deg] The two broadcast together.

    Returns
    -------
    ndarray
        Limit [dBW in `horizon_reference_khz`]; NaN where the horizon is above 5 degrees: no limit.

    References
    ----------
    47 CFR 25.204(a) to (c).

    Examples
    --------
    40 dBW in 4 kHz and 3 dB more a degree; 64 dBW in 1 MHz above 15 GHz.

    >>> horizon_limit_dbw(14.25, [-1, 0, 2, 6]).tolist()
    [40.0, 40.0, 46.0, nan]
    >>> float(horizon_limit_dbw(29.5, 2))
    70.0
    """
    horizon = np.asarray(horizon_deg, dtype=float)
    flat = np.where(horizon_reference_khz(frequency_ghz) < 1000, 40.0, 64.0)
    limit = flat + 3 * np.maximum(horizon, 0)
    return np.asarray(np.where(horizon > HORIZON_LIMITED_TO_DEG, np.nan, limit))


@lru_cache(maxsize=1)
def _masks() -> tuple[Mask, ...]:
    """Return the rows of the file."""
    return tuple(map(_mask, read_rows(Path(__file__).with_name("masks.csv"))))


def _mask(row: dict[str, str]) -> Mask:
    """Return the mask of a row."""
    bands = (band.split("-") for band in row["bands_ghz"].split(";"))
    return Mask(
        name=row["name"],
        edition=row["edition"],
        date=row["date"],
        source=row["source"],
        bands_ghz=tuple((number(low), number(high)) for low, high in bands),
        reference_khz=number(row["reference_khz"]),
        angle_from=cast(AngleFrom, row["angle_from"]),
        segments=tuple(
            Segment(*map(number, segment.split())) for segment in row["segments"].split(";")
        ),
        tag=row["tag"],
    )
