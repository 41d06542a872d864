"""Orbital positions to compare: a table (CSV, workbook), or ``[[satellites]]`` of a TOML file.

A row gives a satellite's name and where it stands, and what is known of it; what it does not give
is as in network.toml. Every fault is told at once, each with its row, key, value and remedy.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import field
from pathlib import Path
from typing import Any, Final

from siteplan.errors import NetworkError, SiteplanError
from siteplan.frozen import frozen
from siteplan.inputs.files.cells import UNKNOWN_WORDS, cell_text
from siteplan.inputs.files.spreadsheets import read_sheet
from siteplan.inputs.headings import plain_heading
from siteplan.inputs.network.read import network_data
from siteplan.inputs.obstructions import whole_csv
from siteplan.inputs.sites.numbers import Unusable, number_with_unit
from siteplan.inputs.sites.single import orbital_position_deg
from siteplan.network.reference import limits_of
from siteplan.words import orbital_position, quoted

#: Kinds of files that hold a row a satellite.
TABLES: Final = (".csv", ".xlsx", ".xlsm")
#: Headings to begin with.
_NEEDED: Final = "name,longitude_deg"
#: The table of a TOML file.
TABLE: Final = "satellites"
#: Most satellites of a file: each is a plan of its own.
MOST: Final = 60
#: Longest name, and most neighbours, as in network.toml.
_LONGEST, _NEIGHBOURS = 200, 12
#: Units of the satellite's levels by their key, as the network file has them.
LEVELS: Final[Mapping[str, str]] = {
    "satellite_eirp_dbw": "dBW",
    "satellite_g_t_db_k": "dB/K",
    "sfd_dbw_m2": "dBW/m2",
}
_WAYS = ("outbound", "inbound")
#: Keys of levels, each with the carriers that take it: of both, or of one of them.
LEVEL_KEYS: Final[Mapping[str, tuple[str, tuple[str, ...]]]] = {
    **{level: (level, _WAYS) for level in LEVELS},
    **{f"{way}_{level}": (level, (way,)) for way in _WAYS for level in LEVELS},
}
#: Keys that name files: of polygons, of contours, of tables of network.toml.
FILES: Final = ("area", "eirp_contours", "g_t_contours", "beams")
KEYS: Final = ("name", "longitude_deg", *LEVEL_KEYS, "neighbours_deg", *FILES, "attribute")
#: Other headings that can only mean one of the keys.
_SYNONYMS = {
    "name": ("satellite", "slot"),
    "longitude_deg": ("longitude", "lon", "lon_deg", "position", "position_deg",
                      "orbital_position", "orbital_position_deg", "slot_deg",
                      "longitude_deg_e", "longitude_e", "longitude_east"),
    "satellite_eirp_dbw": ("eirp_dbw", "eirp"),
    "satellite_g_t_db_k": ("g_t_db_k", "g_t", "gt"),
    "sfd_dbw_m2": ("sfd", "sfd_dbw_m"),
    "neighbours_deg": ("neighbours", "neighbors", "neighbors_deg"),
    "area": ("service_area", "area_file"),
    "beams": ("beams_file", "beam_file", "beam"),
    "attribute": ("contours_attribute",),
}  # fmt: skip
_MEANT = {other: key for key in KEYS for other in (key, *_SYNONYMS.get(key, ()))}


@frozen
class Satellite:
    """A satellite to try.

    ``levels`` holds the figures given, by key of `LEVEL_KEYS`; ``neighbours_deg`` is None where
    nobody names any; ``files`` are names of files by key of `FILES`, ``attribute`` the column of
    the contours' values. ``where`` says which row of which file it is.
    """

    name: str
    longitude_deg: float
    where: str = ""
    levels: Mapping[str, float] = field(default_factory=dict)
    neighbours_deg: tuple[float, ...] | None = None
    files: Mapping[str, str] = field(default_factory=dict)
    attribute: str = ""


#: A row: where it stands, and its cells by key.
_Row = tuple[str, dict[str, Any]]


def read_satellites(path: Path) -> tuple[Satellite, ...]:
    """Read the satellites of a CSV file, a workbook or a TOML file, in its order.

    Parameters
    ----------
    path : Path
        Columns, or keys of each ``[[satellites]]``, are `KEYS`; only ``longitude_deg`` is needed.
        Longitudes are read as elsewhere: -61, 61W or 299.

    Raises
    ------
    SiteplanError
        The file is missing, of another kind or empty, or values in it cannot be used: all of
        them, one a line, each with row, key, value, what it may be and what to do.
    """
    faults: list[str] = []
    rows = list(_rows(path))
    if not rows:
        raise NetworkError(
            "there is no satellite in it.",
            where=path.name,
            fix="Give a row, or a [[satellites]], for each, with name and longitude_deg.",
        )
    found = [_satellite(where, cells, faults) for where, cells in rows]
    _check_names(found, faults)
    if len(rows) > MOST:
        faults.append(f"{path.name}: {len(rows)} satellites. Keep {MOST} at most in a file.")
    if faults:
        raise NetworkError("\n".join(dict.fromkeys(faults)))
    return tuple(found)


def files_of(satellites: Sequence[Satellite], folder: Path) -> tuple[Path, ...]:
    """Return the files that satellites name; their names count from a folder."""
    return tuple(folder / Path(n).expanduser() for of in satellites for n in of.files.values())


def _rows(path: Path) -> Iterator[_Row]:
    kind = path.suffix.lower()
    if kind == ".toml":
        yield from _toml_rows(path)
    elif kind in TABLES:
        yield from _table_rows(path)
    else:
        raise NetworkError(
            f"files of kind '{path.suffix}' hold no satellites.",
            where=path.name,
            fix="Give a .csv or .xlsx, a row a satellite, or a .toml with [[satellites]].",
        )


def _table_rows(path: Path) -> Iterator[_Row]:
    is_csv = path.suffix.lower() == ".csv"
    table = whole_csv(path, _NEEDED) if is_csv else read_sheet(path, _is_heading, _NEEDED)
    for reject in table.rejects:
        raise NetworkError(
            f"{reject.reason}.", where=f"{path.name}, row {reject.row}", fix=reject.advice
        )
    keys = _headings(list(table.columns), path.name)
    for at, row in enumerate(table.row.tolist()):
        cells = {key: cell_text(table.columns[h][at]).strip() for key, h in keys.items()}
        known = {k: text for k, text in cells.items() if text.lower() not in UNKNOWN_WORDS}
        yield f"{path.name}, row {row}", known


def _is_heading(cells: list[str]) -> bool:
    """Whether cells name where a satellite stands, among other things."""
    return "longitude_deg" in {_MEANT.get(plain_heading(cell)) for cell in cells}


def _headings(headings: Sequence[str], where: str) -> dict[str, str]:
    """Return the heading of each key."""
    found: dict[str, str] = {}
    for heading in headings:
        key = _MEANT.get(plain_heading(heading))
        if key is None:
            raise NetworkError(
                f"column '{quoted(heading, 60)}' is no key of a satellite.",
                where=where,
                fix=_nearest(plain_heading(heading)),
            )
        if key in found:
            raise NetworkError(
                f"two columns may be {key}: '{found[key]}' and '{heading}'.",
                where=where,
                fix="Keep one of them.",
            )
        found[key] = heading
    return found


def _toml_rows(path: Path) -> Iterator[_Row]:
    data = network_data(path)
    others = [name for name in data if name != TABLE]
    listed = data.get(TABLE, [])
    if others or not isinstance(listed, list) or not all(isinstance(x, dict) for x in listed):
        raise NetworkError(
            f"[{others[0]}] is no table of it." if others else f"{TABLE} is no list of tables.",
            where=path.name,
            fix=f"Write [[{TABLE}]], with double brackets, for each satellite, its keys below.",
        )
    for number, keys in enumerate(listed, 1):
        where = f"{path.name}, [[{TABLE}]] no. {number}"
        for key in keys:
            if key not in KEYS:
                raise NetworkError(f"{key} is an unknown key.", where=where, fix=_nearest(key))
        yield where, dict(keys)


def _nearest(text: str) -> str:
    near = difflib.get_close_matches(text, list(_MEANT), 1, 0.6)
    if near:
        return f"Is it {_MEANT[near[0]]}? Else take it out."
    return f"Take it out, or name it as one of {', '.join(KEYS)}."


def _satellite(where: str, cells: Mapping[str, Any], faults: list[str]) -> Satellite:
    """Return the satellite of a row; what is wrong goes to ``faults``, a sentence each."""

    def read(key: str, of: Callable[[Any], Any]) -> Any:
        if key not in cells:
            return None
        try:
            return of(cells[key])
        except _Fault as fault:
            shown = quoted(cell_text(cells[key]), 60)
            faults.append(f"{where}, {key} = {shown!r} {fault}")
            return None

    longitude = read("longitude_deg", _position)
    if "longitude_deg" not in cells:
        faults.append(f"{where}, longitude_deg is missing. Give it: -61, 61W or 299.")
    stands = 0.0 if longitude is None else longitude
    levels = {key: read(key, _level(key)) for key in LEVEL_KEYS}
    files = {key: read(key, _text) for key in FILES}
    attribute = read("attribute", _text) or ""
    faults += [f"{where}, {told}" for told in _file_faults(files, attribute)]
    return Satellite(
        read("name", _text) or f"Satellite at {orbital_position(stands)}",
        stands,
        where,
        {key: level for key, level in levels.items() if level is not None},
        read("neighbours_deg", _positions),
        {key: name for key, name in files.items() if name},
        attribute,
    )


class _Fault(ValueError):  # noqa: N818 - it reads as what it says
    """Why a value cannot be used, and what to do: it follows the value in a sentence."""


def _position(value: Any) -> float:
    """Return an orbital position, -180 to 180 deg, however it is written."""
    try:
        position = orbital_position_deg(cell_text(value))
        return round(position - 360, 9) if position > 180 else position
    except SiteplanError as error:
        what = error.what.partition("' ")[2] or error.what
        raise _Fault(f"{what} From -180 to 360 deg, east positive. {error.fix}") from None


def _positions(value: Any) -> tuple[float, ...]:
    """Return orbital positions: a list, or a text with semicolons or blanks between them."""
    several = value if isinstance(value, list) else _apart(cell_text(value))
    if len(several) > _NEIGHBOURS:
        raise _Fault(f"names {len(several)} neighbours. Keep {_NEIGHBOURS} at most.")
    return tuple(_position(each) for each in several)


def _apart(text: str) -> list[str]:
    """Return the parts of a text: at semicolons, else where a blank or a comma leaves no doubt."""
    if ";" in text:
        return [part.strip() for part in text.split(";") if part.strip()]
    return re.findall(r"[^\s,]+(?:,\d+)?(?:\s*[EWew]\b)?", text)


def _level(key: str) -> Callable[[Any], float]:
    level, (way, *_) = LEVEL_KEYS[key]
    (low, high), unit = limits_of(way, level), LEVELS[level]
    told = f"Give {low:g} to {high:g} {unit}."

    def read(value: Any) -> float:
        try:
            number, _ = number_with_unit(cell_text(value).strip(), {unit.lower(): 1.0})
        except Unusable as fault:
            raise _Fault(f"{fault}. {told}") from None
        if not low <= number <= high:
            raise _Fault(f"is out of range. {told}")
        return number

    return read


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise _Fault("must be text between quotes.")
    text = quoted(value.strip(), 10_000)
    if len(text) > _LONGEST:
        raise _Fault(f"has {len(text)} characters. Keep {_LONGEST} at most.")
    return text


def _file_faults(files: Mapping[str, str | None], attribute: str) -> Iterator[str]:
    """Yield what does not go together of the files that a row names."""
    contours = [key for key in ("eirp_contours", "g_t_contours") if files[key]]
    if contours and not attribute:
        yield (
            f"{contours[0]} = {files[contours[0]]!r} needs attribute. Name the column that holds"
            " the contours' values."
        )
    if attribute and not contours:
        yield f"attribute = {attribute!r} goes with contours. Name their file, or take it out."
    if files["beams"] and (others := [k for k in FILES[:-1] if files[k]]):
        yield f"{others[0]} = {files[others[0]]!r} stands beside beams. Put it into that file."


def _check_names(found: Sequence[Satellite], faults: list[str]) -> None:
    """Tell names that are given twice: files and layers are called by them."""
    seen: dict[str, str] = {}
    for of in found:
        name = of.name.casefold()
        if name in seen:
            faults.append(
                f"{of.where}, name = {quoted(of.name, 60)!r} is that of {seen[name]} too. Rename"
                " one of them."
            )
        seen.setdefault(name, of.where)
