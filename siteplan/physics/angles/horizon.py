"""What stands between dish and satellite: obstacles near by and terrain far off.

Terrain follows ITU-R P.452-17, attachment 2.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray

#: Mean radius of the earth [m]; IUGG, and ITU-R P.834 for the refraction factor.
EARTH_RADIUS_M: Final = 6_371_000.0

#: Median effective earth radius factor; ITU-R P.834 (4/3, atmosphere of mean gradient).
REFRACTION_FACTOR: Final = 4 / 3


class TerrainHorizon(NamedTuple):
    """Elevation of the terrain's horizon [deg], and the distance of what makes it [m]."""

    elevation_deg: FloatArray
    distance_m: FloatArray


def top_elevation_deg(height_m: ArrayLike, distance_m: ArrayLike) -> FloatArray:
    """Return the elevation of an obstacle's top.

    Parameters
    ----------
    height_m : array_like
        Height of the top above the dish's centre; negative below it. [m]
    distance_m : array_like
        Level distance. [m] The two broadcast together.

    Returns
    -------
    ndarray
        Elevation. [deg]

    Examples
    --------
    >>> top_elevation_deg([10.0, -10.0], 10.0).round(1).tolist()
    [45.0, -45.0]
    """
    return np.asarray(
        np.degrees(np.arctan2(np.asarray(height_m, dtype=float), np.asarray(distance_m)))
    )


def clearance_deg(
    elevation_deg: ArrayLike, obstacle_deg: ArrayLike, beamwidth_deg: ArrayLike
) -> FloatArray:
    """Return by how much the beam's lower edge clears an obstacle.

    Parameters
    ----------
    elevation_deg : array_like
        Elevation of the satellite. [deg]
    obstacle_deg : array_like
        Elevation of the obstacle's top at the satellite's bearing. [deg]
    beamwidth_deg : array_like
        Full half-power beamwidth, the wider of transmit and receive. [deg] All broadcast.

    Returns
    -------
    ndarray
        Elevation less obstacle less half the beamwidth [deg]; negative: blocked.

    Examples
    --------
    >>> clearance_deg(30.0, [20.0, 29.5], 2.0).round(2).tolist()
    [9.0, -0.5]
    """
    axis = np.asarray(elevation_deg, dtype=float) - np.asarray(obstacle_deg, dtype=float)
    return np.asarray(axis - np.asarray(beamwidth_deg, dtype=float) / 2)


def required_distance_m(
    height_m: ArrayLike,
    elevation_deg: ArrayLike,
    beamwidth_deg: ArrayLike,
    *,
    spare_deg: ArrayLike = 0.0,
) -> FloatArray:
    """Return how far from an obstacle a dish must stand to look over it.

    Parameters
    ----------
    height_m : array_like
        Height of the obstacle's top above the dish's centre. [m]
    elevation_deg, beamwidth_deg : array_like
        As in `clearance_deg`. [deg]
    spare_deg : array_like, optional
        Clearance to be left, for growing trees for example. [deg] All broadcast together.

    Returns
    -------
    ndarray
        Level distance [m]: zero for an obstacle below the dish, NaN where the beam's edge lies
        below the horizontal, so that no distance will do.

    Examples
    --------
    The beam's lower edge at 45 degrees clears 10 m from 10 m away.

    >>> required_distance_m([10.0, 0.0], 46.0, 2.0).round(2).tolist()
    [10.0, 0.0]
    """
    height = np.asarray(height_m, dtype=float)
    edge = clearance_deg(elevation_deg, spare_deg, beamwidth_deg)
    slope = np.tan(np.radians(np.where(edge > 0, edge, np.nan)))
    return np.asarray(np.where(height <= 0, 0.0, height / slope))


