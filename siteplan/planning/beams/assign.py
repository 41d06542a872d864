"""Which beam serves each site: the one it names, else the one that asks for the least kit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray, IntArray, TextColumn
from siteplan.frozen import frozen
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.beams.area import holds
from siteplan.planning.beams.footprints import Footprints
from siteplan.planning.setting import Setting

#: Margins of two beams are told apart from this many decimals on.
_DECIMALS = 6


class Trial(NamedTuple):
    """What a beam asks of sites (k,): the pair that fits (NaN: none), and its margin [dB]."""

    antenna_m: FloatArray
    buc_w: FloatArray
    margin_db: FloatArray


#: Plans the kit of sites that name their beams.
Trier = Callable[[Sites, Setting], Trial]


@frozen(eq=False)
class Others(Arrays):
    """The beam that would serve a site (n,) next best, its pair and its margin; blank for none."""

    other_beam: TextColumn
    other_beam_antenna_m: Column
    other_beam_buc_w: Column
    other_beam_margin_db: Column


class Assigned(NamedTuple):
    """The sites with the beam of each, and what else could serve them."""

    sites: Sites
    others: Others


def assign(sites: Sites, network: Network, settings: Sequence[Setting], tried: Trier) -> Assigned:
    """Return the beam of each site.

    A site takes the beam that it names. Else, of the beams whose service area holds it, the one
    with the smallest antenna that fits, then the smallest BUC, then the larger margin, then the
    file's order; where none fits, the one of the larger margin.

    Parameters
    ----------
    sites : Sites
        Of n sites.
    network : Network
        With ``[[beams]]``.
    settings : sequence of Setting
        The passes of its beams.
    tried : callable
        Gives the kit of sites whose beams are named.

    Returns
    -------
    Assigned
        Of a site that is in no beam the name is empty.
    """
    names = [beam.name for beam in network.beams]
    could = candidates(sites, network, settings[0].footprints)
    beam = np.where(could.any(axis=1), could.argmax(axis=1), -1)
    several = np.flatnonzero(could.sum(axis=1) > 1)
    n = len(sites)
    others = Others(np.full(n, "", dtype=object), *(np.full(n, np.nan) for _ in range(3)))
    if len(several):
        rows, which = np.nonzero(could[several])
        rows = several[rows]
        found = _trials(sites, rows, which, names=names, settings=settings, tried=tried)
        order = _best_first(rows, which, found)
        first = np.flatnonzero(np.diff(rows[order], prepend=-1))
        beam[several] = which[order[first]]
        second = order[first + 1]  # each of these sites has two at least
        others.other_beam[several] = np.array(names, dtype=object)[which[second]]
        others.other_beam_antenna_m[several] = found.antenna_m[second]
        others.other_beam_buc_w[several] = found.buc_w[second]
        others.other_beam_margin_db[several] = found.margin_db[second]
    named = np.array([*names, ""], dtype=object)[beam]
    return Assigned(replace(sites, beam=named), others)


def candidates(sites: Sites, network: Network, of: Footprints | None) -> BoolArray:
    """Return which of the file's k beams could serve each site (n, k)."""
    named, found = sites.beam, []
    assert of is not None
    for beam in network.beams:
        inside = named == beam.name
        free = np.flatnonzero(named == "")
        if len(free):
            inside[free] = holds(network, of, beam, sites.lat[free], sites.lon[free])
        found.append(inside)
    return np.stack(found, axis=1)


def _numbers(settings: Sequence[Setting], names: Sequence[str]) -> IntArray:
    """Return the pass of each beam."""
    of = {name: k for k, setting in enumerate(settings) for name in setting.own}
    return np.array([of[name] for name in names])


def _trials(
    sites: Sites,
    rows: IntArray,
    which: IntArray,
    *,
    names: Sequence[str],
    settings: Sequence[Setting],
    tried: Trier,
) -> Trial:
    """Return what each beam ``which`` (m,) asks of the sites ``rows`` (m,)."""
    found = Trial(*(np.full(len(rows), np.nan) for _ in range(3)))
    number, name = _numbers(settings, names)[which], np.array(names, dtype=object)[which]
    for k, setting in enumerate(settings):
        at = np.flatnonzero(number == k)
        if len(at):
            given = tried(replace(sites.take(rows[at]), beam=name[at]), setting)
            for all_, own in zip(found, given, strict=True):
                all_[at] = own
    return found


def _best_first(rows: IntArray, which: IntArray, found: Trial) -> IntArray:
    """Return the trials (m,) in the order of their sites, the best of each site first."""
    fits = ~(np.isnan(found.antenna_m) | np.isnan(found.buc_w))
    least = np.where(fits, found.antenna_m, 0.0), np.where(fits, found.buc_w, 0.0)
    margin = np.round(np.where(np.isnan(found.margin_db), -np.inf, found.margin_db), _DECIMALS)
    return np.lexsort((which, -margin, least[1], least[0], ~fits, rows))
