"""Where a beam serves: its polygons, its ellipse, else where its contours give a level."""

from __future__ import annotations

import numpy as np
import shapely

from siteplan.arrays import BoolArray, FloatArray
from siteplan.network import Beam, Network
from siteplan.physics.angles.footprint import ellipse_drop_db, seen_from_satellite
from siteplan.planning.beams.footprints import Footprints
from siteplan.planning.beams.levels import levels

#: What rounding adds on the edge of an ellipse [dB].
_ROUNDING_DB = 1e-9
#: Polygons may be drawn on any turn [deg].
_TURNS = (-360.0, 0.0, 360.0)


def holds(
    network: Network, of: Footprints, beam: Beam, lat: FloatArray, lon: FloatArray
) -> BoolArray:
    """Return where a beam's service area holds places (n,) [deg].

    Polygons hold their own edge, an ellipse what drops by no more than its ``edge_db``. A beam
    without either serves where its contours give levels, else everywhere.
    """
    if beam.area_wkt is not None:
        shape = shapely.from_wkt(beam.area_wkt)
        shapely.prepare(shape)
        east = np.remainder(np.asarray(lon) + 180, 360) - 180
        inside = [shapely.intersects_xy(shape, east + turn, lat) for turn in _TURNS]
        return np.asarray(np.logical_or.reduce(inside))
    if beam.is_ellipse:
        drop = _drop_db(beam, network.satellite.longitude_deg, lat, lon)
        return np.asarray(drop <= beam.edge_db + _ROUNDING_DB)
    return np.logical_not(levels(network, of, beam.name, lat, lon).outside)


def _drop_db(beam: Beam, satellite_lon_deg: float, lat: FloatArray, lon: FloatArray) -> FloatArray:
    """Return how far places (n,) lie under the centre of a beam's ellipse [dB]; NaN if hidden."""
    centre = seen_from_satellite([beam.lat or 0.0], [beam.lon or 0.0], satellite_lon_deg)
    seen = seen_from_satellite(lat, lon, satellite_lon_deg)
    drop = ellipse_drop_db(
        seen.u_deg,
        seen.v_deg,
        centre_deg=(float(centre.u_deg[0]), float(centre.v_deg[0])),
        widths_deg=(beam.major_deg or 0.0, beam.minor_deg or 0.0),
        tilt_deg=beam.tilt_deg,
        edge_db=beam.edge_db,
    )
    return np.where(seen.hidden, np.nan, drop)
