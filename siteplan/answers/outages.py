"""What a log of outages comes to beside the plan."""

from __future__ import annotations

from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from siteplan.frozen import frozen

FloatArray = NDArray[np.float64]


@frozen(eq=False)
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


@frozen(eq=False)
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


@frozen(eq=False)
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


@frozen(eq=False)
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


@frozen(eq=False)
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
