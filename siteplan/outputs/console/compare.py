"""What ``siteplan compare`` prints, of satellites and of two plans.

A row a satellite, and the reasons; or what to know first, counts, causes, the worst.
"""

from __future__ import annotations

import math

from siteplan.answers.differences import Differences
from siteplan.answers.slots import Slot, SlotComparison
from siteplan.outputs.console.terminal import console, show_list, table
from siteplan.outputs.differences import totals, words
from siteplan.outputs.shown import DASH, amount, grouped
from siteplan.words import orbital_position


def show_slots(of: SlotComparison, folder: str, *, sheets: int, mapped: bool = True) -> None:
    """Print how satellites compare.

    Parameters
    ----------
    of : SlotComparison
        The satellites.
    folder : str
        Where the comparison was written.
    sheets : int
        How many sheets to turn dishes by were written.
    mapped : bool
        Whether a map was.
    """
    out = console()
    priced = any(slot.priced for slot in of.slots)
    heads = ("Satellite", "Position", "Served", "Without kit", "Antenna area", "Median margin",
             "Lowest elevation", *(["Cost"] if priced else []), "Best for")  # fmt: skip
    best = of.best_counts
    rows = [_row(s, best.get(s.name, 0), priced=priced) for s in of.slots if not s.reason]
    listed = table(f"{len(of.slots)} satellites for {len(of.best)} sites", heads, heads[2:])
    show_list(listed, rows, most=len(of.slots))
    for slot in of.slots:
        if slot.reason:
            out.print(f"No plan with {slot.name}: {slot.reason}")
    told = f", and {sheets} sheets to turn dishes by" if sheets else ""
    shown = ", map" if mapped else f" (no map: {len(of.best)} sites are too many)"
    out.print(f"Written to {folder}: compare.html, tables{shown}{told}")


def _row(slot: Slot, best: int, *, priced: bool) -> list[str]:
    cost = [DASH if math.isnan(slot.cost) else grouped(slot.cost)] if priced else []
    return [
        slot.name,
        orbital_position(slot.longitude_deg, sign=""),
        str(slot.served),
        str(slot.without_kit),
        amount(slot.area_m2, "m2", 1),
        _known(slot.median_margin_db, "dB"),
        _known(slot.lowest_elevation_deg, "deg"),
        *cost,
        str(best),
    ]


def _known(value: float, unit: str) -> str:
    return DASH if math.isnan(value) else amount(value, unit, 1)


def show_differences(found: Differences, folder: str) -> None:
    """Print what lies between two plans, and where all of it stands."""
    out = console()
    out.print(f"From {words.plan_line(found.old)} to {words.plan_line(found.new)}.")
    for sentence in found.told:
        out.print(sentence)
    if found.is_empty:
        out.print(f"Nothing changed: {found.common} sites come to the same.")
    elif found.same_sites:
        out.print(f"No site changed: {found.common} come to the same. What they cost or take did.")
    else:
        counts = [f"{count} {what}" for what, count in words.heads(found) if count]
        out.print(f"Sites: {', '.join(counts)}.")
    for line in totals.lines(found):
        out.print(line)
    if inputs := [words.input_row(change) for change in found.inputs]:
        show_list(table("Inputs that differ", words.INPUT_HEADS), inputs)
    heads, causes = words.causes(found)
    if causes:
        show_list(table("Changes by cause", heads), causes)
    if rows := words.share_rows(found):
        show_list(table("Margins by cause", words.SHARE_HEADS), rows)
    if first := [site for site in found.sites if words.told_of(site)]:
        listed = [
            (s.site_id, s.name, "; ".join(map(words.in_short, filter(words.shows, s.changes))))
            for s in first
        ]
        show_list(table("What matters first", ("Site", "Name", "Changes")), listed)
    out.print(f"Written to {folder}")
