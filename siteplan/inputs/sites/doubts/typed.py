"""Doubts about how coordinates were typed: too coarse, a stand-in for 'unknown', minutes.

Each threshold is a named constant with its reason (common practice, no source).
"""

from __future__ import annotations

import numpy as np

from siteplan.arrays import IntArray
from siteplan.inputs.sites.doubts.points import Found, Points, shared
from siteplan.model import Note

#: Sites needed before decimals can look like minutes.
MIN_MINUTES_SITES = 10
#: Chance above which decimals below 60 may well be chance.
MAX_MINUTES_CHANCE = 0.01


def minutes_as_decimals(points: Points) -> Note | None:
    """Return what to say of a file whose decimals all look like minutes: two digits below 60."""
    plain = (points.decimals >= 0).all(axis=1)
    enough = (points.decimals >= 2).any(axis=1) & plain
    if enough.sum() < MIN_MINUTES_SITES:
        return None
    draws = 0
    for values in (points.lat[plain], points.lon[plain]):
        millionths = np.round(np.abs(values) * 1e6).astype(np.int64)
        hundredths = millionths // 10_000 % 100
        if (hundredths >= 60).any():
            return None
        draws += _independent_draws(millionths)
    chance = 0.6**draws
    return None if chance > MAX_MINUTES_CHANCE else _minutes_note(chance)


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


def shared_points(points: Points) -> Found:
    """Find different ids at exactly one point."""
    import pandas as pd

    table = pd.DataFrame({"lat": points.lat, "lon": points.lon})
    twice = np.flatnonzero(table.duplicated(keep=False).to_numpy())
    if not len(twice):
        return []
    groups: dict[tuple[float, float], list[int]] = {}
    for at in twice.tolist():
        groups.setdefault((float(points.lat[at]), float(points.lon[at])), []).append(at)
    found: Found = []
    for members in groups.values():
        ids = {points.site_id[at] or at for at in members}
        if len(ids) > 1:
            found += [(at, _same_point(points, members, at)) for at in members]
    return found


def _same_point(points: Points, members: list[int], at: int) -> Note:
    other = members[0] if members[0] != at else members[1]
    site, row, more = str(points.site_id[other]), int(points.row[other]), len(members) - 2
    if more:
        return Note.of("note.coordinate_doubt.same_point_many", site=site, row=row, more=more)
    return Note.of("note.coordinate_doubt.same_point", site=site, row=row)


def few_decimals(points: Points) -> Found:
    """Find positions typed too coarsely. A trailing zero lost in one number is no coarse one."""
    known = (points.decimals >= 0).all(axis=1)
    coarse = known & (points.decimals.max(axis=1) <= 1)
    whole = coarse & (points.decimals.max(axis=1) == 0)
    return shared(whole, Note.of("note.coordinate_doubt.no_decimals")) + shared(
        coarse & ~whole, Note.of("note.coordinate_doubt.one_decimal")
    )


def zeros(points: Points) -> Found:
    """Find a lone 0 or -1 beside a number with decimals."""
    found: Found = []
    fine, whole = points.decimals >= 2, points.decimals == 0
    for stand_in in (0, -1):
        lat = whole[:, 0] & (points.lat == stand_in) & fine[:, 1]
        found += shared(lat, Note.of("note.coordinate_doubt.lat_placeholder", value=stand_in))
    for stand_in in (0, -1):
        lon = whole[:, 1] & (points.lon == stand_in) & fine[:, 0]
        found += shared(lon, Note.of("note.coordinate_doubt.lon_placeholder", value=stand_in))
    return found


def twins(points: Points) -> Found:
    """Find a latitude that is the longitude again."""
    return shared(points.lat == points.lon, Note.of("note.coordinate_doubt.twins"))
