"""A case is tried: the file is read as siteplan reads it, and what must hold is looked at.

An error must be one of siteplan's own that names the file and says what to do; what is read must
be whole: each row once, planned or rejected, nothing infinite, no warning, and soon.
"""

from __future__ import annotations

import contextlib
import csv
import io
import signal
import tempfile
import traceback
import warnings
from collections.abc import Iterator
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from siteplan.errors import SiteplanError
from siteplan.model import SiteList
from tests.fuzz.cases import Case, described, signature, well_formed

#: Most processor time that reading a file may take [s], and that a whole plan of it may.
READING_S, PLANNING_S = 5, 30
#: One file in so many is read in chunks too, planned, and planned as a project with its outputs.
IN_CHUNKS, PLANNED, WHOLE = 6, 25, 150
_BEYOND = dict.fromkeys([*range(9), 11, 12, *range(14, 32), 0x7F, 0xFFFE, 0xFFFF], "x")


class TooLong(BaseException):
    """The processor time is spent. No Exception: no reader may take it for a bad file."""


@dataclass(frozen=True)
class Failure:
    """What did not hold, where, and what repeats it."""

    case: Case
    kind: str
    trace: str

    def __str__(self) -> str:
        """Return the case and what was wrong with it."""
        return f"{described(self.case)}\n{self.kind}\n{self.trace}"


def tried(case: Case) -> Failure | None:
    """Try a case; return what did not hold, None where all did."""
    with tempfile.TemporaryDirectory(prefix="siteplan-fuzz-") as folder:
        with warnings.catch_warnings(record=True) as heard:
            warnings.simplefilter("always")
            try:
                _try(case, Path(folder))
            except (Exception, TooLong) as error:
                where = _frame_of(error)
                kind = f"{case.name}: {type(error).__name__} in {where}: {signature(str(error))}"
                return Failure(case, kind, traceback.format_exc(limit=-8)[-2500:])
        told = [w for w in heard if "__array_wrap__" not in str(w.message) and _counts(w)]
    if told:
        first = told[0]
        kind = f"{case.name}: {first.category.__name__}: {signature(str(first.message))}"
        return Failure(case, kind, f"{first.filename}:{first.lineno}")
    return None


def _counts(heard: warnings.WarningMessage) -> bool:
    """Whether a warning is siteplan's affair: rasterio's own arithmetic is not."""
    return not issubclass(heard.category, PendingDeprecationWarning)


def _frame_of(error: BaseException) -> str:
    frames = traceback.extract_tb(error.__traceback__)
    ours = [f for f in frames if "/siteplan/" in f.filename and "/tests/" not in f.filename]
    last = (ours or frames)[-1]
    return f"{Path(last.filename).name}:{last.lineno} {last.name}"


@contextlib.contextmanager
def _within(seconds: int) -> Iterator[None]:
    """Raise where the block takes more processor time."""

    def stop(*_: object) -> None:
        raise TooLong(f"more than {seconds} s of processor time")

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


#: Files that a plan does not read.
_NOT_OF_A_PLAN = ("clouds", "area", "returned", "outages", "satellites")


def _try(case: Case, folder: Path) -> None:
    path = folder / case.name.replace("-geo", "")
    path.write_bytes(case.data)
    stem = path.stem
    with _within(READING_S):
        found = _read(case, stem, path)
    if isinstance(found, SiteList) and case.rng.randrange(PLANNED) == 0:
        with _within(PLANNING_S):
            _plan(found)
    if stem not in _NOT_OF_A_PLAN and case.number % WHOLE == 0:
        with _within(2 * PLANNING_S):
            _whole(folder, stem, path)


def _read(case: Case, stem: str, path: Path) -> Any:
    """Read the file as what it should be; None where siteplan refuses it as it must."""
    try:
        found = _READ[stem](path)
    except SiteplanError as error:
        check_told(error, path)
        found = None
    if isinstance(found, SiteList):
        check_sites(found)
    if stem == "sites" and case.rng.randrange(IN_CHUNKS) == 0:
        _in_chunks(path, found)
    return found


def check_told(error: SiteplanError, path: Path) -> None:
    """Raise where an error does not name the file, or does not say what to do."""
    told = str(error)
    assert path.name in told, f"the file is not named: {told[:200]}"
    # Problems of network.toml, and of satellites, stand a line each, each with its own remedy.
    by_line = path.suffix == ".toml" or path.stem == "satellites"
    assert error.fix or "\n" in told or by_line, f"no remedy: {told[:200]}"
    assert not set(told) & {"\0", "\x1b"}, f"control characters are printed: {told[:200]!r}"


