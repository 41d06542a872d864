"""Kit that stays: how the dishes of the present plan would do with another satellite."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from siteplan.arrays import FloatArray, IntArray, TextArray
from siteplan.model import Sites, Surroundings
from siteplan.planning.assembly import given
from siteplan.planning.beams.settings import by_pass, settings
from siteplan.planning.kit import pick
from siteplan.planning.kit.catalogue import installed
from siteplan.planning.link import budget
from siteplan.planning.plan import CHUNK_SITES, see
from siteplan.planning.setting import Setting
from siteplan.planning.site import loads, sky, stance
from siteplan.results import Plan


class Kept(NamedTuple):
    """The present kit with another satellite (n,): levels, and what stands in its way.

    ``clearance_deg`` is NaN where nothing was surveyed; where the present plan has no kit it
    is that of the new plan, and the rest is NaN. ``expected_c_n_db`` and ``tx_power_w`` are what
    the crew finds and sets there, in clear sky.
    """

    margin_db: FloatArray
    expected_c_n_db: FloatArray
    tx_power_w: FloatArray
    clearance_deg: FloatArray


def kept(
    sites: Sites, present: Plan, there: Plan, around: Surroundings, today: dt.date | None = None
) -> Kept:
    """Return how the kit of a plan would do with another satellite.

    Where the plan with that one gives a site the same pair on the same mount, its figures are
    these. Elsewhere the link, the stance and the sky are worked out with the present pair as
    installed, on the present mount, in the beam that the new plan gives the site; nothing else
    of a plan is.

    Parameters
    ----------
    sites : Sites
        The checked sites (n,) of both plans.
    present, there : Plan
        The plan as it is, and the one with the other satellite.
    around : Surroundings
        Obstacles and terrain.
    today : datetime.date, optional
        As for the plans.
    """
    old, new = present.columns, there.columns
    has = given(old)["kit"]
    levels = {name: np.where(has, new[name], np.nan) for name in Kept._fields[:-1]}
    found = Kept(**levels, clearance_deg=new["clearance_deg"].copy())
    same = np.logical_and.reduce([old[k] == new[k] for k in ("antenna_m", "buc_w", "mount")])
    other = np.flatnonzero(has & ~same)
    if len(other):
        stands = _installed(sites.take(other), old, other)
        beam = there.columns.get("beam")
        if beam is not None:
            stands = replace(stands, beam=beam[other])
        for at, anew in _each(stands, old["mount"][other], there, around, today):
            for column, values in zip(found, anew, strict=True):
                column[other[at]] = values
    return found


def _installed(some: Sites, old: Mapping[str, FloatArray], index: IntArray) -> Sites:
    """Return sites (m,) with the kit of the present plan, its columns ``old``, as installed."""
    return replace(some, fixed_antenna_m=old["antenna_m"][index], fixed_buc_w=old["buc_w"][index])


def _each(
    sites: Sites, mount: TextArray, there: Plan, around: Surroundings, today: dt.date | None
) -> Iterator[tuple[IntArray, Kept]]:
    """Yield how some sites at a time do, on their mounts, and which they are."""
    passes = settings(there.network, today)
    for start in range(0, len(sites), CHUNK_SITES):
        chunk = np.arange(start, min(start + CHUNK_SITES, len(sites)))
        part = sites.take(chunk)
        for shared, rows in by_pass(passes, part.beam):
            some = chunk[rows]
            yield some, _of_pass(part.take(rows), mount[some], shared, around)


def _of_pass(sites: Sites, mount: TextArray, shared: Setting, around: Surroundings) -> Kept:
    """Return how sites (m,) of beams that share a setting do with what is installed."""
    sites = loads.with_design_winds(sites, shared.network)
    seen = see(sites, shared)
    may_pick = np.zeros(len(sites), dtype=bool)  # all of it is installed
    found = pick.size(seen.link, shared.kinds, installed(sites), seen.p_pct, may_pick)
    levels = budget.levels(
        *(seen.link, found.kit, found.ways[1].driven),
        ci_db=found.ways[0].ci_db,
        inbound_limits=found.inbound_limits,
    )
    stands = stance.stance(sites, seen.at, found.kit, shared.network)
    stands = stance.standing_on(stands, mount, shared.network)
    clears = sky.clearance(sites.site_id, seen.at, stands, around, shared.network)
    return Kept(
        margin_db=found.margin_db,
        expected_c_n_db=levels.outbound_clear_es_n0_db,
        tx_power_w=levels.tx_power_w,
        clearance_deg=clears.clearance_deg,
    )
