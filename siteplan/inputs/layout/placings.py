"""How a table's cells become latitudes and longitudes: one class a way, each applied to a chunk."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, TextArray
from siteplan.frozen import frozen
from siteplan.inputs.files.cells import as_texts, is_numeric, strip_texts
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.headings.words import tokens
from siteplan.inputs.layout.candidates import Candidate
from siteplan.inputs.layout.facts import (
    BACK_PAIR,
    LETTER_PAIR,
    LONGEST_POSITION,
    PLAIN_PAIR,
    plain_values,
)
from siteplan.inputs.layout.packed import packed_degrees
from siteplan.model import Note


class Placing(Protocol):
    """A way to read positions.

    ``taken`` are the columns that become lat and lon themselves; ``used`` those that are read
    and carried as well, by the key they serve.
    """

    @property
    def taken(self) -> dict[str, str]:
        """The columns that become ours, by key."""
        ...

    @property
    def used(self) -> dict[str, str]:
        """The keys that other columns serve, by heading."""
        ...

    def apply(self, table: Table) -> Table:
        """Return the table with columns, or positions, as coordinates can be read from."""
        ...


@frozen
class Geometry:
    """The file has points."""

    @property
    def taken(self) -> dict[str, str]:
        """No column."""
        return {}

    @property
    def used(self) -> dict[str, str]:
        """No column."""
        return {}

    def apply(self, table: Table) -> Table:
        """Return the table as it is."""
        return table


@frozen
class Axis:
    """A column of latitudes or longitudes; ``negate`` where its heading says south or west."""

    heading: str
    side: str = ""
    form: str = ""

    def cells(self, values: NDArray[Any], highest: float) -> NDArray[Any]:
        """Return the cells (n,) with sign, and unpacked."""
        if self.form:
            return self._signed(_unpacked(values, self.form, highest))
        return self._signed(values)

    def _signed(self, values: NDArray[Any]) -> NDArray[Any]:
        if self.side not in ("S", "W"):
            return values
        if is_numeric(values):
            return -np.abs(values.astype(np.float64))
        texts = strip_texts(as_texts(values))
        out = np.empty(len(texts), dtype=object)
        out[:] = [_minus(text) for text in texts]
        return out


def _minus(text: str) -> str:
    """Return a text with a minus where it begins with a digit and ends without a letter."""
    plain = text[:1].isdigit() and not any(c.isalpha() for c in text[-2:])
    return f"-{text}" if plain else text


def _unpacked(values: NDArray[Any], form: str, highest: float) -> NDArray[Any]:
    numbers = plain_values(values)
    degrees = packed_degrees(numbers, form, highest)
    left = np.isnan(degrees)
    if is_numeric(values) and not (left & np.isfinite(numbers)).any():
        return degrees
    out = as_texts(values).copy()
    out[~left] = np.array([repr(float(value)) for value in degrees[~left]], dtype=object)
    return out


@frozen
class Columns:
    """A column of latitudes and one of longitudes."""

    lat: Axis
    lon: Axis

    @property
    def taken(self) -> dict[str, str]:
        """The two columns."""
        return {"lat": self.lat.heading, "lon": self.lon.heading}

    @property
    def used(self) -> dict[str, str]:
        """No other column."""
        return {}

    def apply(self, table: Table) -> Table:
        """Return the table with signs as the headings say, and packed numbers as degrees."""
        changed = {}
        for axis, highest in ((self.lat, 90.0), (self.lon, 180.0)):
            if axis.form or axis.side in ("S", "W"):
                changed[axis.heading] = axis.cells(table.columns[axis.heading], highest)
        if not changed:
            return table
        return replace(table, columns={k: changed.get(k, v) for k, v in table.columns.items()})


@frozen
class Parts:
    """Columns of degrees, minutes, seconds and hemisphere; a heading may give the hemisphere."""

    lat: dict[str, Candidate]
    lon: dict[str, Candidate]

    @property
    def taken(self) -> dict[str, str]:
        """No column stands for the whole."""
        return {}

    @property
    def used(self) -> dict[str, str]:
        """All parts."""
        return {
            c.heading: key
            for key, parts in (("lat", self.lat), ("lon", self.lon))
            for c in parts.values()
        }

    def apply(self, table: Table) -> Table:
        """Return the table with its parts joined into angles."""
        return replace(table, lat=_joined(table, self.lat), lon=_joined(table, self.lon))


def _joined(table: Table, parts: dict[str, Candidate]) -> NDArray[Any]:
    """Return angles (n,) out of their parts, as numbers where all are plain, else as texts."""
    texts = {part: strip_texts(as_texts(table.columns[c.heading])) for part, c in parts.items()}
    out = np.empty(len(table), dtype=object)
    blank = np.full(len(table), "", dtype=object)
    side = parts["deg"].meaning.side if not parts["deg"].meaning.part else ""
    hemisphere = texts.get("hemi", np.full(len(table), side, dtype=object))
    if "hemi" in parts and (letter := _letter_o(parts["hemi"].written)):
        hemisphere = np.where(np.isin(hemisphere, ("O", "o")), letter, hemisphere)
    rows = zip(*(texts.get(p, blank) for p in ("deg", "min", "sec")), hemisphere, strict=True)
    out[:] = [_angle(*row) for row in rows]
    return out


def _letter_o(heading: str) -> str:
    """Return what O means in a column headed E/O or O/W, '' where the heading does not tell.

    >>> _letter_o("E/O"), _letter_o("Ost/West"), _letter_o("Dir")
    ('W', 'E', '')
    """
    first = {word[:1] for word in tokens(heading)}
    if "o" not in first:
        return ""
    return "W" if first & {"e", "l"} else "E" if "w" in first else ""


def _angle(degrees: str, minutes: str, seconds: str, hemisphere: str) -> str:
    """Return one angle as text; '' where it has no degrees."""
    if not degrees:
        return ""
    degrees, minutes, seconds = (_whole(part) for part in (degrees, minutes, seconds))
    text = f"{degrees}°{minutes or '0'}'"
    return f'{text}{seconds}"{hemisphere}' if seconds else f"{text}{hemisphere}"


def _whole(text: str) -> str:
    """Return a whole number without its .0, as spreadsheets write it."""
    return text.removesuffix(".0")


@frozen
class Pair:
    """One column that holds both, in the order ``lat_lon`` or ``lon_lat``."""

    heading: str
    order: str

    @property
    def taken(self) -> dict[str, str]:
        """No column stands for one of the two."""
        return {}

    @property
    def used(self) -> dict[str, str]:
        """The column."""
        return {self.heading: "lat"}

    def apply(self, table: Table) -> Table:
        """Return the table with the pairs parted."""
        first, second = split_pairs(table.columns[self.heading])
        lat, lon = (first, second) if self.order == "lat_lon" else (second, first)
        return replace(table, lat=lat, lon=lon)


def split_pairs(values: NDArray[Any]) -> tuple[TextArray, TextArray]:
    """Return the two texts of each cell (n,); a cell that is no pair is kept in both."""
    from pandas import Series

    texts = Series(strip_texts(as_texts(values)), dtype=object)
    first, second = texts.to_numpy(dtype=object).copy(), texts.to_numpy(dtype=object).copy()
    left: BoolArray = np.array(texts.str.len() <= LONGEST_POSITION, dtype=bool)
    for pattern in (PLAIN_PAIR, LETTER_PAIR, BACK_PAIR):
        rows = np.flatnonzero(left)
        found = texts.iloc[rows].str.extract(f"^{pattern}$").to_numpy(dtype=object)
        good = np.array([isinstance(a, str) for a in found[:, 0]], dtype=bool)
        first[rows[good]], second[rows[good]] = found[good, 0], found[good, 1]
        left[rows[good]] = False
    return first, second


@frozen
class Shapes:
    """One column of points as text: WKT, EWKT, WKB in hexadecimal digits, or GeoJSON."""

    heading: str
    crs: str

    @property
    def taken(self) -> dict[str, str]:
        """No column stands for one of the two."""
        return {}

    @property
    def used(self) -> dict[str, str]:
        """The column."""
        return {self.heading: "lat"}

    def apply(self, table: Table) -> Table:
        """Return the table with the points' positions; rows without a point are rejected."""
        from siteplan.inputs.files.points import place

        shapes = shapes_of(strip_texts(as_texts(table.columns[self.heading])))
        notes = table.notes or {}
        placed = place(replace(table, notes=None), shapes, self.crs)
        if not notes:
            return placed
        at = {int(row): k for k, row in enumerate(placed.row)}
        merged = dict(placed.notes or {})
        for k, told in notes.items():
            if (here := at.get(int(table.row[k]))) is not None:
                merged[here] = (*told, *merged.get(here, ()))
        return replace(placed, notes=merged)


