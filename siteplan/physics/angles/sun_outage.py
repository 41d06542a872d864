"""Sun outages: when the sun passes behind the satellite, and what it does to the receiver.

Around the equinoxes the sun crosses the antenna's beam for some minutes a day, on 3 to 9 days
twice a year (ITU-R S.1525).
"""

from __future__ import annotations

import datetime as dt
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray, IntArray
from siteplan.physics.angles.geometry import sky_direction
from siteplan.physics.angles.sun import (
    SOLAR_RADIUS_DEG,
    SubsolarPoint,
    TimeArray,
    days_since_j2000,
    subsolar_point,
    times_from_days,
)

#: Slowest change of the sun's declination [deg/day] within 15 degrees of the equator.
_SLOWEST_DECLINATION_DEG_DAY: Final = 0.29
#: Its fastest change, at the equinox [deg/day].
_FASTEST_DECLINATION_DEG_DAY: Final = 0.4
#: Step of the table of the sun's places [days].
_STEP_DAYS: Final = 0.25

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


class SunSeason(NamedTuple):
    """One season of sun outages in short, arrays (n,).

    Times of the first, the last and the deepest outage (UTC), their number, the duration of
    the deepest one, which is the longest [min], and the angle between sun and satellite then.
    """

    first: TimeArray
    last: TimeArray
    peak: TimeArray
    passages: IntArray
    longest_min: FloatArray
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
        As in `siteplan.physics.angles.geometry.look_angles`, scalars or (n,).
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
    seen = _seen(lat, lon, altitude_m, satellite_lon_deg, half_angle_deg)
    _check_year(year)
    sky = _sky(year, year)
    return _outages(sky, seen, _season_centres(seen.declination_deg, (year,)))


def next_sun_outages(
    lat: ArrayLike,
    lon: ArrayLike,
    altitude_m: ArrayLike,
    satellite_lon_deg: ArrayLike,
    half_angle_deg: ArrayLike,
    *,
    after: dt.date,
    seasons: int = 2,
) -> SunOutages:
    """Return every sun outage of the seasons that end on or after a date.

    Parameters
    ----------
    lat, lon, altitude_m, satellite_lon_deg, half_angle_deg : array_like
        As in `sun_outages`.
    after : datetime.date
        A date of 1950 to 2049; a season that has begun is given whole.
    seasons : int, optional
        How many seasons, 1 to 3.

    Returns
    -------
    SunOutages
        As `sun_outages`.

    Raises
    ------
    ValueError
        As `sun_outages`.
    """
    seen = _seen(lat, lon, altitude_m, satellite_lon_deg, half_angle_deg)
    sky, centres = _next_seasons(seen, after, seasons)
    return _outages(sky, seen, centres)


def next_season(
    lat: ArrayLike,
    lon: ArrayLike,
    altitude_m: ArrayLike,
    satellite_lon_deg: ArrayLike,
    half_angle_deg: ArrayLike,
    *,
    after: dt.date,
) -> SunSeason:
    """Return the first season of sun outages that ends on or after a date, in short.

    Parameters
    ----------
    lat, lon, altitude_m, satellite_lon_deg, half_angle_deg, after
        As in `next_sun_outages`.

    Returns
    -------
    SunSeason
        Arrays (n,); NaT, 0 and NaN where there is no outage.

    Raises
    ------
    ValueError
        As `sun_outages`.
    """
    seen = _seen(lat, lon, altitude_m, satellite_lon_deg, half_angle_deg)
    sky, centres = _next_seasons(seen, after, 1)
    days = _passages(sky, centres, seen.meridian_deg, seen.half_deg)[:, 0]
    separation = np.abs(sky.at(days).declination_deg - seen.declination_deg[:, None])
    inside = separation < seen.half_deg[:, None]
    rows, nearest = np.arange(len(days)), np.argmin(separation, axis=1)
    some = inside[rows, nearest] if len(days) else np.zeros(0, dtype=bool)
    last = inside.shape[1] - 1 - np.argmax(inside[:, ::-1], axis=1)
    peak = days[rows, nearest]
    place = seen.meridian_deg, seen.declination_deg, seen.half_deg
    start, end = (_beam_edge(sky, peak, place, side) for side in (1, -1))

    def spread(values: FloatArray, nothing: float) -> FloatArray:
        out = np.full(seen.total, nothing)
        out[seen.site] = np.where(some, values, nothing)
        return out

    return SunSeason(
        times_from_days(spread(days[rows, np.argmax(inside, axis=1)], np.nan)),
        times_from_days(spread(days[rows, last], np.nan)),
        times_from_days(spread(peak, np.nan)),
        spread(inside.sum(axis=1).astype(float), 0.0).astype(np.intp),
        spread((end - start) * 1440, np.nan),
        spread(separation[rows, nearest], np.nan),
    )


