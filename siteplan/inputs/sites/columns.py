"""The columns of one chunk of a sites table, each read and checked on its own."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import FloatArray, TextArray
from siteplan.fields import INPUT_PREFIX
from siteplan.inputs.files.cells import (
    Findings,
    all_texts,
    as_texts,
    strip_texts,
    without_controls,
)
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.headings import Headings
from siteplan.inputs.sites.optional import (
    NUMBER_RULES,
    read_numbers,
    read_structures,
    read_timezones,
)
from siteplan.inputs.sites.survey import Survey, beams_told, column_values, site_ids, structures
from siteplan.model import Note


def checked_columns(
    table: Table, headings: Headings, whole: Survey, found: Findings
) -> dict[str, NDArray[Any]]:
    """Return our columns of a chunk, all but the coordinates.

    Parameters
    ----------
    table : Table
        Of n rows.
    headings : Headings
        Which of our columns it has.
    whole : Survey
        What the whole file says.
    found : Findings
        Takes the notes and faults.

    Returns
    -------
    dict of str to array (n,)
        Texts '' and numbers NaN where nothing is known.
    """
    columns = _texts(table, headings, found)
    columns |= _numbers(table, headings, whole, found)
    return columns | {"site_id": _ids(table, headings, whole, found)}


def _texts(table: Table, headings: Headings, found: Findings) -> dict[str, NDArray[Any]]:
    """Return the texts (n,): name, group and the like, structure, time zone."""
    out: dict[str, NDArray[Any]] = {}
    for key in ("name", "priority", "group", "beam", "applications"):
        texts = as_texts(column_values(table, headings, key))
        out[key], changed = without_controls(texts, one_line=True)
        found.note_all(changed, Note.of("note.input_mended.text_controls", column=key))
    out["structure"] = read_structures(structures(table, headings), found)
    zones = strip_texts(as_texts(column_values(table, headings, "timezone")))
    out["timezone"] = read_timezones(zones, found)
    return out


def _numbers(
    table: Table, headings: Headings, whole: Survey, found: Findings
) -> dict[str, FloatArray]:
    out = {}
    for rule in NUMBER_RULES:
        column = headings.columns.get(rule.key)
        if column is None:
            out[rule.key] = np.full(len(table), np.nan)
            continue
        values = table.columns[column.heading]
        out[rule.key] = read_numbers(
            values,
            rule,
            found,
            factor=column.factor,
            comma=whole.comma,
            heading=column.heading.strip(),
        )
    return out


def _ids(table: Table, headings: Headings, whole: Survey, found: Findings) -> TextArray:
    ids = site_ids(table, headings, found)
    missing = ids == ""
    if missing.any():
        ids = ids.copy()
        ids[missing] = [whole.made[row] for row in table.row[missing].tolist()]
    if whole.id_width:
        for at in np.flatnonzero(~missing).tolist():
            if len(ids[at]) < whole.id_width:
                full = ids[at].zfill(whole.id_width)
                site = str(ids[at])
                found.note(at, Note.of("note.input_mended.lost_zeros", site=site, full=full))
    return ids


def free_columns(
    table: Table, headings: Headings, whole: Survey, found: Findings
) -> dict[str, NDArray[Any]]:
    """Return the user's other columns (n,); only what no output can hold is taken out.

    Where a file has structures that are none of ours, they are kept as given for the crew:
    ``structure`` among the free columns is written as ``input_structure``. So is ``beam``, which
    is ours where network.toml names beams, and the user's own where it does not.
    """
    taken = {column.heading for column in headings.columns.values()}
    out: dict[str, NDArray[Any]] = {}
    if whole.odd_structures and f"{INPUT_PREFIX}structure" not in table.columns:
        out["structure"] = without_controls(structures(table, headings), one_line=False)[0]
    if whole.named_beams and "beam" not in table.columns.keys() - taken:
        out["beam"] = without_controls(beams_told(table, headings), one_line=True)[0]
    for name, values in table.columns.items():
        if name in taken:
            continue
        out[name] = values
        if all_texts(values):
            out[name], changed = without_controls(values, one_line=False)
            found.note_all(changed, Note.of("note.input_mended.extra_controls", column=name))
        elif values.dtype.kind == "O" and any(isinstance(value, dt.timedelta) for value in values):
            out[name] = as_texts(values)  # hours, minutes and seconds: no table has a kind for them
    return out
