"""What came back, read again where there is one way to read it: positions, feet for metres.

Limits are common practice, no source.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from siteplan.arrays import BoolArray, FloatArray
from siteplan.model import Returned
from siteplan.planning.step import Columns

#: A position that lies further off than this is another place than the planned one [m].
MOVED_M = 100.0
#: Further off than this it is no place of the same site: a village is some 2 km wide [m].
FAR_M = 2000.0
FOOT_M = 0.3048
#: A cable in feet lies this close to the planned run once it is turned into metres [m], [part].
CABLE_FEET_M, CABLE_FEET_PART = 1.0, 0.1
#: The same of an altitude, which maps have less well; and how far off it came back at least.
ALTITUDE_FEET_M, ALTITUDE_FEET_PART, ALTITUDE_OFF_M = 30.0, 0.1, 100.0
#: Ways to write a position wrong: whether latitude and longitude change places, and their signs.
SIGN_LOST = ((False, -1, 1), (False, 1, -1), (False, -1, -1))
SWAPPED = ((True, 1, 1), (True, -1, 1), (True, 1, -1), (True, -1, -1))


class Reread(NamedTuple):
    """Readings as they are taken (m,), NaN where none came back, and what was wrong with them."""

    lat: FloatArray
    lon: FloatArray
    swapped: BoolArray
    sign_lost: BoolArray
    cable_m: FloatArray
    cable_feet: BoolArray
    altitude_m: FloatArray
    altitude_feet: BoolArray


def read_again(back: Returned, plan: Columns) -> Reread:
    """Return what came back, set right where only one mistake explains it.

    Parameters
    ----------
    back : Returned
        What came back (m,).
    plan : mapping of (m,) arrays
        Result fields of the sites as planned.

    Returns
    -------
    Reread
        A position far from the planned one is read swapped, or with another sign, where that
        lies near it. A cable run and an altitude are read in feet where those fit the plan; a
        cable's measured loss must not speak for the run as it came back.
    """
    lat, lon, swapped, sign_lost = _position(back, plan)
    cable_feet = _cable_in_feet(back, plan)
    altitude_feet = _altitude_in_feet(back.altitude_m, plan["altitude_m"])
    return Reread(
        lat,
        lon,
        swapped,
        sign_lost,
        np.where(cable_feet, back.cable_m * FOOT_M, back.cable_m),
        cable_feet,
        np.where(altitude_feet, back.altitude_m * FOOT_M, back.altitude_m),
        altitude_feet,
    )


def moved_m(
    lat: FloatArray, lon: FloatArray, there_lat: FloatArray, there_lon: FloatArray
) -> FloatArray:
    """Return the distance between two sets of points (m,) on the ellipsoid [m]; NaN stays."""
    from pyproj import Geod

    known = ~np.isnan(there_lat) & ~np.isnan(there_lon)
    distance = np.full(len(lat), np.nan)
    if known.any():
        # As lists: pyproj tries an array of one as a number, of which numpy before 2.4 warns.
        a, b, c, d = (x[known].tolist() for x in (lon, lat, there_lon, there_lat))
        distance[known] = Geod(ellps="WGS84").inv(a, b, c, d)[2]
    return distance


def _position(back: Returned, plan: Columns) -> tuple[FloatArray, FloatArray, BoolArray, BoolArray]:
    """Return latitude and longitude as they are taken, and where swapped or a sign was lost."""
    lat, lon = back.lat.copy(), back.lon.copy()
    swapped, sign_lost = np.zeros(len(back), dtype=bool), np.zeros(len(back), dtype=bool)
    far = moved_m(plan["lat"], plan["lon"], lat, lon) > FAR_M
    for turned, of_lat, of_lon in (*SIGN_LOST, *SWAPPED):
        east = np.mod(back.lon + 180, 360) - 180
        first, second = (east, back.lat) if turned else (back.lat, east)
        read_lat, read_lon = of_lat * first, of_lon * second
        possible = far & (np.abs(read_lat) <= 90)
        away = moved_m(plan["lat"], plan["lon"], np.where(possible, read_lat, np.nan), read_lon)
        fits = possible & (away <= FAR_M)
        lat, lon = np.where(fits, read_lat, lat), np.where(fits, read_lon, lon)
        swapped, sign_lost = swapped | (fits & turned), sign_lost | (fits & (not turned))
        far = far & ~fits
    return lat, lon, swapped, sign_lost


def _cable_in_feet(back: Returned, plan: Columns) -> BoolArray:
    """Return where the cable run came back in feet, by the planned run and the measured loss."""
    planned, metres = plan["ifl_length_m"], back.cable_m * FOOT_M
    near = np.abs(metres - planned) <= np.maximum(CABLE_FEET_M, CABLE_FEET_PART * planned)
    each_m = plan["cable_loss_high_db"] / planned
    as_feet, as_metres = (
        np.abs(back.cable_loss_db - run * each_m) for run in (metres, back.cable_m)
    )
    return np.asarray(near & ~(as_metres < as_feet))


def _altitude_in_feet(altitude_m: FloatArray, planned_m: FloatArray) -> BoolArray:
    """Return where an altitude came back in feet."""
    near = np.maximum(ALTITUDE_FEET_M, ALTITUDE_FEET_PART * np.abs(planned_m))
    fits = np.abs(altitude_m * FOOT_M - planned_m) <= near
    return np.asarray(fits & (np.abs(altitude_m - planned_m) > ALTITUDE_OFF_M))
