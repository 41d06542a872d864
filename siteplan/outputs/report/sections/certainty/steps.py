"""What becomes of the kit where a figure is off by a step."""

from __future__ import annotations

from siteplan.answers.certainty import KitChange
from siteplan.outputs.report.blocks import Block, Words
from siteplan.results import Plan


def steps(plan: Plan) -> list[Block]:
    """Return which figures would change whose kit, given or assumed: who loses it first."""
    found = [of for of in plan.facts.changes_kit if of.sites]
    if not found:
        return []
    found.sort(key=lambda of: (-of.lost, -of.sites))
    each = "; ".join(f"{of.told}: {_told(of)}" for of in found)
    told = "Given or assumed, a figure may be off by a step. Sites whose kit would be another then:"
    return [Words(f"{told} {each}. sensitivity.csv tells of each, where it is written.")]


def _told(of: KitChange) -> str:
    """Return how many sites get no kit, another pair, or kit where none is planned."""
    counts = ((of.lost, "no kit at"), (of.others, "another pair at"), (of.gained, "kit at more:"))
    return ", ".join(f"{words} {count}" for count, words in counts if count)