class _Seen(NamedTuple):
    """Sites that see the satellite: their index among ``total``, its place, the half-angle."""

    site: IntArray
    meridian_deg: FloatArray
    declination_deg: FloatArray
    half_deg: FloatArray
    total: int


def _seen(
    lat: ArrayLike,
    lon: ArrayLike,
    altitude_m: ArrayLike,
    satellite_lon_deg: ArrayLike,
    half_angle_deg: ArrayLike,
) -> _Seen:
    """Return the sites that see the satellite; check the half-angles."""
    place = (lat, lon, altitude_m, satellite_lon_deg, half_angle_deg)
    lat, lon, altitude, satellite, half = (
        np.atleast_1d(x) for x in np.broadcast_arrays(*(np.asarray(x, dtype=float) for x in place))
    )
    if np.any((half < 0) | (half > MAX_HALF_ANGLE_DEG)):
        raise ValueError(f"half_angle_deg must lie within 0 to {MAX_HALF_ANGLE_DEG:g} degrees")
    meridian, declination = sky_direction(lat, lon, altitude, satellite)
    site = np.flatnonzero(np.isfinite(meridian) & np.isfinite(half))
    return _Seen(site, meridian[site], declination[site], half[site], len(lat))


def _check_year(year: int) -> None:
    if not 1950 <= year <= 2050:
        raise ValueError(f"year {year}: the sun's series holds from 1950 to 2050")


