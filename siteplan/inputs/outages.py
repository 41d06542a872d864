"""outages.csv: a log of outages, checked row by row; no row is lost.

Moments are ISO 8601; one without an offset is read by the clock of its site. An outage without an
end runs to the end of the log, which must then be given.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path
from typing import Final, NamedTuple

import numpy as np

from siteplan.arrays import BoolArray, IntArray, TextArray
from siteplan.errors import SitesError
from siteplan.fields import COLUMNS as KNOWN
from siteplan.inputs.bytewise.words import Words, words_of
from siteplan.inputs.eaten import Eaten
from siteplan.inputs.files.cells import Fault, as_texts, strip_texts, without_controls
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.files.spreadsheets import read_sheet
from siteplan.inputs.files.tables import read_table
from siteplan.inputs.headings import check_headings, plain_heading
from siteplan.inputs.moments import NO_MOMENT, InZone, Read, in_zones, no_moment, read_moments
from siteplan.inputs.obstructions import whole_csv
from siteplan.messages import english
from siteplan.model import OUTAGE_CAUSES, OutageLog, Reject
from siteplan.words import quoted

#: Other headings that can only mean one of our columns.
_SYNONYMS: dict[str, tuple[str, ...]] = {
    "site_id": ("id", "site"),
    "from": ("start", "begin", "from_time", "start_time", "begin_time", "down", "outage_start"),
    "to": ("end", "to_time", "end_time", "up", "outage_end", "restored"),
    "cause": ("reason",),
    "counted": ("counts", "count"),
}
COLUMNS: Final = {name: _SYNONYMS.get(name, ()) for name in KNOWN["outages"]}
_MEANING: Final = {s: key for key, names in COLUMNS.items() for s in (key, *names)}
_YES: Final = frozenset(("", "yes", "y", "true", "1", "x"))
_NO: Final = frozenset(("no", "n", "false", "0"))


class Places(NamedTuple):
    """What a log may be of: the ids and zones of the project's sites (n,), the hubs' ids and zone.

    A site's id comes before a hub's.
    """

    site_id: TextArray
    zone: TextArray
    hubs: tuple[str, ...]
    hub_zone: str

    @property
    def numbers(self) -> dict[str, int]:
        """The index of each site, and -1 - k for the k-th hub."""
        hubs = {name: -1 - k for k, name in enumerate(self.hubs)}
        return hubs | {str(site): k for k, site in enumerate(self.site_id.tolist())}


class Span(NamedTuple):
    """From when to when a log runs, as it was asked for; '' for its own first or last moment."""

    since: str = ""
    until: str = ""


#: The log's own first and last moment.
WHOLE: Final = Span()


#: The texts of a column (m,).
_Cells = Words | TextArray


class _Rows:
    """The rows of a log while they are read: what is wrong with each, the first fault first."""

    def __init__(self, table: Table, name: str) -> None:
        self.table, self.name = table, name
        self.faults: dict[int, Fault] = {}

    def refuse(self, where: Iterable[int], key: str, texts: _Cells, reason: str, fix: str) -> None:
        for at in where:
            self.faults.setdefault(at, Fault(key, str(texts[at]), reason, fix))

    @property
    def good(self) -> BoolArray:
        found = np.ones(len(self.table), dtype=bool)
        found[list(self.faults)] = False
        return found


def read_outages(
    path: Path | str, places: Places, span: Span = WHOLE
) -> tuple[OutageLog, tuple[Reject, ...]]:
    """Read and check a log of outages.

    Parameters
    ----------
    path : Path or str
        A table of any kind that sites come in: site_id, from, to, cause, counted.
    places : Places
        The project's sites and hubs.
    span : Span
        From when to when the log runs, ISO 8601, by the hub's clock where without an offset.

    Returns
    -------
    log : OutageLog
        What can be used, cut to the span.
    rejects : tuple of Reject
        The rows that cannot be used, each with reason and fix.

    Raises
    ------
    SitesError
        If the file cannot be read, has no ``site_id`` or ``from``, or nothing in it can be used;
        if the span cannot be read or is empty.
    """
    file = Path(path)
    table = _table(file)
    where = _columns(table, file.name)
    texts = {key: _texts(table, where, key) for key in COLUMNS}
    words = {key: words_of(texts[key]) for key in ("site_id", "cause", "counted")}
    # Our own files guard ids against formulas with an apostrophe.
    ids = words["site_id"].changed(lambda text: text.removeprefix("'"))
    rows, remarks = _Rows(table, file.name), list[str]()
    site = _sites(rows, ids, places)
    cause, counted = _causes(rows, words["cause"]), _counted(rows, words["counted"])
    since, until = (
        _asked(t, f"--{k}", places) for k, t in zip(("from", "until"), span, strict=True)
    )
    begin, end = _moments(rows, (texts["from"], texts["to"]), site, places, remarks)
    end, open_ = _close(rows, texts["to"], begin, end, until)
    _refuse_backwards(rows, texts["to"], begin, end)
    rejects = _rejects(rows, ids)
    good = np.flatnonzero(rows.good)
    if not good.size and (rejects or None in (since, until)):
        _refuse_all(rejects, file.name)
    if left := int(open_[good].sum()):
        remarks.append(english().one("outages.open", rows=left))
    first, last = _span(begin[good], end[good], since, until)
    log = OutageLog(
        *(site[good], begin[good], end[good], cause[good]),
        counted=counted[good],
        source_row=table.row[good],
        since=first,
        until=last,
    )
    _tell_span(log, (since, until), remarks)
    return replace(_cut(log, remarks), remarks=tuple(remarks)), rejects


def _refuse_all(rejects: tuple[Reject, ...], name: str) -> None:
    """Raise as nothing in a log can be used.

    Raises
    ------
    SitesError
        Always; with the first row's fault.
    """
    if not rejects:
        raise SitesError(
            "there is no outage in it.",
            where=name,
            fix="Put a row for each in it. If there was none, give --from and --until.",
        )
    first = rejects[0]
    value = f" {first.key} = '{quoted(first.value, 60)}':" if first.key else ""
    rows = "its one row" if len(rejects) == 1 else f"its {len(rejects)} rows"
    raise SitesError(
        f"none of {rows} can be used. Row {first.row},{value} {first.reason.partition(': ')[2]}.",
        where=name,
        fix=first.fix,
    )


def _tell_span(log: OutageLog, asked: tuple[int | None, int | None], remarks: list[str]) -> None:
    """Say where a log was taken to begin and end, where nobody said; and what it says twice."""
    ends = [f"{dt.datetime.fromtimestamp(at, dt.UTC):%Y-%m-%d %H:%M} UTC"
            for at in (log.since, log.until)]  # fmt: skip
    if None in asked:
        remarks.append(english().one("outages.span", first=ends[0], last=ends[1]))
    if again := _repeated(log):
        remarks.append(english().one("outages.repeated", rows=again))


def _repeated(log: OutageLog) -> int:
    """Return how many outages are told again: of one place, from and to the same, of one cause."""
    if not len(log):
        return 0
    place = (log.site - log.site.min()) * len(OUTAGE_CAUSES) + log.cause
    moment = log.begin - log.begin.min()
    key = place * (int(moment.max()) + 1) + moment
    order = np.argsort(key)
    alike = key[order][1:] == key[order][:-1]
    # Few begin together; only of those the ends are compared.
    some = order[np.append(alike, False) | np.append(False, alike)]
    rows = np.column_stack([key[some], log.end[some], log.counted[some]])
    return len(rows) - len(np.unique(rows, axis=0))


def _table(file: Path) -> Table:
    """Return the table of a log, whatever kind of file it comes in."""
    if file.suffix.lower() == ".csv":
        return whole_csv(file, ",".join(COLUMNS), _is_heading)
    is_book = file.suffix.lower() in (".xlsx", ".xlsm")
    table = read_sheet(file, _is_heading, "site_id,from,to") if is_book else read_table(file)
    check_headings([table.written.get(heading, heading) for heading in table.columns], file.name)
    return table


def _is_heading(cells: list[str]) -> bool:
    """Whether cells name the site and the beginning of outages."""
    return {"site_id", "from"} <= {_MEANING.get(plain_heading(cell)) for cell in cells}


def _columns(table: Table, name: str) -> dict[str, str]:
    """Return the heading of each of our columns that the table has."""
    where: dict[str, str] = {}
    for heading in table.columns:
        key = _MEANING.get(plain_heading(heading))
        if key is not None and key in where:
            raise SitesError(
                f"two columns may be {key}: '{where[key]}' and '{heading}'.",
                where=name,
                fix="Keep one of them.",
            )
        if key is not None:
            where[key] = heading
    missing = [key for key in ("site_id", "from", "to") if key not in where]
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


def _sites(rows: _Rows, ids: Words, places: Places) -> IntArray:
    """Return the index of each row's site, or -1 - k for the k-th hub; refuse unknown ones."""
    known, nowhere = places.numbers, len(places.site_id)
    number = np.array([known.get(name, nowhere) for name in ids.texts], dtype=np.int64)
    found = number[ids.which]
    unknown = np.flatnonzero(found == nowhere).tolist()
    eaten = Eaten(known) if unknown else None
    by_case = {name.casefold(): name for name in known} if unknown else {}
    told: dict[str, str] = {}
    for at in unknown:
        name = ids[at]
        if name not in told:
            told[name] = f"the project has no site '{name}'" if name else "the row names no site"
            if eaten is not None and (may_be := eaten.match(name).candidates):
                likely = " or ".join(f"'{site}'" for site in sorted(may_be)[:5])
                told[name] += f", which may be what a spreadsheet has left of {likely}"
            elif meant := by_case.get(name.casefold()):
                told[name] += f", but '{meant}'"
        fix = f"Write the site_id as in the sites table, or {' or '.join(places.hubs)} for a hub."
        rows.refuse([at], "site_id", ids, told[name], fix)
    return found


