"""What the terminal shows: one page a command, and the terminal, lists and bars that they share.

Read by whoever runs a command; every number comes from :mod:`siteplan.outputs.shown`. A page is
read when it is first asked for, so that a short command does not wait for the others' pages.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from siteplan.outputs.console.asbuilt import show_asbuilt as show_asbuilt
    from siteplan.outputs.console.assumed import show_assumed as show_assumed
    from siteplan.outputs.console.availability import show_availability as show_availability
    from siteplan.outputs.console.bars import PROGRESS_FROM_SITES as PROGRESS_FROM_SITES
    from siteplan.outputs.console.bars import SHEETS_PROGRESS_FROM as SHEETS_PROGRESS_FROM
    from siteplan.outputs.console.bars import progress as progress
    from siteplan.outputs.console.budget import show_budget as show_budget
    from siteplan.outputs.console.check import KINDS_OF_A_PLAN as KINDS_OF_A_PLAN
    from siteplan.outputs.console.check import show_checked as show_checked
    from siteplan.outputs.console.check import show_columns as show_columns
    from siteplan.outputs.console.check import show_kinds as show_kinds
    from siteplan.outputs.console.check import show_notes as show_notes
    from siteplan.outputs.console.check import show_reject_kinds as show_reject_kinds
    from siteplan.outputs.console.check import show_rejects as show_rejects
    from siteplan.outputs.console.compare import show_differences as show_differences
    from siteplan.outputs.console.compare import show_slots as show_slots
    from siteplan.outputs.console.coverage import show_coverage as show_coverage
    from siteplan.outputs.console.coverage import show_written as show_written
    from siteplan.outputs.console.fields import show_dictionary as show_dictionary
    from siteplan.outputs.console.fields import show_network_keys as show_network_keys
    from siteplan.outputs.console.fields import show_rows as show_rows
    from siteplan.outputs.console.maps import show_maps as show_maps
    from siteplan.outputs.console.plan import show_summary as show_summary
    from siteplan.outputs.console.site import show_site as show_site
    from siteplan.outputs.console.terminal import console as console
    from siteplan.outputs.console.totals import capacity_line as capacity_line
    from siteplan.outputs.console.totals import cost_line as cost_line

#: The names of each page; a test holds them against those above.
PAGES = {
    "asbuilt": ("show_asbuilt",),
    "assumed": ("show_assumed",),
    "availability": ("show_availability",),
    "bars": ("PROGRESS_FROM_SITES", "SHEETS_PROGRESS_FROM", "progress"),
    "budget": ("show_budget",),
    "check": (
        *("KINDS_OF_A_PLAN", "show_checked", "show_columns", "show_kinds", "show_notes"),
        *("show_reject_kinds", "show_rejects"),
    ),
    "compare": ("show_differences", "show_slots"),
    "coverage": ("show_coverage", "show_written"),
    "fields": ("show_dictionary", "show_network_keys", "show_rows"),
    "maps": ("show_maps",),
    "plan": ("show_summary",),
    "site": ("show_site",),
    "terminal": ("console",),
    "totals": ("capacity_line", "cost_line"),
}
_PAGE_OF = {name: page for page, names in PAGES.items() for name in names}


def __getattr__(name: str) -> Any:
    """Return a name of one of the pages."""
    if name not in _PAGE_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_PAGE_OF[name]}"), name)
