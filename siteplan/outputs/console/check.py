"""What ``siteplan check`` prints, and every command that reads sites: rejects and notes."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.model import Reject
from siteplan.outputs.console.terminal import console, show_list, table


def show_rejects(rejects: Sequence[Reject]) -> None:
    """Print the rejected rows: what, why, and how to mend it."""
    if rejects:
        headings = ("Row", "Site", "Column", "Value", "Why and what to do")
        show_list(
            table("Rejected", headings, ("Row",)),
            [(r.row, r.site_id, r.key, r.value[:40], r.advice) for r in rejects],
        )


def show_notes(notes: Sequence[tuple[str, str]]) -> None:
    """Print what was mended or doubted on reading: site and sentence."""
    if notes:
        show_list(table("Kept, but mended or doubted", ("Site", "Note")), notes)


def show_checked(name: str, *, rows_read: int, good: int, rejected: int, noted: int) -> None:
    """Print how many rows of a project's table can be planned."""
    console().print(
        f"{name}: {rows_read} rows read, {good} good, {rejected} rejected, {noted} with notes"
    )
