"""Turning dishes to another satellite: how far, whether they still do, whether the sky is free."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.answers.slots import Repointing
from siteplan.arrays import FloatArray, TextArray
from siteplan.model import Sites
from siteplan.planning.asbuilt.differences import wrapped
from siteplan.planning.assembly import given
from siteplan.planning.compare.kept import Kept
from siteplan.planning.compare.mounted import mounted
from siteplan.planning.place import METHOD_ELEVATION_DEG
from siteplan.planning.report.thinning import carrying
from siteplan.results import Plan

#: Words of ``Repointing.fits`` and ``Repointing.horizon``.
FITS = ("yes", "under_reserve", "no", "below_minimum", "outside_beam", "out_of_view")
HORIZON = ("clear", "tight", "blocked")


def repointing(sites: Sites, present: Plan, there: Plan, of: Kept) -> Repointing:
    """Return what turning the dishes of a plan to another satellite takes and gives.

    Parameters
    ----------
    sites : Sites
        The checked sites (n,) of both plans.
    present, there : Plan
        The plan as it is, and the one with the other satellite, of these sites.
    of : Kept
        How the present kit does there.

    Returns
    -------
    Repointing
        Changes from the present plan's angles to the new ones; NaN where either is not known.
    """
    old, new = present.columns, there.columns
    reserve = there.network.rules.reserve_db
    return Repointing(
        azimuth_deg=wrapped(new["azimuth_true_deg"] - old["azimuth_true_deg"], 360),
        elevation_deg=new["elevation_deg"] - old["elevation_deg"],
        skew_deg=wrapped(new["skew_deg"] - old["skew_deg"], 180),
        expected_c_n_db=of.expected_c_n_db,
        tx_power_w=of.tx_power_w,
        margin_db=of.margin_db,
        after_reserve_db=of.margin_db - reserve,
        fits=_fits(present, there, of.margin_db),
        mount=mounted(sites, old, new, there.network),
        clearance_deg=of.clearance_deg,
        horizon=_horizon(of.clearance_deg, there.network.site.clearance_deg),
        tuned=_tuned(present, there),
    )


def _fits(present: Plan, there: Plan, margin_db: FloatArray) -> TextArray:
    """Return whether the present kit does at each site (n,), in a word."""
    elevation, rules = there.columns["elevation_deg"], there.network.rules
    outside = carrying(there.columns["flags"], frozenset({"outside_beam"}))
    margin = np.round(margin_db, 6)
    cases = (
        ("", ~given(present.columns)["kit"]),
        ("out_of_view", np.isnan(elevation)),
        ("outside_beam", outside),
        ("below_minimum", elevation < max(rules.min_elevation_deg, METHOD_ELEVATION_DEG)),
        ("yes", margin >= round(rules.reserve_db, 6)),
        ("under_reserve", margin >= 0),
    )
    words, where = zip(*cases, strict=True)
    texts = [np.full(len(margin), word, dtype=object) for word in words]
    return np.select(list(where), texts, default="no").astype(object)


def _tuned(present: Plan, there: Plan) -> NDArray[Any]:
    """Return what each site's remote (n,) receives and sends, now and there: pairs of pairs."""
    found = np.empty(len(there), dtype=object)
    found[:] = [(present.tuning_of(i), there.tuning_of(i)) for i in range(len(there))]
    return found


def _horizon(clearance_deg: FloatArray, asked_deg: float) -> TextArray:
    """Return whether the sky is free at each site (n,), in a word; '' where nobody knows."""
    words = np.where(clearance_deg < asked_deg, "tight", "clear")
    words = np.where(clearance_deg < 0, "blocked", words)
    return np.where(np.isnan(clearance_deg), "", words).astype(object)
