"""What comes in, checked: sites, obstructions, what came back, map layers, rejects and notes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, fields, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray, IntArray, TextArray
from siteplan.fields import COLUMNS, COORDINATE_DOUBT, FLAGS, label_of
from siteplan.frozen import frozen
from siteplan.messages import Catalogue, english
from siteplan.words import quoted

#: Structures that a mount can stand on; an empty text is 'not known'.
STRUCTURES = COLUMNS["sites"]["structure"].choices


_TEXT_COLUMNS = (
    *("name", "structure", "priority", "group", "timezone", "beam"),
    "applications",
)
_NUMBER_COLUMNS = (
    "altitude_m",
    "availability_pct",
    "wall_facing_deg",
    "roof_height_m",
    "cable_m",
    "wind_m_s",
    "fixed_antenna_m",
    "fixed_buc_w",
    "fixed_efficiency",
    "fixed_buc_backoff_db",
    "outbound_kbit_s",
    "inbound_kbit_s",
    "power_availability_pct",
    "line_cost_month",
    "line_km",
)


@frozen
class Note:
    """Something to know about a row that was kept, as a flag's code and a sentence to be filled.

    ``key`` names the sentence in the catalogue; ``values`` are its gaps by name, in order.
    ``column`` among them is one of our columns, ``heading`` beside it what the file calls it.
    """

    code: str
    key: str
    values: tuple[tuple[str, Any], ...] = ()

    @classmethod
    def of(cls, key: str, /, **values: Any) -> Note:
        """Return the note of a key ``note.CODE.VARIANT`` with the values of its gaps.

        >>> Note.of("note.input_mended.no_id").code
        'input_mended'
        """
        shown = ((k, quoted(v) if isinstance(v, str) else v) for k, v in values.items())
        return cls(key.split(".")[1], key, tuple(shown))

    @property
    def sentence(self) -> str:
        """The sentence in English."""
        return self.told(english())

    @property
    def spoken(self) -> str:
        """The sentence for who has not got the table: its column by label, not by name."""
        labelled = {k: label_of(str(v)) if k == "column" else v for k, v in self.values}
        return english()[self.key].format(**labelled)

    def told(self, catalogue: Catalogue) -> str:
        """Return the sentence in a catalogue's language; a column is called as it is headed."""
        values = dict(self.values)
        if "column" in values and values.get("heading"):
            values["column"] = values["heading"]
        return catalogue[self.key].format(**values)


@frozen
class NoteLine:
    """A note with the row and the site that it is of; row None and no site: of the whole file.

    ``cell`` is where the heading stands that it speaks of, in a project's workbook.
    """

    row: int | None
    site_id: str
    note: Note
    cell: str = ""

    @property
    def severity(self) -> str:
        """How bad it is: ``warn`` or ``note``, as the dictionary of flags has it."""
        return FLAGS[self.note.code].severity


@frozen
class NoteKind:
    """All notes of one kind: how bad they are, on how many rows, the first rows, a sentence.

    ``count`` is 0 and ``rows`` empty for what is said of the whole file, ``cell`` then that of its
    line; ``alike`` tells whether every row has the very sentence.
    """

    severity: str
    count: int
    rows: tuple[int, ...]
    sentence: str
    alike: bool = True
    cell: str = ""


@frozen
class Reject:
    """A row that could not be used, and why.

    ``row`` counts data rows as a spreadsheet shows them (the heading is row 1). What is quoted of
    the file holds no control character, and no cell of endless length. ``cell`` is where it stands
    in a project's workbook, such as ``Sites!C12``; empty for other files.
    """

    row: int
    site_id: str
    key: str
    value: str
    reason: str
    fix: str
    cell: str = ""

    def __post_init__(self) -> None:
        # A row may have many faults, each with its reason; a cell is quoted in part.
        for name, most in (("value", 300), ("reason", 3_000)):
            text = getattr(self, name)
            if (shown := quoted(text, most)) != text:
                object.__setattr__(self, name, shown)

    @property
    def advice(self) -> str:
        """Return why, and how to mend it, as sentences."""
        stop = "" if self.reason.endswith((".", "?", "!")) else "."
        return f"{self.reason}{stop} {self.fix}"


@frozen
class RejectKind:
    """All rejects for one reason: the first of them, how many rows, and the first rows."""

    first: Reject
    count: int
    rows: tuple[int, ...]