def _next_seasons(seen: _Seen, after: dt.date, seasons: int) -> tuple[_Sky, FloatArray]:
    """Return the sun's table, and the centres (n, s) of the seasons ending on or after a date."""
    years = tuple(range(after.year, after.year + 1 + seasons // 2 + seasons % 2))
    for year in years:
        _check_year(year)
    centres = _season_centres(seen.declination_deg, years)
    begin = days_since_j2000(np.datetime64(after, "s"))
    # The last day of a season lies about half / rate after its centre; a day is near enough.
    ends = centres + seen.half_deg[:, None] / _FASTEST_DECLINATION_DEG_DAY
    passed = (ends < begin).sum(axis=1)
    which = passed[:, None] + np.arange(seasons)
    return _sky(years[0], years[-1]), np.take_along_axis(centres, which, axis=1)


def _outages(sky: _Sky, seen: _Seen, centres: FloatArray) -> SunOutages:
    """Return the outages of seasons around ``centres`` (n, s)."""
    days = _passages(sky, centres, seen.meridian_deg, seen.half_deg)
    days = days.reshape(len(centres), days.shape[1] * days.shape[2])
    separation = np.abs(sky.at(days).declination_deg - seen.declination_deg[:, None])
    site, passage = np.nonzero(separation < seen.half_deg[:, None])
    days, separation = days[site, passage], separation[site, passage]
    place = seen.meridian_deg[site], seen.declination_deg[site], seen.half_deg[site]
    ends = (_beam_edge(sky, days, place, side) for side in (1, -1))
    start, end = (times_from_days(edge) for edge in ends)
    return SunOutages(seen.site[site], start, times_from_days(days), end, separation)


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


class _Sky(NamedTuple):
    """The sun through some years at equal steps: for many passages, reading beats reckoning.

    ``turned_deg`` is the subsolar longitude plus 360 a day, which hardly moves. Between entries
    six hours apart a straight line errs by less than 0.0001 degree.
    """

    first: float
    turned_deg: FloatArray
    declination_deg: FloatArray

    def at(self, days: FloatArray) -> SubsolarPoint:
        """Return the subsolar point at times (any shape) [days], the longitude unwrapped."""
        place = (days - self.first) / _STEP_DAYS
        # A time without value (NaN) stays without value, whatever entry it is read from.
        whole = np.clip(np.nan_to_num(place), 0, len(self.turned_deg) - 2).astype(np.intp)
        part = place - whole
        turned, declination = (
            table[whole] + part * (table[whole + 1] - table[whole]) for table in self[1:]
        )
        return SubsolarPoint(np.asarray(turned - 360 * days), np.asarray(declination))


def _sky(first_year: int, last_year: int) -> _Sky:
    """Return the sun from a month before the first year to a month after the last."""
    a, b = days_since_j2000([np.datetime64(f"{y}-01-01") for y in (first_year, last_year)])
    days = np.arange(a - 31, b + 397, _STEP_DAYS)
    sun = subsolar_point(days)
    turned = np.unwrap(np.remainder(sun.longitude_deg + 360 * days, 360), period=360)
    return _Sky(float(days[0]), turned, sun.declination_deg)


def _passages(sky: _Sky, centre: FloatArray, meridian: FloatArray, half: FloatArray) -> FloatArray:
    """Return times (n, s, k) of the sun's passages of the meridian around seasons (n, s)."""
    # The nearest passage first, then the same passage on the days around it: rounding each day
    # on its own could take one passage twice and leave out another.
    meridian = meridian[:, None]
    centre = _to_meridian(sky, centre, meridian)
    reach = int(np.ceil(np.max(half, initial=0.0) / _SLOWEST_DECLINATION_DEG_DAY)) + 1
    around = centre[:, :, None] + np.arange(-reach, reach + 1)
    return _to_meridian(sky, around, meridian[:, :, None])


def _season_centres(declination: FloatArray, years: tuple[int, ...]) -> FloatArray:
    """Return when (n, 2 y), in each spring and autumn, the sun has a declination [days]."""
    table = []
    for year in years:
        for first, last in (
            (f"{year - 1}-12-23", f"{year}-06-20"),
            (f"{year}-06-23", f"{year}-12-20"),
        ):
            a, b = days_since_j2000([np.datetime64(first), np.datetime64(last)])
            days = np.arange(a, b + 0.5)
            sun = subsolar_point(days).declination_deg
            order = np.argsort(sun)
            table.append(np.interp(declination, sun[order], days[order]))
    return np.stack(table, axis=-1)


def _to_meridian(sky: _Sky, days: FloatArray, meridian_deg: FloatArray) -> FloatArray:
    """Return the times nearest to ``days`` when the sun stands over a meridian (Newton)."""
    for _ in range(2):
        ahead = sky.at(days).longitude_deg - meridian_deg
        days = days + (np.remainder(ahead + 180, 360) - 180) / 360
    return days


def _beam_edge(
    sky: _Sky,
    peak: FloatArray,
    place: tuple[FloatArray, FloatArray, FloatArray],
    side: int,
) -> FloatArray:
    """Return when the sun leaves the beam east (side 1) or west (-1) of the satellite.

    ``place`` is the satellite's meridian and declination, and the half-angle, as ``peak``.
    """
    meridian, declination, half = place
    days = peak
    sin_s, cos_s = np.sin(np.radians(declination)), np.cos(np.radians(declination))
    for _ in range(3):
        delta = np.radians(sky.at(days).declination_deg)
        cosine = (np.cos(np.radians(half)) - sin_s * np.sin(delta)) / (cos_s * np.cos(delta))
        hour_angle = np.degrees(np.arccos(np.clip(cosine, -1, 1)))
        days = _to_meridian(sky, peak, meridian + side * hour_angle)
    return days
