"""A copy of a list of sites with an id in every row, so that ids are the owner's from then on."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from siteplan.errors import OutputError
from siteplan.frozen import frozen
from siteplan.jobs.check.project import Checked
from siteplan.model import SiteList

#: How the copy is called after the list.
SUFFIX = "_with_ids"


@frozen
class WrittenIds:
    """Where the copy stands (None: every row had an id), and how many ids were put in."""

    path: Path | None
    count: int

    @property
    def told(self) -> str:
        """What was done, in a sentence."""
        if self.path is None:
            return "Every row has an id: no copy was written."
        return (
            f"{self.count} ids written into a copy, {self.path}: your list is as it was. To keep"
            " the ids, put the copy in its place."
        )


def write_ids(checked: Checked) -> WrittenIds:
    """Write a copy of a project's list, beside it, with the ids that rows without one were given.

    CSV and workbooks stay what they are, row by row; any other kind becomes CSV. Nothing that is
    there is written over: the copy's name gets a number.

    Raises
    ------
    OutputError
        If the copy cannot be written.
    """
    found = checked.opened.site_list
    made = dict(found.made_ids)
    if not made:
        return WrittenIds(None, 0)
    source = checked.opened.project.sites_path
    same = source.suffix.lower() in (".csv", ".xlsx")
    target = _free_name(source, source.suffix if same else ".csv")
    try:
        _write(source, target, found, made)
    except OSError as error:
        raise OutputError(
            f"the copy with ids cannot be written: {error.strerror or error}.",
            where=str(target),
            fix="Check the disk and the permissions of the folder.",
        ) from None
    return WrittenIds(target, len(made))


def _free_name(source: Path, suffix: str) -> Path:
    """Return a name beside the list that nothing has yet."""
    target = source.with_name(f"{source.stem}{SUFFIX}{suffix}")
    number = 1
    while target.exists() or target.is_symlink():
        number += 1
        target = source.with_name(f"{source.stem}{SUFFIX}_{number}{suffix}")
    return target


def _place_of(heading: str, headings: Sequence[str]) -> int | None:
    """Return the place of the column of ids in a line of headings, None where there is none."""
    from siteplan.inputs.files.rawtable import tidy_heading

    tidy = [tidy_heading(cell) for cell in headings]
    return tidy.index(heading) if heading in tidy else None


def _write(source: Path, target: Path, found: SiteList, made: dict[int, str]) -> None:
    """Write the copy in the way of the list's kind."""
    from siteplan.outputs.tables import with_ids

    heading = next((c.heading for c in found.columns if c.taken_as == "site_id"), "")
    if source.suffix.lower() == ".csv":
        from siteplan.inputs.files.textfiles import csv_records

        records = csv_records(source)
        column = _place_of(heading, records.rows[records.heading_at])
        with_ids.write_records(records, target, column, made)
    elif source.suffix.lower() == ".xlsx":
        from siteplan.inputs.files.spreadsheets import sheet_of_sites

        name, at, headings = sheet_of_sites(source)
        column = _place_of(heading, headings)
        with_ids.write_workbook(source, target, (name, at), column, made)
    else:
        from siteplan.inputs.files.tables import read_table

        table = read_table(source)
        columns = dict(table.columns)
        if table.lat is not None and table.lon is not None:
            columns = {"lat": table.lat, "lon": table.lon, **columns}
        with_ids.write_columns(columns, table.row, target, heading, made)
