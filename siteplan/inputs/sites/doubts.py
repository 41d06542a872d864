"""Doubts about coordinates that only the whole file can raise. A doubt never mends.

The statistics are medians of the file itself: common practice, no source. Each threshold is a
named constant with its reason.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import BoolArray, FloatArray, IntArray, TextArray
from siteplan.model import Note

#: Fewer sites make no cluster that a stray one could be compared with.
MIN_CLUSTER = 5
#: A site is far from the others beyond this many times their median distance.
FAR_TIMES_MEDIAN = 4.0
#: Sites this near to the centre are never far, however tight the cluster [deg].
NEAR_DEG = 1.0
#: The core must hold this share of the sites, or the file has no single cluster.
MIN_CORE_SHARE = 0.6
#: Sites needed before decimals can look like minutes.
MIN_MINUTES_SITES = 10
#: Chance above which decimals below 60 may well be chance.
MAX_MINUTES_CHANCE = 0.01


@dataclass(frozen=True)
class Points:
    """The readable coordinates of a file: one element a row, in the order of the rows.

    ``decimals`` (n, 2) as in :class:`siteplan.inputs.sites.coordinates.Coordinates`.
    """

    site_id: TextArray
    row: IntArray
    lat: FloatArray
    lon: FloatArray
    decimals: IntArray

    def __len__(self) -> int:
        """Return the number of points."""
        return len(self.row)


def coordinate_doubts(points: Points) -> dict[int, list[Note]]:
    """Return the doubts by row number.

    Parameters
    ----------
    points : Points
        Readable coordinates only, no NaN.

    Returns
    -------
    dict of row to list of Note
        All with the code ``coordinate_doubt``.
    """
    doubts: dict[int, list[Note]] = {}
    if len(points) == 0:
        return doubts
    for check in (_strays, _minutes_as_decimals, _shared_points, _few_decimals, _zeros, _twins):
        for at, note in check(points):
            doubts.setdefault(int(points.row[at]), []).append(note)
    return doubts


_Found = list[tuple[int, Note]]


def _shared(mask: ArrayLike, note: Note) -> _Found:
    return [(at, note) for at in np.flatnonzero(mask).tolist()]


def _wrap(degrees: FloatArray) -> FloatArray:
    """Return longitudes in [-180, 180)."""
    return (degrees + 180) % 360 - 180


def _middle_lon(lon: FloatArray) -> float:
    """Return the median longitude, counted from the side where the sites are."""
    x, y = np.cos(np.radians(lon)).mean(), np.sin(np.radians(lon)).mean()
    mean = float(np.degrees(np.arctan2(y, x)))
    return mean + float(np.median(_wrap(lon - mean)))


def _strays(points: Points) -> _Found:
    """Find far sites that a lost sign or a swap would put among the others."""
    if len(points) < MIN_CLUSTER:
        return []
    lat, lon = points.lat, points.lon
    lat0, lon0 = float(np.median(lat)), _middle_lon(lon)
    dy, dx = lat - lat0, _wrap(lon - lon0)
    distance = np.hypot(dy, dx * np.cos(np.radians(lat0)))
    core: BoolArray = distance <= max(FAR_TIMES_MEDIAN * float(np.median(distance)), NEAR_DEG)
    if core.mean() < MIN_CORE_SHARE or core.all():
        return []
    found: _Found = []
    left: BoolArray = ~core
    for note, new_lat, new_lon in _slips(lat, lon):
        near: BoolArray = left & _inside(new_lat - lat0, _wrap(new_lon - lon0), dy[core], dx[core])
        found += _shared(near, note)
        left &= ~near
    return found


def _slips(lat: FloatArray, lon: FloatArray) -> list[tuple[Note, FloatArray, FloatArray]]:
    """Return what a slip would have made of each point, the likeliest slip first."""
    swapped_lat = np.where(np.abs(lon) <= 90, lon, np.inf)
    return [
        (Note.of("note.coordinate_doubt.far_lat_sign"), -lat, lon),
        (Note.of("note.coordinate_doubt.far_lon_sign"), lat, -lon),
        (Note.of("note.coordinate_doubt.far_swapped"), swapped_lat, lat),
        (Note.of("note.coordinate_doubt.far_both_signs"), -lat, -lon),
    ]


def _inside(dy: FloatArray, dx: FloatArray, core_y: FloatArray, core_x: FloatArray) -> BoolArray:
    """Return which offsets lie in the core's box, widened by a tenth of its size."""
    inside = np.isfinite(dy)
    for offset, core in ((dy, core_y), (dx, core_x)):
        low, high = float(core.min()), float(core.max())
        pad = 0.1 * (high - low) + 0.1
        inside &= (offset >= low - pad) & (offset <= high + pad)
    return inside


