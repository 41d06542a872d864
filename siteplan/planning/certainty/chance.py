"""How sure the margin of a site is: its spread, and the chance that it is there.

The spread is the root of the sum of squares of derivative times deviation, over the figures of
``[uncertainty]``: they are taken to be independent of one another, and the margin to be linear in
each. The derivatives are central differences of the plan's own margin, with the kit as it is, of
the direction that limits: the chance that both directions hold is no greater.

A deviation counts twice where the figure is assumed, because nobody gave it:

========== =========================================================================================
EIRP       ``satellite_eirp_dbw`` of the direction's carrier, where no contour tells its level
G/T        ``satellite_g_t_db_k`` of the direction's carrier, likewise
SFD        ``sfd_dbw_m2`` of the direction's carrier
gain       ``efficiency`` and ``gain_dbi`` of the site's antenna; of one that stands, where nobody
           told its efficiency and the nearest size lends its own, or the catalogue's is assumed
noise      ``lnb_noise_k``
pointing   neither ``pointing_loss_db`` nor ``pointing_error_deg`` is given
rain       never: nobody gives it, the deviation is that of method and maps
side lobes ``pattern`` of the site's antenna
========== =========================================================================================
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray, IntArray
from siteplan.frozen import frozen
from siteplan.model import Sites
from siteplan.network import Antenna, Network
from siteplan.physics.propagation.variability import normal_above
from siteplan.planning.certainty.items import (
    Change,
    Stand,
    displaced,
    lobes_count,
    noisier,
    of_carriers,
    rained,
)
from siteplan.planning.certainty.together import together
from siteplan.planning.kit.catalogue import Catalogue, nearest
from siteplan.planning.kit.pick import Sizing
from siteplan.planning.link.ends import Dish
from siteplan.planning.link.outage import margin_db
from siteplan.planning.link.spectrum.lobes import by_size
from siteplan.planning.link.ways import dish_at, inbound, outbound

#: A central difference takes the margin at so much of the usual deviation to either side.
_PART: Final = 0.02
#: What a site's deviation is multiplied by where the figure is assumed.
ASSUMED_TIMES: Final = 2.0


@frozen(eq=False)
class Chance(Arrays):
    """How sure the margin of sites (n,) is, of the direction that limits; blank without kit."""

    margin_spread_db: Column
    margin_confidence_pct: Column


class Figure(NamedTuple):
    """A figure that may be off: its key of ``[uncertainty]``, the step of a difference, the change.

    ``out`` and ``back`` say which directions it counts in.
    """

    key: str
    step: float
    change: Change
    out: bool = True
    back: bool = True


def _lobes(stand: Stand, step: float, part: float) -> Stand:
    """Return how sites stand with side lobes higher by a part of a step [dB]."""
    more, link = step * part, stand.link
    limits = None if link.limits is None else replace(link.limits, lobes_db=more)
    others = None if link.interference is None else replace(link.interference, lobes_db=more)
    return replace(stand, link=replace(link, limits=limits, interference=others))


def _same(stand: Stand, step: float, part: float) -> Stand:
    """Return sites as they stand: what changes is their dish."""
    return stand


#: The figures by the keys of ``[uncertainty]``, each with the step of its difference.
FIGURES: Final = (
    Figure("eirp_db", 0.5 * _PART, of_carriers("satellite_eirp_dbw")),
    Figure("g_t_db", 0.5 * _PART, of_carriers("satellite_g_t_db_k")),
    Figure("sfd_db", 0.5 * _PART, of_carriers("sfd_dbw_m2")),
    Figure("gain_db", 0.5 * _PART, _same),
    Figure("noise_k", 10 * _PART, noisier, back=False),
    Figure("pointing_deg", 0.05 * _PART, displaced),
    Figure("rain_pct", 30 * _PART, rained),
    Figure("pattern_db", 1.0 * _PART, _lobes),
)


class _Way(NamedTuple):
    """Sites (n,) that one direction limits: how they stand, and their kit."""

    stand: Stand
    dish: Dish
    buc_dbw: FloatArray
    inbound: bool

    def derivatives(self, figures: Sequence[Figure]) -> FloatArray:
        """Return how the margin changes with each of f figures (f, n) [dB a unit]."""
        found = np.zeros((len(figures), len(self.buc_dbw)))
        counted = [k for k, of in enumerate(figures) if (of.back if self.inbound else of.out)]
        off = [(figures[k], sign * figures[k].step) for k in counted for sign in (1, -1)]
        margins = self._margins_db(off).reshape(len(counted), 2, len(self.buc_dbw))
        step = np.array([figures[k].step for k in counted]).reshape(-1, 1)
        found[counted] = (margins[:, 0] - margins[:, 1]) / (2 * step)
        return found

    def _margins_db(self, off: Sequence[tuple[Figure, float]]) -> FloatArray:
        """Return the margins (k, n) [dB] with figures off by amounts in their unit."""
        everyone = np.arange(len(self.buc_dbw))
        found = np.empty((len(off), len(everyone)))
        stands = [figure.change(self.stand, amount, 1.0) for figure, amount in off]
        aperture = np.array(  # it gives and takes as much
            [10 ** (amount / 10) if of.key == "gain_db" else 1.0 for of, amount in off]
        )
        for some, k, rows in together(stands, [everyone] * len(off), everyone):
            dish = dish_at(self.dish, rows)
            dish = dish._replace(efficiency=dish.efficiency * aperture[k])
            way = inbound(some.link, dish, self.buc_dbw[rows]) if self.inbound else None
            found[k, rows] = margin_db(way or outbound(some.link, dish), some.p_pct)
        return found


def chance(of: Sizing, stand: Stand, sites: Sites) -> Chance:
    """Return how sure the margins of n sites are.

    Parameters
    ----------
    of : Sizing
        Their kit.
    stand : Stand
        As they are planned.
    sites : Sites
        Whose beams and installed kit say what is assumed.
    """
    spread = np.full(len(stand.link), np.nan)
    known = of.given["kit"] & ~np.isnan(of.margin_db)
    for back in (False, True):
        rows = np.flatnonzero(known & (of.inbound_limits == back))
        if rows.size:
            way = _Way(stand.take(rows), dish_at(of.kit.dish, rows), of.kit.buc_dbw[rows], back)
            spread[rows] = _spread_db(way, of, sites, rows)
    return Chance(spread, confidence_pct(np.where(known, of.margin_db, np.nan), spread))


def confidence_pct(margin: FloatArray, spread: FloatArray) -> FloatArray:
    """Return the chance (n,) [%] that margins (n,) [dB] of some spread (n,) [dB] are not negative.

    Of the normal distribution; without any spread a margin is there or not.

    >>> confidence_pct(np.array([0.0, 1.0, 1.0]), np.array([0.5, 1.0, 0.0])).round(1).tolist()
    [50.0, 84.1, 100.0]
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        deviations = np.where(margin == 0, 0.0, -margin / spread)
    return 100 * normal_above(deviations)


