"""What lies between two opened plans: sites, changes, and the inputs that brought them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from itertools import repeat
from typing import NamedTuple

import numpy as np

from siteplan.answers.differences import Differences, SiteChange, SiteMoved
from siteplan.arrays import IntArray, TextArray
from siteplan.jobs.compare.earlier import Earlier
from siteplan.jobs.watch import Watch
from siteplan.messages import english
from siteplan.model import Obstructions, Surroundings
from siteplan.network import Network
from siteplan.planning.differences import causes, told
from siteplan.planning.differences.groups import METHOD
from siteplan.planning.differences.replay import (
    Inputs,
    Path,
    State,
    groups_apart,
    mixed,
    replay,
    taken,
    walk,
    with_ends,
)
from siteplan.planning.differences.totals import total_changes


def between(before: Earlier, after: Earlier, watch: Watch) -> Differences:
    """Return what lies between two plans, as `siteplan.jobs.compare.plans.compare_plans` has it."""
    pair = _Pair.of(before, after)
    base = Differences(
        before.named,
        after.named,
        (
            *told.turned_round(before.named, after.named),
            *(told.made_otherwise(before.made, after.made) if before.made and after.made else ()),
            *(told.no_order(of.named) for of in (before, after) if of.totals.order is None),
        ),
        by_results=True,
        inputs=(),
        added=_only(after, before, before.rejects, "was"),
        gone=_only(before, after, after.rejects, "now"),
        common=len(pair.ids),
        sites=(),
        totals=total_changes(before.totals, after.totals),
        ordered=before.totals.order is not None and after.totals.order is not None,
    )
    if before.inputs is None or after.inputs is None:
        return _by_results(base, pair, dict.fromkeys(filter(None, (before.why, after.why))))
    return _by_inputs(base, pair, before, after, watch)


class _Pair(NamedTuple):
    """The sites (m,) that two plans have in common, in the old one's order, by their rows."""

    ids: TextArray
    rows: tuple[IntArray, IntArray]
    states: tuple[State, State]
    told: causes.Told

    @classmethod
    def of(cls, old: Earlier, new: Earlier) -> _Pair:
        where = {name: i for i, name in enumerate(new.site_id.tolist())}
        pairs = [(i, where[n]) for i, n in enumerate(old.site_id.tolist()) if n in where]
        rows = np.array(pairs, dtype=np.int64).reshape(-1, 2)
        here, there = rows[:, 0], rows[:, 1]
        ids = old.site_id[here]
        served = old.served[here], new.served[there]
        return cls(
            ids,
            (here, there),
            (old.state.take(here), new.state.take(there)),
            causes.Told(ids, new.name[there], served, (old.stands[here], new.stands[there])),
        )


def _only(
    of: Earlier, other: Earlier, rejects: Mapping[str, str], when: str
) -> tuple[SiteMoved, ...]:
    """Return the sites that one plan has and the other has not; why, where that is known.

    Their rows were rejected, or their place has another id there. ``when`` is how the other
    plan is spoken of: ``was`` of the old one, ``now`` of the new one.
    """
    alone, others = _alone(of, other), _alone(other, of)
    stood = {place: name for name, place in others.items() if place is not None}
    words = english()

    def why(site: str) -> str:
        if site in rejects:
            return words.one(f"differences.{when}_rejected", reason=rejects[site])
        place = alone[site]
        return words.one(f"differences.{when}_there", site=stood[place]) if place in stood else ""

    names = dict(zip(of.site_id.tolist(), of.name.tolist(), strict=True))
    return tuple(SiteMoved(site, str(names[site]), why(site)) for site in alone)


def _alone(of: Earlier, other: Earlier) -> dict[str, tuple[float, float] | None]:
    """Return the sites that the other plan has not, with their places where these are kept."""
    have = set(other.site_id.tolist())
    sites = of.inputs.sites if of.inputs else None
    places = zip(sites.lat.tolist(), sites.lon.tolist(), strict=True) if sites else repeat(None)
    return {
        name: place for name, place in zip(of.site_id.tolist(), places, strict=False)
        if name not in have
    }  # fmt: skip


