"""Kit that stays: how the dishes of the present plan would do with another satellite."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from siteplan.arrays import FloatArray, IntArray
from siteplan.model import Sites, Surroundings
from siteplan.planning.assembly import given
from siteplan.planning.beams.settings import by_pass, settings
from siteplan.planning.kit import pick
from siteplan.planning.kit.catalogue import installed
from siteplan.planning.plan import CHUNK_SITES, see
from siteplan.planning.setting import Setting
from siteplan.planning.site import loads, sky, stance
from siteplan.results import Plan


class Kept(NamedTuple):
    """The present kit with another satellite (n,): margin [dB], and what stands in its way.

    ``clearance_deg`` is NaN where nothing was surveyed; where the present plan has no kit it
    is that of the new plan, and the margin is NaN.
    """

    margin_db: FloatArray
    clearance_deg: FloatArray


def kept(
    sites: Sites, present: Plan, there: Plan, around: Surroundings, today: dt.date | None = None
) -> Kept:
    """Return how the kit of a plan would do with another satellite.

    Where the plan with that one gives a site the same pair, its figures are these. Elsewhere the
    link, the stance and the sky are worked out with the present pair as installed, in the beam
    that the new plan gives the site; nothing else of a plan is.

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
    margin = np.where(has, new["margin_db"], np.nan)
    clearance = new["clearance_deg"].copy()
    same = (old["antenna_m"] == new["antenna_m"]) & (old["buc_w"] == new["buc_w"])
    other = np.flatnonzero(has & ~same)
    if len(other):
        stands = _installed(sites.take(other), old, other)
        beam = there.columns.get("beam")
        if beam is not None:
            stands = replace(stands, beam=beam[other])
        for at, found in _each(stands, there, around, today):
            margin[other[at]], clearance[other[at]] = found
    return Kept(margin, clearance)


def _installed(some: Sites, old: Mapping[str, FloatArray], index: IntArray) -> Sites:
    """Return sites (m,) with the kit of the present plan, its columns ``old``, as installed."""
    return replace(some, fixed_antenna_m=old["antenna_m"][index], fixed_buc_w=old["buc_w"][index])


def _each(
    sites: Sites, there: Plan, around: Surroundings, today: dt.date | None
) -> Iterator[tuple[IntArray, tuple[FloatArray, FloatArray]]]:
    """Yield margin and clearance of some sites at a time, and which they are."""
    passes = settings(there.network, today)
    for start in range(0, len(sites), CHUNK_SITES):
        chunk = np.arange(start, min(start + CHUNK_SITES, len(sites)))
        part = sites.take(chunk)
        for shared, rows in by_pass(passes, part.beam):
            yield chunk[rows], _of_pass(part.take(rows), shared, around)


def _of_pass(sites: Sites, shared: Setting, around: Surroundings) -> tuple[FloatArray, FloatArray]:
    """Return margin [dB] and clearance [deg] of sites (m,) of beams that share a setting."""
    sites = loads.with_design_winds(sites, shared.network)
    seen = see(sites, shared)
    may_pick = np.zeros(len(sites), dtype=bool)  # all of it is installed
    found = pick.size(seen.link, shared.kinds, installed(sites), seen.p_pct, may_pick)
    stands = stance.stance(sites, seen.at, found.kit, shared.network)
    clears = sky.clearance(sites.site_id, seen.at, stands, around, shared.network)
    return found.margin_db, clears.clearance_deg
