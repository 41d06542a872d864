"""Mounts: every option weighed, with what speaks for it and what against it.

Scores and limits are common practice, no source; the survey, the maker's data and a qualified
engineer decide.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray, TextArray
from siteplan.messages import Catalogue
from siteplan.network import Network
from siteplan.planning.site.mounts.ground_frame import GROUND
from siteplan.planning.site.mounts.kind import Kind, Spot, Tried
from siteplan.planning.site.mounts.pole import POLE
from siteplan.planning.site.mounts.roof_frame import ROOF
from siteplan.planning.site.mounts.wall_bracket import WALL
from siteplan.planning.site.mounts.weighing import Option, Weighed, explained, weigh
from siteplan.planning.step import Told, text_field

#: Every kind of mount, in the order of the table of scores.
KINDS: tuple[Kind, ...] = (POLE, WALL, ROOF, GROUND)
#: Their codes, as the field ``mount`` has them, and what stands where none is chosen.
OPTIONS = tuple(kind.code for kind in KINDS)
SURVEY = "survey_decides"
#: The best option is chosen from this score on; below it the survey decides.
LEAST_SCORE = 50


class Mounts(NamedTuple):
    """The mount of each site (n,), and how each kind was weighed.

    ``score`` (n, kinds) is NaN where a kind is impossible, and where nothing is to be mounted;
    ``best`` (n,) is the index of the kind that scores highest, ``top`` its score (-1 for none).
    """

    mount: TextArray
    score: FloatArray
    best: NDArray[np.intp]
    top: FloatArray
    options: tuple[Option, ...]
    weighed: tuple[Weighed, ...]

    @property
    def decided(self) -> BoolArray:
        """Where an option scores high enough (n,)."""
        return self.top >= LEAST_SCORE


def try_mounts(spot: Spot, network: Network) -> dict[str, Tried]:
    """Return what each kind would have to bear at each site, by its code."""
    return {kind.code: kind.tried(spot, network) for kind in KINDS}


def mounts(spot: Spot, tried: dict[str, Tried], network: Network) -> Mounts:
    """Return a mount for each site.

    Parameters
    ----------
    spot : Spot
        Of n sites.
    tried : dict
        From `try_mounts`.
    network : Network
        For the roof's limit and the snow.

    Returns
    -------
    Mounts
        The option of the highest score; ``survey_decides`` where none reaches `LEAST_SCORE`,
        or where there is no antenna or no view of the satellite.
    """
    options = tuple(kind.option(spot, tried[kind.code], network) for kind in KINDS)
    weighed = tuple(weigh(option) for option in options)
    score = np.stack([w.score for w in weighed], axis=1)
    order = np.argsort(-np.nan_to_num(score, nan=-1.0), axis=1, kind="stable")
    best = order[:, 0]
    top = np.nan_to_num(score[np.arange(len(score)), best], nan=-1.0)
    mount = np.where(top >= LEAST_SCORE, np.array(OPTIONS, dtype=object)[best], SURVEY)
    idle = ~_wanted(spot)
    mount[idle] = SURVEY
    score[idle] = np.nan
    return Mounts(mount, score, best, top, options, weighed)


def likely(spot: Spot, of: Mounts) -> TextArray:
    """Return the mount of each site (n,), or where the survey decides the likeliest there."""
    kinds = np.full(len(of.mount), POLE.code, dtype=object)
    for kind in KINDS:
        for word in kind.likely_on:
            kinds[spot.on[word]] = kind.code
    return np.where(of.mount == SURVEY, kinds, of.mount)


def _wanted(spot: Spot) -> BoolArray:
    """Return where there is something to mount: an antenna, and a satellite to see (n,)."""
    return ~(np.isnan(spot.elevation_deg) | np.isnan(spot.antenna_m))


def told(spot: Spot, of: Mounts, catalogue: Catalogue) -> dict[str, TextArray]:
    """Return ``mount_reason`` and ``mount_options`` (n,): why this mount, and every one weighed."""
    texts = np.stack(
        [explained(o, w, catalogue) for o, w in zip(of.options, of.weighed, strict=True)], axis=1
    )
    best = texts[np.arange(len(texts)), of.best]
    everything = texts[:, 0].copy()
    for column in texts.T[1:]:
        everything = everything + " " + column
    wanted, unseen = _wanted(spot), np.isnan(spot.elevation_deg)
    everything[~wanted] = ""
    reason = np.where(of.decided & wanted, best, "").astype(object)
    open_ = ~of.decided & wanted
    reason[open_] = _open_reason(spot, of, best, open_, catalogue)
    idle = (
        Told("mount.below_horizon", unseen),
        Told("mount.no_antenna", ~unseen & ~wanted),
    )
    return {
        "mount_reason": np.where(wanted, reason, text_field(idle, catalogue, len(wanted))),
        "mount_options": everything,
    }


def _open_reason(
    spot: Spot, of: Mounts, best: TextArray, open_: BoolArray, catalogue: Catalogue
) -> TextArray:
    """Return why the survey decides at the sites where it does (k,), and what looks best."""
    given, unknown = {"antenna": spot.antenna_m}, spot.on[""]
    first = text_field(
        (
            Told("mount.unknown", open_ & unknown, given),
            Told("mount.poor", open_ & ~unknown, given),
        ),
        catalogue,
        len(open_),
    )[open_]
    some = of.top[open_] >= 0
    return np.where(some, first + catalogue["mount.best"] + best[open_], first)
