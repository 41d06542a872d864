"""``inputs/sites.csv`` and ``inputs/obstructions.csv``: what was read of the sites, to the bit.

The user's free columns stay out, contacts among them. A column that is blank everywhere is not
written. Notes on a row, which raise its flags of reading, stand as JSON in a column of their own.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import TextArray
from siteplan.model import Note, Obstructions, Sites
from siteplan.outputs.escaping import harmless_column

if TYPE_CHECKING:
    import pyarrow as pa

SITES_NAME, OBSTRUCTIONS_NAME = "sites.csv", "obstructions.csv"
#: The column of the notes, and those that stand in every file.
NOTES, ALWAYS = "notes", ("site_id", "lat", "lon", "source_row")
_ORDER = (*(f.name for f in fields(Sites) if f.name not in ("notes", "extra")), NOTES)
#: Columns of the obstructions by the headings that they are read under.
AROUND = {"from_deg": "azimuth_from_deg", "to_deg": "azimuth_to_deg"}


def write_sites(sites: Sites, path: Path) -> None:
    """Write checked sites as CSV that `siteplan.inputs.earlier` reads back bit for bit."""
    from pyarrow import csv

    csv.write_csv(_table(sites_columns(sites)), str(path))


def write_obstructions(around: Obstructions, path: Path) -> None:
    """Write surveyed obstacles as they were understood: sectors, growth filled in."""
    from pyarrow import csv

    columns = {AROUND.get(f.name, f.name): getattr(around, f.name) for f in fields(around)}
    csv.write_csv(_table(columns), str(path))


def write_part(sites: Sites, path: Path) -> None:
    """Write the sites of a part of a plan for `join_sites`."""
    import pyarrow.parquet as pq

    pq.write_table(_table(sites_columns(sites)), path, compression="lz4")


def join_sites(parts: Sequence[Path], path: Path) -> None:
    """Write the sites of all parts into one CSV, as `write_sites` would have: in bounded memory.

    Parameters
    ----------
    parts : sequence of Path
        Files that `write_part` wrote, in order.
    path : Path
        The file that is written.
    """
    import pyarrow as pa
    from pyarrow import csv

    from siteplan.outputs.tables.parquet import batches, schema_of

    found = schema_of(parts)
    schema = pa.schema([found.field(name) for name in _ORDER if name in found.names])
    with csv.CSVWriter(str(path), schema) as writer:
        for batch in batches(parts, schema):
            writer.write_batch(batch)


def sites_columns(sites: Sites) -> dict[str, NDArray[Any]]:
    """Return the columns (n,) of sites that are kept: those in which anything is known."""
    found = {name: getattr(sites, name) for name in _ORDER if name != NOTES}
    columns = {k: v for k, v in found.items() if k in ALWAYS or not _blank(v)}
    if sites.notes:
        columns[NOTES] = _notes(sites.notes, len(sites))
    return columns


def _blank(values: NDArray[Any]) -> bool:
    """Whether nothing is known in a column."""
    return not (values != "").any() if values.dtype.kind in "OU" else bool(np.isnan(values).all())


def _table(columns: Mapping[str, NDArray[Any]]) -> pa.Table:
    import pyarrow as pa

    return pa.table([_column(values) for values in columns.values()], names=list(columns))


def _column(values: NDArray[Any]) -> pa.Array:
    """Return a column as it is written: what is unknown blank, no text that runs as a formula.

    An apostrophe stands before what would run, and before what begins with one: the first
    apostrophe is never the user's.
    """
    import pyarrow as pa
    import pyarrow.compute as pc

    if values.dtype.kind not in "OU":
        return pa.array(values, from_pandas=True)
    column = pa.array(values, pa.string())
    column = pc.if_else(pc.equal(column, ""), pa.scalar(None, pa.string()), column)
    marked = pc.binary_join_element_wise("'", column, "")
    return pc.if_else(pc.starts_with(column, "'"), marked, harmless_column(column))


def _notes(notes: Mapping[int, tuple[Note, ...]], n: int) -> TextArray:
    """Return the notes of each site (n,) as JSON, '' where there are none."""
    texts = np.full(n, "", dtype=object)
    for index, of_site in notes.items():
        told = [[note.code, note.key, list(note.values)] for note in of_site]
        texts[index] = json.dumps(told, default=_plain)
    return texts


def _plain(value: Any) -> Any:
    """Return a number of numpy's as Python's own."""
    return value.item()
