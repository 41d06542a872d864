"""Doubts about coordinates that only the whole file can raise. A doubt never mends.

``typed`` looks at how numbers were typed, ``outside`` at the basemap, ``strays`` at the sites'
own spread, ``groups`` for the columns that say which country or region a site is in.
"""

from __future__ import annotations

from siteplan.inputs.sites.doubts import typed
from siteplan.inputs.sites.doubts.ground import Ground
from siteplan.inputs.sites.doubts.outside import outside, sea_alone
from siteplan.inputs.sites.doubts.points import Found, Points
from siteplan.inputs.sites.doubts.strays import strays
from siteplan.model import Note

__all__ = ["Points", "coordinate_doubts", "doubts_of"]


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
    return doubts_of(points)[0]


def doubts_of(points: Points) -> tuple[dict[int, list[Note]], tuple[Note, ...]]:
    """Return the doubts by row number, and those of the file as a whole."""
    if len(points) == 0:
        return {}, ()
    found, of_file = _placed(points)
    for check in (typed.shared_points, typed.few_decimals, typed.zeros, typed.twins):
        found += check(points)
    doubts: dict[int, list[Note]] = {}
    for at, note in found:
        doubts.setdefault(int(points.row[at]), []).append(note)
    minutes = typed.minutes_as_decimals(points)
    return doubts, of_file if minutes is None else (*of_file, minutes)


def _placed(points: Points) -> tuple[Found, tuple[Note, ...]]:
    """Return the doubts about where points lie: one a point, the best founded."""
    ground = Ground.of(points)
    found = outside(ground)
    found += strays(ground, {at for at, _ in found})
    alone, coarse = sea_alone(ground, {at for at, _ in found})
    return found + alone, coarse
