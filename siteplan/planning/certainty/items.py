"""What is asked of every figure that may be off: the items, and sites' links under each.

A change is made where the plan reads the figure, and the links then go through the plan's own
functions: a plan with the figure changed in the network file gives the same.

========== =========================================================================================
EIRP       ``satellite_eirp_dbw`` of both carriers; where contours tell it, their level
G/T        ``satellite_g_t_db_k`` of both carriers, likewise; SFD stays
SFD        ``sfd_dbw_m2`` of both carriers
C/I        ``ci_db`` of both carriers
pointing   added to ``pointing_error_deg``; without it, to the error that ``pointing_loss_db``
           means for each dish and frequency. An antenna whose half-power beam the error leaves
           is out, as in a plan with an error that is given
LNB        ``lnb_noise_k``
rain       the attenuation by rain at each percentage of time, at the sites and at the hub: what
           errs is the method or its maps
availability the target: 0.1 % of time more or less, but the outage at most halved or doubled
pattern    ``pattern`` of every antenna, one class worse (`WORSE`); only where side lobes count
========== =========================================================================================
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, IntArray, at_sites, is_everyone
from siteplan.frozen import frozen
from siteplan.network import Network
from siteplan.physics.propagation.climate import FROZEN_P_PCT
from siteplan.physics.radio.patterns import PATTERNS
from siteplan.planning.link.ends import (
    Dish,
    Links,
    beside_neighbours,
    carrier_plan,
    powered,
)
from siteplan.planning.link.spectrum.neighbours import site_density_dbw_hz
from siteplan.planning.setting import Setting

#: The pattern that is one class worse; a file's is taken to be S.580's. What is the worst stays.
WORSE: Final = {
    "s580_any_size": "s580",
    "s580": "appendix_8",
    "s465": "appendix_8",
    "appendix_8": "appendix_8",
    "file": "s580",
}
#: The number of the pattern one class worse, by the number of each; those of files come behind.
_WORSE_NUMBER = np.array([PATTERNS.index(WORSE[name]) for name in PATTERNS])
_OF_FILES = PATTERNS.index(WORSE["file"])
#: Both carriers' tables.
_WAYS = ("outbound", "inbound")


@frozen
class Stand:
    """How sites (n,) stand, with what their pass shares.

    ``worse`` has dishes' patterns worse: a truth, or one a site (n,).
    """

    link: Links
    p_pct: FloatArray
    shared: Setting
    worse: bool | BoolArray = False

    def take(self, index: IntArray) -> Stand:
        """Return how the sites at ``index`` (k,) stand, distinct and rising."""
        return self if is_everyone(index, len(self.p_pct)) else self.repeated(index)

    def repeated(self, index: IntArray) -> Stand:
        """Return how the sites at ``index`` (k,) stand, in any order and any number."""
        return Stand(
            self.link.repeated(index), self.p_pct[index], self.shared, at_sites(self.worse, index)
        )

    def lighter(self) -> Stand:
        """Return the same for many questions: without what none asks for.

        A question at most doubles the outage, and only above 5 % of time is the climate needed.
        """
        if not len(self.p_pct) or np.max(self.p_pct) > FROZEN_P_PCT / 2:
            return self
        return replace(self, link=self.link.lighter())

    def dish(self, dish: Dish) -> Dish:
        """Return a dish, or dishes, with the pattern that counts."""
        if self.worse is False:
            return dish
        worse = worse_pattern(dish.pattern)
        if self.worse is not True:
            worse = np.where(self.worse, worse, dish.pattern)
        return dish._replace(pattern=worse)


#: How sites stand when a figure is off by a part (0 to 1) of a step.
Change = Callable[[Stand, float, float], Stand]


class Item(NamedTuple):
    """One step of a figure: its name, the step in its unit, and what it changes."""

    name: str
    step: float
    unit: str
    change: Change

    @property
    def code(self) -> str:
        """Name and sign, by which the step is told."""
        return f"{self.name}_{'plus' if self.step > 0 else 'minus'}"

    def at(self, stand: Stand, part: float = 1.0) -> Stand:
        """Return how sites stand when the figure is off by a part of the step."""
        return self.change(stand, self.step, part)


def under(link: Links, network: Network, *, eirp: bool = False) -> Links:
    """Return links under a network with other levels of the satellite or other terminals.

    Parameters
    ----------
    link : Links
        Whose sites keep what their beams have beyond the network file.
    network : Network
        With the same places, frequencies and hub.
    eirp : bool
        Whether EIRP is another, which neighbours' levels are told over.
    """
    out, back = carrier_plan(network.outbound), carrier_plan(network.inbound)
    if isinstance(link.inbound.sfd_dbw_m2, np.ndarray):  # a beam's beyond the file's
        own = link.inbound.sfd_dbw_m2 - carrier_plan(link.network.inbound).sfd_dbw_m2
        back = replace(back, sfd_dbw_m2=back.sfd_dbw_m2 + own)
    hub, others = link.hub, link.interference
    if out.share_flux_dbw_m2 != link.outbound.share_flux_dbw_m2:
        hub = powered(network, hub)
    if eirp and others is not None:
        levels = tuple(site_density_dbw_hz(n, network.outbound) for n in network.neighbours)
        others = replace(others, density_dbw_hz=levels)
        hub = beside_neighbours(network, hub)
    return replace(link, network=network, outbound=out, inbound=back, hub=hub, interference=others)


def of_carriers(key: str) -> Change:
    """Return what changes a key of both carriers."""

    def change(stand: Stand, step: float, part: float) -> Stand:
        network = stand.link.network
        tables = {
            way: getattr(network, way).model_copy(
                update={key: getattr(getattr(network, way), key) + step * part}
            )
            for way in _WAYS
        }
        changed = network.model_copy(update=tables)
        return replace(stand, link=under(stand.link, changed, eirp=key == "satellite_eirp_dbw"))

    return change


def noisier(stand: Stand, step: float, part: float) -> Stand:
    """Return how sites stand with noisier LNBs, by a part of a step [K]."""
    return replace(stand, link=replace(stand.link, lnb_more_k=step * part))


def displaced(stand: Stand, step: float, part: float) -> Stand:
    """Return how sites stand with a larger error of pointing, by a part of a step [deg]."""
    return replace(stand, link=replace(stand.link, pointing_more_deg=step * part))


def rained(stand: Stand, step: float, part: float) -> Stand:
    """Return how sites stand in rain of other attenuation, by a part of a step [%]."""
    scale, site = 1 + step * part / 100, stand.link.site
    up, down = (replace(path, rain_scale=scale) for path in (site.up, site.down))
    hub = stand.shared.hub_sky.with_rain(stand.link.hub, scale)
    return replace(stand, link=replace(stand.link, site=replace(site, up=up, down=down), hub=hub))


def targeted(stand: Stand, step: float, part: float) -> Stand:
    """Return how sites stand under another target, by a part of a step [%].

    The whole step at most halves the outage, or doubles it.
    """
    p = stand.p_pct
    new = np.maximum(p - step, p / 2) if step > 0 else np.minimum(p - step, 2 * p)
    return replace(stand, p_pct=p + part * (new - p))


def worsened(stand: Stand, step: float, part: float) -> Stand:
    """Return how sites stand with side lobes a class worse: there is no part of a class."""
    return replace(stand, worse=True)


def worse_pattern(number: IntArray | int) -> IntArray | int:
    """Return the number of the pattern that is one class worse, a number or numbers (n,)."""
    at = np.asarray(number)
    known = np.minimum(at, len(PATTERNS) - 1)
    found = np.where(at < len(PATTERNS), _WORSE_NUMBER[known], _OF_FILES)
    return found if found.ndim else int(found)


def lobes_count(network: Network) -> bool:
    """Return whether the remotes' side lobes make any difference to the link."""
    return bool(network.neighbours) or (
        bool(network.limits) and network.regulation.action == "cut_power"
    )


