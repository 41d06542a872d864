"""sensitivity.csv: what each figure's step does to each site, a row a site, figure and sign.

Written beside the plan's tables for who asks how sure a kit is; read by her spreadsheet.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator, Sequence
from pathlib import Path

from siteplan.outputs.escaping import CsvWriter
from siteplan.outputs.shown import SiteValues, fixed, whole_or_short
from siteplan.results import Plan

HEADINGS = (
    *("site_id", "name", "group", "antenna_m", "buc_w", "figure", "step", "unit"),
    *("changes_kit", "then_antenna_m", "then_buc_w", "least_part_of_step"),
    *("margin_change_db", "required_antenna_change_m"),
)
#: A step is parted into so many.
_PARTS = 8
#: The table by which a plan is known to have the others.
TABLE = "sensitivity_eighths"


def write_sensitivity(plan: Plan, path: Path) -> None:
    """Write what each step does, sites in the plan's order, steps in the table's.

    ``plan`` has the tables of sensitivity. A pair that is blank is none.
    """
    with path.open("w", encoding="utf-8", errors="replace", newline="") as file:
        file.write(_headed() + rows_text(plan))


def join_sensitivity(parts: Sequence[Path], path: Path) -> None:
    """Write the same from the rows of parts, in order (see `rows_text`)."""
    with path.open("wb") as file:
        file.write(_headed().encode())
        for part in parts:
            file.write(part.read_bytes())


def _headed() -> str:
    head = io.StringIO()
    CsvWriter(head).writerow(HEADINGS)
    return head.getvalue()


def rows_text(plan: Plan) -> str:
    """Return the rows of a plan, or of a part of one, as CSV without headings."""
    text = io.StringIO()
    writer = CsvWriter(text)
    for row in _rows(plan):
        writer.writerow(row)
    return text.getvalue()


def _rows(plan: Plan) -> Iterator[tuple[str, ...]]:
    """Yield the rows, site by site."""
    t, c = plan.tables, plan.columns
    steps = [(s.name, whole_or_short(s.step), s.unit) for s in plan.facts.changes_kit]
    each = zip(
        c["antenna_m"].tolist(),
        c["buc_w"].tolist(),
        *(
            t[f"sensitivity_{name}"].tolist()
            for name in ("eighths", "antenna_m", "buc_w", "margin_db", "required_m")
        ),
        strict=True,
    )
    for i, (antenna, buc, eighths, *figures) in enumerate(each):
        v = SiteValues(plan, i)
        site = v["site_id"], v["name"], v["group"], _size(antenna), _size(buc)
        for step, least, dish, power, margin, required in zip(
            steps, eighths, *figures, strict=True
        ):
            yield (
                *site,
                *step,
                "yes" if least else "no",
                _size(dish),
                _size(power),
                fixed(least / _PARTS, 3) if least else "",
                _change(margin),
                _change(required),
            )


def _size(value: float) -> str:
    return "" if math.isnan(value) else whole_or_short(value)


def _change(value: float) -> str:
    return "" if math.isnan(value) else fixed(value + 0.0, 3)
