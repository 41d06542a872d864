"""Pointing a dish: what the inclinometer shows, what an error costs, where neighbours stand."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray
from siteplan.physics.angles.geometry import LookAngles, look_angles


class AngleChanges(NamedTuple):
    """Change of azimuth, elevation and skew. [deg]"""

    azimuth_deg: FloatArray
    elevation_deg: FloatArray
    skew_deg: FloatArray


class PointingChanges(NamedTuple):
    """How the look angles change with an error in each of three givens."""

    satellite_lon: AngleChanges
    lat: AngleChanges
    lon: AngleChanges


class Neighbours(NamedTuple):
    """Look angles of neighbouring positions, and their angle from the wanted one as seen."""

    look: LookAngles
    separation_deg: FloatArray


def inclinometer_deg(elevation_deg: ArrayLike, offset_angle_deg: ArrayLike) -> FloatArray:
    """Return what an inclinometer laid on the dish's rim shows.

    Parameters
    ----------
    elevation_deg : array_like
        Elevation of the satellite. [deg]
    offset_angle_deg : array_like
        Offset angle of the reflector: how far its beam leaves the rim's normal upwards; 0 for a
        dish fed at its centre. [deg] The two broadcast together.

    Returns
    -------
    ndarray
        How far the rim leans back from vertical [deg]: elevation less offset angle; negative
        when it leans forward. The maker's scale on the mount comes first.

    Examples
    --------
    >>> inclinometer_deg([42.0, 15.0], 22.3).round(1).tolist()
    [19.7, -7.3]
    """
    return np.asarray(
        np.asarray(elevation_deg, dtype=float) - np.asarray(offset_angle_deg, dtype=float)
    )


def pointing_changes(
    lat: ArrayLike,
    lon: ArrayLike,
    altitude_m: ArrayLike,
    satellite_lon_deg: ArrayLike,
    *,
    error_deg: float = 0.1,
) -> PointingChanges:
    """Return how far the look angles move when a given is wrong by a small angle.

    Parameters
    ----------
    lat, lon, altitude_m, satellite_lon_deg : array_like
        As in `siteplan.physics.angles.geometry.look_angles`.
    error_deg : float, optional
        Error of the orbital position, of the latitude and of the longitude. [deg]

    Returns
    -------
    PointingChanges
        Signed changes for an error to the east or north [deg], of the broadcast shape: half of
        what twice the error does. NaN below the horizon and at the sub-satellite point.

    References
    ----------
    Central differences of the look angles.

    Examples
    --------
    A step of the satellite to the east turns the azimuth as much as one of the site does, the
    other way.

    >>> changes = pointing_changes([50], [10], 0, 10)
    >>> [c.azimuth_deg.round(2).tolist() for c in (changes.satellite_lon, changes.lon)]
    [[-0.13], [0.13]]
    """
    place = lat, lon, altitude_m, satellite_lon_deg
    return PointingChanges(
        _change(place, (0, 0, error_deg)),
        _change(place, (error_deg, 0, 0)),
        _change(place, (0, error_deg, 0)),
    )


def orbit_step(
    lat: ArrayLike,
    lon: ArrayLike,
    altitude_m: ArrayLike,
    satellite_lon_deg: ArrayLike,
    *,
    error_deg: float = 0.1,
) -> AngleChanges:
    """Return how far the look angles move for a small step along the orbit, to the east.

    Parameters
    ----------
    lat, lon, altitude_m, satellite_lon_deg, error_deg
        As in `pointing_changes`.

    Returns
    -------
    AngleChanges
        As the ``satellite_lon`` of `pointing_changes`. [deg]

    References
    ----------
    Central differences of the look angles.
    """
    return _change((lat, lon, altitude_m, satellite_lon_deg), (0, 0, error_deg))


def _change(
    place: tuple[ArrayLike, ArrayLike, ArrayLike, ArrayLike], step_deg: tuple[float, float, float]
) -> AngleChanges:
    """Return half of what a step of latitude, longitude and orbital position does both ways."""
    lat, lon, altitude_m, satellite_lon_deg = place
    d_lat, d_lon, d_satellite = step_deg
    north, _ = np.broadcast_arrays(np.asarray(lat, dtype=float), np.asarray(lon, dtype=float))
    ahead, behind = (
        look_angles(
            # At the very pole a step would leave the earth.
            np.clip(north + side * d_lat, -90, 90),
            np.asarray(lon, dtype=float) + side * d_lon,
            altitude_m,
            np.asarray(satellite_lon_deg, dtype=float) + side * d_satellite,
        )
        for side in (1, -1)
    )
    return AngleChanges(
        _turned(ahead.azimuth_true_deg - behind.azimuth_true_deg, 360) / 2,
        np.asarray(ahead.elevation_deg - behind.elevation_deg) / 2,
        _turned(ahead.skew_deg - behind.skew_deg, 180) / 2,
    )


def pointing_loss_db(error_deg: ArrayLike, beamwidth_deg: ArrayLike) -> FloatArray:
    """Return the gain lost by an error of pointing, 12 (error / beamwidth)^2.

    Parameters
    ----------
    error_deg : array_like
        Angle between the axis and the satellite, within the half-power beam. [deg]
    beamwidth_deg : array_like
        Full half-power beamwidth. [deg] The two broadcast together.

    Returns
    -------
    ndarray
        Loss. [dB]

    References
    ----------
    Maral and Bousquet, Satellite Communications Systems, 5th ed., chapter 5.

    Examples
    --------
    Half the half-power beamwidth costs 3 dB, by its name.

    >>> pointing_loss_db([0.0, 0.25, 0.5], 1.0).round(2).tolist()
    [0.0, 0.75, 3.0]
    """
    ratio = np.asarray(error_deg, dtype=float) / np.asarray(beamwidth_deg, dtype=float)
    return np.asarray(12 * ratio**2)


def cross_polar_db(skew_error_deg: ArrayLike) -> FloatArray:
    """Return how strongly the other polarization comes through when the skew is wrong.

    Parameters
    ----------
    skew_error_deg : array_like
        Error of the skew. [deg]

    Returns
    -------
    ndarray
        Isolation -20 log tan(error) [dB] of an otherwise perfect feed; infinite without error.

    References
    ----------
    Roddy, Satellite Communications, 4th ed., chapter 5: components of a turned linear wave.

    Examples
    --------
    tan 1 degree is 0.01746: 35.2 dB.

    >>> cross_polar_db([1.0, 10.0]).round(1).tolist()
    [35.2, 15.1]
    """
    with np.errstate(divide="ignore"):
        leak = np.abs(np.tan(np.radians(np.asarray(skew_error_deg, dtype=float))))
        return np.asarray(-20 * np.log10(leak))


def neighbours(
    lat: ArrayLike,
    lon: ArrayLike,
    altitude_m: ArrayLike,
    satellite_lon_deg: ArrayLike,
    neighbour_lon_deg: ArrayLike,
) -> Neighbours:
    """Return where neighbouring orbital positions stand, to tell them from the wanted one.

    Parameters
    ----------
    lat, lon, altitude_m, satellite_lon_deg : array_like
        As in `siteplan.physics.angles.geometry.look_angles`, of a common shape S.
    neighbour_lon_deg : array_like (k,)
        Orbital positions of the neighbours. [deg]

    Returns
    -------
    Neighbours
        Look angles of shape S + (k,), and the angle at the site between neighbour and wanted
        satellite, NaN where either is below the horizon. [deg]

    Examples
    --------
    Below the satellite 3 degrees of the orbit look wider, by 42164 / 35786 to first order.

    >>> neighbours(0, 10, 0, 10, [7, 13]).separation_deg.round(2).tolist()
    [3.53, 3.53]
    """
    lat, lon, altitude, satellite = (
        np.asarray(x, dtype=float)[..., None] for x in (lat, lon, altitude_m, satellite_lon_deg)
    )
    wanted = look_angles(lat, lon, altitude, satellite)
    look = look_angles(lat, lon, altitude, neighbour_lon_deg)
    # Haversine: well behaved for small angles. At the sub-satellite point any azimuth will do.
    height = np.radians(wanted.elevation_deg), np.radians(look.elevation_deg)
    bearing = [np.radians(np.nan_to_num(angles.azimuth_true_deg)) for angles in (wanted, look)]
    rise = np.sin((height[0] - height[1]) / 2) ** 2
    swing = np.cos(height[0]) * np.cos(height[1]) * np.sin((bearing[0] - bearing[1]) / 2) ** 2
    return Neighbours(look, np.asarray(np.degrees(2 * np.arcsin(np.sqrt(rise + swing)))))


def _turned(angle_deg: FloatArray, turn_deg: float) -> FloatArray:
    """Return angles modulo ``turn_deg`` between minus and plus half of it."""
    return np.asarray(np.remainder(angle_deg + turn_deg / 2, turn_deg) - turn_deg / 2)
