"""What the terminal shows: one page a command, and the terminal, lists and bars that they share.

Read by whoever runs a command; every number comes from :mod:`siteplan.outputs.shown`.
"""

from siteplan.outputs.console.asbuilt import show_asbuilt
from siteplan.outputs.console.assumed import show_assumed
from siteplan.outputs.console.bars import PROGRESS_FROM_SITES, SHEETS_PROGRESS_FROM, progress
from siteplan.outputs.console.check import show_checked, show_notes, show_rejects
from siteplan.outputs.console.coverage import show_coverage, show_written
from siteplan.outputs.console.fields import (
    FIELD_HEADINGS,
    FLAG_HEADINGS,
    KEY_HEADINGS,
    field_rows,
    flag_rows,
    markdown_table,
    show_rows,
)
from siteplan.outputs.console.plan import show_summary
from siteplan.outputs.console.site import show_site
from siteplan.outputs.console.terminal import console

__all__ = [
    "FIELD_HEADINGS",
    "FLAG_HEADINGS",
    "KEY_HEADINGS",
    "PROGRESS_FROM_SITES",
    "SHEETS_PROGRESS_FROM",
    "console",
    "field_rows",
    "flag_rows",
    "markdown_table",
    "progress",
    "show_asbuilt",
    "show_assumed",
    "show_checked",
    "show_coverage",
    "show_notes",
    "show_rejects",
    "show_rows",
    "show_site",
    "show_summary",
    "show_written",
]
