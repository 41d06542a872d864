"""Copies of a user's list with ids in the rows that have none; all else stays as it is."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from numpy.typing import NDArray

from siteplan.model import Records
from siteplan.outputs.escaping import CsvWriter

#: Heading of the column that is added where the list has none for ids.
ID_HEADING = "site_id"


def write_records(
    records: Records, path: Path, column: int | None, made: Mapping[int, str]
) -> None:
    """Write a CSV list again, its delimiter kept, in UTF-8 with a mark that spreadsheets know.

    ``column`` is the place of the ids in the list, None where there is none: then one is added in
    front, so that a row with more cells than headings stays one.
    """
    rows = [list(record) for record in records.rows]
    if column is None:
        column = 0
        for record in rows[records.heading_at :]:
            record[:0] = [""] if record else []
        rows[records.heading_at][0] = ID_HEADING
    before = records.heading_at + 1 - records.first_row
    for row, site in made.items():
        record = rows[row + before]
        record += [""] * (column + 1 - len(record))
        record[column] = site
    with path.open("x", encoding="utf-8-sig", newline="") as file:
        csv.writer(file, delimiter=records.delimiter).writerows(rows)


def write_workbook(
    source: Path, path: Path, sheet: tuple[str, int], column: int | None, made: Mapping[int, str]
) -> None:
    """Write a workbook again; ``sheet`` is the name of that with the sites and its heading's row.

    Formulas stay formulas; the column of ids is added behind the others where there is none.
    """
    import warnings

    import openpyxl

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)
        book = openpyxl.load_workbook(source)
    page = book[sheet[0]]
    if column is None:
        column = page.max_column
        page.cell(sheet[1], column + 1, ID_HEADING)
    for row, site in made.items():
        page.cell(row, column + 1, site)
    with path.open("xb") as file:
        book.save(file)


def write_columns(
    columns: Mapping[str, NDArray[Any]],
    rows: Sequence[int] | NDArray[Any],
    path: Path,
    heading: str,
    made: Mapping[int, str],
) -> None:
    """Write the columns (n,) of a list of another kind as CSV, with the ids in front."""
    given = columns.get(heading, [""] * len(rows))
    ids = [made.get(int(row)) or _text(cell) for row, cell in zip(rows, given, strict=True)]
    kept = {name: values for name, values in columns.items() if name != heading}
    with path.open("x", encoding="utf-8-sig", newline="") as file:
        writer = CsvWriter(file)
        writer.writerow([heading or ID_HEADING, *kept])
        for site, *cells in zip(ids, *kept.values(), strict=True):
            writer.writerow([site, *map(_text, cells)])


def _text(value: Any) -> Any:
    """Return a value as a cell, blank for nothing."""
    return "" if value is None or value != value else value  # noqa: PLR0124