def shapes_of(texts: TextArray) -> NDArray[Any]:
    """Return the shapes (n,) of texts, None where a text is none."""
    import re

    import shapely

    bare = [re.sub(r"(?i)^SRID=\d+;\s*", "", text) for text in texts]
    readers: tuple[Callable[..., Any], ...] = (shapely.from_wkt, shapely.from_wkb)
    out = np.full(len(texts), None, dtype=object)
    hexes = np.array([text[:2] in ("00", "01") for text in bare], dtype=bool)
    json = np.array([text[:1] == "{" for text in bare], dtype=bool)
    plain = np.array(bare, dtype=object)
    out[json] = shapely.from_geojson(plain[json], on_invalid="ignore")
    for reader, where in zip(readers, (~hexes & ~json, hexes), strict=True):
        out[where] = reader(plain[where], on_invalid="ignore")
    return out


@frozen
class Grid:
    """Eastings and northings: in one reference system, or each in its UTM zone."""

    easting: str
    northing: str
    crs: str = ""
    zone: str = ""
    south: str = ""

    @property
    def taken(self) -> dict[str, str]:
        """No column: metres are carried as they are."""
        return {}

    @property
    def used(self) -> dict[str, str]:
        """Easting, northing and zone."""
        zone = {self.zone: "lat"} if self.zone else {}
        return {self.easting: "lon", self.northing: "lat"} | zone

    def apply(self, table: Table) -> Table:
        """Return the table with positions on WGS 84, through PROJ."""
        from siteplan.inputs.layout.grids import to_degrees, zone_codes

        x, y = (plain_values(table.columns[name]) for name in (self.easting, self.northing))
        if not self.zone:
            lat, lon = to_degrees(x, y, self.crs)
            return replace(table, lat=lat, lon=lon)
        codes = zone_codes(strip_texts(as_texts(table.columns[self.zone])), y, self.south)
        lat, lon = np.full(len(x), np.nan), np.full(len(x), np.nan)
        for code in sorted({code for code in codes if code}):
            here = codes == code
            lat[here], lon[here] = to_degrees(x[here], y[here], code)
        return replace(table, lat=lat, lon=lon)


@frozen
class Place:
    """Where the position is, and what is said of that once for the file."""

    placing: Placing
    remarks: tuple[Note, ...] = ()
