"""Where a beam serves: its polygons, its ellipse, else where its contours give a level."""

from __future__ import annotations

import numpy as np
import shapely

from siteplan.arrays import BoolArray, FloatArray
from siteplan.network import Beam, Network
from siteplan.physics.angles.footprint import directions, ellipse_drop_db
from siteplan.planning.beams.levels import levels


def holds(network: Network, beam: Beam, lat: FloatArray, lon: FloatArray) -> BoolArray:
    """Return where a beam's service area holds places (n,) [deg]; ``network`` is the beam's own.

    Polygons hold their own edge, an ellipse what drops by no more than its ``edge_db``. A beam
    without either serves where its contours give levels, else everywhere.
    """
    if beam.area_wkt is not None:
        shape = shapely.from_wkt(beam.area_wkt)
        shapely.prepare(shape)
        inside = np.zeros(len(lat), dtype=bool)
        for turn in (-360.0, 0.0, 360.0):
            inside |= shapely.intersects_xy(shape, np.asarray(lon) + turn, lat)
        return inside
    if beam.is_ellipse:
        drop = ellipse_drop_db(beam, network.satellite.longitude_deg, lat, lon)
        return np.asarray(drop <= beam.edge_db + 1e-9)
    return ~levels(network, beam.name, lat, lon).outside
