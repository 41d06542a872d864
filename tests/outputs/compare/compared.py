"""Comparisons of satellites that pages and tables are tried with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from siteplan.answers.slots import Slot, SlotComparison
from siteplan.model import Sites
from siteplan.planning.compare.kept import kept
from siteplan.planning.compare.repointing import repointing
from siteplan.planning.compare.slots import best_slots, sites_of, slot_of
from siteplan.planning.plan import make_plan
from siteplan.results import Facts, Plan
from tests.outputs.conftest import HOSTILE_NAMES
from tests.planning.compare.trial import NOTHING_KNOWN, at, moved, network, obstacle

#: Places that see satellites over the Atlantic from all sides; one sees the western ones only.
PLACES = ((-3.1, -60.02), (45.0, -70.0), (-33.0, -58.0), (0.5, -30.0), (18.0, -66.0),
          (-12.0, -77.0))  # fmt: skip
SKIES = ("", "clear", "blocked")


def many(count: int, names: Sequence[str] = HOSTILE_NAMES) -> Sites:
    """Sites around the places, with names that break pages."""
    rows = [PLACES[k % len(PLACES)] for k in range(count)]
    lat, lon = np.array(rows, dtype=float).T + np.arange(count) * 0.01
    called = np.array([names[k % len(names)] for k in range(count)], dtype=object)
    ids = np.array([f"=S{k}" for k in range(count)], dtype=object)
    return replace(Sites.at(lat, lon), name=called, site_id=ids)


def comparison(
    sites: Sites | None = None,
    others: Sequence[tuple[str, float]] = (("East", -30.0), ("West", -95.0)),
    *,
    refused: Sequence[str] = (),
    **levels: float,
) -> tuple[SlotComparison, Plan]:
    """A comparison with satellites by name and position, and the project's own plan."""
    chosen = at(*PLACES) if sites is None else sites
    ours = network(-61.0)
    around = obstacle(str(chosen.site_id[0]), 90.0, 60.0)
    own = make_plan(chosen, ours, around=around, facts=Facts(name="Trial & <b>network</b>"))
    tried: list[Any] = [(slot_of("Ours (as planned)", own, own=True), sites_of(own), None)]
    for name, position in others:
        there = make_plan(chosen, moved(ours, position, **levels), around=around)
        turn = repointing(chosen, own, there, kept(chosen, own, there, around))
        remarks = ("EIRP as in the project.",)
        tried.append((slot_of(name, there, remarks=remarks), sites_of(there), turn))
    for name in refused:
        tried.append((Slot(name, 120.0, reason="The hub does not see it."), None, None))
    slots, found, turns = zip(*tried, strict=True)
    best = best_slots([slot.name for slot in slots], found)
    ids = own.columns["site_id"], own.columns["name"]
    return SlotComparison(*ids, slots, found, turns, best), own


__all__ = ["NOTHING_KNOWN", "PLACES", "comparison", "many"]
