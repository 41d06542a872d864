"""Satellites compared: what a plan with each comes to, and which serves a site with least kit."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from siteplan.answers.slots import NONE, Slot, SlotSites
from siteplan.arrays import FloatArray, IntArray, TextArray
from siteplan.planning.assembly import given
from siteplan.planning.report.serving import served
from siteplan.planning.report.thinning import carrying
from siteplan.results import Plan

#: Margins are told apart from this many decimals on, as wherever kit is decided.
_DECIMALS = 6


def slot_of(name: str, plan: Plan, *, own: bool = False, remarks: tuple[str, ...] = ()) -> Slot:
    """Return what a plan with one satellite comes to.

    Parameters
    ----------
    name : str
        What the comparison calls the satellite.
    plan : Plan
        The plan with it.
    own : bool
        Whether it is the project's own.
    remarks : tuple of str
        What was taken for it.
    """
    c, network = plan.columns, plan.network
    kit, elevation = given(c)["kit"], c["elevation_deg"]
    margin, bill = c["margin_db"][kit], plan.facts.bill
    serves = int(served(plan).sum())
    priced = bill is not None and bill.priced
    return Slot(
        name,
        network.satellite.longitude_deg,
        own,
        remarks=remarks,
        served=serves,
        with_kit=int(kit.sum()),
        without_kit=int((~kit).sum()),
        below_minimum=int((elevation < network.rules.min_elevation_deg).sum()),
        out_of_view=int(np.isnan(elevation).sum()),
        outside_beam=int(carrying(c["flags"], frozenset({"outside_beam"})).sum()),
        antennas=_by_size(c["antenna_m"][kit]),
        bucs=_by_size(c["buc_w"][kit]),
        area_m2=float(np.sum(math.pi / 4 * c["antenna_m"][kit] ** 2)),
        median_margin_db=_of_some(margin, np.median),
        worst_margin_db=_of_some(margin, np.min),
        median_elevation_deg=_of_some(elevation, np.median),
        lowest_elevation_deg=_of_some(elevation, np.min),
        hub_elevation_deg=plan.facts.hub_elevation_deg,
        # What serves nobody costs nothing, and would look like the cheapest.
        cost=bill.total if bill is not None and priced and serves else math.nan,
        priced=priced,
    )


def sites_of(plan: Plan) -> SlotSites:
    """Return the sites of a plan with one satellite, as the comparison keeps them."""
    c = plan.columns
    return SlotSites(
        azimuth_true_deg=c["azimuth_true_deg"],
        azimuth_magnetic_deg=c["azimuth_magnetic_deg"],
        elevation_deg=c["elevation_deg"],
        skew_deg=c["skew_deg"],
        margin_db=c["margin_db"],
        antenna_m=c["antenna_m"],
        buc_w=c["buc_w"],
        served=served(plan),
    )


def best_slots(names: Sequence[str], sites: Sequence[SlotSites | None]) -> TextArray:
    """Return the satellite that serves each site (n,) best, by name; ``none`` where none does.

    Of those that serve it as planned the one with the smallest antenna, then the smallest BUC,
    then the larger margin, then the first in order.

    Parameters
    ----------
    names : sequence of str
        Of k satellites.
    sites : sequence of SlotSites
        Of each; None of one that cannot be planned.
    """
    known = [k for k, found in enumerate(sites) if found is not None]
    told = [found for found in sites if found is not None]
    antenna, buc, short = (
        np.stack([_where_served(found, values) for found, values in zip(told, each, strict=True)])
        for each in (
            [of.antenna_m for of in told],
            [of.buc_w for of in told],
            [-np.round(of.margin_db, _DECIMALS) for of in told],
        )
    )
    # The last key of a lexical sort counts first; its ties stay in order.
    first: IntArray = np.lexsort((short, buc, antenna), axis=0)[0]
    rows = np.arange(antenna.shape[1])
    none = np.isinf(antenna[first, rows])
    called = np.array([names[k] for k in known], dtype=object)
    return np.where(none, NONE, called[first]).astype(object)


def _where_served(of: SlotSites, values: FloatArray) -> FloatArray:
    """Return values (n,) where the satellite serves the site, infinite elsewhere."""
    return np.where(of.served, values, np.inf)


def _by_size(sizes: FloatArray) -> tuple[tuple[float, int], ...]:
    """Return sites by size, rising."""
    return tuple(sorted(Counter(sizes.tolist()).items()))


def _of_some(values: FloatArray, what: Callable[[FloatArray], Any]) -> float:
    """Return a figure of values (n,) that are known; NaN where none is."""
    known = values[~np.isnan(values)]
    return float(what(known)) if len(known) else math.nan