def _coded(rows: _Rows, key: str, words: Words, code: Callable[[str], int], fault: tuple[str, str]
           ) -> IntArray:  # fmt: skip
    """Return the code of each row's word (m,); refuse words whose code is negative."""
    codes = np.array([code(text) for text in words.texts], dtype=np.int64)
    found = codes[words.which]
    if (codes < 0).any():
        rows.refuse(np.flatnonzero(found < 0).tolist(), key, words, *fault)
    return np.maximum(found, 0)


def _causes(rows: _Rows, words: Words) -> IntArray:
    """Return the index of each row's cause; a blank one is not known, another word refused."""
    number = {name: k for k, name in enumerate(OUTAGE_CAUSES)}
    fix = f"Write one of {', '.join(OUTAGE_CAUSES)}; leave it blank where nobody knows."
    fault = "that is no cause that is told apart", fix
    return _coded(rows, "cause", words,
                  lambda text: number.get(plain_heading(text) or OUTAGE_CAUSES[-1], -1),
                  fault)  # fmt: skip


def _counted(rows: _Rows, words: Words) -> BoolArray:
    """Return which rows count; refuse what is neither yes nor no."""
    number = {**dict.fromkeys(_YES, 1), **dict.fromkeys(_NO, 0)}
    fault = "it does not say whether the outage counts", "Write yes or no; blank is yes."
    return _coded(rows, "counted", words, lambda text: number.get(text.casefold(), -1), fault) > 0


