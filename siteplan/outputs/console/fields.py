"""What ``siteplan fields`` prints: the dictionaries of fields and flags, the network's keys."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.outputs.console.terminal import console, row, table
from siteplan.words import markdown_table


def show_dictionary(*, markdown: bool) -> None:
    """Print result fields and flags."""
    from siteplan.fields.page import dictionary

    for listing in dictionary():
        show_rows(*listing, markdown=markdown)
        print()


def show_network_keys(*, markdown: bool) -> None:
    """Print every key of network.toml, with default, unit, range and meaning."""
    from siteplan.network.reference import HEADINGS, reference_rows

    show_rows("Keys of the network", HEADINGS, reference_rows(), markdown=markdown)


def show_rows(
    title: str, headings: Sequence[str], rows: Sequence[Sequence[str]], *, markdown: bool
) -> None:
    """Print rows of text as a table for the terminal, or in Markdown."""
    if markdown:
        print(markdown_table(headings, rows))
        return
    listed = table(title, headings)
    for cells in rows:
        row(listed, *cells)
    console().print(listed)
