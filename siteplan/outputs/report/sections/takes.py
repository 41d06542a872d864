"""What it would take to serve the sites that are not: changes, how many sites each would serve."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.answers import NETWORK_WIDE, Remedy
from siteplan.messages import english
from siteplan.outputs.report.blocks import Block, Section, Shown, Table, Words
from siteplan.outputs.shown import amount

#: Changes that bring another antenna.
ANTENNAS = ("antenna", "kit", "beyond")
#: Changes that are listed, those that serve most sites first.
MOST = 10
NOT_NEEDED = "Nothing: every site is served with enough left after the reserve."
NOTHING_HELPS = (
    "No change of kit or settings: what each of these sites needs stands in the list of them above."
)
NOT_WORKED_OUT = "Not worked out for this plan."


def takes(shown: Shown) -> Section:
    """Return changes by how many sites they would serve."""
    heading = "What it would take"
    changes = _by_change(shown.plan.facts.remedies)
    if not changes:
        told = NOTHING_HELPS if shown.plan.facts.remedies else NOT_WORKED_OUT
        return Section(heading, [Words(told if shown.report.cases else NOT_NEEDED)])
    rows = [_row(change, remedies) for change, remedies in changes[:MOST]]
    heads = ("Change", "Moves", "Sites it helps", "Then served", "Gain")
    table = Table(heads, list(rows), frozenset({2, 3, 4}), "small")
    left = len(changes) - MOST
    blocks: list[Block] = [Words("One change at a time, all else as planned."), table]
    if left > 0:
        blocks.append(Words(f"{left} more kinds of change stand in what_it_takes.csv."))
    blocks += [Words(text, "small") for text in _minded(changes)]
    return Section(heading, blocks)


def _minded(changes: list[tuple[str, list[Remedy]]]) -> Iterator[str]:
    """Yield what to mind of changes of antennas, and of those that move the whole network."""
    words, listed = english(), [remedy for _, some in changes for remedy in some]
    if any(remedy.code in ANTENNAS for remedy in listed):
        moved = {r.site_id for r in listed if r.mount_was and r.mount != r.mount_was}
        key = "remedy.mount.once.told" if moved else "remedy.mount.once"
        yield words.one(key, count=len(moved))
    if any(remedy.reach == NETWORK_WIDE for remedy in listed):
        yield words["remedy.network_wide.once"]


def _by_change(remedies: tuple[Remedy, ...]) -> list[tuple[str, list[Remedy]]]:
    """Return the changes that help and their sites, those first that serve most."""
    found: dict[str, list[Remedy]] = {}
    for remedy in remedies:
        if remedy.buys_db > 0:
            found.setdefault(remedy.change, []).append(remedy)
    return sorted(found.items(), key=lambda item: (-_then_served(item[1]), -len(item[1])))


def _then_served(remedies: list[Remedy]) -> int:
    return sum(remedy.served for remedy in remedies)


def _row(change: str, remedies: list[Remedy]) -> tuple[str, ...]:
    """Return one change."""
    least, most = (amount(pick(r.buys_db for r in remedies), "dB", 1) for pick in (min, max))
    gain = least if least == most else f"{least} to {most}"
    wide = remedies[0].reach == NETWORK_WIDE
    moves = english()["remedy.network_wide"] if wide else "the site alone"
    return change, moves, str(len(remedies)), str(_then_served(remedies)), gain