def blocking_elevation_deg(
    azimuth_deg: ArrayLike,
    half_width_deg: ArrayLike,
    obstacle_site: ArrayLike,
    sectors_deg: tuple[ArrayLike, ArrayLike],
    top_deg: ArrayLike,
) -> FloatArray:
    """Return the highest obstacle within the beam's width at each site's bearing.

    Parameters
    ----------
    azimuth_deg : array_like (n,)
        True bearing of the satellite at the sites. [deg]
    half_width_deg : array_like
        How far to either side of the bearing to look, scalar or (n,). [deg]
    obstacle_site : array_like (m,)
        Index of the site that each obstacle belongs to.
    sectors_deg : tuple of array_like (m,)
        True bearings of the obstacles' left and right edges, clockwise from left to right; a
        sector may pass through north. [deg]
    top_deg : array_like (m,)
        Elevation of the obstacles' tops. [deg]

    Returns
    -------
    ndarray (n,)
        Elevation of the highest [deg]; NaN where nothing is in the way.

    Examples
    --------
    Two obstacles in the south of the first site, one in the north of the second.

    >>> sectors = [170, 175, 350], [185, 200, 8]
    >>> blocking_elevation_deg([180, 90], 1.0, [0, 0, 1], sectors, [12, 30, 5]).tolist()
    [30.0, nan]
    """
    azimuth = np.asarray(azimuth_deg, dtype=float)
    site = np.asarray(obstacle_site, dtype=np.intp)
    left, right = (np.asarray(edge, dtype=float) for edge in sectors_deg)
    half = np.broadcast_to(np.asarray(half_width_deg, dtype=float), azimuth.shape)[site]
    width = np.remainder(right - left, 360)
    from_left = np.remainder(azimuth[site] - left, 360)
    # Inside the sector widened by the beam on both sides.
    inside = (from_left <= width + half) | (from_left >= 360 - half)
    highest = np.full(azimuth.shape, -np.inf)
    np.maximum.at(highest, site[inside], np.asarray(top_deg, dtype=float)[inside])
    return np.asarray(np.where(np.isinf(highest), np.nan, highest))


def terrain_horizon(
    distance_m: ArrayLike,
    height_m: ArrayLike,
    antenna_height_m: ArrayLike,
    *,
    refraction_factor: float = REFRACTION_FACTOR,
) -> TerrainHorizon:
    """Return the horizon that a terrain profile makes.

    Parameters
    ----------
    distance_m, height_m : array_like (..., k)
        Points of the profile towards the satellite: distance from the site, and height above
        sea level. [m] NaN points are passed over.
    antenna_height_m : array_like (...)
        Height of the dish above sea level. [m]
    refraction_factor : float, optional
        Effective earth radius over true radius; 1 leaves refraction out.

    Returns
    -------
    TerrainHorizon
        Arrays of shape (...): ``atan(dh / d - d / 2 k a)`` at its greatest. NaN for a profile
        without points.

    References
    ----------
    ITU-R P.452-17, annex 1, attachment 2 (elevation of the horizon over an effective earth).

    Examples
    --------
    100 m of hill 1 km off make 5.7 degrees; 1000 m 30 km off 1.9, of which the earth's curve
    takes 0.1.

    >>> terrain_horizon([1_000, 30_000], [[100, 0], [0, 1_000]], 0).elevation_deg.round(1).tolist()
    [5.7, 1.8]
    """
    distance, height = np.broadcast_arrays(
        np.asarray(distance_m, dtype=float), np.asarray(height_m, dtype=float)
    )
    rise = height - np.asarray(antenna_height_m, dtype=float)[..., None]
    curvature = distance / (2 * refraction_factor * EARTH_RADIUS_M)
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = np.where(distance > 0, rise / distance - curvature, np.nan)
    known = np.where(np.isnan(slope), -np.inf, slope)
    at = np.argmax(known, axis=-1)[..., None]
    best = np.take_along_axis(known, at, axis=-1)[..., 0]
    there = np.take_along_axis(np.broadcast_to(distance, known.shape), at, axis=-1)[..., 0]
    some = np.isfinite(best)
    elevation = np.degrees(np.arctan(np.where(some, best, 0)))
    return TerrainHorizon(
        np.asarray(np.where(some, elevation, np.nan)), np.asarray(np.where(some, there, np.nan))
    )
