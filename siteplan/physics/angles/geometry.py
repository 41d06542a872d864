"""Where the satellite stands as seen from a site: azimuth, elevation, range and skew.

Sites lie on or above the WGS 84 ellipsoid, the satellite on the geostationary arc (equator,
42164.17 km). Height above mean sea level may stand in for height above the ellipsoid: the
geoid's 100 m at most move the elevation by less than 0.0002 degree.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import BoolArray, FloatArray
from siteplan.physics.constants import (
    GEOSTATIONARY_RADIUS_KM,
    SPEED_OF_LIGHT_M_S,
    WGS84_A_KM,
    WGS84_E2,
)

#: Closer to the zenith than this [deg], some 100 m on the ground, azimuth and skew have no meaning.
ZENITH_TOLERANCE_DEG: Final = 1e-3


class LookAngles(NamedTuple):
    """Look angles, arrays of the sites' shape.

    ``azimuth_true_deg`` in [0, 360), clockwise from true north; ``elevation_deg`` above the
    horizon, without refraction; ``slant_range_km``; ``skew_deg`` in (-90, 90]. All four are NaN
    below the horizon. ``geometric_elevation_deg`` is the elevation with its sign, also there.
    """

    azimuth_true_deg: FloatArray
    elevation_deg: FloatArray
    slant_range_km: FloatArray
    skew_deg: FloatArray
    geometric_elevation_deg: FloatArray


class _Sight(NamedTuple):
    """Line of sight in the site's frame [km], with what the frame needs."""

    east: FloatArray
    north: FloatArray
    up: FloatArray
    sin_lat: FloatArray
    cos_lat: FloatArray
    altitude_km: FloatArray


def look_angles(
    lat: ArrayLike,
    lon: ArrayLike,
    altitude_m: ArrayLike,
    satellite_lon_deg: ArrayLike,
    *,
    tilt_deg: float = 0.0,
) -> LookAngles:
    """Return where a geostationary satellite stands as seen from sites.

    The skew is the angle by which the satellite's north axis (vertical polarization) is turned
    from the site's vertical, in the plane across the line of sight, seen from behind the dish
    facing the satellite, clockwise positive. It is positive for a satellite to the west of a
    northern site, changes sign in the south and passes through 90 at the equator.

    A satellite whose polarization is tilted turns it as much more at every site: its antenna's
    reference polarization by Ludwig's third definition turns with the antenna, in any direction.

    Parameters
    ----------
    lat, lon : array_like
        Geodetic latitude and longitude, north and east positive, WGS 84. [deg]
    altitude_m : array_like
        Height above the ellipsoid. [m]
    satellite_lon_deg : array_like
        Orbital position, east positive, any multiple of 360 added. [deg]
        All four broadcast together.
    tilt_deg : float, optional
        Turn of the satellite's vertical polarization from its north axis, facing the satellite,
        clockwise positive. [deg]

    Returns
    -------
    LookAngles
        Arrays of the broadcast shape (0-d for scalars). NaN below the horizon, but for
        ``geometric_elevation_deg``. Azimuth and skew are NaN within ``ZENITH_TOLERANCE_DEG``
        of the sub-satellite point.

    Raises
    ------
    ValueError
        If a latitude lies outside -90 to 90.

    References
    ----------
    The ellipsoid: NGA.STND.0036 (WGS 84). The projection of the polarization: Roddy, Satellite
    Communications, 4th ed., section 5.2. Ludwig, The definition of cross polarization, IEEE
    Transactions on Antennas and Propagation, AP-21 (1973).

    Examples
    --------
    Roddy's examples 3.1 and 3.2, 35 N 100 W to 90 W: azimuth 162.9, elevation 48 degrees. From
    below the satellite it stands at 42164.17 - 6378.14 km; from 100 E it is not seen.

    >>> look = look_angles([35, 0, 35], [-100, -90, 100], 0, -90)
    >>> look.azimuth_true_deg.round(1).tolist()
    [162.9, nan, nan]
    >>> look.elevation_deg.round(1).tolist()
    [48.0, 90.0, nan]
    >>> look.slant_range_km.round(1).tolist()
    [37202.6, 35786.0, nan]
    """
    sight = _line_of_sight(lat, lon, altitude_m, satellite_lon_deg)
    level_km = np.hypot(sight.east, sight.north)
    elevation = np.degrees(np.arctan2(sight.up, level_km))
    azimuth = _wrap_360(np.degrees(np.arctan2(sight.east, sight.north)))
    seen = elevation >= 0
    has_bearing = seen & (elevation <= 90 - ZENITH_TOLERANCE_DEG)
    return LookAngles(
        azimuth_true_deg=_only(has_bearing, azimuth),
        elevation_deg=_only(seen, elevation),
        slant_range_km=_only(seen, np.hypot(level_km, sight.up)),
        skew_deg=_only(has_bearing, _tilted(_skew_deg(sight), tilt_deg)),
        geometric_elevation_deg=np.asarray(elevation),
    )