# --- by results only ------------------------------------------------------------------------


def _by_results(base: Differences, pair: _Pair, why: Iterable[str]) -> Differences:
    """Return what differs by the results alone: no cause is known, and why in sentences."""
    why = (*why, english()["differences.by_results"])
    way = Path(((),), pair.states)
    found = causes.site_changes(way, pair.told, _never)
    return replace(base, told=(*base.told, *why), sites=found)


def _never(groups: tuple[str, ...], rows: IntArray) -> State | None:
    return None


# --- by inputs ------------------------------------------------------------------------------


def _by_inputs(
    base: Differences, pair: _Pair, before: Earlier, after: Earlier, watch: Watch
) -> Differences:
    assert before.inputs is not None
    assert after.inputs is not None
    network, missing = _with_maps_of(after.inputs.network, after)
    old = _common(before.inputs, pair.ids, pair.rows[0])
    new = _common(after.inputs._replace(network=network), pair.ids, pair.rows[1])
    terrain, cause = told.of_terrain(before.made.get("terrain"), after.made.get("terrain"))
    notes = [*base.told, *missing, *([told.terrain_told()] if cause else [])]
    base = replace(
        base,
        told=tuple(notes),
        by_results=False,
        inputs=tuple(told.input_changes(old, new, terrain)),
    )
    groups = groups_apart(old, new)
    if not groups:
        way = Path(((METHOD,),), pair.states)
        return replace(base, sites=causes.site_changes(way, pair.told, _never, terrain=cause))
    walked = walk(old, new, groups, watch(len(groups), "steps"))
    if walked is None:
        why = english().one("differences.not_replayed")
        return _by_results(replace(base, by_results=True), pair, (why,))
    way = with_ends(*walked, pair.states)

    def alone(switched: tuple[str, ...], rows: IntArray) -> State | None:
        inputs = mixed(taken(old, rows), taken(new, rows), switched)
        return None if inputs is None else replay(inputs)

    found = causes.site_changes(way, pair.told, alone, terrain=cause)
    return replace(base, told=(*base.told, *_unlike_today(found)), sites=found)


def _unlike_today(found: tuple[SiteChange, ...]) -> Iterator[str]:
    """Yield the sentence on what the plans' own inputs do not come to any more, where any do."""
    count = sum(any(METHOD in change.cause for change in site.changes) for site in found)
    if count:
        yield english().one("differences.unlike_today", count=count)


def _common(of: Inputs, ids: TextArray, rows: IntArray) -> Inputs:
    """Return the inputs of the sites (m,) that both plans have."""
    around = of.around.obstructions
    if around is not None:
        have = set(ids.tolist())
        kept = np.array([name in have for name in around.site_id.tolist()], dtype=bool)
        around = Obstructions(
            *(getattr(around, name)[kept] for name in Obstructions.__dataclass_fields__)
        )
    return taken(of, rows)._replace(around=Surroundings(around))


def _with_maps_of(network: Network, of: Earlier) -> tuple[Network, list[str]]:
    """Return a network that takes the cloud maps of a plan, and what is to be said of them."""
    from siteplan.planning.setting import clouds_of, with_cloud_maps

    asked = of.made.get("cloud_maps")
    wanted = asked if isinstance(asked, dict) else {}
    older = with_cloud_maps(network, "")
    if wanted.get("fingerprint") == clouds_of(older).fingerprint:
        return older, []
    own = with_cloud_maps(network, None)
    found = clouds_of(own)
    if wanted.get("fingerprint") == found.fingerprint:
        return own, []
    text = english().one(
        "differences.clouds", edition=str(wanted.get("edition", "?")), at_hand=found.edition
    )
    return own, [text]