@frozen
class Sites:
    """Checked sites, one array a column, sites along axis 0.

    Unknown numbers are NaN and unknown texts are empty. ``notes`` maps a site's index to what
    was mended or doubted; ``extra`` holds the user's free columns untouched.
    """

    site_id: TextArray
    name: TextArray
    lat: FloatArray
    lon: FloatArray
    altitude_m: FloatArray
    availability_pct: FloatArray
    structure: TextArray
    wall_facing_deg: FloatArray
    roof_height_m: FloatArray
    cable_m: FloatArray
    wind_m_s: FloatArray
    priority: TextArray
    group: TextArray
    fixed_antenna_m: FloatArray
    fixed_buc_w: FloatArray
    fixed_efficiency: FloatArray
    fixed_buc_backoff_db: FloatArray
    timezone: TextArray
    beam: TextArray
    outbound_kbit_s: FloatArray
    inbound_kbit_s: FloatArray
    power_availability_pct: FloatArray
    applications: TextArray
    line_cost_month: FloatArray
    line_km: FloatArray
    source_row: IntArray
    notes: Mapping[int, tuple[Note, ...]] = field(default_factory=lambda: MappingProxyType({}))
    extra: Mapping[str, NDArray[Any]] = field(default_factory=lambda: MappingProxyType({}))

    @classmethod
    def at(cls, lat: FloatArray, lon: FloatArray, **known: Any) -> Sites:
        """Return sites at points (n,) [deg] of which little else is known.

        ``known`` are further columns (n,); the rest is NaN or empty, with ids ``S0001`` and on.
        """
        n = len(lat)
        columns: dict[str, Any] = {"lat": lat, "lon": lon}
        for name in _TEXT_COLUMNS:
            columns[name] = np.full(n, "", dtype=object)
        for name in _NUMBER_COLUMNS:
            columns[name] = np.full(n, np.nan)
        columns["site_id"] = np.array([f"S{i + 1:04d}" for i in range(n)], dtype=object)
        columns["source_row"] = np.arange(n) + 2
        return cls(**(columns | known))

    @property
    def doubted(self) -> BoolArray:
        """Where (n,) the coordinates are to be checked."""
        found = np.zeros(len(self), dtype=bool)
        for at, notes in self.notes.items():
            found[at] = any(note.code == COORDINATE_DOUBT for note in notes)
        return found

    def __getstate__(self) -> dict[str, Any]:
        """Return the state for another process: read-only mappings cannot be sent."""
        return vars(self) | {"notes": dict(self.notes), "extra": dict(self.extra)}

    def __len__(self) -> int:
        """Return the number of sites."""
        return len(self.lat)

    def take(self, index: IntArray) -> Sites:
        """Return the sites at ``index`` (k,), in that order."""
        columns = {
            f.name: getattr(self, f.name)[index]
            for f in fields(self)
            if f.name not in ("notes", "extra")
        }
        notes = {k: self.notes[int(i)] for k, i in enumerate(index) if int(i) in self.notes}
        extra = {name: values[index] for name, values in self.extra.items()}
        return replace(
            self, **columns, notes=MappingProxyType(notes), extra=MappingProxyType(extra)
        )


@frozen
class Obstructions:
    """Checked obstructions, one array a column, obstacles along axis 0.

    ``from_deg`` to ``to_deg`` is the sector, clockwise, from true north. Unknown numbers are
    NaN: ``elevation_deg`` where height and distance are given, and the other way round.
    ``height_m`` is above the ground at the site.
    """

    site_id: TextArray
    from_deg: FloatArray
    to_deg: FloatArray
    elevation_deg: FloatArray
    height_m: FloatArray
    distance_m: FloatArray
    growth_m_per_year: FloatArray
    kind: TextArray
    source_row: IntArray

    def __len__(self) -> int:
        """Return the number of obstacles."""
        return len(self.from_deg)


@frozen
class Returned:
    """What the crew measured, one array a column, returned sites along axis 0; NaN: not measured.

    ``id_written`` is the id as it came back where a spreadsheet had eaten it, else ''.
    ``obstacles`` are those that came back with the sites; ``blank`` counts rows that nothing
    was filled into.
    """

    site_id: TextArray
    lat: FloatArray
    lon: FloatArray
    altitude_m: FloatArray
    azimuth_true_deg: FloatArray
    azimuth_magnetic_deg: FloatArray
    elevation_deg: FloatArray
    rim_angle_deg: FloatArray
    skew_deg: FloatArray
    c_n_db: FloatArray
    cable_m: FloatArray
    cable_loss_db: FloatArray
    buc_voltage_v: FloatArray
    cross_polar_db: FloatArray
    remarks: TextArray
    source_row: IntArray
    id_written: TextArray
    obstacles: Obstructions
    blank: int = 0

    def __len__(self) -> int:
        """Return the number of returned sites."""
        return len(self.site_id)