def check_sites(found: SiteList) -> None:
    """Raise where a row is lost or told twice, or a number is none."""
    sites = found.sites
    assert len(sites) + len(found.rejects) == found.rows_read, "rows are lost"
    numbers = [*sites.source_row.tolist(), *(reject.row for reject in found.rejects)]
    assert len(set(numbers)) == len(numbers), "a row is told twice"
    assert len(set(sites.site_id.tolist())) == len(sites), "an id stands twice"
    assert np.isfinite(sites.lat).all(), "a latitude is none"
    assert np.isfinite(sites.lon).all(), "a longitude is none"
    assert (np.abs(sites.lat) <= 90).all(), "a latitude is out of range"
    for field in fields(sites):
        values = getattr(sites, field.name)
        if isinstance(values, np.ndarray):
            check_column(field.name, values)
    for name, values in sites.extra.items():
        assert len(values) == len(sites), f"column {name} has another length"


def check_column(name: str, values: Any) -> None:
    """Raise where a number is infinite or a text holds what no file may."""
    if values.dtype.kind == "f":
        assert not np.isinf(values).any(), f"{name} is infinite"
    if values.dtype.kind == "O":
        texts = [v for v in values.tolist() if isinstance(v, str)]
        assert all(t == t.translate(_BEYOND) for t in texts), f"{name} holds control characters"


def _in_chunks(path: Path, whole: SiteList | None) -> None:
    """Read the file in chunks, as a very large plan does: it must come to the same."""
    from siteplan.inputs.sites.read import iter_site_lists

    parts, refusal = [], None
    try:
        parts = list(iter_site_lists(path, 5))
    except SiteplanError as error:
        check_told(error, path)
        refusal = error
    if whole is None or refusal is not None:
        told = refusal or "nothing"
        assert whole is None, f"refused in chunks alone: {told}"
        assert refusal is not None, "refused only as a whole"
        return
    got = [(s.sites.source_row.tolist(), [r.row for r in s.rejects]) for s in parts]
    rows = [row for good, _ in got for row in good]
    refused = [row for _, bad in got for row in bad]
    assert rows == whole.sites.source_row.tolist(), "other rows in chunks"
    assert refused == [r.row for r in whole.rejects], "other rejects in chunks"


@cache
def _network() -> Any:
    from siteplan.inputs.network.read import network_from_mapping

    return network_from_mapping({"satellite": {"longitude_deg": 10}, "site": {"wind_m_s": 25}})


@cache
def _sites() -> SiteList:
    from siteplan.inputs.sites.read import read_sites

    with tempfile.TemporaryDirectory(prefix="siteplan-fuzz-") as folder:
        path = Path(folder) / "sites.csv"
        path.write_bytes(well_formed("sites.csv"))
        return read_sites(path)


def _plan(found: SiteList) -> None:
    from siteplan.jobs.plan import plan_sites

    try:
        plan = plan_sites(found, _network())
    except SiteplanError:
        return
    assert len(plan.columns["margin_db"]) == len(found.sites), "sites are lost in the plan"
    for name, values in plan.columns.items():
        if getattr(values, "dtype", None) is not None:
            check_column(name, values)


def _read_sites(path: Path) -> SiteList:
    from siteplan.inputs.sites.read import read_sites

    return read_sites(path)


def _read_network(path: Path) -> Any:
    from siteplan.inputs.network.assumed import assumptions
    from siteplan.jobs.opened import read_network

    network = read_network(path)
    assumptions(network)
    return network


def _read_obstructions(path: Path) -> None:
    from siteplan.inputs.obstructions import read_obstructions

    found, rejects = read_obstructions(path, _sites().sites.site_id, tree_growth_m_year=0.3)
    for field in fields(found):
        check_column(field.name, getattr(found, field.name))
    rows = [*found.source_row.tolist(), *(reject.row for reject in rejects)]
    assert len(set(rows)) == len(rows), "a row is told twice"


def _read_returned(path: Path) -> None:
    from siteplan.inputs.returned import read_returned

    found, _ = read_returned(path, _sites().sites.site_id)
    for field in fields(found):
        values = getattr(found, field.name)
        if isinstance(values, np.ndarray):
            check_column(field.name, values)


def _read_pattern(path: Path) -> None:
    from siteplan.inputs.network.patterns import read_pattern

    found = read_pattern(path)
    for gains in (found.angle_deg, found.rx_gain_dbi, found.tx_gain_dbi):
        check_column("angle_deg", np.array(gains or ()))


