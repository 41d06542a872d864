"""What a plan answers those who run the network: levels to expect, and when to worry."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from siteplan.frozen import frozen

#: Minutes of a month: the twelfth part of a year of 365.25 days.
MONTH_MINUTES: Final = 30.4375 * 24 * 60

FloatArray = NDArray[np.float64]


@frozen(eq=False)
class Expected:
    """A level (n,) [dB] and how long a month it is passed (n,) [min]; NaN where that is not known.

    ``minutes`` is of a month of an average year, ``worst_minutes`` of its worst month.
    """

    level_db: FloatArray
    minutes: FloatArray
    worst_minutes: FloatArray


@frozen(eq=False)
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


@frozen
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


@frozen(eq=False)
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