def _moments(
    rows: _Rows,
    texts: tuple[TextArray, TextArray],
    site: IntArray,
    places: Places,
    remarks: list[str],
) -> tuple[IntArray, IntArray]:
    """Return when each outage begins and ends (m,), ``NO_MOMENT`` for an end that is not given."""
    read = [read_moments(column) for column in texts]
    for key, column, found in zip(("from", "to"), texts, read, strict=True):
        nothing = np.flatnonzero(found.clock == NO_MOMENT).tolist()
        blank = [at for at in nothing if not column[at] and key == "from"]
        wrong = [at for at in nothing if column[at]]
        rows.refuse(blank, key, column, "the outage has no beginning", no_moment("")[1])
        for at in wrong:
            rows.refuse([at], key, column, *no_moment(column[at]))
    zone = _zones(site, places)
    begin, end = (_in_utc(of, zone, rows.good) for of in read)
    _tell(read, (begin, end), rows.good, remarks)
    return _shortest(begin, end)


def _zones(site: IntArray, places: Places) -> Words:
    """Return the zone of each row's place (m,); that of the hubs for a site that is unknown."""
    zones = words_of(np.append(places.zone.astype(object), places.hub_zone))
    return replace(zones, which=zones.which[np.where(site < 0, len(places.zone), site)])


def _in_utc(read: Read, zone: Words, good: BoolArray) -> InZone:
    """Return moments (m,) in UTC; by the clocks of their zones where no offset is written."""
    known = (read.clock != NO_MOMENT) & good
    offset = np.nan_to_num(read.offset).astype(np.int64)
    first = np.where(known, read.clock - np.where(known, offset, 0), NO_MOMENT)
    last, skipped = first.copy(), np.zeros(len(first), dtype=bool)
    bare = np.flatnonzero(known & np.isnan(read.offset))
    if bare.size:
        found = in_zones(read.clock[bare], zone.texts, zone.which[bare])
        first[bare], last[bare], skipped[bare] = found
    return InZone(first, last, skipped)


