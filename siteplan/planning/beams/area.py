"""Where a beam serves: its polygons, its ellipse, else where its contours give a level."""

from __future__ import annotations

import numpy as np
import shapely

from siteplan.arrays import BoolArray, FloatArray
from siteplan.network import Beam, Network
from siteplan.physics.angles.footprint import ellipse_drop_db, seen_from_satellite
from siteplan.planning.beams.levels import levels

#: What rounding adds on the edge itself [dB].
_ROUNDING_DB = 1e-9


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
        return np.asarray(_drop_db(network, beam, lat, lon) <= beam.edge_db + _ROUNDING_DB)
    return np.logical_not(levels(network, beam.name, lat, lon).outside)


def _drop_db(network: Network, beam: Beam, lat: FloatArray, lon: FloatArray) -> FloatArray:
    """Return how far places (n,) lie under the centre of a beam's ellipse [dB]; NaN if hidden."""
    stands = network.satellite.longitude_deg
    assert beam.lat is not None and beam.lon is not None
    assert beam.major_deg is not None and beam.minor_deg is not None
    centre = seen_from_satellite([beam.lat], [beam.lon], stands)
    seen = seen_from_satellite(lat, lon, stands)
    drop = ellipse_drop_db(
        seen.u_deg,
        seen.v_deg,
        centre_deg=(float(centre.u_deg[0]), float(centre.v_deg[0])),
        widths_deg=(beam.major_deg, beam.minor_deg),
        tilt_deg=beam.tilt_deg,
        edge_db=beam.edge_db,
    )
    return np.where(seen.hidden, np.nan, drop)
