"""Where the sun stands: declination and subsolar longitude, azimuth and elevation at a site.

The series (Meeus, Astronomical Algorithms) holds to 0.01 degree from 1950 to 2050, which is two
seconds of the sun's daily motion. Directions are geometric: no refraction, and no parallax
(0.0024 degree at most). UTC stands in for UT1 (0.9 s, 0.004 degree at most).
"""

from __future__ import annotations

import datetime as dt
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from siteplan.arrays import FloatArray

TimeArray = NDArray[np.datetime64]

#: Angular radius of the sun's disc [deg]; mean over the year.
SOLAR_RADIUS_DEG: Final = 0.265

_J2000: Final = np.datetime64("2000-01-01T12:00:00", "ms")
_DAY: Final = np.timedelta64(86_400_000, "ms")
#: Terrestrial time less UTC since 2017 [days]; the sun moves 0.0008 degree in it.
_TT_LESS_UTC_DAYS: Final = 69.184 / 86_400
_DAYS_A_CENTURY: Final = 36_525.0


class SubsolarPoint(NamedTuple):
    """The point below the sun [deg]: longitude in [0, 360) and declination."""

    longitude_deg: FloatArray
    declination_deg: FloatArray


class SunPosition(NamedTuple):
    """The sun at a site [deg]: azimuth from true north in [0, 360) and geometric elevation."""

    azimuth_true_deg: FloatArray
    elevation_deg: FloatArray


def days_since_j2000(times: Any) -> FloatArray:
    """Return UTC times (array_like of datetime64) as days since 2000-01-01 12:00; NaT as NaN."""
    stamps = np.asarray(times, dtype="datetime64[ms]")
    return np.asarray(np.where(np.isnat(stamps), np.nan, (stamps - _J2000) / _DAY))


def times_from_days(days: ArrayLike) -> TimeArray:
    """Return days since J2000 as UTC times to the nearest second; NaN as NaT."""
    values = np.asarray(days, dtype=float)
    known = np.isfinite(values)
    seconds = np.rint(np.where(known, values, 0) * 86_400).astype("timedelta64[s]")
    stamps = _J2000.astype("datetime64[s]") + seconds
    return np.asarray(np.where(known, stamps, np.datetime64("NaT", "s")))


