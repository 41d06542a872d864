"""Sun outages: when the sun passes behind the satellite, and what it does to the receiver.

Around the equinoxes the sun crosses the antenna's beam for some minutes a day, on 3 to 9 days
twice a year (ITU-R S.1525).
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from siteplan.physics.geometry import sky_direction
from siteplan.physics.sun import (
    SOLAR_RADIUS_DEG,
    TimeArray,
    days_since_j2000,
    subsolar_point,
    times_from_days,
)

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

#: Slowest change of the sun's declination [deg/day] within 15 degrees of the equator.
_SLOWEST_DECLINATION_DEG_DAY: Final = 0.29

#: Widest half-angle that the search takes [deg]: beyond it the two seasons would run together.
MAX_HALF_ANGLE_DEG: Final = 5.0


class SunOutages(NamedTuple):
    """Sun outages of many sites, one entry an outage, by site and then by time.

    ``site`` is the index of the site; ``start``, ``peak`` and ``end`` are UTC to the second;
    ``separation_deg`` is the angle between sun and satellite at the peak.
    """

    site: IntArray
    start: TimeArray
    peak: TimeArray
    end: TimeArray
    separation_deg: FloatArray


def outage_half_angle_deg(beamwidth_deg: ArrayLike) -> FloatArray:
    """Return the angle between sun and satellite inside which the link is counted as out.

    Parameters
    ----------
    beamwidth_deg : array_like
        Full half-power beamwidth at the downlink frequency. [deg]

    Returns
    -------
    ndarray
        Half the beamwidth plus the radius of the sun's disc [deg]; common practice.
    """
    return np.asarray(np.asarray(beamwidth_deg, dtype=float) / 2 + SOLAR_RADIUS_DEG)


def sun_outages(
    lat: ArrayLike,
    lon: ArrayLike,
    altitude_m: ArrayLike,
    satellite_lon_deg: ArrayLike,
    half_angle_deg: ArrayLike,
    *,
    year: int,
) -> SunOutages:
    """Return every sun outage of a year.

    Parameters
    ----------
    lat, lon, altitude_m, satellite_lon_deg : array_like
        As in `siteplan.physics.geometry.look_angles`, scalars or (n,).
    half_angle_deg : array_like
        Angle from `outage_half_angle_deg`, scalar or (n,). [deg]
    year : int
        Calendar year, UTC, 1950 to 2050.

    Returns
    -------
    SunOutages
        Flat arrays; a site that does not see the satellite has no entry.

    Raises
    ------
    ValueError
        If a half-angle is not within 0 to 5 degrees, or the year is out of range.

    Notes
    -----
    The peak is the sun's passage of the satellite's hour circle, within a second of the closest
    approach. The ends come from the spherical triangle pole, satellite, sun at the declination
    of the end's own time. The sun's place, good to 0.01 degree, leaves some 3 s in the peak and
    more at the ends of grazing passages.
    """
    if not 1950 <= year <= 2050:
        raise ValueError(f"year {year}: the sun's series holds from 1950 to 2050")
    place = (lat, lon, altitude_m, satellite_lon_deg, half_angle_deg)
    lat, lon, altitude, satellite, half = (
        np.atleast_1d(x) for x in np.broadcast_arrays(*(np.asarray(x, dtype=float) for x in place))
    )
    if np.any((half < 0) | (half > MAX_HALF_ANGLE_DEG)):
        raise ValueError(f"half_angle_deg must lie within 0 to {MAX_HALF_ANGLE_DEG:g} degrees")
    meridian, declination = sky_direction(lat, lon, altitude, satellite)
    seen = np.flatnonzero(np.isfinite(meridian) & np.isfinite(half))
    meridian, declination, half = meridian[seen], declination[seen], half[seen]

    days = _passages(meridian, declination, half, year)
    separation = np.abs(subsolar_point(days).declination_deg - declination[:, None])
    site, passage = np.nonzero(separation < half[:, None])
    days, separation = days[site, passage], separation[site, passage]
    ends = (
        _beam_edge(days, meridian[site], declination[site], half[site], side) for side in (1, -1)
    )
    start, end = (times_from_days(edge) for edge in ends)
    return SunOutages(seen[site], start, times_from_days(days), end, separation)


def sun_noise_k(frequency_ghz: ArrayLike) -> FloatArray:
    """Return the brightness temperature of the quiet sun, 120000 f^-0.75.

    Parameters
    ----------
    frequency_ghz : array_like
        Frequency. [GHz]

    Returns
    -------
    ndarray
        Brightness temperature. [K]

    References
    ----------
    Maral and Bousquet, Satellite Communications Systems, 5th ed., chapter 5.
    """
    return np.asarray(120_000 * np.asarray(frequency_ghz, dtype=float) ** -0.75)


def antenna_sun_noise_k(
    frequency_ghz: ArrayLike, beamwidth_deg: ArrayLike, separation_deg: ArrayLike = 0.0
) -> FloatArray:
    """Return what the sun adds to the antenna's noise.

    The main lobe is taken as Gaussian and filled by the disc to 1 - 2^-(disc / beamwidth)^2;
    off the axis the lobe's own fall is applied to the whole disc.

    Parameters
    ----------
    frequency_ghz : array_like
        Frequency. [GHz]
    beamwidth_deg : array_like
        Full half-power beamwidth. [deg]
    separation_deg : array_like, optional
        Angle between the antenna's axis and the sun's centre. [deg] All broadcast together.

    Returns
    -------
    ndarray
        Added noise temperature at the antenna. [K]

    References
    ----------
    Integral of a Gaussian lobe over a uniform disc (computed); brightness as in `sun_noise_k`.
    """
    beamwidth = np.asarray(beamwidth_deg, dtype=float)
    filling = 1 - np.exp2(-((2 * SOLAR_RADIUS_DEG / beamwidth) ** 2))
    fall = np.exp2(-((2 * np.asarray(separation_deg, dtype=float) / beamwidth) ** 2))
    return np.asarray(sun_noise_k(frequency_ghz) * filling * fall)


def degradation_db(
    system_k: ArrayLike, sun_k: ArrayLike, rx_loss_db: ArrayLike = 0.0
) -> FloatArray:
    """Return how far G/T falls while the sun is in the beam.

    Parameters
    ----------
    system_k : array_like
        System noise temperature without the sun, at the receiver's input. [K]
    sun_k : array_like
        Noise that the sun adds at the antenna, from `antenna_sun_noise_k`. [K]
    rx_loss_db : array_like, optional
        Loss between antenna and receiver. [dB] All broadcast together.

    Returns
    -------
    ndarray
        Loss of G/T. [dB]
    """
    through = 10 ** (-np.asarray(rx_loss_db, dtype=float) / 10)
    added = np.asarray(sun_k, dtype=float) * through
    return np.asarray(10 * np.log10(1 + added / np.asarray(system_k, dtype=float)))


def _passages(
    meridian: FloatArray, declination: FloatArray, half: FloatArray, year: int
) -> FloatArray:
    """Return times (n, k) of the sun's passages of the meridian around the two seasons."""
    centre = _season_centres(declination, year)
    # The nearest passage first, then the same passage on the days around it: rounding each day
    # on its own could take one passage twice and leave out another.
    centre = _to_meridian(centre, meridian[:, None])
    reach = int(np.ceil(np.max(half, initial=0.0) / _SLOWEST_DECLINATION_DEG_DAY)) + 1
    around = centre[:, :, None] + np.arange(-reach, reach + 1)
    return _to_meridian(around.reshape(len(meridian), 2 * (2 * reach + 1)), meridian[:, None])