_PATTERN: Final = Item("pattern", 1.0, "class", worsened)
#: The items, in the order of the table.
ITEMS: Final = (
    Item("eirp", -1.0, "dB", of_carriers("satellite_eirp_dbw")),
    Item("eirp", 1.0, "dB", of_carriers("satellite_eirp_dbw")),
    Item("g_t", -1.0, "dB", of_carriers("satellite_g_t_db_k")),
    Item("g_t", 1.0, "dB", of_carriers("satellite_g_t_db_k")),
    Item("sfd", -1.0, "dB", of_carriers("sfd_dbw_m2")),
    Item("sfd", 1.0, "dB", of_carriers("sfd_dbw_m2")),
    Item("ci", -1.0, "dB", of_carriers("ci_db")),
    Item("ci", 1.0, "dB", of_carriers("ci_db")),
    Item("pointing", 0.2, "deg", displaced),
    Item("lnb_noise", 10.0, "K", noisier),
    Item("rain", -20.0, "%", rained),
    Item("rain", 20.0, "%", rained),
    Item("availability", -0.1, "%", targeted),
    Item("availability", 0.1, "%", targeted),
    _PATTERN,
)


def items_of(network: Network) -> tuple[Item, ...]:
    """Return the items that count in a network: side lobes only where something hangs on them."""
    return tuple(item for item in ITEMS if item is not _PATTERN or lobes_count(network))
