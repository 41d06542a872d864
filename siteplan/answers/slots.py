"""What a comparison of orbital positions answers: a row a satellite, and what it means a site."""

from __future__ import annotations

import math
from typing import Any

from numpy.typing import NDArray

from siteplan.answers import _Answer
from siteplan.frozen import frozen


@frozen(eq=False)
class Slot(_Answer):
    """One satellite of a comparison, in a plan of its own.

    ``own`` marks the project's satellite as planned. ``reason`` says why no plan can be made, all
    figures are unknown then; ``remarks`` what was taken for it from network.toml. Counts are of
    sites: ``with_kit`` and ``without_kit``, ``served`` as planned, ``below_minimum`` the least
    elevation of the rules, ``out_of_view`` below the horizon, ``outside_beam``. ``antennas`` and
    ``bucs`` count sites by diameter [m] and rated power [W]. Margins are those of sites with
    kit, reserve not taken off; ``cost`` is the bill's with spares, NaN where a price is missing
    or nobody is served.
    """

    name: str
    longitude_deg: float
    own: bool = False
    reason: str = ""
    remarks: tuple[str, ...] = ()
    served: int = 0
    with_kit: int = 0
    without_kit: int = 0
    below_minimum: int = 0
    out_of_view: int = 0
    outside_beam: int = 0
    antennas: tuple[tuple[float, int], ...] = ()
    bucs: tuple[tuple[float, int], ...] = ()
    area_m2: float = math.nan
    median_margin_db: float = math.nan
    worst_margin_db: float = math.nan
    median_elevation_deg: float = math.nan
    lowest_elevation_deg: float = math.nan
    hub_elevation_deg: float = math.nan
    cost: float = math.nan
    priced: bool = False


@frozen(eq=False)
class SlotSites:
    """The sites (n,) as a satellite serves them.

    Angles are those of the plan [deg], NaN out of view; ``served`` is as the summary counts it.
    """

    azimuth_true_deg: NDArray[Any]
    azimuth_magnetic_deg: NDArray[Any]
    elevation_deg: NDArray[Any]
    skew_deg: NDArray[Any]
    margin_db: NDArray[Any]
    antenna_m: NDArray[Any]
    buc_w: NDArray[Any]
    served: NDArray[Any]


@frozen(eq=False)
class Repointing:
    """What turning the dishes of sites (n,) to another satellite takes and gives.

    Changes are signed, the shortest way round [deg]: azimuth clockwise from above, elevation up,
    skew clockwise from behind the dish, an axis modulo 180. ``margin_db`` is that of the kit
    of the present plan at the new satellite, ``after_reserve_db`` with the reserve taken off;
    ``expected_c_n_db`` and ``tx_power_w`` are what that kit receives and sends there in clear sky,
    ``tuned`` pairs what it is tuned to now and there, each a pair of `Tuned`, or empty.
    ``fits`` is yes, under_reserve, no, below_minimum, outside_beam, out_of_view, or '' where the
    present plan has no kit. ``mount`` is yes, no, over_wall, facing_unknown, parapet, engineered,
    or '' where there is none. ``horizon`` is clear, tight, blocked, or '' where nothing was
    surveyed; ``clearance_deg`` its angle.
    """

    azimuth_deg: NDArray[Any]
    elevation_deg: NDArray[Any]
    skew_deg: NDArray[Any]
    margin_db: NDArray[Any]
    after_reserve_db: NDArray[Any]
    expected_c_n_db: NDArray[Any]
    tx_power_w: NDArray[Any]
    fits: NDArray[Any]
    mount: NDArray[Any]
    clearance_deg: NDArray[Any]
    horizon: NDArray[Any]
    tuned: NDArray[Any]


@frozen(eq=False)
class SlotComparison:
    """Satellites compared: the project's own first, then those of the file in its order.

    ``sites`` and ``repointing`` have an entry a satellite, None where it cannot be planned (and,
    of repointing, for the first). ``best`` (n,) is the name of the one that serves a site with
    the least kit, ``none`` where none does. ``site_id`` and ``name`` (n,) are the sites'.
    """

    site_id: NDArray[Any]
    name: NDArray[Any]
    slots: tuple[Slot, ...]
    sites: tuple[SlotSites | None, ...]
    repointing: tuple[Repointing | None, ...]
    best: NDArray[Any]

    @property
    def best_counts(self) -> dict[str, int]:
        """Number of sites by best satellite, in the order of the satellites, then ``none``."""
        names = self.best.tolist()
        found = [*(slot.name for slot in self.slots), NONE]
        return {name: count for name in found if (count := names.count(name))}


#: What ``best`` says of a site that no satellite serves.
NONE = "none"