def _tell(read: list[Read], of: tuple[InZone, InZone], good: BoolArray, remarks: list[str]) -> None:
    """Say how moments without an offset were read."""
    bare = [np.isnan(r.offset) & (r.clock != NO_MOMENT) & good for r in read]
    twice = [m.first != m.last for m in of]
    for key, pair in (
        ("no_offset", bare), ("skipped", [m.skipped for m in of]), ("twice", twice)
    ):  # fmt: skip
        if rows := int(np.count_nonzero(pair[0] | pair[1])):
            remarks.append(english().one(f"outages.{key}", rows=rows))


def _shortest(begin: InZone, end: InZone) -> tuple[IntArray, IntArray]:
    """Return the shortest outages that clocks allow (m,) that do not end before they begin."""
    open_ = end.first == NO_MOMENT
    late = end.first < begin.first
    finish = np.where(late, end.last, end.first)
    start = np.where(finish >= begin.last, begin.last, begin.first)
    return np.where(open_, begin.first, start), np.where(open_, NO_MOMENT, finish)


def _asked(text: str, where: str, places: Places) -> int | None:
    """Return a moment that was asked for, by the hub's clock where it has no offset."""
    if not text:
        return None
    read = read_moments([text.strip()])
    if read.clock[0] == NO_MOMENT:
        reason, fix = no_moment(text)
        raise SitesError(f"'{quoted(text, 60)}': {reason}.", where=where, fix=fix)
    zone = Words([places.hub_zone], np.zeros(1, dtype=np.int64))
    return int(_in_utc(read, zone, np.ones(1, dtype=bool)).first[0])


def _close(
    rows: _Rows, texts: _Cells, begin: IntArray, end: IntArray, until: int | None
) -> tuple[IntArray, BoolArray]:
    """Return the ends of outages (m,), and which of them had none and run to the log's end."""
    open_ = (end == NO_MOMENT) & rows.good
    if until is None:
        rows.refuse(np.flatnonzero(open_).tolist(), "to", texts, "the outage has no end",
                    "Give its end, or --until with the moment at which the log ends.")  # fmt: skip
        return end, np.zeros(len(end), dtype=bool)
    late = np.flatnonzero(open_ & (begin > until)).tolist()
    rows.refuse(late, "to", texts, "the outage has no end, and begins after --until",
                "Give its end, or a later --until.")  # fmt: skip
    return np.where(open_, until, end), open_


def _refuse_backwards(rows: _Rows, texts: _Cells, begin: IntArray, end: IntArray) -> None:
    """Refuse outages that end before they begin."""
    wrong = np.flatnonzero((begin > end) & rows.good).tolist()
    rows.refuse(wrong, "to", texts, "it ends before it begins", "Exchange the two, or mend one.")


def _span(begin: IntArray, end: IntArray, since: int | None, until: int | None) -> tuple[int, int]:
    """Return from when to when the log runs: as asked, else from its first to its last moment.

    Raises
    ------
    SitesError
        If it ends before it begins.
    """
    first = since if since is not None else int(begin.min())
    last = until if until is not None else int(end.max())
    if last <= first:
        raise SitesError(
            "the log ends before it begins.",
            where="--from, --until",
            fix="Give --from before --until, and both around the outages.",
        )
    return first, last


def _cut(log: OutageLog, remarks: list[str]) -> OutageLog:
    """Return a log whose outages lie within its span; what lies outside stands apart."""
    # What only touches an end of the span from without has no time in it.
    before = (log.begin < log.since) & (log.end <= log.since)
    behind = (log.end > log.until) & (log.begin >= log.until)
    inside, outside = (log.take(np.flatnonzero(w)) for w in (~before & ~behind, before | behind))
    over = (inside.begin < log.since) | (inside.end > log.until)
    if cut := int(np.count_nonzero(over)):
        remarks.append(english().one("outages.cut", rows=cut))
    if len(outside):
        remarks.append(english().one("outages.outside", rows=len(outside)))
    return replace(
        inside,
        begin=np.maximum(inside.begin, log.since),
        end=np.minimum(inside.end, log.until),
        outside=outside,
    )


def _rejects(rows: _Rows, ids: Words) -> tuple[Reject, ...]:
    """Return the rows that cannot be used, those that reading had to refuse among them."""
    table = rows.table
    found = [
        Reject(int(table.row[at]), ids[at], of.key, of.value, f"{rows.name}: {of.reason}", of.fix)
        for at, of in rows.faults.items()
    ]
    found += [replace(r, reason=f"{rows.name}: {r.reason}") for r in table.rejects]
    return tuple(sorted(found, key=lambda reject: reject.row))
