"""The files that ``pattern_file`` names: a dish's gains by angle, read and checked."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import TypeVar

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.errors import NetworkError, SitesError
from siteplan.inputs.files.cells import Findings, as_texts, strip_texts
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.headings import plain_heading
from siteplan.inputs.network.named import named_file
from siteplan.inputs.obstructions import whole_csv
from siteplan.inputs.sites.optional import NumberRule, read_numbers
from siteplan.network import Antenna, Hub, Network, PatternGains

_GAIN_UNITS = {"dbi": 1.0, "db": 1.0}
_ANGLE, *_GAINS = (
    NumberRule("angle_deg", 0, 180, "deg", severe=True, strict=True, units={"°": 1.0, "deg": 1.0}),
    NumberRule("rx_gain_dbi", -100, 80, "dBi", severe=True, strict=True, units=_GAIN_UNITS),
    NumberRule("tx_gain_dbi", -100, 80, "dBi", severe=True, strict=True, units=_GAIN_UNITS),
)
_Dish = TypeVar("_Dish", Antenna, Hub)
_COMMA = re.compile(r"[+-]?\d+,\d+")
#: The columns of the file.
COLUMNS = (_ANGLE.key, *(rule.key for rule in _GAINS))


def with_patterns(network: Network, folder: Path) -> Network:
    """Return a network that holds the rows of the files of patterns that it names.

    Parameters
    ----------
    network : Network
    folder : Path
        Where names of files count from.

    Returns
    -------
    Network
        The same one where it names no file. Rows that an antenna has already stay.

    Raises
    ------
    NetworkError
        A file is missing or cannot be used: with its name, its row, and what to do.
    """
    files = network.pattern_files
    if not files:
        return network
    antennas = tuple(
        _filled(antenna, folder, f"[[antennas]] no. {number}")
        for number, antenna in enumerate(network.antennas, 1)
    )
    filled = {"antennas": antennas, "hub": _filled(network.hub, folder, "[hub]")}
    # A table that is put in counts as given, and its defaults would no longer be told.
    changed = {table: value for table, value in filled.items() if value != getattr(network, table)}
    return network.model_copy(update=changed)


def _filled(of: _Dish, folder: Path, place: str) -> _Dish:
    if of.pattern_file is None or of.pattern_gains is not None:
        return of
    path = named_file(of.pattern_file, folder, f"{place} pattern_file")
    return of.model_copy(update={"pattern_gains": read_pattern(path)})


def read_pattern(path: Path) -> PatternGains:
    """Read a file of gains by angle.

    Parameters
    ----------
    path : Path
        A CSV file of ``COLUMNS``, in any of the spellings in which the table of sites may come.

    Returns
    -------
    PatternGains
        A side whose column is blank in every row is None.

    Raises
    ------
    NetworkError
        It cannot be read, lacks a column, has fewer than two rows, angles that do not rise from 0
        to 180 deg, or a gain that is no number or is there in some rows only.
    """
    try:
        return _gains(whole_csv(path, ",".join(COLUMNS)), path.name)
    except SitesError as error:
        raise NetworkError(error.what, where=error.where, fix=error.fix) from None


def _gains(table: Table, name: str) -> PatternGains:
    where = _columns(table, name)
    if table.rejects:
        first = table.rejects[0]
        raise _error(name, first.row, f"{first.reason}.", first.advice)
    angles = _numbers(table, where, _ANGLE, name)
    if len(table) < 2:
        told = f"there {'is one row' if len(table) else 'is no row'} below the headings."
        raise SitesError(told, where=name, fix="Give two angles at least, such as 0 and 180 deg.")
    _check_rising(angles, table, name)
    rx, tx = (_side(table, where, rule, name) for rule in _GAINS)
    if rx is None and tx is None:
        fix = f"Fill {_GAINS[0].key} or {_GAINS[1].key}, or both."
        raise SitesError("both columns of gains are blank.", where=name, fix=fix)
    return PatternGains(angle_deg=tuple(angles.tolist()), rx_gain_dbi=rx, tx_gain_dbi=tx)


def _columns(table: Table, name: str) -> Mapping[str, str]:
    """Return the heading of each of our columns."""
    where = {plain_heading(heading): heading for heading in table.columns}
    missing = [key for key in COLUMNS if key not in where]
    if missing:
        raise SitesError(
            f"no column for {' and '.join(missing)}.",
            where=name,
            fix=f"The columns are {', '.join(COLUMNS)}; one of the gains may be blank.",
        )
    return where


def _side(
    table: Table, where: Mapping[str, str], rule: NumberRule, name: str
) -> tuple[float, ...] | None:
    """Return the gains of a side, None where its column is blank."""
    texts = strip_texts(as_texts(table.columns[where[rule.key]]))
    if not any(texts.tolist()):
        return None
    return tuple(_numbers(table, where, rule, name).tolist())


def _numbers(table: Table, where: Mapping[str, str], rule: NumberRule, name: str) -> FloatArray:
    """Return a column that must hold a number in every row."""
    found = Findings()
    cells = table.columns[where[rule.key]]
    numbers = read_numbers(cells, rule, found, comma=_writes_commas(table, where))
    for at in np.flatnonzero(np.isnan(numbers)).tolist():
        row, text = int(table.row[at]), str(cells[at]).strip()
        if at in found.faults:
            fault = found.faults[at][0]
            raise _error(name, row, f"{fault.reason}.", fault.fix)
        told = f"'{text}' is no number that it can be" if text else "is blank"
        fix = "." if rule is _ANGLE else ", or leave the whole column blank."
        raise _error(name, row, f"{rule.key} {told}.", f"Give a number, {rule.limits}{fix}")
    return numbers


def _writes_commas(table: Table, where: Mapping[str, str]) -> bool:
    """Whether a file writes decimals with a comma: some of its numbers do, and none has a point."""
    texts = [str(cell).strip() for key in COLUMNS for cell in table.columns[where[key]].tolist()]
    return any(map(_COMMA.fullmatch, texts)) and not any("." in text for text in texts)


def _check_rising(angles: FloatArray, table: Table, name: str) -> None:
    for at in np.flatnonzero(np.diff(angles) <= 0).tolist():
        raise _error(
            name,
            int(table.row[at + 1]),
            f"angle_deg = {angles[at + 1]:g} does not rise over the {angles[at]:g} before it.",
            "Sort the rows by angle, from 0 to 180 deg, each angle once.",
        )


def _error(name: str, row: int, what: str, fix: str) -> SitesError:
    return SitesError(what, where=f"{name}, row {row}", fix=fix)
