"""When the sun passes the satellite's meridian, and when it leaves the beam beside it.

Times are days since J2000 (see `siteplan.physics.angles.sun.days_since_j2000`): what
`siteplan.physics.angles.sun_outage` makes seasons and outages of.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.physics.angles.sun import SubsolarPoint, days_since_j2000, subsolar_point

#: Slowest change of the sun's declination [deg/day] within 15 degrees of the equator.
_SLOWEST_DECLINATION_DEG_DAY: Final = 0.29
#: Step of the table of the sun's places [days].
_STEP_DAYS: Final = 0.25


class SunTable(NamedTuple):
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


def sun_table(first_year: int, last_year: int) -> SunTable:
    """Return the sun from a month before the first year to a month after the last."""
    a, b = days_since_j2000([np.datetime64(f"{y}-01-01") for y in (first_year, last_year)])
    days = np.arange(a - 31, b + 397, _STEP_DAYS)
    sun = subsolar_point(days)
    turned = np.unwrap(np.remainder(sun.longitude_deg + 360 * days, 360), period=360)
    return SunTable(float(days[0]), turned, sun.declination_deg)


def passages(
    sky: SunTable, centre: FloatArray, meridian: FloatArray, half: FloatArray
) -> FloatArray:
    """Return times (n, s, k) of the sun's passages of the meridian around seasons (n, s)."""
    # The nearest passage first, then the same passage on the days around it: rounding each day
    # on its own could take one passage twice and leave out another.
    meridian = meridian[:, None]
    centre = _to_meridian(sky, centre, meridian)
    reach = int(np.ceil(np.max(half, initial=0.0) / _SLOWEST_DECLINATION_DEG_DAY)) + 1
    around = centre[:, :, None] + np.arange(-reach, reach + 1)
    return _to_meridian(sky, around, meridian[:, :, None])


def season_centres(declination: FloatArray, years: tuple[int, ...]) -> FloatArray:
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


def _to_meridian(sky: SunTable, days: FloatArray, meridian_deg: FloatArray) -> FloatArray:
    """Return the times nearest to ``days`` when the sun stands over a meridian (Newton)."""
    for _ in range(2):
        ahead = sky.at(days).longitude_deg - meridian_deg
        days = days + (np.remainder(ahead + 180, 360) - 180) / 360
    return days


def beam_edge(
    sky: SunTable,
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