def _minutes_as_decimals(points: Points) -> _Found:
    """Find a file whose decimals all look like minutes: first two digits below 60."""
    plain = (points.decimals >= 0).all(axis=1)
    enough = (points.decimals >= 2).any(axis=1) & plain
    if enough.sum() < MIN_MINUTES_SITES:
        return []
    draws = 0
    for values in (points.lat[plain], points.lon[plain]):
        millionths = np.round(np.abs(values) * 1e6).astype(np.int64)
        hundredths = millionths // 10_000 % 100
        if (hundredths >= 60).any():
            return []
        draws += _independent_draws(millionths)
    chance = 0.6**draws
    if chance > MAX_MINUTES_CHANCE:
        return []
    return _shared(enough, _minutes_note(chance))


def _independent_draws(millionths: IntArray) -> int:
    """Count the draws that say something about the first decimal.

    Sites within one degree say little: their region may just lie there. Across several
    degrees, each first decimal met in each degree counts as one draw.
    """
    degrees = np.unique(millionths // 1_000_000)
    return len(np.unique(millionths // 100_000)) if len(degrees) > 1 else 1


def _minutes_note(chance: float) -> Note:
    """Return the note with the odds rounded to two digits; a tiny chance may have come out as 0."""
    if chance < 1e-9:
        return Note.of("note.coordinate_doubt.minutes_surely")
    odds = 1 / chance
    digits = 10 ** max(int(np.log10(odds)) - 1, 0)
    return Note.of("note.coordinate_doubt.minutes", odds=round(odds / digits) * digits)


def _shared_points(points: Points) -> _Found:
    """Find different ids at exactly one point."""
    import pandas as pd

    table = pd.DataFrame({"lat": points.lat, "lon": points.lon})
    twice = np.flatnonzero(table.duplicated(keep=False).to_numpy())
    if not len(twice):
        return []
    groups: dict[tuple[float, float], list[int]] = {}
    for at in twice.tolist():
        groups.setdefault((float(points.lat[at]), float(points.lon[at])), []).append(at)
    found: _Found = []
    for members in groups.values():
        ids = {points.site_id[at] or at for at in members}
        if len(ids) > 1:
            found += [(at, _same_point(points, members, at)) for at in members]
    return found


def _same_point(points: Points, members: list[int], at: int) -> Note:
    other = members[0] if members[0] != at else members[1]
    site, row, more = str(points.site_id[other]), int(points.row[other]), len(members) - 2
    if site and more:
        return Note.of("note.coordinate_doubt.same_point_many", site=site, row=row, more=more)
    if site:
        return Note.of("note.coordinate_doubt.same_point", site=site, row=row)
    if more:
        return Note.of("note.coordinate_doubt.same_point_many_unnamed", row=row, more=more)
    return Note.of("note.coordinate_doubt.same_point_unnamed", row=row)


def _few_decimals(points: Points) -> _Found:
    """Find positions typed too coarsely. A trailing zero lost in one number is no coarse one."""
    known = (points.decimals >= 0).all(axis=1)
    coarse = known & (points.decimals.max(axis=1) <= 1)
    whole = coarse & (points.decimals.max(axis=1) == 0)
    return _shared(whole, Note.of("note.coordinate_doubt.no_decimals")) + _shared(
        coarse & ~whole, Note.of("note.coordinate_doubt.one_decimal")
    )


def _zeros(points: Points) -> _Found:
    """Find a lone 0 or -1 beside a number with decimals."""
    found: _Found = []
    fine, whole = points.decimals >= 2, points.decimals == 0
    for stand_in in (0, -1):
        lat = whole[:, 0] & (points.lat == stand_in) & fine[:, 1]
        found += _shared(lat, Note.of("note.coordinate_doubt.lat_placeholder", value=stand_in))
    for stand_in in (0, -1):
        lon = whole[:, 1] & (points.lon == stand_in) & fine[:, 0]
        found += _shared(lon, Note.of("note.coordinate_doubt.lon_placeholder", value=stand_in))
    return found


def _twins(points: Points) -> _Found:
    return _shared(points.lat == points.lon, Note.of("note.coordinate_doubt.twins"))