def _season_centres(declination: FloatArray, year: int) -> FloatArray:
    """Return when (n, 2), in spring and in autumn, the sun has a declination [days]."""
    table = []
    for first, last in ((f"{year - 1}-12-23", f"{year}-06-20"), (f"{year}-06-23", f"{year}-12-20")):
        a, b = days_since_j2000([np.datetime64(first), np.datetime64(last)])
        days = np.arange(a, b + 0.5)
        sun = subsolar_point(days).declination_deg
        order = np.argsort(sun)
        table.append(np.interp(declination, sun[order], days[order]))
    return np.stack(table, axis=-1)


def _to_meridian(days: FloatArray, meridian_deg: FloatArray) -> FloatArray:
    """Return the times nearest to ``days`` when the sun stands over a meridian (Newton)."""
    for _ in range(2):
        ahead = subsolar_point(days).longitude_deg - meridian_deg
        days = days + (np.remainder(ahead + 180, 360) - 180) / 360
    return days


def _beam_edge(
    peak: FloatArray,
    meridian: FloatArray,
    declination: FloatArray,
    half: FloatArray,
    side: int,
) -> FloatArray:
    """Return when the sun is ``half`` from the satellite, east (side 1) or west (-1) of it."""
    days = peak
    sin_s, cos_s = np.sin(np.radians(declination)), np.cos(np.radians(declination))
    for _ in range(3):
        delta = np.radians(subsolar_point(days).declination_deg)
        cosine = (np.cos(np.radians(half)) - sin_s * np.sin(delta)) / (cos_s * np.cos(delta))
        hour_angle = np.degrees(np.arccos(np.clip(cosine, -1, 1)))
        days = _to_meridian(peak, meridian + side * hour_angle)
    return days