class SkyDirection(NamedTuple):
    """Direction on the sky that turns with the earth.

    ``longitude_deg`` is that of the meridian plane which it lies in, ``declination_deg`` its
    angle above the equator's plane.
    """

    longitude_deg: FloatArray
    declination_deg: FloatArray


def sky_direction(
    lat: ArrayLike, lon: ArrayLike, altitude_m: ArrayLike, satellite_lon_deg: ArrayLike
) -> SkyDirection:
    """Return where among the stars' circles a site sees the satellite.

    Parameters
    ----------
    lat, lon, altitude_m, satellite_lon_deg : array_like
        As in `look_angles`.

    Returns
    -------
    SkyDirection
        Arrays of the broadcast shape [deg], the longitude in [0, 360); NaN below the horizon.

    Raises
    ------
    ValueError
        If a latitude lies outside -90 to 90.

    References
    ----------
    The line of sight of `look_angles`, turned from the site's horizon to the equator.

    Examples
    --------
    From the equator the satellite is seen on the equator, above its own meridian.

    >>> seen = sky_direction(0, [10, 0], 0, 10)
    >>> seen.declination_deg.round(2).tolist(), float(seen.longitude_deg[0].round(2))
    ([0.0, 0.0], 10.0)
    """
    sight = _line_of_sight(lat, lon, altitude_m, satellite_lon_deg)
    outward = sight.up * sight.cos_lat - sight.north * sight.sin_lat
    polar = sight.up * sight.sin_lat + sight.north * sight.cos_lat
    meridian = np.asarray(lon, dtype=float) + np.degrees(np.arctan2(sight.east, outward))
    declination = np.degrees(np.arctan2(polar, np.hypot(outward, sight.east)))
    seen = sight.up >= 0
    return SkyDirection(_only(seen, _wrap_360(meridian)), _only(seen, declination))


def azimuth_sensitivity_deg_per_km(
    lat: ArrayLike, lon: ArrayLike, altitude_m: ArrayLike, satellite_lon_deg: ArrayLike
) -> FloatArray:
    """Return how far the azimuth turns when the site's position is wrong by 1 km.

    The worst direction of the error is taken. The figure grows without bound towards the
    sub-satellite point, where a coordinate rounded to 0.01 degree spoils the bearing.

    Parameters
    ----------
    lat, lon, altitude_m, satellite_lon_deg : array_like
        As in `look_angles`.

    Returns
    -------
    ndarray
        Sensitivity [deg/km], of the broadcast shape; NaN below the horizon and at the
        sub-satellite point.

    Raises
    ------
    ValueError
        If a latitude lies outside -90 to 90.

    References
    ----------
    Derivative of the azimuth of `look_angles`, with the ellipsoid's radii of curvature in the
    meridian and across it.
    """
    sight = _line_of_sight(lat, lon, altitude_m, satellite_lon_deg)
    level2 = sight.east**2 + sight.north**2
    elevation = np.degrees(np.arctan2(sight.up, np.sqrt(level2)))
    fine = (elevation >= 0) & (elevation <= 90 - ZENITH_TOLERANCE_DEG)
    flat = 1 - WGS84_E2 * sight.sin_lat**2
    across_km = WGS84_A_KM / np.sqrt(flat) + sight.altitude_km
    meridian_km = WGS84_A_KM * (1 - WGS84_E2) / flat**1.5 + sight.altitude_km
    with np.errstate(divide="ignore", invalid="ignore"):
        # The second term of `eastward` is the convergence of the meridians.
        eastward = -sight.north * (1 + sight.up / across_km) / level2
        eastward = eastward + sight.sin_lat / sight.cos_lat / across_km
        northward = sight.east * (1 + sight.up / meridian_km) / level2
        turn = np.degrees(np.hypot(eastward, northward))
    return _only(fine, turn)


