"""plan.xlsx: the plan as a workbook, for who sorts, filters and sends on what was planned."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import field
from pathlib import Path
from typing import Any

from siteplan.answers import Remedy
from siteplan.frozen import frozen
from siteplan.model import NoteLine, Reject
from siteplan.outputs.escaping import as_given
from siteplan.outputs.shown import SiteValues, unit_sign, words
from siteplan.outputs.taking import besides, to_set
from siteplan.outputs.workbook.book import GENERAL, TEXT, Column, Page, Styled, write_book
from siteplan.outputs.workbook.sites import sites_page
from siteplan.outputs.workbook.summary import summary_page
from siteplan.results import Plan

#: Stands on a sheet that has nothing to tell.
NOTHING_TOLD = "None."
NO_REMEDIES = "None: no site is unserved or tight, or this plan did not work out what would help."
#: Headings of the kit list that are not the columns' own names.
_KIT_HEADS = {"site_id": "Site"}
#: Columns of the kit list that hold texts, whatever they look like.
_TEXTS = frozenset(("rows", "site_id", "name", "group", "part", "kind", "supplier_code", "note"))


@frozen
class Beside:
    """What the workbook tells beside the plan's rows and facts.

    ``summary`` is that of summary.json, ``kit`` the lines of kit.csv, its headings first,
    ``lines`` the notes on reading, the worst first. ``tight`` counts the sites served with less
    than so many dB left after the reserve; None where they are not told.
    """

    summary: Mapping[str, Any]
    rejects: Sequence[Reject] = ()
    lines: Sequence[NoteLine] = ()
    kit: Iterable[Sequence[str]] = field(default=())
    tight: tuple[int, float] | None = None


def write_plan(plan: Plan, beside: Beside, path: Path, *, all_fields: bool = False) -> None:
    """Write a plan as a workbook: the same plan gives the same bytes.

    Parameters
    ----------
    plan : Plan
        The results.
    beside : Beside
        Summary, rejects, notes, kit list.
    path : Path
        The file.
    all_fields : bool
        Whether every field stands on the sheet of sites, not those of the sheet's front alone.
    """
    write_book(path, _pages(plan, beside, all_fields), title=plan.facts.name)


def _pages(plan: Plan, beside: Beside, all_fields: bool) -> Iterator[Page]:
    yield summary_page(plan, beside.summary, beside.tight)
    yield sites_page(plan, all_fields=all_fields)
    yield _kit_page(beside.kit)
    yield _remedies_page(plan)
    yield _assumptions_page(plan)
    yield _rejects_page(beside.rejects)
    yield _notes_page(beside.lines)
    yield _methods_page(beside.summary)


def _page(
    title: str, columns: Sequence[Column], rows: Sequence[Sequence[Any]], none: str = NOTHING_TOLD
) -> Page:
    """Return a sheet of rows, or one that says that there are none."""
    if rows:
        return Page(title, columns, rows, frozen=0)
    return Page(title, columns, [(Styled(none, wrap=False),)], filters=False)


def _kit_page(lines: Iterable[Sequence[str]]) -> Page:
    """Return the kit list as it is written for who orders: a line a part, then the totals."""
    first, *rows = list(lines) or [["part"]]
    columns = [
        Column(_KIT_HEADS.get(name) or words(name).capitalize(), _kit_width(name), wrap=False)
        for name in first
    ]
    numeric = [name not in _TEXTS for name in first]
    typed = [
        [
            _number(cell) if is_number else as_given(cell) or None
            for cell, is_number in zip(row, numeric, strict=False)
        ]
        for row in rows
    ]
    return _page("Kit", columns, typed)


def _kit_width(name: str) -> float:
    return {"note": 60, "name": 28, "kind": 26}.get(name, 13)


def _number(cell: str) -> Any:
    """Return the figure of a cell of the kit list; its text where it is none."""
    try:
        number = float(cell)
    except ValueError:
        return as_given(cell) or None
    return int(number) if number.is_integer() else number


def _remedies_page(plan: Plan) -> Page:
    place = {site: at for at, site in enumerate(plan.columns["site_id"].tolist())}
    of = {site: SiteValues(plan, place[site]) for site in {r.site_id for r in plan.facts.remedies}}
    columns = (
        Column("Site", 14, TEXT),
        Column("Name", 28, TEXT),
        Column("What it would take", 60, TEXT, wrap=True),
        Column("Mind", 40, TEXT, wrap=True),
        Column("It buys [dB]", 12, "0.0"),
        Column("Margin after reserve then [dB]", 16, "0.0"),
        Column("Served then", 12, TEXT),
        Column("With antenna [m]", 12, "0.00"),
        Column("With BUC [W]", 12, GENERAL),
        Column("Set", 44, TEXT, wrap=True),
    )
    rows = [
        (
            remedy.site_id,
            of[remedy.site_id]["name"],
            remedy.change,
            _minded(remedy),
            _known(remedy.buys_db),
            _known(remedy.margin_after_reserve_db) if remedy.helps else None,
            Styled("yes" if remedy.served else "no", "good" if remedy.served else "bad")
            if remedy.helps
            else None,
            _known(remedy.antenna_m),
            _known(remedy.buc_w),
            to_set(remedy, of[remedy.site_id]) or None,
        )
        for remedy in plan.facts.remedies
    ]
    return _page("What it takes", columns, rows, NO_REMEDIES)


def _minded(remedy: Remedy) -> str | None:
    """Return what else a change brings, as a sentence."""
    found = "; ".join(besides(remedy))
    return f"{found[0].upper()}{found[1:]}." if found else None


def _known(number: float) -> float | None:
    return None if number != number else number  # noqa: PLR0124


def _assumptions_page(plan: Plan) -> Page:
    columns = (
        Column("What nobody gave", 70, TEXT, wrap=True),
        Column("Value used", 20),
        Column("Unit", 10, TEXT),
        Column("Where to give it", 34, TEXT),
    )
    rows = [(a.meaning, _figure(a.value), unit_sign(a.unit), a.key) for a in plan.assumptions]
    return _page("Assumptions", columns, rows)


def _figure(text: str) -> Any:
    """Return a figure as a number, any other text as it is."""
    number = _number(text)
    return number if isinstance(number, str) else Styled(number, form=GENERAL)


def _rejects_page(rejects: Sequence[Reject]) -> Page:
    columns = (
        Column("Row", 12),
        Column("Site", 14, TEXT),
        Column("Column", 18, TEXT),
        Column("Value", 24, TEXT),
        Column("Why", 60, TEXT, wrap=True),
        Column("What to do", 60, TEXT, wrap=True),
    )
    rows = [(r.cell or r.row, r.site_id, r.key, r.value, r.reason, r.fix) for r in rejects]
    return _page("Rejects", columns, rows)


def _notes_page(lines: Sequence[NoteLine]) -> Page:
    columns = (
        Column("Row", 10),
        Column("Site", 14, TEXT),
        Column("How bad", 12, TEXT),
        Column("Note", 110, TEXT, wrap=True),
    )
    rows = [
        (line.row or line.cell or "the file", line.site_id, line.severity, line.note.sentence)
        for line in lines
    ]
    return _page("Notes", columns, rows)


def _methods_page(summary: Mapping[str, Any]) -> Page:
    columns = (Column("For", 24, TEXT), Column("Method and edition", 110, TEXT, wrap=True))
    rows = [(words(key).capitalize(), edition) for key, edition in summary["methods"].items()]
    return _page("Methods", columns, rows)