def _read_outages(path: Path) -> None:
    from siteplan.inputs.outages import Places, Span, read_outages

    sites = _sites().sites
    places = Places(sites.site_id, sites.timezone, ("hub",), "Europe/Stockholm")
    log, rejects = read_outages(path, places, Span("", "2026-06-01"))
    assert log.outside is not None
    rows = [*log.source_row.tolist(), *log.outside.source_row.tolist(), *(r.row for r in rejects)]
    assert len(set(rows)) == len(rows), "a row is told twice"
    assert (log.begin <= log.end).all(), "an outage ends before it begins"
    assert ((log.begin >= log.since) & (log.end <= log.until)).all(), "it is not cut"
    assert ((log.site >= -1) & (log.site < len(sites))).all(), "an outage is nowhere"
    assert all(reject.fix for reject in rejects), "a reject has no remedy"
    _count_up(log, places)


def _count_up(log: Any, places: Any) -> None:
    """Raise where a log's sums are no numbers, or more than the time there is."""
    from siteplan.planning.operations.events import calendar
    from siteplan.planning.operations.listed import left_out
    from siteplan.planning.operations.outages import tallied

    zones = np.append(places.zone, places.hub_zone).astype(object)
    place = np.where(log.site < 0, len(places.site_id) - 1 - log.site, log.site)
    months = calendar(zones, log.since, log.until)
    rows = tallied(log, place, months, len(places.site_id))
    assert (rows.outage_min <= rows.logged_min + 1e-6).all(), "an outage is longer than the log"
    assert np.isfinite(rows.outage_min).all(), "an outage is no number"
    apart = int((~log.counted).sum()) + len(log.outside)
    assert len(left_out(log, zones, len(places.site_id))) == apart, "an outage is lost"


def _read_satellites(path: Path) -> None:
    from siteplan.inputs.satellites import MOST, read_satellites

    found = read_satellites(path)
    assert 0 < len(found) <= MOST, "too many satellites, or none"
    assert len({of.name.casefold() for of in found}) == len(found), "a name stands twice"
    for of in found:
        numbers = (of.longitude_deg, *of.levels.values(), *(of.neighbours_deg or ()))
        assert np.isfinite(numbers).all(), f"a figure is none: {numbers}"
        positions = (of.longitude_deg, *(of.neighbours_deg or ()))
        assert all(-180 <= lon <= 360 for lon in positions), f"out of range: {positions}"
        texts = (of.name, of.attribute, *of.files.values())
        check_column("texts", np.array(texts, dtype=object))


def _read_terrain(path: Path) -> None:
    from siteplan.planning.site.terrain import check_covers, terrain_at

    sites = _sites().sites
    check_covers(path, sites.lat, sites.lon)
    south, up = np.full(len(sites), 180.0), np.full(len(sites), 2.0)
    found = terrain_at(path, sites.lat, sites.lon, south, up)
    check_column("elevation_deg", found.elevation_deg)
    check_column("distance_m", found.distance_m)


def _read_overlay(path: Path) -> None:
    from siteplan.inputs.overlays import read_overlays

    for overlay in read_overlays(path.parent, (), [path]):
        _check_shapes(overlay.shapes)


def _read_area(path: Path) -> None:
    from siteplan.inputs.area import read_area

    area = read_area(path)
    assert area.is_valid, "the area is not valid"
    _check_shapes([area])


def _check_shapes(shapes: Any) -> None:
    import shapely

    assert np.isfinite(shapely.get_coordinates(list(shapes))).all(), "a shape is without end"


def _add_clouds(path: Path) -> None:
    from siteplan.jobs.maps import add_cloud_maps

    add_cloud_maps(path)


_READ = {
    "sites": _read_sites, "network": _read_network, "obstructions": _read_obstructions,
    "returned": _read_returned, "terrain": _read_terrain, "overlay": _read_overlay,
    "area": _read_area, "clouds": _add_clouds, "dish": _read_pattern,
    "outages": _read_outages, "satellites": _read_satellites,
}  # fmt: skip


def _whole(folder: Path, stem: str, path: Path) -> None:
    """Plan the file as a part of a project by the command; every row is in one of the tables."""
    from siteplan.cli import main

    project, out = folder / "project", folder / "out"
    (project / "overlays").mkdir(parents=True)
    for name in ("sites.csv", "network.toml"):
        if Path(name).stem != stem:
            (project / name).write_bytes(well_formed(name))
    path.rename(project / ("overlays" if stem == "overlay" else "") / path.name)
    told = io.StringIO()
    with contextlib.redirect_stdout(told), contextlib.redirect_stderr(told):
        code = main(["--debug", "plan", str(project), "--output", str(out), "--quiet"])
    assert code in (0, 1, 2), f"exit {code}: {told.getvalue()[-1500:]}"
    if code == 2 or stem != "sites":
        return
    rows = [_count(out / name) for name in ("sites.csv", "rejects.csv")]
    assert sum(rows) == _read_sites(next(project.glob("sites.*"))).rows_read, "rows are lost"


def _count(path: Path) -> int:
    with path.open(encoding="utf-8", newline="") as file:
        return len(list(csv.DictReader(file)))
