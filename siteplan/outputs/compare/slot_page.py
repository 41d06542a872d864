"""compare.html: satellites compared on a page to print, for whoever chooses one.

One file, no script, nothing that a browser would fetch; it looks as the report does.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
from markupsafe import Markup

from siteplan.answers.slots import NONE, Slot, SlotComparison
from siteplan.outputs.assets import asset
from siteplan.outputs.compare import slot_words
from siteplan.outputs.compare.slot_chart import dish_mix
from siteplan.outputs.paper.page import on_page
from siteplan.outputs.report.blocks import (
    Block,
    Facts,
    Figures,
    Listed,
    Section,
    Table,
    Text,
    Words,
    in_units,
    money,
    sites,
    user,
)
from siteplan.outputs.shown import DASH, amount, angle, target_of
from siteplan.results import Plan
from siteplan.words import CAVEAT, of_month, orbital_position

_COST = "Costs are in the unit of the prices given, spares included, of what is still to be bought."
#: Bars of a drawing that a page holds, and sizes that a table has room for.
_BARS, _KINDS = 18, 14


class Beside(NamedTuple):
    """What lies beside the page: sheets to turn dishes by, of those that all would be, and a map.

    ``unmapped_over`` is the number of sites over which there is no map, 0 where there is one.
    """

    sheets: int = 0
    wanted: int = 0
    unmapped_over: int = 0


#: Nothing lies there but a map.
ALONE = Beside()


class Shown(NamedTuple):
    """What the page is made from, and what lies beside it."""

    of: SlotComparison
    plan: Plan
    beside: Beside

    @property
    def planned(self) -> list[Slot]:
        """The satellites with which a plan can be made."""
        return [slot for slot in self.of.slots if not slot.reason]


def write_page(of: SlotComparison, plan: Plan, path: Path, beside: Beside = ALONE) -> None:
    """Write the page.

    Parameters
    ----------
    of : SlotComparison
        The satellites.
    plan : Plan
        The project's own.
    path : Path
        The file, in a folder that exists.
    beside : Beside
        What was written beside it.
    """
    path.write_text(page(of, plan, beside), encoding="utf-8", errors="replace")


def page(of: SlotComparison, plan: Plan, beside: Beside = ALONE) -> str:
    """Return the page, which needs nothing else."""
    shown = Shown(of, plan, beside)
    units = plan.network.network.units
    made = [section(shown) for section in SECTIONS]
    name = plan.facts.name or "Network"
    style = asset("report/report.css") + asset("compare/slots.css")
    found = {"name": name, "sections": [in_units(s, units) for s in made if s.blocks]}
    return on_page(f"{name}: satellites compared", "compare/slots.html", found, style=style)


def _top(shown: Shown) -> Section:
    """Return who serves most, and what all share."""
    plan, count = shown.plan, len(shown.of.best)
    facts: list[tuple[str, Text]] = [
        ("Sites", str(count)),
        ("Satellites compared", str(len(shown.of.slots))),
        ("Target", target_of(plan) + of_month(plan.network.network.availability_basis)),
        ("Plan of", plan.facts.date),
    ]
    return Section("", [Words(_verdict(shown), "verdict"), Facts(facts)])


def _verdict(shown: Shown) -> Markup:
    """Return which satellite serves most sites, of several with the least antennas."""
    best = min(shown.planned, key=lambda slot: (-slot.served, round(slot.area_m2, 6)))
    area = amount(best.area_m2, "m²", 1)
    told = Markup("{}, {}, serves most sites as planned: {} of {}, with {} of antennas.").format(
        user(best.name), _position(best), best.served, len(shown.of.best), area
    )
    alike = [s for s in shown.planned if s.served == best.served]
    rule = " Of those that serve as many it asks for the least antennas." if alike[1:] else ""
    return told + rule


def _position(slot: Slot) -> str:
    return orbital_position(slot.longitude_deg)


def _chart(shown: Shown) -> Section:
    """Return the dish mix as bars."""
    caption = "Sites by the diameter of their antenna; dashed: sites without kit."
    sizes = sorted({size for slot in shown.planned for size, _ in slot.antennas})
    blocks: list[Block] = []
    for start in range(0, len(shown.planned), _BARS):
        some = shown.planned[start : start + _BARS]
        picture = Markup(dish_mix(some, len(shown.of.best), sizes))
        last = start + _BARS >= len(shown.planned)
        blocks.append(Figures([(picture, caption if last else "")], "wide"))
    return Section("Dishes by satellite", blocks)


def _table(shown: Shown) -> Section:
    """Return a row a satellite."""
    priced = any(slot.priced for slot in shown.planned)
    beams = any(slot.outside_beam for slot in shown.planned)
    heads = ["Satellite", "Position", "Served", "With kit", "Without kit", "Below least elevation",
             "Out of view", *(["Outside beam"] if beams else []), "Antenna area",
             "Margin, median and worst", "Elevation, median and lowest", "Hub's elevation",
             *(["Cost"] if priced else [])]  # fmt: skip
    rows = [_row(slot, priced=priced, beams=beams) for slot in shown.planned]
    numbers = frozenset(range(1, len(heads)))
    note = "Served: with kit whose margin holds, and no flag that stops the site. Margins are those"
    notes = [Words(f"{note} of sites with kit, reserve not taken off.", "small")]
    notes += [Words(_COST, "small")] if priced else []
    return Section("The satellites", [Table(tuple(heads), rows, numbers, "slots small"), *notes])


def _row(slot: Slot, *, priced: bool, beams: bool) -> tuple[Text, ...]:
    counts = (slot.served, slot.with_kit, slot.without_kit, slot.below_minimum, slot.out_of_view)
    margin = _two(slot.median_margin_db, slot.worst_margin_db, "dB", 1)
    elevation = _two(slot.median_elevation_deg, slot.lowest_elevation_deg, "deg", 1)
    hub = slot.hub_elevation_deg
    cost = DASH if math.isnan(slot.cost) else money(slot.cost)
    return (
        user(slot.name),
        _position(slot),
        *map(str, (*counts, *([slot.outside_beam] if beams else []))),
        amount(slot.area_m2, "m²", 1),
        margin,
        elevation,
        DASH if math.isnan(hub) else angle(hub, 1),
        *([cost] if priced else []),
    )


def _two(one: float, other: float, unit: str, decimals: int) -> str:
    """Return two figures of a unit, a dash where there is none."""
    if math.isnan(one):
        return DASH
    return f"{amount(one, '', decimals)}, {amount(other, unit, decimals)}"


def _mix(shown: Shown) -> Section:
    """Return how many antennas and BUCs of each size each satellite asks for."""
    dishes = sorted({d for slot in shown.planned for d, _ in slot.antennas})
    bucs = sorted({w for slot in shown.planned for w, _ in slot.bucs})
    heading = "Antennas and BUCs, in sites"
    if len(dishes) + len(bucs) > _KINDS:
        told = f"{len(dishes)} sizes of antennas and {len(bucs)} of BUCs: compare.csv counts each."
        return Section(heading, [Words(told)])
    heads = ("Satellite", *(amount(d, "m") for d in dishes), *(amount(w, "W") for w in bucs))
    rows: list[tuple[Text, ...]] = []
    for slot in shown.planned:
        has, sends = dict(slot.antennas), dict(slot.bucs)
        counts = (*(has.get(d, 0) for d in dishes), *(sends.get(w, 0) for w in bucs))
        rows.append((user(slot.name), *map(str, counts)))
    numbers = frozenset(range(1, len(heads)))
    return Section(heading, [Table(heads, rows, numbers, "mix small")])


def _refused(shown: Shown) -> Section:
    """Return the satellites with which nothing can be planned, and why."""
    rows: list[tuple[Text, ...]] = [
        (user(slot.name), _position(slot), user(slot.reason, 400))
        for slot in shown.of.slots
        if slot.reason
    ]
    table = Table(("Satellite", "Position", "Why"), rows, css="small")
    return Section("No plan can be made with", [table] if rows else [])


def _best(shown: Shown) -> Section:
    """Return how many sites each satellite serves best."""
    counts = shown.of.best_counts
    rows: list[tuple[Text, ...]] = [
        ("none serves them" if name == NONE else user(name), str(count))
        for name, count in counts.items()
    ]
    rule = (
        "Best for a site: the smallest antenna of those that serve it, then the smallest BUC, then"
        f" the larger margin, then the order above. {_mapped(shown)}; one network takes one"
        " satellite."
    )
    table = Table(("Satellite", "Sites"), rows, frozenset({1}), "matrix small")
    return Section("Best for how many sites", [table, Words(rule, "small")])


def _mapped(shown: Shown) -> str:
    """Return where the sites are shown by their best satellite."""
    if not (most := shown.beside.unmapped_over):
        return "map.html beside this page shows them"
    return f"No map: more than {most} sites; compare_sites.csv has the best satellite of each"


def _turning(shown: Shown) -> Section:
    """Return what turning the dishes to each of the others takes."""
    heads = ("Satellite", "Azimuth turns by, median and most", "Dish does", "Under the reserve",
             "Does not", "Mount does not", "Mount to be asked about", "Horizon blocked", "tight",
             "clear", "Not surveyed")  # fmt: skip
    rows = list(_turn_rows(shown))
    if not rows:
        return Section("", [])
    table = Table(heads, rows, frozenset(range(1, len(heads))), "slots small")
    said = "Of sites that have kit in the present plan, with that kit: repointing.csv has each."
    return Section("Turning the dishes", [table, Words(f"{said} {_sheets(shown)}", "small")])


def _turn_rows(shown: Shown) -> Iterator[tuple[Text, ...]]:
    for slot, turn in zip(shown.of.slots, shown.of.repointing, strict=True):
        if turn is None:
            continue
        has = turn.fits != ""
        turned = np.abs(turn.azimuth_deg[has & ~np.isnan(turn.azimuth_deg)])
        far = _two(float(np.median(turned)), float(turned.max()), "deg", 1) if len(turned) else DASH
        fits, sky = Counter(turn.fits[has].tolist()), Counter(turn.horizon[has].tolist())
        holds = Counter(turn.mount[has].tolist())
        asked = sum(n for word, n in holds.items() if word not in ("", "yes", "no"))
        no = sum(fits[word] for word in slot_words.STOPS)
        counts = (fits["yes"], fits["under_reserve"], no, holds["no"], asked, sky["blocked"],
                  sky["tight"], sky["clear"], sky[""])  # fmt: skip
        yield (user(slot.name), far, *map(str, counts))


def _sheets(shown: Shown) -> str:
    """Return where the sheets to turn dishes by are, or why there are none."""
    if shown.beside.sheets:
        return "A sheet a dish to turn it by: repointing/, a file a satellite."
    if wanted := shown.beside.wanted:
        return f"No sheets: there would be {wanted}. Compare fewer satellites to get them."
    return ""


def _taken(shown: Shown) -> Section:
    """Return what was taken for each satellite that nobody told."""
    alike: dict[tuple[str, ...], list[str]] = {}
    for slot in shown.of.slots:
        if slot.remarks:
            alike.setdefault(slot.remarks, []).append(slot.name)
    items: list[Text] = [
        Markup("{}: {}").format(Markup(", ").join(map(user, names)), " ".join(remarks))
        for remarks, names in alike.items()
    ]
    return Section("What was taken for them", [Listed(items, "small")] if items else [])


def _next(shown: Shown) -> Section:
    """Return what to do next, and what the figures are not."""
    items: list[Text] = []
    if any(slot.remarks for slot in shown.of.slots):
        items.append(
            "Ask the operators of the satellites that come into question for EIRP, G/T and SFD at"
            " the sites and for their neighbours, write them into the file, and compare again."
        )
    if any(turn is not None and (turn.horizon == "").any() for turn in shown.of.repointing):
        items.append(
            "Have the horizon surveyed in the direction of the satellite chosen where nobody has:"
            " rows of obstructions.csv."
        )
    items += [slot_words.AGAIN, slot_words.PERMISSION]
    if NONE in shown.of.best_counts:
        items.append(
            f"{sites(shown.of.best_counts[NONE]).capitalize()} that none serves:"
            " what_it_takes.csv of the plan tells what would help."
        )
    items.append(f"Every figure here is {CAVEAT}.")
    blocks: list[Block] = [Listed(items)]
    return Section("What to do next", blocks, "whole")


#: The sections in their order; those without blocks are left out.
SECTIONS = (_top, _chart, _table, _mix, _refused, _best, _turning, _taken, _next)
