"""The sheet that plan.xlsx opens on: what was planned, counts, what to order, what to mind."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from siteplan.answers import Bill
from siteplan.outputs.shown import amount, share_of_time, words
from siteplan.outputs.workbook.book import TEXT, Column, Page, Styled
from siteplan.outputs.workbook.sites import class_fills
from siteplan.results import Plan
from siteplan.words import of_month, orbital_position

Row = Sequence[Any]
#: Letters that a line across the sheet holds.
_LINE = 150


def summary_page(
    plan: Plan, summary: Mapping[str, Any], tight: tuple[int, float] | None = None
) -> Page:
    """Return the sheet: blocks one below the other, each with a bold line over it.

    ``tight`` counts the sites served with less than so many dB left after the reserve.
    """
    blocks = (
        ("", _facts(plan, summary, tight)),
        ("Sites by margin", _margins(plan, summary["counts"]["margin_class"])),
        ("Sites by antenna", _sizes(summary["counts"]["antenna_m"], "m")),
        ("Sites by BUC", _sizes(summary["counts"]["buc_w"], "W")),
        ("Sites by mount", _mounts(summary["counts"])),
        ("Sites by grade: how sure the plan is of them, A the surest", _grades(summary["counts"])),
        ("Fewest kinds of kit", _fewest(plan)),
        ("To order", _bill(plan)),
        ("The worst sites", _worst(summary["worst"])),
        ("Mind", _lines((*summary["cautions"], *summary["limits"]))),
    )
    columns = (Column("", 34, TEXT), *(Column("", width) for width in (26, 14, 14, 14, 14, 14, 60)))
    return Page("Summary", columns, _laid_out(plan, blocks), heads=False, landscape=False)


def _laid_out(plan: Plan, blocks: Sequence[tuple[str, Sequence[Row]]]) -> Iterator[Row]:
    yield (Styled(plan.facts.name or "Plan", "head", bold=True),)
    for heading, rows in blocks:
        if not rows:
            continue
        if heading:
            yield ()
            yield (Styled(heading, bold=True),)
        yield from rows


def _lines(texts: Sequence[str]) -> list[Row]:
    """Return sentences as lines that a page's width holds, those that run on set in."""
    found: list[Row] = []
    for text in texts:
        first, *others = textwrap.wrap(text, _LINE) or [""]
        found += [(first,), *((f"    {line}",) for line in others)]
    return found


def _facts(plan: Plan, summary: Mapping[str, Any], tight: tuple[int, float] | None) -> list[Row]:
    """Return what was planned, and how many sites are served."""
    served = summary["served"]
    satellite = orbital_position(plan.network.satellite.longitude_deg)
    of = plan.network.network
    target = share_of_time(*summary.get("targets_pct", (summary["availability_pct"],)))
    named = f"{plan.network.satellite.name} at {satellite}".removeprefix(" ")
    read, rejected = summary.get("rows_read"), summary.get("rejected")
    rows = [
        ("Date of the plan", plan.facts.date),
        ("Satellite", named),
        (
            "Availability target",
            target + of_month(of.availability_basis),
        ),
        ("Sites from", plan.facts.source or None),
        ("Rows read", read),
        ("Rows rejected", rejected),
        ("Sites planned", len(plan)),
        ("Sites served as planned", served),
        *_tight(tight),
        ("Sites not served", len(plan) - served),
        ("Coordinates to check, sites", summary["verdict"]["coordinates_to_check"]),
        ("Figures assumed", len(plan.assumptions)),
    ]
    return [row for row in rows if row[1] is not None]


def _tight(tight: tuple[int, float] | None) -> list[Row]:
    if tight is None:
        return []
    count, least_db = tight
    return [(f"of these tight: under {amount(least_db, 'dB')} after reserve", count)]


def _grades(counts: Mapping[str, Any]) -> list[Row]:
    return list(counts["certainty"].items())


def _margins(plan: Plan, counts: Mapping[str, int]) -> list[Row]:
    fills = class_fills(plan.network.rules.margin_classes_db)
    return [(Styled(k, fills.get(k, "none")), n) for k, n in counts.items() if n or k in fills]