def _spread_db(way: _Way, of: Sizing, sites: Sites, rows: IntArray) -> FloatArray:
    """Return the spread (k,) [dB] of the margins of the sites at ``rows`` (k,)."""
    network, total = way.stand.link.network, np.zeros(rows.size)
    deviations, lobes = network.uncertainty, lobes_count(network)
    counted = [
        figure
        for figure in FIGURES
        if getattr(deviations, figure.key) != 0 and (lobes or figure.key != "pattern_db")
    ]
    for figure, derivative in zip(counted, way.derivatives(counted), strict=True):
        twice = np.where(assumed(figure.key, way.stand, of, sites)[rows], ASSUMED_TIMES, 1.0)
        total += (derivative * getattr(deviations, figure.key) * twice) ** 2
    return np.sqrt(total)


# --- what is assumed --------------------------------------------------------------------------


#: The keys of the satellite's levels by the figures that they give, and the contours that may.
_LEVELS: Final = {
    "eirp_db": ("satellite_eirp_dbw", "outbound"),
    "g_t_db": ("satellite_g_t_db_k", "inbound"),
    "sfd_db": ("sfd_dbw_m2", ""),
}


def assumed(key: str, stand: Stand, of: Sizing, sites: Sites) -> BoolArray:
    """Return where a figure is assumed (n,), for the direction that limits each site.

    Parameters
    ----------
    key : str
        Of ``[uncertainty]``.
    stand : Stand
        Some of the sites, with what the pass shares.
    of, sites : Sizing, Sites
        Of all n sites.
    """
    if key in _LEVELS:
        return _level_assumed(key, stand, of, sites)
    n, network = len(sites), stand.shared.network
    given = network.terminal.model_fields_set
    if key == "noise_k":
        return np.full(n, "lnb_noise_k" not in given)
    if key == "pointing_deg":
        return np.full(n, not given & {"pointing_loss_db", "pointing_error_deg"})
    told: dict[str, Callable[[Antenna], bool]] = {
        "gain_db": lambda a: a.gain_dbi is None and "efficiency" not in a.model_fields_set,
        "pattern_db": lambda a: "pattern" not in a.model_fields_set,
    }
    if key not in told:
        return np.zeros(n, dtype=bool)
    found = _of_antennas(network, stand.shared.kinds, of, told[key])
    if key == "gain_db":
        own = ~np.isnan(sites.fixed_antenna_m) & ~np.isnan(sites.fixed_efficiency)
        found = (found | of.lent.dish) & ~own
    return found


def _of_antennas(
    network: Network, kinds: Catalogue, of: Sizing, is_assumed: Callable[[Antenna], bool]
) -> BoolArray:
    """Return where the antenna of the catalogue that is a site's, or the nearest, is assumed."""
    each = np.array([is_assumed(antenna) for antenna in by_size(network)])
    return each[nearest(kinds.diameter_m, of.kit.dish_m)]


def _level_assumed(key: str, stand: Stand, of: Sizing, sites: Sites) -> BoolArray:
    """Return where a level of the satellite is assumed (n,), for the direction that limits."""
    shared, (name, contoured) = stand.shared, _LEVELS[key]
    found = np.zeros(len(sites), dtype=bool)
    for beam, own in (shared.own or {"": shared.network}).items():
        here = sites.beam == beam if shared.own else np.ones(len(sites), dtype=bool)
        shapes = {} if shared.footprints is None else shared.footprints.shapes
        for way, limits in (("outbound", ~of.inbound_limits), ("inbound", of.inbound_limits)):
            direction = "down" if way == "outbound" else "up"
            drawn = way == contoured and any(
                kind == direction and (not shared.own or whose == beam) for whose, kind in shapes
            )
            if name not in getattr(own, way).model_fields_set and not drawn:
                found |= here & limits
    return found
