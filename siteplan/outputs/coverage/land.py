"""Land as polygons, from the basemap that the map draws (Natural Earth, public domain)."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.basemap.rings import land_rings
from siteplan.outputs.coverage.contours import Geometry, polygons_only
from siteplan.results import Frame


def land(frame: Frame) -> Geometry:
    """Return the land inside a frame.

    Parameters
    ----------
    frame : Frame
        South, west, north, east [deg]; east may pass 180.

    Returns
    -------
    shapely.MultiPolygon
        Longitudes run on as the frame's do. Good to about 2 km, as the basemap is.
    """
    import shapely

    south, west, north, east = frame
    box = shapely.box(west, south, east, north)
    rings = [
        shapely.Polygon(np.add(ring, (360 * turn, 0)))
        for ring in land_rings()
        for turn in (-1, 0, 1)
        if ring[:, 0].max() + 360 * turn >= west
        and ring[:, 0].min() + 360 * turn <= east
        and ring[:, 1].max() >= south
        and ring[:, 1].min() <= north
    ]
    return polygons_only(_even_odd(rings, box))


def _even_odd(rings: list[Geometry], box: Geometry) -> Geometry:
    """Return what an even-odd fill of the rings covers inside a box."""
    import shapely

    whole = shapely.make_valid(np.array(rings, dtype=object))
    depth = np.zeros(len(rings), dtype=int)
    if len(rings):
        _, inner = shapely.STRtree(whole).query(whole, predicate="contains")
        depth += np.bincount(inner, minlength=len(rings)) - 1
    clipped: NDArray[Any] = shapely.intersection(whole, box)
    solid = shapely.union_all(clipped[depth % 2 == 0])
    return shapely.difference(solid, shapely.union_all(clipped[depth % 2 == 1]))