def _sizes(counts: Mapping[str, int], unit: str) -> list[Row]:
    texts = {k: k if k == "none" else amount(float(k), unit) for k in counts}
    return [(texts[k], n) for k, n in counts.items() if n]


def _mounts(counts: Mapping[str, Mapping[str, int]]) -> list[Row]:
    open_ = counts["provisional_mount"]
    return [
        (words(kind), n, f"{open_[kind]} to be surveyed" if open_.get(kind) else None)
        for kind, n in counts["mount"].items()
    ]


def _fewest(plan: Plan) -> list[Row]:
    """Return the sets of one, two and three kinds, where they were worked out."""
    if not plan.facts.fewest:
        return []
    rows: list[Row] = [_bold("Kinds", "Sites served", "Of", "Area [m²]", "Cost")]
    sets = plan.facts.fewest
    for k, found in enumerate(sets):
        if found.kinds in [other.kinds for other in sets[:k]]:
            continue  # more kinds serve no more
        pairs = [f"{amount(m, 'm')} with {amount(w, 'W')}" for m, w in found.kinds]
        greedy = "" if found.exact else " (a good set, perhaps not the best)"
        area = Styled(round(found.area_m2, 1), form="0.0")
        cost = None if math.isnan(found.cost) else _money(found.cost)
        rows.append((f"{', '.join(pairs)}{greedy}", found.served, found.judged, area, cost))
    return rows


def _bill(plan: Plan) -> list[Row]:
    """Return what to order by kind, with costs where prices are given."""
    bill = plan.facts.bill
    if bill is None or not bill.lines:
        return []
    priced = ("Supplier's code", "Price", "Cost") if bill.priced else ()
    rows: list[Row] = [_bold("Part and kind", "Quantity", "Unit", "Spares", "To order", *priced)]
    for line in bill.lines:
        name = f"{line.part}, {words(line.kind)}" if line.kind else line.part
        money: Row = (
            (line.supplier_code or None, _money(line.price), _money(line.cost))
            if bill.priced
            else ()
        )
        rows.append((name, line.quantity, line.unit, line.spares, line.to_order, *money))
    if bill.priced:
        rows += _sums(bill)
    rows += [(f"No price is given for: {'; '.join(bill.missing)}.",)] if bill.missing else []
    return rows


def _sums(bill: Bill) -> list[Row]:
    """Return the sum and what it is made of: groups, which hold no spares, and the spares."""
    whole = not math.isnan(bill.total)
    name, total = ("Total", bill.total) if whole else ("What has a price, in all", bill.partial)
    rows: list[Row] = [(Styled(f"{name}, spares included", bold=True), *_cost(total))]
    if not bill.groups:
        return rows
    rows.append((Styled("of which", bold=True),))
    for g in bill.groups:
        cost = g.cost if whole else g.partial
        name = f"Group {g.group or 'without a name'}, spares apart"
        rows.append((name, g.sites, "sites", *_cost(cost)[2:]))
    return [*rows, ("Spares", *_cost(bill.spares))]


def _cost(cost: float) -> Row:
    """Return the cells behind a name, the last of them a sum."""
    return (*(None,) * 6, _money(cost))


def _bold(*headings: str) -> Row:
    return tuple(Styled(heading, bold=True) for heading in headings)


def _money(value: float) -> Any:
    """Return a sum in the planner's own unit, nothing where it is not known."""
    return None if math.isnan(value) else Styled(value, form="#,##0.00")


def _worst(worst: Sequence[Mapping[str, Any]]) -> list[Row]:
    if not worst:
        return []
    rows: list[Row] = [_bold("Site", "Name", "Margin [dB]", "After reserve [dB]", "Why")]
    for site in worst:
        margins = (site["margin_db"], site["margin_after_reserve_db"])
        figures = [None if m is None else _margin(m) for m in margins]
        rows.append((site["site_id"], site["name"], *figures, site["reason"]))
    return rows


def _margin(margin_db: float) -> Any:
    """Return a margin; with more decimals where one would hide its sign."""
    hidden = margin_db and not round(margin_db, 1)
    return Styled(round(margin_db, 3), form="0.000") if hidden else Styled(margin_db, form="0.0")
