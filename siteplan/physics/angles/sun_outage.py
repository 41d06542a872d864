"""Sun outages: when the sun passes behind the satellite, day by day and as a season.

Around the equinoxes the sun crosses the antenna's beam for some minutes a day, on 3 to 9 days
twice a year (ITU-R S.1525). What it does to the receiver is told by
`siteplan.physics.radio.sun_noise`.
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
    TimeArray,
    days_since_j2000,
    times_from_days,
)
from siteplan.physics.angles.sun_track import (
    SunTable,
    beam_edge,
    passages,
    season_centres,
    sun_table,
)

#: Its fastest change, at the equinox [deg/day].
_FASTEST_DECLINATION_DEG_DAY: Final = 0.4

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

    Examples
    --------
    Half of the beam, and 0.265 degree of disc.

    >>> outage_half_angle_deg([1.0, 2.0]).round(3).tolist()
    [0.765, 1.265]
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

    Examples
    --------
    From 50 N the satellite is seen south of the equator, where the sun stands before the equinox
    of March. At 15 degrees an hour it crosses a beam of 1.8 degrees in 7.2 minutes.

    >>> out = sun_outages([50], [10], 0, 19, 0.9, year=2026)
    >>> days = [str(day) for day in out.peak.astype("datetime64[D]")]
    >>> days[:4]
    ['2026-02-28', '2026-03-01', '2026-03-02', '2026-03-03']
    >>> round(float((out.end - out.start).max().astype(int) / 60), 1)
    7.2
    """
    seen = _seen(lat, lon, altitude_m, satellite_lon_deg, half_angle_deg)
    _check_year(year)
    sky = sun_table(year, year)
    return _outages(sky, seen, season_centres(seen.declination_deg, (year,)))


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

    Examples
    --------
    The season of `sun_outages` in short; in the south it comes after the equinox.

    >>> season = next_season([50, -50], 10, 0, 19, 0.9, after=dt.date(2026, 1, 1))
    >>> [str(day) for day in season.first.astype("datetime64[D]")], season.passages.tolist()
    (['2026-02-28', '2026-04-06'], [4, 5])
    """
    seen = _seen(lat, lon, altitude_m, satellite_lon_deg, half_angle_deg)
    sky, centres = _next_seasons(seen, after, 1)
    days = passages(sky, centres, seen.meridian_deg, seen.half_deg)[:, 0]
    separation = np.abs(sky.at(days).declination_deg - seen.declination_deg[:, None])
    inside = separation < seen.half_deg[:, None]
    rows, nearest = np.arange(len(days)), np.argmin(separation, axis=1)
    some = inside[rows, nearest] if len(days) else np.zeros(0, dtype=bool)
    last = inside.shape[1] - 1 - np.argmax(inside[:, ::-1], axis=1)
    peak = days[rows, nearest]
    place = seen.meridian_deg, seen.declination_deg, seen.half_deg
    start, end = (beam_edge(sky, peak, place, side) for side in (1, -1))

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


def _next_seasons(seen: _Seen, after: dt.date, seasons: int) -> tuple[SunTable, FloatArray]:
    """Return the sun's table, and the centres (n, s) of the seasons ending on or after a date."""
    years = tuple(range(after.year, after.year + 1 + seasons // 2 + seasons % 2))
    for year in years:
        _check_year(year)
    centres = season_centres(seen.declination_deg, years)
    begin = days_since_j2000(np.datetime64(after, "s"))
    # The last day of a season lies about half / rate after its centre; a day is near enough.
    ends = centres + seen.half_deg[:, None] / _FASTEST_DECLINATION_DEG_DAY
    passed = (ends < begin).sum(axis=1)
    which = passed[:, None] + np.arange(seasons)
    return sun_table(years[0], years[-1]), np.take_along_axis(centres, which, axis=1)


def _outages(sky: SunTable, seen: _Seen, centres: FloatArray) -> SunOutages:
    """Return the outages of seasons around ``centres`` (n, s)."""
    days = passages(sky, centres, seen.meridian_deg, seen.half_deg)
    days = days.reshape(len(centres), days.shape[1] * days.shape[2])
    separation = np.abs(sky.at(days).declination_deg - seen.declination_deg[:, None])
    site, passage = np.nonzero(separation < seen.half_deg[:, None])
    days, separation = days[site, passage], separation[site, passage]
    place = seen.meridian_deg[site], seen.declination_deg[site], seen.half_deg[site]
    ends = (beam_edge(sky, days, place, side) for side in (1, -1))
    start, end = (times_from_days(edge) for edge in ends)
    return SunOutages(seen.site[site], start, times_from_days(days), end, separation)
