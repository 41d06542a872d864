"""returned.csv: what the crew measured at the sites, checked row by row.

A site may have several rows; the later ones may then carry obstacles only.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray, TextArray
from siteplan.errors import SitesError
from siteplan.fields import COLUMNS as KNOWN
from siteplan.inputs.eaten import Eaten
from siteplan.inputs.files.cells import Fault, Findings, as_texts, strip_texts, without_controls
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.headings import plain_heading
from siteplan.inputs.obstructions import HALF_WIDTH_DEG, refuse_placeholders, whole_csv
from siteplan.inputs.sites.coordinates import parse_coordinates
from siteplan.inputs.sites.optional import NumberRule, number_rules, read_numbers
from siteplan.model import Obstructions, Reject, Returned

#: What can be measured, with the range that a value must lie in to be one.
_RULES = number_rules(
    "returned",
    {
        "deg": {"°": 1.0, "deg": 1.0},
        "m": {"m": 1.0, "ft": 0.3048, "feet": 0.3048},
        "dB": {"db": 1.0},
        "V": {"v": 1.0},
    },
)
_OBSTACLE = ("obstacle_azimuth_deg", "obstacle_elevation_deg")
#: Every column that is read: the name stands in the blank for the crew alone.
COLUMNS = tuple(name for name in KNOWN["returned"] if name != "name")


def read_returned(
    path: Path | str, site_ids: TextArray, names: TextArray | None = None
) -> tuple[Returned, tuple[Reject, ...]]:
    """Read and check what came back from the sites.

    Parameters
    ----------
    path : Path or str
        A CSV file, such as the blank one of the outputs filled in.
    site_ids : array of str
        The sites of the project.
    names : array of str, optional
        Their names: an id that a spreadsheet has eaten is a site's only where the row's name,
        if there is one, is the site's too.

    Returns
    -------
    returned : Returned
        One entry a site, in the order of the file.
    rejects : tuple of Reject
        Rows that cannot be used, each with reason and fix.

    Raises
    ------
    SitesError
        If the file cannot be read, has no ``site_id`` or nothing to measure.
    """
    file = Path(path)
    table = whole_csv(file, "site_id and what was measured")
    where = _columns(table, file.name)
    found = Findings()
    texts = {key: _texts(table, where, key) for key in ("site_id", "remarks")}
    written = texts["site_id"]
    texts["site_id"] = _matched(written, _row_names(table), Known.of(site_ids, names), found)
    numbers = {rule.key: _numbers(table, where, rule, found) for rule in _RULES}
    refuse_placeholders(found)
    lat, lon = _positions(table, where, found)
    blank = _blank(table, where)
    _check(texts["site_id"], site_ids, numbers, blank, found)
    for at in np.flatnonzero(blank).tolist():
        found.faults.pop(at, None)  # nothing came back, whatever the row's id
    measured = ~blank & ~_only_obstacle(numbers, lat, texts["remarks"])
    _refuse_repeated(texts["site_id"], table, measured, found)
    good = ~blank
    good[list(found.faults)] = False
    first = _first_rows(texts["site_id"], good & measured, good)
    columns = {k: v[first] for k, v in numbers.items() if k not in _OBSTACLE}
    returned = Returned(
        site_id=texts["site_id"][first],
        lat=lat[first],
        lon=lon[first],
        **columns,
        remarks=texts["remarks"][first],
        source_row=table.row[first],
        id_written=np.where(written == texts["site_id"], "", written)[first],
        obstacles=_obstacles(table, texts["site_id"], numbers, good),
        blank=int(blank.sum()),
    )
    rejects = [_reject(table, texts["site_id"], at, found.faults[at]) for at in found.faults]
    rejects += list(table.rejects)
    named = tuple(replace(r, reason=f"{file.name}: {r.reason}") for r in rejects)
    return returned, tuple(sorted(named, key=lambda reject: reject.row))


def _columns(table: Table, name: str) -> dict[str, str]:
    """Return the heading of each of our columns that the table has."""
    where = {}
    for heading in table.columns:
        key = plain_heading(heading)
        if key in COLUMNS and key not in where:
            where[key] = heading
    if "site_id" not in where:
        raise SitesError(
            "no column for site_id.", where=name, fix="Fill in the blank of the outputs."
        )
    if not set(where) - {"site_id", "remarks"}:
        raise SitesError(
            "no column with anything measured.",
            where=name,
            fix=f"Known columns: {', '.join(COLUMNS)}.",
        )
    return where


def _texts(table: Table, where: dict[str, str], key: str) -> TextArray:
    if key not in where:
        return np.full(len(table), "", dtype=object)
    texts = strip_texts(as_texts(table.columns[where[key]]))
    # The blank guards ids against formulas with an apostrophe.
    texts = np.array([*(t.removeprefix("'") for t in texts), ""], dtype=object)[:-1]
    return without_controls(texts, one_line=True)[0]


class Known(NamedTuple):
    """The project's sites: names by id, and ids by what a spreadsheet would leave of them."""

    names: dict[str, str]
    eaten: Eaten

    @classmethod
    def of(cls, site_ids: TextArray, names: TextArray | None) -> Known:
        """Return what is known of sites (n,)."""
        ids = [str(site) for site in site_ids.tolist()]
        named = [""] * len(ids) if names is None else [str(name) for name in names.tolist()]
        return cls(dict(zip(ids, map(_same, named), strict=True)), Eaten(ids))

    def agrees(self, site: str, name: str) -> bool:
        """Whether a row's name may be the site's: one of the two is blank, or they are the same."""
        own = self.names[site]
        return not own or not name or own == name


