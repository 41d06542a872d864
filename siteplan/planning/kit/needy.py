"""Sites that need a change: unserved or tight ones, how the link stands there, and how far to go.

What would help is sought by trying: each change is planned for the sites that need it by the
plan's own functions, under a changed network or with other kit.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import field, replace
from typing import Any, NamedTuple, TypeVar

import numpy as np

from siteplan.answers import Setting
from siteplan.arrays import BoolArray, FloatArray, IntArray
from siteplan.frozen import frozen
from siteplan.network import Network
from siteplan.planning.kit.catalogue import Catalogue, Installed
from siteplan.planning.kit.pick import Sizing
from siteplan.planning.link.ends import Dish, Kit, Links, powered, required_db
from siteplan.planning.link.outage import Shares
from siteplan.planning.link.ways import Inbound, Outbound, dish_at

#: A margin after reserve under this is tight [dB]: common practice, no source.
TIGHT_DB = 0.5
#: A change that buys less does not help [dB]: margins are shown to a tenth.
LEAST_GAIN_DB = 0.05
#: Decisions compare margins to this many decimals.
_DECIMALS = 6
T = TypeVar("T")


class Needs(NamedTuple):
    """Which sites (n,) need a change, and which of them nothing can be changed for by kit or link.

    ``blocked`` sites have something in the beam, ``low`` ones get no kit so near the horizon,
    ``unseen`` ones lie beyond it; at ``coarse`` ones the error of pointing that is given rules
    every antenna out, ``over`` ones radiate too much off axis. ``open`` are the others that need
    something.
    """

    unseen: BoolArray
    low: BoolArray
    blocked: BoolArray
    coarse: BoolArray
    over: BoolArray
    open: BoolArray


def needs(of: Sizing, blocked: BoolArray, too_low: BoolArray, over: BoolArray) -> Needs:
    """Return which sites (n,) are unserved or tight.

    Parameters
    ----------
    of : Sizing
        Of n sites.
    blocked : (n,) array of bool
        Where something stands in the beam.
    too_low : (n,) array of bool
        Where the satellite stands so low that no kit is picked.
    over : (n,) array of bool
        Where the kit exceeds a limit on off-axis radiation.
    """
    unseen = np.isnan(of.margin_db)
    low = ~unseen & of.missing & too_low
    blocked = blocked & ~unseen & ~low
    after = np.round(of.margin_after_reserve_db, _DECIMALS)
    coarse = of.coarse & ~(unseen | low | blocked)
    over = over & ~(unseen | low | blocked | coarse)
    wanting = of.missing | (after < TIGHT_DB)
    barred = unseen | low | blocked | coarse | over
    return Needs(unseen, low, blocked, coarse, over, wanting & ~barred)


class Stock(NamedTuple):
    """What sites (n,) have already, and what may be picked."""

    stands: Installed
    kinds: Catalogue


@frozen
class Case:
    """The sites (k,) that a change may help, and how they stand.

    ``index`` are their places in the plan. ``goal_db`` is the margin to reach: the reserve, and at
    sites that meet it what makes them tight no more. ``catalogue_margin_db`` (k, a) are the
    margins with each antenna of the catalogue.
    """

    index: IntArray
    link: Links
    kit: Kit
    stands: Installed
    kinds: Catalogue
    ways: tuple[Outbound, Inbound]
    out_db: FloatArray
    back_db: FloatArray
    catalogue_margin_db: FloatArray
    required_m: FloatArray
    inbound_limits: BoolArray
    hub_blamed: BoolArray
    p_pct: FloatArray
    goal_db: FloatArray

    def __len__(self) -> int:
        """Return the number of sites."""
        return len(self.index)

    @property
    def network(self) -> Network:
        """The network as it is planned."""
        return self.link.network

    @property
    def margin_db(self) -> FloatArray:
        """The margin as planned (k,) [dB]."""
        return np.minimum(self.out_db, self.back_db)

    @property
    def tight(self) -> BoolArray:
        """Where the reserve is met, if barely (k,)."""
        return self.goal_db > self.network.rules.reserve_db

    def dish(self, at: IntArray) -> Dish:
        """Return the dishes of the sites at ``at`` (j,)."""
        return dish_at(self.kit.dish, at)


def case(of: Sizing, split: Shares, stock: Stock, index: IntArray, *, p_pct: FloatArray) -> Case:
    """Return the sites at ``index`` (k,), rising, as they stand."""
    out, back = of.ways
    reserve = out.link.network.rules.reserve_db
    tight = ~of.missing & (np.round(of.margin_after_reserve_db, _DECIMALS) >= 0)
    return Case(
        index=index,
        link=out.link.take(index),
        kit=_at(of.kit, index),
        stands=_at(stock.stands, index),
        kinds=stock.kinds,
        ways=(out.take(index), back.take(index)),
        out_db=of.outbound_margin_db[index],
        back_db=of.inbound_margin_db[index],
        catalogue_margin_db=of.catalogue_margin_db[index],
        required_m=of.required_antenna_m[index],
        inbound_limits=of.inbound_limits[index],
        hub_blamed=split.hub_blamed[index],
        p_pct=p_pct[index],
        goal_db=reserve + np.where(tight[index], TIGHT_DB, 0.0),
    )


def _at(group: T, index: IntArray) -> T:
    """Return a frozen dataclass of arrays (n,) at the sites ``index`` (k,)."""
    return type(group)(**{name: values[index] for name, values in vars(group).items()})


def under(link: Links, network: Network) -> Links:
    """Return the links under a network with other MODCODs, power control or rules.

    Places, frequencies and the hub's antenna must be the same; its amplifier may be another.
    """
    return replace(
        link,
        network=network,
        hub=powered(network, link.hub),
        outbound_required_db=required_db("outbound", network.outbound),
        inbound_required_db=required_db("inbound", network.inbound),
    )


def changed(network: Network, table: str, **values: Any) -> Network:
    """Return a network with other values in one of its tables."""
    rows = getattr(network, table).model_copy(update=values)
    return network.model_copy(update={table: rows})


def reaches(margin_db: FloatArray, goal_db: FloatArray | float) -> BoolArray:
    """Return where margins reach a goal, as decisions compare them."""
    return np.asarray(np.round(margin_db, _DECIMALS) >= np.round(goal_db, _DECIMALS))


@frozen
class Found:
    """A change that was tried at some sites of a case: where (j,), and what it gives there.

    ``numbers`` fill the sentence ``remedy.KEY``, ``sets`` are what to set; arrays (j,), or values
    that hold for all. ``antenna_m`` and ``buc_w`` (j,) are the pair that the margin holds for,
    ``dish`` the antennas (j,) of a change that names one.
    """

    code: str
    key: str
    at: IntArray
    margin_db: FloatArray
    antenna_m: FloatArray
    buc_w: FloatArray
    numbers: dict[str, Any] = field(default_factory=dict)
    sets: tuple[tuple[str, str, Any], ...] = ()
    step: int = 0
    dish: Dish | None = None

    @property
    def of_network(self) -> bool:
        """Whether the change is one of the network: it moves every other site as well."""
        return any(table != "sites" for table, _, _ in self.sets)

    def settings(self) -> list[tuple[Setting, ...]]:
        """Return what to set at each of the sites (j,); what is NaN is left alone."""
        alike = tuple(one for one in self.sets if not isinstance(one[2], np.ndarray))
        own = [(t, k, v.tolist()) for t, k, v in self.sets if isinstance(v, np.ndarray)]
        if not own:
            return [alike] * len(self.at)
        return [
            (*((t, k, v[j]) for t, k, v in own if not math.isnan(v[j])), *alike)
            for j in range(len(self.at))
        ]


class Rung(NamedTuple):
    """A step of a ladder: its number from 0, the sites (j,), and the margins there [dB]."""

    step: int
    at: IntArray
    margin_db: FloatArray


def climb(
    x: Case,
    steps: Sequence[BoolArray],
    margin_db: Callable[[int, IntArray], FloatArray],
    most_db: FloatArray | None = None,
) -> list[Rung]:
    """Return the first step of a ladder that helps each site, and the first that reaches its goal.

    Parameters
    ----------
    x : Case
        The sites.
    steps : sequence of (k,) arrays of bool
        Where each step is one for the site, the smallest change first.
    margin_db : callable
        Given a step and sites (j,), returns the margins there [dB].
    most_db : (k,) array, optional
        What no step can pass [dB]: the other direction's margin.
    """
    rungs, helped, done = [], np.zeros(len(x), dtype=bool), np.zeros(len(x), dtype=bool)
    for step, here in enumerate(steps):
        at = np.flatnonzero(here & ~done)
        if not at.size:
            continue
        found = margin_db(step, at)
        gains = found - x.margin_db[at] >= LEAST_GAIN_DB
        there = gains & reaches(found, x.goal_db[at])
        told = there | (gains & ~helped[at])
        helped[at[gains]] = True
        done[at[there]] = True
        if most_db is not None:
            done[at[found >= most_db[at]]] = True
        if told.any():
            rungs.append(Rung(step, at[told], found[told]))
    return rungs
