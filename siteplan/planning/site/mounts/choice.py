"""Mounts: every option weighed, with what speaks for it and what against it, and its limits.

Scores and limits are common practice, no source; the survey, the maker's data and a qualified
engineer decide.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import FloatArray, TextArray
from siteplan.messages import Catalogue
from siteplan.network import Network
from siteplan.planning.site.mounts.ground_frame import GROUND
from siteplan.planning.site.mounts.kind import Kind, Spot, Tried
from siteplan.planning.site.mounts.pole import POLE
from siteplan.planning.site.mounts.roof_frame import ROOF, assumed_limit_decides
from siteplan.planning.site.mounts.wall_bracket import WALL
from siteplan.planning.site.mounts.weighing import Option, Weighed, explained, weigh
from siteplan.planning.step import Raised, Told, flag, text_field
from siteplan.words import CAVEAT

#: Every kind of mount, in the order of the table of scores.
KINDS: tuple[Kind, ...] = (POLE, WALL, ROOF, GROUND)
#: Their codes, as the field ``mount`` has them.
OPTIONS = tuple(kind.code for kind in KINDS)
#: What stands where every kind is beyond a limit.
ENGINEERED = "engineered"
#: What ``mount_certainty`` says; blank where there is nothing to mount.
DECIDED, PROVISIONAL = "decided", "provisional"


class Mounts(NamedTuple):
    """The mount of each site (n,), and how each kind was weighed.

    ``mount`` is blank where there is nothing to mount. ``score`` (n, kinds) is NaN where a kind is
    impossible or beyond a limit, and where nothing is to be mounted; ``best`` (n,) is the index of
    the kind that scores highest, or where all are beyond a limit, of that which is least so.
    ``excess`` (n,) is how far it is beyond: value over limit.
    ``asked`` are the questions that leave a mount provisional.
    """

    mount: TextArray
    certainty: TextArray
    score: FloatArray
    best: NDArray[np.intp]
    excess: FloatArray
    options: tuple[Option, ...]
    weighed: tuple[Weighed, ...]
    asked: tuple[Told, ...]


def try_mounts(spot: Spot, network: Network) -> dict[str, Tried]:
    """Return what each kind would have to bear at each site, by its code."""
    return {kind.code: kind.tried(spot, network) for kind in KINDS}


def mounts(spot: Spot, tried: dict[str, Tried], network: Network) -> Mounts:
    """Return a mount for each site: that to budget for, though a survey may have to settle it.

    Parameters
    ----------
    spot : Spot
        Of n sites.
    tried : dict
        From `try_mounts`.
    network : Network
        For the limits and the snow.

    Returns
    -------
    Mounts
        The option of the highest score of those within their limits; ``engineered`` where every
        one is beyond; blank where there is no antenna or no view of the satellite.
    """
    options = tuple(kind.option(spot, tried[kind.code], network) for kind in KINDS)
    weighed = tuple(weigh(option) for option in options)
    score = np.stack([w.score for w in weighed], axis=1)
    excess = np.stack([w.excess for w in weighed], axis=1)
    sites, out = np.arange(len(score)), np.isnan(score).all(axis=1)
    highest = np.argmax(np.nan_to_num(score, nan=-1.0), axis=1)
    best = np.where(out, np.argmin(excess, axis=1), highest)
    mount = np.where(out, ENGINEERED, np.array(OPTIONS, dtype=object)[best]).astype(object)
    idle = ~spot.wanted
    mount[idle] = ""
    score[idle] = np.nan
    asked = tuple(_asked(spot, mount, options, tried, network))
    open_ = np.logical_or.reduce([question.where for question in asked])
    certainty = np.where(open_, PROVISIONAL, DECIDED).astype(object)
    certainty[idle] = ""
    return Mounts(mount, certainty, score, best, excess[sites, best], options, weighed, asked)


def _asked(
    spot: Spot,
    mount: TextArray,
    options: tuple[Option, ...],
    tried: dict[str, Tried],
    network: Network,
) -> Iterator[Told]:
    """Yield the questions that would settle provisional mounts, one a site at most."""
    left, engineered = spot.wanted, np.asarray(mount == ENGINEERED)
    questions = [
        (spot.on[""] & ~engineered, "mount.ask.structure"),
        (assumed_limit_decides(spot, tried[ROOF.code], network), "mount.ask.roof"),
        (engineered, "mount.ask.engineer"),
    ]
    for kind, option in zip(KINDS, options, strict=True):
        here = np.asarray(mount == kind.code)
        questions += [(here & where, key) for where, key in option.questions]
    for where, key in questions:
        yield Told(key, where & left)
        left = left & ~where


def stood_on(spot: Spot, of: Mounts) -> TextArray:
    """Return the kind that heights and loads rest on (n,), by its code.

    An engineer's mount is taken to stand as the kind that is least beyond its limits, and where
    nothing is to be mounted it is the likeliest on that structure.
    """
    likely = np.full(len(of.mount), POLE.code, dtype=object)
    for kind in KINDS:
        for word in kind.likely_on:
            likely[spot.on[word]] = kind.code
    return np.where(spot.wanted, np.array(OPTIONS, dtype=object)[of.best], likely)


def told(spot: Spot, of: Mounts, catalogue: Catalogue) -> dict[str, TextArray]:
    """Return why this mount, every one weighed, and what would settle it: texts (n,)."""
    texts = np.stack(
        [explained(o, w, catalogue) for o, w in zip(of.options, of.weighed, strict=True)], axis=1
    )
    best = texts[np.arange(len(texts)), of.best]
    everything = texts[:, 0].copy()
    for column in texts.T[1:]:
        everything = everything + " " + column
    wanted, unseen = spot.wanted, np.isnan(spot.elevation_deg)
    everything[~wanted] = ""
    idle = (
        Told("mount.below_horizon", unseen),
        Told("mount.no_antenna", ~unseen & ~wanted),
    )
    engineered = of.mount == ENGINEERED
    reason = np.where(engineered, catalogue["mount.engineered"] + " " + best, best)
    return {
        "mount_reason": np.where(wanted, reason, text_field(idle, catalogue, len(wanted))),
        "mount_question": text_field(of.asked, catalogue, len(wanted)),
        "mount_options": everything,
    }


def raised(of: Mounts) -> Iterator[Raised]:
    """Yield the flag of sites where every mount is beyond a planning limit."""
    over_pct = np.ceil(np.round(100 * (of.excess - 1), 6))
    where = np.asarray(of.mount == ENGINEERED)
    yield flag("mount_engineered", where, over=over_pct, caveat=CAVEAT)