def right_ascension_declination(days: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return the sun's apparent right ascension and declination.

    Parameters
    ----------
    days : array_like
        Time in days since J2000, UTC (see `days_since_j2000`).

    Returns
    -------
    right_ascension, declination : ndarray
        Of the equator and equinox of date, of the shape of ``days``. [deg]

    References
    ----------
    Meeus, Astronomical Algorithms, 2nd ed., chapter 25, lower accuracy (0.01 degree).

    Examples
    --------
    Meeus, example 25.a, 1992 October 13: right ascension 198.381, declination -7.785 degrees.

    >>> ascension, declination = right_ascension_declination([days_since_j2000("1992-10-13")])
    >>> ascension.round(2).tolist(), declination.round(2).tolist()
    ([198.38], [-7.79])
    """
    longitude, obliquity, _ = _ecliptic(days)
    sin_longitude = np.sin(longitude)
    ascension = np.arctan2(np.cos(obliquity) * sin_longitude, np.cos(longitude))
    declination = np.arcsin(np.sin(obliquity) * sin_longitude)
    return np.asarray(np.remainder(np.degrees(ascension), 360)), np.asarray(np.degrees(declination))


def subsolar_point(days: ArrayLike) -> SubsolarPoint:
    """Return the point of the earth above which the sun stands.

    Parameters
    ----------
    days : array_like
        Time in days since J2000, UTC (see `days_since_j2000`).

    Returns
    -------
    SubsolarPoint
        Arrays of the shape of ``days``. [deg]

    References
    ----------
    Sidereal time: Meeus, Astronomical Algorithms, 2nd ed., equation 12.4, with the equation
    of the equinoxes cut after its largest term.

    Examples
    --------
    The equinox of 2026 was at 14:46 UTC of 20 March, the solstice at 08:24 of 21 June.

    >>> days = days_since_j2000(["2026-03-20T14:46", "2026-06-21T08:24"])
    >>> subsolar_point(days).declination_deg.round(2).tolist()
    [0.0, 23.44]
    """
    utc = np.asarray(days, dtype=float)
    _, obliquity, node = _ecliptic(utc)
    sidereal = 280.460_618_37 + np.remainder(360.985_647_366_29 * utc, 360)
    sidereal = sidereal - 0.004_78 * np.sin(node) * np.cos(obliquity)
    ascension, declination = right_ascension_declination(utc)
    return SubsolarPoint(np.asarray(np.remainder(ascension - sidereal, 360)), declination)


def sun_position(times: Any, lat: ArrayLike, lon: ArrayLike) -> SunPosition:
    """Return where the sun stands as seen from sites.

    Parameters
    ----------
    times : array_like of datetime64
        UTC.
    lat, lon : array_like
        Geodetic latitude and longitude. [deg] All three broadcast together.

    Returns
    -------
    SunPosition
        Arrays of the broadcast shape [deg]; the elevation is negative at night.

    References
    ----------
    Meeus, Astronomical Algorithms, 2nd ed., chapter 13.

    Examples
    --------
    At noon of the solstice it stands overhead at the tropic of Cancer, and 23.4 degrees lower
    as far north again (the sun's clock runs two minutes late that day).

    >>> sun = sun_position("2026-06-21T12:02", [23.44, 46.88], 0)
    >>> sun.elevation_deg.round(1).tolist()
    [90.0, 66.6]
    """
    sun = subsolar_point(days_since_j2000(times))
    phi, delta = np.radians(np.asarray(lat, dtype=float)), np.radians(sun.declination_deg)
    apart = np.radians(sun.longitude_deg - np.asarray(lon, dtype=float))
    level = np.cos(delta) * np.cos(apart)
    east = np.cos(delta) * np.sin(apart)
    north = np.cos(phi) * np.sin(delta) - np.sin(phi) * level
    up = np.sin(phi) * np.sin(delta) + np.cos(phi) * level
    azimuth = np.remainder(np.degrees(np.arctan2(east, north)), 360)
    elevation = np.degrees(np.arctan2(up, np.hypot(east, north)))
    return SunPosition(np.asarray(azimuth), np.asarray(elevation))


def hourly_sun(begins: Any, lat: ArrayLike, lon: ArrayLike) -> SunPosition:
    """Return the sun's place at 24 hours from a moment on, for setting bearings by shadow.

    Parameters
    ----------
    begins : array_like of datetime64
        UTC, such as the sites' midnight.
    lat, lon : array_like
        Sites of a common shape S, which ``begins`` broadcasts to. [deg]

    Returns
    -------
    SunPosition
        Arrays of shape S + (24,) [deg]; NaN while the sun is down.
    """
    starts = np.asarray(begins, dtype="datetime64[s]")[..., None]
    times = starts + np.arange(24) * np.timedelta64(3600, "s")
    sun = sun_position(
        times, np.asarray(lat, dtype=float)[..., None], np.asarray(lon, dtype=float)[..., None]
    )
    up = sun.elevation_deg > 0
    return SunPosition(*(np.asarray(np.where(up, angle, np.nan)) for angle in sun))


def times_at_azimuth(
    date: dt.date, lat: ArrayLike, lon: ArrayLike, azimuth_true_deg: ArrayLike
) -> TimeArray:
    """Return when the sun stands on a bearing during a site's day.

    The day runs from midnight to midnight in the site's mean solar time (UTC + lon / 15 h).
    In the tropics the sun can pass a bearing twice.

    Parameters
    ----------
    date : datetime.date
        Day at the site.
    lat, lon, azimuth_true_deg : array_like
        Sites and bearing, clockwise from true north, of a common shape S. [deg]

    Returns
    -------
    ndarray of datetime64
        Shape S + (2,), UTC to the second, the earlier first; NaT where there is none or the
        sun is down.

    References
    ----------
    Closed form: the sun crosses the bearing's vertical plane where tan(declination) times the
    plane's polar part cancels its equatorial part; repeated with the declination of that time.

    Examples
    --------
    The sun stands in the south at noon of a place's own time, two minutes late on 21 June.

    >>> times_at_azimuth(dt.date(2026, 6, 21), [50.0], [15.0], [180.0]).astype(str)[0, 0][:16]
    '2026-06-21T11:01'
    """
    lat, lon, azimuth = np.broadcast_arrays(
        *(np.asarray(x, dtype=float)[..., None] for x in (lat, lon, azimuth_true_deg))
    )
    phi, alpha = np.radians(lat), np.radians(azimuth)
    # Normal of the vertical plane, to the right of the bearing, by its polar, outward and
    # eastward parts in the site's meridian frame.
    polar, outward, eastward = (
        -np.sin(alpha) * np.cos(phi),
        np.sin(alpha) * np.sin(phi),
        np.cos(alpha),
    )
    noon = days_since_j2000(np.datetime64(date, "s")) + 0.5 - _signed(lon) / 360
    days = noon + np.zeros(2)
    for _ in range(4):
        sun = subsolar_point(days)
        ratio = -np.tan(np.radians(sun.declination_deg)) * polar / np.hypot(outward, eastward)
        with np.errstate(invalid="ignore"):
            swing = np.degrees(np.arccos(ratio)) * np.array([-1.0, 1.0])
        target = lon + np.degrees(np.arctan2(eastward, outward)) + swing
        days = days + _signed(sun.longitude_deg - target) / 360
        # Stay within half a day of noon, whichever way round the target lies.
        days = noon + np.remainder(days - noon + 0.5, 1) - 0.5
    stamps = times_from_days(days)
    sun_then = sun_position(stamps, lat, lon)
    off = np.abs(_signed(sun_then.azimuth_true_deg - azimuth))
    there = (off < 90) & (sun_then.elevation_deg > 0)
    return np.sort(np.where(there, stamps, np.datetime64("NaT", "s")), axis=-1)


def _ecliptic(days: ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return apparent longitude, obliquity and the moon's node [rad] (Meeus, chapter 25)."""
    t = (np.asarray(days, dtype=float) + _TT_LESS_UTC_DAYS) / _DAYS_A_CENTURY
    mean = 280.466_46 + 36_000.769_83 * t + 0.000_303_2 * t**2
    anomaly = np.radians(357.529_11 + 35_999.050_29 * t - 0.000_153_7 * t**2)
    centre = (1.914_602 - 0.004_817 * t) * np.sin(anomaly)
    centre = centre + (0.019_993 - 0.000_101 * t) * np.sin(2 * anomaly)
    centre = centre + 0.000_289 * np.sin(3 * anomaly)
    node = np.radians(125.04 - 1934.136 * t)
    # Aberration, and the largest term of nutation.
    longitude = mean + centre - 0.005_69 - 0.004_78 * np.sin(node)
    obliquity = 23.439_291 - 0.013_004_2 * t + 0.002_56 * np.cos(node)
    return np.asarray(np.radians(longitude)), np.asarray(np.radians(obliquity)), np.asarray(node)


def _signed(angle_deg: ArrayLike) -> FloatArray:
    """Return angles in [-180, 180). [deg]"""
    return np.asarray(np.remainder(np.asarray(angle_deg, dtype=float) + 180, 360) - 180)