def _same(name: str) -> str:
    """Return a name as it is compared."""
    return " ".join(name.removeprefix("'").split()).casefold()


def _row_names(table: Table) -> list[str]:
    """Return the names in the rows (m,), '' for none."""
    headings = [heading for heading in table.columns if plain_heading(heading) == "name"]
    if not headings:
        return [""] * len(table)
    return [_same(text) for text in as_texts(table.columns[headings[0]]).tolist()]


def _matched(ids: TextArray, names: list[str], known: Known, found: Findings) -> TextArray:
    """Return the ids (m,), those that a spreadsheet has eaten as the sites that they can only be.

    A row that may be of several sites, or that bears another site's name, is a fault.
    """
    out = ids.copy()
    for at, (text, name) in enumerate(zip(ids.tolist(), names, strict=True)):
        if not text or (text in known.names and known.agrees(text, name)):
            continue
        may_be = [site for site in known.eaten.match(text).candidates if site != text]
        likely = [site for site in may_be if known.agrees(site, name)]
        # The id as it stands is a site's, whatever its name, unless another bears the name.
        bears = [site for site in likely if name and known.names[site] == name]
        if text in known.names:
            if bears:
                found.fault(at, _eaten_fault(text, bears, ", which has the row's name"))
        elif len(bears or likely) == 1:
            out[at] = (bears or likely)[0]
        elif may_be:
            tail = "" if likely else ", but the row has another name"
            found.fault(at, _eaten_fault(text, may_be, tail))
    return out


def _eaten_fault(text: str, sites: list[str], tail: str) -> Fault:
    """Return the fault of an id that a spreadsheet may have eaten."""
    likely = " or ".join(f"'{site}'" for site in sites[:5])
    reason = f"the id '{text}' may be what a spreadsheet has left of {likely}{tail}"
    return Fault("site_id", text, reason, "Format the column as text, and write the id in full.")


def _numbers(table: Table, where: dict[str, str], rule: NumberRule, found: Findings) -> FloatArray:
    if rule.key not in where:
        return np.full(len(table), np.nan)
    return read_numbers(table.columns[where[rule.key]], rule, found, heading=where[rule.key])


def _positions(
    table: Table, where: dict[str, str], found: Findings
) -> tuple[FloatArray, FloatArray]:
    """Return the measured positions (m,), NaN where none was; one half alone is a fault."""
    lat, lon = np.full(len(table), np.nan), np.full(len(table), np.nan)
    if not {"lat", "lon"} <= set(where):
        return lat, lon
    cells = [strip_texts(as_texts(table.columns[where[key]])) for key in ("lat", "lon")]
    given = [np.array([text != "" for text in column], dtype=bool) for column in cells]
    for at in np.flatnonzero(given[0] != given[1]).tolist():
        fault = Fault("lat", "", "only one of lat and lon came back", "Give both, or neither.")
        found.fault(at, fault)
    both = np.flatnonzero(given[0] & given[1])
    read = parse_coordinates(cells[0][both], cells[1][both])
    for k, faults in read.findings.faults.items():
        found.faults.setdefault(int(both[k]), []).extend(faults)
    lat[both], lon[both] = read.lat, read.lon
    return lat, lon


