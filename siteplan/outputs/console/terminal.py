"""The terminal, and tables on it: what every page shares."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

#: Width of tables where the output is no terminal.
PIPED_WIDTH = 160
#: Rows that a list shows on the terminal; the files hold them all.
ROWS_SHOWN = 20


def console(*, error: bool = False) -> Console:
    """Return the terminal; text of users is printed as it is, never as markup."""
    from rich.console import Console

    out = Console(stderr=error, markup=False, highlight=False, emoji=False, soft_wrap=True)
    if not out.is_terminal:
        out.width = PIPED_WIDTH
    return out


def table(
    title: str, headings: Sequence[str], right: Sequence[str] = (), *, whole: int = 1
) -> Table:
    """Return an empty table; the columns named in ``right`` are set flush right.

    The first ``whole`` columns are not wrapped.
    """
    from rich import box
    from rich.table import Table

    made = Table(title=title, title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for k, heading in enumerate(headings):
        made.add_column(heading, justify="right" if heading in right else "left", no_wrap=k < whole)
    return made


def row(table: Table, *cells: Any) -> None:
    """Add a row of plain texts."""
    from rich.text import Text

    table.add_row(*(Text(str(cell)) for cell in cells))


def show_list(listed: Table, rows: Sequence[Sequence[Any]], *, most: int = ROWS_SHOWN) -> None:
    """Print a table of at most so many rows, the first, and how many more there are."""
    for cells in rows[:most]:
        row(listed, *cells)
    out = console()
    out.print(listed)
    if len(rows) > most:
        out.print(f"... and {len(rows) - most} more")
