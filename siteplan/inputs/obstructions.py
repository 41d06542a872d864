"""obstructions.csv: what stands around the sites, checked row by row.

A row gives a sector (one azimuth, or from and to), and how high something stands there: its
elevation angle, or its height and distance. Trees may carry their growth.
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray, TextArray
from siteplan.errors import SitesError
from siteplan.fields import COLUMNS as KNOWN
from siteplan.inputs.faults import refuse_missing, told_plainly
from siteplan.inputs.files.cells import Fault, Findings, as_texts, strip_texts, without_controls
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.files.textfiles import Says, csv_chunks
from siteplan.inputs.headings import check_headings, plain_heading
from siteplan.inputs.sites.optional import (
    PLACEHOLDER_NOTE,
    NumberRule,
    number_rules,
    read_numbers,
)
from siteplan.inputs.workbook import is_book
from siteplan.model import Obstructions, Reject

#: Other headings that can only mean one of our columns.
_SYNONYMS: dict[str, tuple[str, ...]] = {
    "site_id": ("id", "site"),
    "azimuth_deg": ("azimuth", "bearing_deg", "bearing", "azimuth_true_deg"),
    "azimuth_from_deg": ("from_deg", "azimuth_from", "azimuth_start_deg"),
    "azimuth_to_deg": ("to_deg", "azimuth_to", "azimuth_end_deg"),
    "elevation_deg": ("elevation", "angle_deg", "top_deg", "elevation_angle_deg"),
    "height_m": ("height",),
    "distance_m": ("distance",),
    "kind": ("type", "obstacle"),
    "growth_m_per_year": ("growth", "growth_m_a", "growth_m_year"),
}
#: Our columns, and other headings that can only mean the same.
COLUMNS = {name: _SYNONYMS.get(name, ()) for name in KNOWN["obstructions"]}

_RULES = number_rules(
    "obstructions",
    {
        "deg": {"°": 1.0, "deg": 1.0},
        "m": {"m": 1.0, "ft": 0.3048, "feet": 0.3048},
        "growth_m_per_year": {"m": 1.0},
    },
)
#: So many bytes are looked at at once for whether a file is empty.
_BLOCK = 1 << 16
#: Half the width that an obstacle of one azimuth is taken to have [deg].
HALF_WIDTH_DEG = 2.5
_TREES = re.compile(r"\b(tree|trees|forest|wood|woods|hedge|palm|palms|bush|bushes)\b", re.I)


def read_obstructions(
    path: Path | str, site_ids: TextArray, *, tree_growth_m_year: float
) -> tuple[Obstructions, tuple[Reject, ...]]:
    """Read and check a table of obstructions.

    Parameters
    ----------
    path : Path or str
        A CSV file, or a project's workbook with a sheet of them.
    site_ids : array of str
        The sites of the project, those that were rejected included.
    tree_growth_m_year : float
        Growth of trees whose row gives none. [m/a]

    Returns
    -------
    obstructions : Obstructions
        The rows that can be used.
    rejects : tuple of Reject
        The others, each with reason and fix; ``site_id`` names the file's own.

    Raises
    ------
    SitesError
        If the file cannot be read, or lacks a column that it cannot do without.
    """
    file = Path(path)
    found = Findings()
    table = given_obstructions(file)
    source = table.sheet or file.name
    where = _columns(table, table.source)
    ids = _texts(table, where, "site_id")
    kinds = _texts(table, where, "kind")
    numbers = {rule.key: _numbers(table, where, rule, found) for rule in _RULES}
    refuse_placeholders(found)
    _check_sites(ids, site_ids, found)
    _check_rows(numbers, found)
    start, end = _sectors(numbers)
    growth = numbers["growth_m_per_year"]
    trees = np.array([bool(_TREES.search(kind)) for kind in kinds], dtype=bool)
    growth = np.where(np.isnan(growth), np.where(trees, tree_growth_m_year, 0.0), growth)
    keep = np.ones(len(table), dtype=bool)
    keep[list(found.faults)] = False
    good = Obstructions(
        ids[keep],
        start[keep],
        end[keep],
        numbers["elevation_deg"][keep],
        numbers["height_m"][keep],
        numbers["distance_m"][keep],
        growth[keep],
        kinds[keep],
        table.row[keep],
    )
    rejects = [
        replace(
            _reject(table, ids, at, faults, source),
            cell=table.cell(where.get(faults[0].key, ""), at),
        )
        for at, faults in found.faults.items()
    ]
    rejects += [replace(r, reason=f"{source}: {r.reason}") for r in table.rejects]
    return good, tuple(sorted(rejects, key=lambda reject: reject.row))


def given_obstructions(file: Path) -> Table:
    """Return the table of obstructions as it is given, in a CSV file or a project's workbook.

    Raises
    ------
    SitesError
        It cannot be read, or is empty.
    """
    if not is_book(file):
        return whole_csv(file, "site_id,azimuth_deg,elevation_deg")
    from siteplan.inputs.workbook.obstructions import obstructions_table

    return obstructions_table(file)


def whole_csv(file: Path, columns: str, says: Says | None = None) -> Table:
    """Return a whole CSV file; ``columns`` is the heading that an empty one is told to have.

    ``says`` is whether cells are a heading, where that names no position.

    Raises
    ------
    SitesError
        There is no such file, or it cannot be read, or it is empty, or two columns have one
        heading.
    """
    refuse_missing(file, SitesError)
    with told_plainly("csv", file), file.open("rb") as data:
        blocks = iter(lambda: data.read(_BLOCK), b"")
        empty = not any(block.removeprefix(b"\xef\xbb\xbf").strip() for block in blocks)
    if empty:
        raise SitesError("the file is empty.", where=file.name, fix=f"Start it with {columns}.")
    table = next(csv_chunks(file, None, says))
    check_headings([table.written.get(heading, heading) for heading in table.columns], file.name)
    return table


def _columns(table: Table, name: str) -> dict[str, str]:
    """Return the heading of each of our columns that the table has."""
    meaning = {s: key for key, names in COLUMNS.items() for s in (key, *names)}
    where: dict[str, str] = {}
    for heading in table.columns:
        key = meaning.get(plain_heading(heading))
        if key is None:
            continue
        if key in where:
            raise SitesError(
                f"two columns may be {key}: '{where[key]}' and '{heading}'.",
                where=name,
                fix="Keep one of them.",
            )
        where[key] = heading
    missing = [key for key in ("site_id",) if key not in where]
    if "azimuth_deg" not in where and not {"azimuth_from_deg", "azimuth_to_deg"} <= set(where):
        missing.append("azimuth_deg (or azimuth_from_deg and azimuth_to_deg)")
    if "elevation_deg" not in where and not {"height_m", "distance_m"} <= set(where):
        missing.append("elevation_deg (or height_m and distance_m)")
    if missing:
        raise SitesError(
            f"no column for {' and '.join(missing)}.",
            where=name,
            fix=f"Known columns: {', '.join(COLUMNS)}.",
        )
    return where


def _texts(table: Table, where: dict[str, str], key: str) -> TextArray:
    if key not in where:
        return np.full(len(table), "", dtype=object)
    texts = strip_texts(as_texts(table.columns[where[key]]))
    return without_controls(texts, one_line=True)[0]


def _numbers(table: Table, where: dict[str, str], rule: NumberRule, found: Findings) -> FloatArray:
    if rule.key not in where:
        return np.full(len(table), np.nan)
    values: NDArray[Any] = table.columns[where[rule.key]]
    return read_numbers(values, rule, found, heading=where.get(rule.key, ""))


def refuse_placeholders(found: Findings) -> None:
    """Make faults of values that look like 'unknown': these tables have no notes to say so."""
    for at, notes in found.notes.items():
        for note in notes:
            if note.key == PLACEHOLDER_NOTE:
                of = dict(note.values)
                key = str(of["column"])
                reason = f"{of.get('heading') or key} {of['text']} looks like a placeholder"
                found.fault(at, Fault(key, "", reason, "Leave the cell empty, or give the value."))


def _check_sites(ids: TextArray, known: TextArray, found: Findings) -> None:
    """Refuse rows of sites that the project has not."""
    has = set(known.tolist())
    unknown = np.flatnonzero([name not in has for name in ids.tolist()]).tolist()
    if not unknown:
        return
    from siteplan.inputs.eaten import Eaten

    eaten = Eaten(has)
    for at in unknown:
        name = str(ids[at])
        reason = f"the project has no site '{name}'" if name else "the row names no site"
        if may_be := eaten.match(name).candidates:
            likely = " or ".join(f"'{site}'" for site in sorted(may_be)[:5])
            reason += f", which may be what a spreadsheet has left of {likely}"
        found.fault(at, Fault("site_id", name, reason, "Write the site_id as in the sites table."))


def _check_rows(numbers: dict[str, FloatArray], found: Findings) -> None:
    """Refuse rows that do not say where, or how high, or say it twice."""
    gap = {key: np.isnan(values) for key, values in numbers.items()}
    sector = ~gap["azimuth_from_deg"] & ~gap["azimuth_to_deg"]
    half = gap["azimuth_from_deg"] != gap["azimuth_to_deg"]
    profile = ~gap["height_m"] & ~gap["distance_m"]
    high = ~gap["elevation_deg"]
    _fault(found, half, "azimuth_from_deg", "only one end of the sector is given", "Give both.")
    _fault(
        found,
        gap["azimuth_deg"] & ~sector & ~half,
        "azimuth_deg",
        "no azimuth is given",
        "Give azimuth_deg, or azimuth_from_deg and azimuth_to_deg, from true north.",
    )
    _fault(
        found,
        ~gap["azimuth_deg"] & sector,
        "azimuth_deg",
        "both an azimuth and a sector are given",
        "Give one of them.",
    )
    _fault(
        found,
        ~high & ~profile,
        "elevation_deg",
        "it is not said how high the obstacle stands",
        "Give elevation_deg, or height_m and distance_m.",
    )
    _fault(
        found,
        high & ~gap["height_m"],
        "elevation_deg",
        "both an elevation angle and a height are given",
        "Give the angle, or height and distance.",
    )


def _fault(found: Findings, mask: BoolArray, key: str, reason: str, fix: str) -> None:
    for at in np.flatnonzero(mask).tolist():
        # A cell that could not be read has its own reason.
        if at not in found.faults or found.faults[at][0].key == "site_id":
            found.fault(at, Fault(key, "", reason, fix))


def _sectors(numbers: dict[str, FloatArray]) -> tuple[FloatArray, FloatArray]:
    """Return the sectors' ends; one azimuth stands for 2.5 degrees to either side."""
    one = numbers["azimuth_deg"]
    single = ~np.isnan(one)
    start = np.where(single, one - HALF_WIDTH_DEG, numbers["azimuth_from_deg"])
    end = np.where(single, one + HALF_WIDTH_DEG, numbers["azimuth_to_deg"])
    # All round: the sector's width would otherwise vanish.
    all_round = np.isclose(end - start, 360)
    return np.where(all_round, 0.0, np.mod(start, 360)), np.where(
        all_round, 359.999, np.mod(end, 360)
    )


def _reject(table: Table, ids: TextArray, at: int, faults: list[Fault], name: str) -> Reject:
    """Return one reject for a row, all its faults in the reason."""
    first = faults[0]
    reason = "; ".join(dict.fromkeys(fault.reason for fault in faults))
    fix = " ".join(dict.fromkeys(fault.fix for fault in faults))
    return Reject(
        int(table.row[at]), str(ids[at]), first.key, first.value, f"{name}: {reason}", fix
    )
