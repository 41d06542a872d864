"""what_it_takes.csv: what would help each unserved or tight site, the best first.

Written beside the plan's tables; read by the planner who decides, and by her spreadsheet.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from siteplan.answers import Remedy
from siteplan.fields import UNSERVED
from siteplan.outputs.escaping import CsvWriter
from siteplan.outputs.shown import SiteValues, fixed, whole_or_short
from siteplan.outputs.taking import state, to_set
from siteplan.results import Plan

HEADINGS = (
    *("site_id", "name", "group", "state", "margin_after_reserve_db", "rank", "change", "kind"),
    *("reach", "buys_db", "then_after_reserve_db", "then_served", "with_antenna_m", "with_buc_w"),
    *("with_mount", "mount_to_survey", "set"),
)


def write_remedies(plan: Plan, path: Path) -> None:
    """Write what it would take as CSV, a row a change; a site that nothing helps has one row."""
    with path.open("w", encoding="utf-8", errors="replace", newline="") as file:
        file.write(headed(rows_text(plan)))


def join_remedies(parts: Sequence[Path], path: Path) -> None:
    """Write the same from the rows of parts, in order (see `rows_text`)."""
    with path.open("wb") as file:
        file.write(headed("").encode())
        for part in parts:
            file.write(part.read_bytes())


def headed(rows: str) -> str:
    """Return rows under their headings."""
    head = io.StringIO()
    CsvWriter(head).writerow(HEADINGS)
    return head.getvalue() + rows


def rows_text(plan: Plan) -> str:
    """Return the rows of a plan, or of a part of one, as CSV without headings."""
    text = io.StringIO()
    writer = CsvWriter(text)
    for row in _rows(plan):
        writer.writerow(row)
    return text.getvalue()


def _rows(plan: Plan) -> Iterator[tuple[str, ...]]:
    """Yield the rows, site by site in the plan's order."""
    if not plan.facts.remedies:
        return
    place = {site: i for i, site in enumerate(plan.columns["site_id"].tolist())}
    last, rank = "", 0
    for remedy in plan.facts.remedies:
        rank = rank + 1 if remedy.site_id == last else 1
        last = remedy.site_id
        v = SiteValues(plan, place[last])
        before = _decibels(v.number("margin_after_reserve_db"))
        yield (
            v["site_id"],
            v["name"],
            v["group"],
            _standing(v, remedy),
            before,
            *_figures(remedy, rank, v),
        )


def _standing(v: SiteValues, remedy: Remedy) -> str:
    """Return how a site stands: unserved or tight by what the report counts as served.

    Kit that holds the target serves, reserve or not, where no flag stops the site.
    """
    found = state(remedy)
    if found not in ("unserved", "tight"):
        return found
    stopped = set(v["flags"].split(";")) & set(UNSERVED)
    holds = v.has_kit and round(v.number("margin_db"), 6) >= 0
    return "tight" if holds and not stopped else "unserved"


def _figures(remedy: Remedy, rank: int, v: SiteValues) -> Iterable[str]:
    """Return the cells of a row that the remedy itself gives.

    ``reach`` tells what moves the site alone from what moves the whole network.
    """
    pair = (remedy.antenna_m, remedy.buc_w)
    return (
        whole_or_short(rank) if remedy.helps else "",
        remedy.change,
        remedy.code,
        remedy.reach,
        _decibels(remedy.buys_db),
        _decibels(remedy.margin_after_reserve_db) if remedy.helps else "",
        ("yes" if remedy.served else "no") if remedy.helps else "",
        *("" if math.isnan(size) else whole_or_short(size) for size in pair),
        remedy.mount,
        ("yes" if remedy.mount_open else "no") if remedy.mount else "",
        to_set(remedy, v),
    )


def _decibels(value: float) -> str:
    return "" if math.isnan(value) else fixed(value, 2)
