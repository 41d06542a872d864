"""What a plan answers those who run the network: levels to expect, and when to worry."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

#: Minutes of a month: the twelfth part of a year of 365.25 days.
MONTH_MINUTES: Final = 30.4375 * 24 * 60

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Expected:
    """A level (n,) [dB] and how long a month it is passed (n,) [min]; NaN where that is not known.

    ``minutes`` is of a month of an average year, ``worst_minutes`` of its worst month.
    """

    level_db: FloatArray
    minutes: FloatArray
    worst_minutes: FloatArray


@dataclass(frozen=True, eq=False)
class MonitoredWay:
    """A direction of n sites as monitoring is to find it in clear sky; NaN where it does not apply.

    ``es_n0_db`` is Es/(N0+I0), which is C/(N+I) in the bandwidth of the symbol rate,
    ``bandwidth_khz`` (n,). ``modem_dbm`` is the level at the site's modem: what it receives
    outbound, what it sends inbound; ``most_dbm`` what it sends at most, in rain of its own.
    ``warn`` and ``fault`` are levels of ``es_n0_db``; ``modcod`` (n,) names whose need ``fault``
    is. ``notes`` (n,) are codes joined by ``;``.
    """

    direction: str
    es_n0_db: FloatArray
    bandwidth_khz: FloatArray
    modem_dbm: FloatArray
    most_dbm: FloatArray
    warn: Expected
    fault: Expected
    modcod: NDArray[Any]
    notes: NDArray[Any]


@dataclass(frozen=True)
class MonitoredHub:
    """A hub as monitoring is to find it in clear sky.

    ``transits`` are the sun's, each with ``start``, ``peak`` and ``end`` (ISO 8601, UTC) and
    ``depth_db``: they disturb what all its sites send.
    """

    name: str
    beams: tuple[str, ...]
    antenna_m: float
    eirp_dbw: float
    feed_w: float
    transits: tuple[dict[str, Any], ...]


@dataclass(frozen=True, eq=False)
class Monitored:
    """The sites with kit, ``rows`` (n,) of the plan, and what monitoring is to expect of them.

    ``hub`` (n,) is the index of each one's in ``hubs``; ``near`` (n,) are the ids of the nearest
    others, for comparison.
    """

    rows: NDArray[np.intp]
    hub: NDArray[np.intp]
    near: tuple[tuple[str, ...], ...]
    ways: tuple[MonitoredWay, MonitoredWay]
    hubs: tuple[MonitoredHub, ...]

    def __len__(self) -> int:
        """Return the number of sites."""
        return len(self.rows)


@dataclass(frozen=True, eq=False)
class OutageRows:
    """What a log comes to, a row (r,) a place, month and cause; NaN where there is no answer.

    ``place`` is the index of the site, or -1 - k for the k-th hub; ``month`` that in the report's
    months, -1 for all of the log; ``cause`` that in the causes, -1 for all of them. An outage is
    counted in the month in which it begins, with all of its length; its minutes fall into the
    months that it reaches into. ``apart_min`` and ``apart`` are of outages that do not count.
    """

    place: NDArray[np.intp]
    month: NDArray[np.intp]
    cause: NDArray[np.intp]
    logged_min: FloatArray
    outage_min: FloatArray
    availability_pct: FloatArray
    outages: FloatArray
    mean_repair_min: FloatArray
    mean_between_h: FloatArray
    longest_min: FloatArray
    apart_min: FloatArray
    apart: FloatArray


#: What rain was compared: a site's own, the hub's, or both where the log tells none at the hub.
End = Literal["site", "hub", "both"]


@dataclass(frozen=True, eq=False)
class WeatherRows:
    """Rain by the log against the plan, a row (w,) a place; NaN where there is no answer.

    ``place`` is as in `OutageRows`, ``end`` (w,) whose rain it is, ``verdict`` (w,) a code.
    ``observed_pct`` and ``z`` are over whole years; ``observed_min`` is over those, else over all
    of the log. ``worst_month_min`` is the plan's worst month, ``largest_month_min`` the largest
    that was seen, of ``months_min`` (w, k).
    """

    place: NDArray[np.intp]
    end: NDArray[Any]
    logged_min: FloatArray
    planned_pct: FloatArray
    observed_pct: FloatArray
    observed_min: FloatArray
    ratio: FloatArray
    z: FloatArray
    worst_month_min: FloatArray
    largest_month_min: FloatArray
    months_min: FloatArray
    verdict: NDArray[Any]


#: Why an outage is left out of availability: the log says so, or it lies outside its span.
LeftOutFor = Literal["not_counted", "outside"]


@dataclass(frozen=True, eq=False)
class LeftOut:
    """The outages (m,) of a log that availability leaves out, by their row in it.

    ``place`` is as in `OutageRows`; ``begin`` and ``end`` are moments (UTC), ``ahead_min`` (m, 2)
    how far clocks there are ahead of UTC at either; ``cause`` is that in the causes; ``why`` (m,)
    holds `LeftOutFor`.
    """

    place: NDArray[np.intp]
    row: NDArray[np.intp]
    begin: NDArray[np.datetime64]
    end: NDArray[np.datetime64]
    ahead_min: FloatArray
    cause: NDArray[np.intp]
    why: NDArray[Any]

    def __len__(self) -> int:
        """Return the number of outages."""
        return len(self.row)

    @property
    def minutes(self) -> FloatArray:
        """How long each lasted (m,). [min]"""
        return np.asarray((self.end - self.begin) / np.timedelta64(60, "s"))


@dataclass(frozen=True, eq=False)
class OverTime:
    """The outage of sites, month by month, or year by year in a long log, as a mean of all sites.

    ``names`` (t,) are such as ``2026-03`` or ``2026``; ``minutes`` (t, c) are by cause, rain as it
    is compared with the plan. ``planned_min`` (t,) is what the plan expects of the weather in the
    time logged, the mean of the ``planned`` sites that it gives an outage; NaN where there is none.
    ``hub_apart`` tells whether rain at a hub was logged, and so is in neither. [min]
    """

    names: tuple[str, ...]
    minutes: FloatArray
    planned_min: FloatArray
    planned: int
    hub_apart: bool


@dataclass(frozen=True, eq=False)
class OutageReport:
    """A log of outages against a plan.

    ``months`` are the log's, such as ``2026-03``; ``years`` is how many whole years of them are
    compared, from ``months[window[0]]`` on and before ``window[1]``. ``hubs`` are the hubs' names.
    """

    months: tuple[str, ...]
    years: int
    window: tuple[int, int]
    hubs: tuple[str, ...]
    rows: OutageRows
    weather: WeatherRows
    over_time: OverTime
    left_out: LeftOut