#: What may have caused an outage, as a log names it.
OUTAGE_CAUSES: Final = COLUMNS["outages"]["cause"].choices


@frozen
class OutageLog:
    """A log of outages, checked: one array a column, outages along axis 0.

    ``site`` is the index of each one's site among the project's, or -1 - k for the k-th hub;
    ``begin`` and ``end`` are seconds since 1970 (UTC), ``cause`` the index in `OUTAGE_CAUSES`.
    ``counted`` tells which count against availability. The log runs from ``since`` to ``until``;
    ``outside`` are the outages that lie before or behind, as they are given. ``remarks`` are what
    was said of it once, in sentences.
    """

    site: IntArray
    begin: IntArray
    end: IntArray
    cause: IntArray
    counted: BoolArray
    source_row: IntArray
    since: int
    until: int
    remarks: tuple[str, ...] = ()
    outside: OutageLog | None = None

    def __len__(self) -> int:
        """Return the number of outages."""
        return len(self.site)

    def take(self, at: IntArray) -> OutageLog:
        """Return the outages at ``at`` (k,), of the same log; what lies outside is left out."""
        return OutageLog(
            site=self.site[at],
            begin=self.begin[at],
            end=self.end[at],
            cause=self.cause[at],
            counted=self.counted[at],
            source_row=self.source_row[at],
            since=self.since,
            until=self.until,
        )


@frozen
class Surroundings:
    """What is known around the sites: surveyed obstacles, and the file of the terrain."""

    obstructions: Obstructions | None = None
    terrain_path: Path | None = None


@frozen
class ColumnRead:
    """How one column of a sites table was understood.

    ``heading`` is as the file has it; ``taken_as`` one of our keys, ``free`` for a column that
    is kept, or '' for one that is not used. ``filled`` and ``blank`` count the cells
    of the whole file; ``example`` is the first filled cell. ``why`` says what the reader should
    know of the column, once for all rows; ``cell`` is where its heading stands in a project's
    workbook, such as ``Sites!C1``.
    """

    heading: str
    taken_as: str
    filled: int
    blank: int
    example: str
    why: Note | None = None
    cell: str = ""

    @property
    def likely(self) -> str:
        """The heading that would make a column ours which looks like it and is not read."""
        if self.why is None or self.why.key != "note.input_mended.column_likely":
            return ""
        return str(dict(self.why.values)["ours"])


@frozen
class Called:
    """What a list of sites calls our columns: pairs of our key and its heading.

    ``sheet`` is the sheet of a project's workbook that it stands on, '' for other files.
    """

    headings: tuple[tuple[str, str], ...] = ()
    sheet: str = ""

    def heading(self, key: str) -> str:
        """Return the heading of one of our columns; our key where the list has no such column."""
        return dict(self.headings).get(key, key)


@frozen
class SiteList:
    """What reading a sites table gave: the checked sites, the rejects and the count of rows.

    ``columns`` are the file's columns in its order; ``remarks`` is what is said of the file or
    of a column once, and not of each site. ``made_ids`` are the ids, by row, of rows that have
    none. A chunk of a file carries those of the whole file.
    """

    sites: Sites
    rejects: tuple[Reject, ...]
    rows_read: int
    source: str
    columns: tuple[ColumnRead, ...] = ()
    remarks: tuple[Note, ...] = ()
    made_ids: Mapping[int, str] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def called(self) -> Called:
        """What the list calls our columns."""
        taken = [c for c in self.columns if c.taken_as not in ("", "free")]
        sheet = next((c.cell.rpartition("!")[0] for c in self.columns if c.cell), "")
        return Called(tuple((c.taken_as, c.heading.strip()) for c in taken), sheet)


@frozen
class Records:
    """A CSV list as it stands, record by record.

    ``heading_at`` is the record of headings, ``first_row`` the number of the row behind it.
    """

    rows: list[list[str]]
    delimiter: str
    heading_at: int
    first_row: int


@frozen
class Assumption:
    """A figure that nobody gave: its key, the value used, its unit and its meaning."""

    key: str
    value: str
    unit: str
    meaning: str

    def to_json(self) -> dict[str, str]:
        """Return the assumption as plain data, for summary, map and screen."""
        return {"key": self.key, "value": self.value, "unit": self.unit, "meaning": self.meaning}


@frozen
class Overlay:
    """A map layer of the user's own.

    ``shapes`` are single shapely geometries in (lon, lat) [deg] on WGS 84, longitudes without
    jumps; ``labels`` the names (as many) that the file gives them, empty where it gives none.
    ``color`` is one of the names in ``siteplan.network``, or empty.
    """

    name: str
    color: str
    shapes: tuple[Any, ...]
    labels: tuple[str, ...]