def free_space_loss_db(slant_range_km: ArrayLike, frequency_ghz: ArrayLike) -> FloatArray:
    """Return the free-space basic transmission loss 20 log10(4 pi d / lambda).

    Parameters
    ----------
    slant_range_km : array_like
        Distance. [km]
    frequency_ghz : array_like
        Frequency. [GHz] The two broadcast together.

    Returns
    -------
    ndarray
        Loss. [dB]

    References
    ----------
    ITU-R P.525-4, free-space basic transmission loss.

    Examples
    --------
    92.45 + 20 log(km) + 20 log(GHz): 92.45 + 91.71 + 21.58 by hand.

    >>> free_space_loss_db([38_500], 12).round(2).tolist()
    [205.74]
    """
    distance_m = np.asarray(slant_range_km, dtype=float) * 1e3
    wavelength_m = SPEED_OF_LIGHT_M_S / (np.asarray(frequency_ghz, dtype=float) * 1e9)
    return np.asarray(20 * np.log10(4 * np.pi * distance_m / wavelength_m))


def spreading_loss_db_m2(slant_range_km: ArrayLike) -> FloatArray:
    """Return the spreading loss 10 log10(4 pi d^2), from EIRP to flux density.

    Parameters
    ----------
    slant_range_km : array_like
        Distance. [km]

    Returns
    -------
    ndarray
        Loss [dB m2]: flux density [dBW/m2] is EIRP [dBW] less this.

    References
    ----------
    ITU-R P.525-4: an isotropic source's power spread over a sphere.

    Examples
    --------
    10 log(4 pi) is 10.99; 38.5e6 m squared are 151.71 dB m2.

    >>> spreading_loss_db_m2([38_500]).round(2).tolist()
    [162.7]
    """
    distance_m = np.asarray(slant_range_km, dtype=float) * 1e3
    return np.asarray(10 * np.log10(4 * np.pi * distance_m**2))


def _line_of_sight(
    lat: ArrayLike, lon: ArrayLike, altitude_m: ArrayLike, satellite_lon_deg: ArrayLike
) -> _Sight:
    """Return the vector from site to satellite in the site's east, north, up."""
    lat, lon, altitude, satellite = np.broadcast_arrays(
        *(np.asarray(x, dtype=float) for x in (lat, lon, altitude_m, satellite_lon_deg))
    )
    if np.any(np.abs(lat) > 90):
        raise ValueError("lat: latitudes must lie within -90 to 90 degrees")
    sin_lat, cos_lat = np.sin(np.radians(lat)), np.cos(np.radians(lat))
    # The remainder is exact, so that a satellite at 324 and one at -36 agree to the last bit.
    apart = np.radians(np.remainder(satellite - lon, 360))
    radius_km = WGS84_A_KM / np.sqrt(1 - WGS84_E2 * sin_lat**2)
    outward = GEOSTATIONARY_RADIUS_KM * np.cos(apart) - (radius_km + altitude / 1e3) * cos_lat
    polar = -(radius_km * (1 - WGS84_E2) + altitude / 1e3) * sin_lat
    return _Sight(
        east=GEOSTATIONARY_RADIUS_KM * np.sin(apart),
        north=cos_lat * polar - sin_lat * outward,
        up=cos_lat * outward + sin_lat * polar,
        sin_lat=sin_lat,
        cos_lat=cos_lat,
        altitude_km=altitude / 1e3,
    )


def _skew_deg(sight: _Sight) -> FloatArray:
    """Return the turn of the earth's axis from the vertical across the line of sight."""
    range2 = sight.east**2 + sight.north**2 + sight.up**2
    along_axis = sight.north * sight.cos_lat + sight.up * sight.sin_lat
    # Components of the axis to the right and upwards, seen along the line of sight.
    right = -sight.east * sight.cos_lat * np.sqrt(range2)
    upward = sight.sin_lat * range2 - sight.up * along_axis
    return _as_axis(np.degrees(np.arctan2(right, upward)))


def _tilted(skew_deg: FloatArray, tilt_deg: float) -> FloatArray:
    """Return the skew of a polarization that is turned on the satellite already."""
    return _as_axis(skew_deg + tilt_deg) if tilt_deg else skew_deg


def _as_axis(turn_deg: FloatArray) -> FloatArray:
    """Return turns between -180 and 180 as those of an axis, which has no head: modulo 180."""
    turn = np.where(turn_deg > 90, turn_deg - 180, turn_deg)
    # Adding zero turns -0 into 0.
    return np.asarray(np.where(turn <= -90, turn + 180, turn) + 0.0)


def _wrap_360(angle_deg: FloatArray) -> FloatArray:
    """Return angles in [0, 360): a tiny negative one must not round up to 360."""
    wrapped = np.remainder(angle_deg, 360.0)
    return np.asarray(np.where(wrapped >= 360.0, 0.0, wrapped))


def _only(keep: BoolArray, values: FloatArray) -> FloatArray:
    """Return ``values`` where ``keep``, else NaN."""
    return np.asarray(np.where(keep, values, np.nan))