def _blank(table: Table, where: dict[str, str]) -> BoolArray:
    """Return the rows into which nothing was filled."""
    blank = np.ones(len(table), dtype=bool)
    for key, heading in where.items():
        if key != "site_id":
            values: NDArray[Any] = strip_texts(as_texts(table.columns[heading]))
            blank &= np.array([text == "" for text in values], dtype=bool)
    return blank


def _only_obstacle(numbers: dict[str, FloatArray], lat: FloatArray, remarks: TextArray
                   ) -> BoolArray:  # fmt: skip
    """Return the rows that carry an obstacle and nothing else measured."""
    other = ~np.isnan(lat) | (remarks != "")
    for key, values in numbers.items():
        if key not in _OBSTACLE:
            other |= ~np.isnan(values)
    return np.asarray(~np.isnan(numbers[_OBSTACLE[1]]) & ~other)


def _check(
    ids: TextArray,
    known: TextArray,
    numbers: dict[str, FloatArray],
    blank: BoolArray,
    found: Findings,
) -> None:
    """Refuse unknown sites, and obstacles without a bearing or an angle."""
    has = set(known.tolist())
    half = np.isnan(numbers[_OBSTACLE[0]]) != np.isnan(numbers[_OBSTACLE[1]])
    for at in np.flatnonzero(~blank).tolist():
        name = str(ids[at])
        if name not in has and at not in found.faults:
            reason = f"the project has no site '{name}'" if name else "the row names no site"
            fix = "Write the site_id as in the sites table."
            found.fault(at, Fault("site_id", name, reason, fix))
        if half[at] and at not in found.faults:
            reason = "an obstacle needs both its azimuth and its elevation"
            found.fault(at, Fault(_OBSTACLE[0], "", reason, "Give both, or neither."))


def _refuse_repeated(ids: TextArray, table: Table, measured: BoolArray, found: Findings) -> None:
    """Refuse the second row with measured values of a site."""
    seen: dict[str, int] = {}
    for at in np.flatnonzero(measured).tolist():
        if at in found.faults:
            continue
        name = str(ids[at])
        if name in seen:
            reason = f"the site has come back already in row {seen[name]}"
            found.fault(at, Fault("site_id", name, reason, "Keep the row that holds."))
        seen.setdefault(name, int(table.row[at]))


def _first_rows(ids: TextArray, measured: BoolArray, good: BoolArray) -> NDArray[np.int64]:
    """Return one row a site: the measured one, else its first with an obstacle."""
    chosen: dict[str, int] = {}
    for at in (*np.flatnonzero(measured).tolist(), *np.flatnonzero(good).tolist()):
        chosen.setdefault(str(ids[at]), at)
    return np.array(sorted(chosen.values()), dtype=np.int64)


def _obstacles(
    table: Table, ids: TextArray, numbers: dict[str, FloatArray], good: BoolArray
) -> Obstructions:
    """Return the obstacles that came back, each 2.5 degrees wide to either side."""
    at = np.flatnonzero(good & ~np.isnan(numbers[_OBSTACLE[1]]))
    nothing = np.full(len(at), np.nan)
    azimuth = numbers[_OBSTACLE[0]][at]
    return Obstructions(
        ids[at],
        np.mod(azimuth - HALF_WIDTH_DEG, 360),
        np.mod(azimuth + HALF_WIDTH_DEG, 360),
        numbers[_OBSTACLE[1]][at],
        nothing,
        nothing,
        np.zeros(len(at)),
        np.full(len(at), "obstacle measured on site", dtype=object),
        table.row[at],
    )


def _reject(table: Table, ids: TextArray, at: int, faults: list[Fault]) -> Reject:
    first = faults[0]
    reason = "; ".join(dict.fromkeys(fault.reason for fault in faults))
    fix = " ".join(dict.fromkeys(fault.fix for fault in faults))
    return Reject(int(table.row[at]), str(ids[at]), first.key, first.value, reason, fix)
