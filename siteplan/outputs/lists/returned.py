"""returned_blank.csv: the table that the crew fills in, what was measured at each site.

Written beside the plan's tables; filled in it comes back to ``siteplan asbuilt``. A site that gets
no kit has no row: nothing is built there.
"""

from __future__ import annotations

from pathlib import Path

from siteplan.fields import COLUMNS
from siteplan.outputs.escaping import CsvWriter
from siteplan.outputs.shown import SiteValues
from siteplan.results import Plan

_PLACES = {column.blank: name for name, column in COLUMNS["returned"].items() if column.blank}
#: Headings of the blank, in the dictionary's order of it.
HEADINGS = tuple(_PLACES[place] for place in sorted(_PLACES))
#: Those that the plan fills in, and those that the crew does.
PLANNED, MEASURED = HEADINGS[:2], HEADINGS[2:]


def write_blank(plan: Plan, path: Path) -> None:
    """Write a row for each site that has kit, with its id and name, and blanks to fill in."""
    built = [i for i in range(len(plan)) if SiteValues(plan, i).has_kit]
    with path.open("w", encoding="utf-8", errors="replace", newline="") as file:
        writer = CsvWriter(file)
        writer.writerow(HEADINGS)
        blanks = [""] * len(MEASURED)
        ids, names = (plan.columns[key][built] for key in PLANNED)
        writer.writerows((site, name, *blanks) for site, name in zip(ids, names, strict=True))
