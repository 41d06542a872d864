"""Sheets, drawings, pages and lists as they were when they were last looked at and found right.

What the other tests ask figure by figure, these ask of everything beside: each word, line and
shape. A page that should change fails here once. It is kept anew in ``tests/outputs/kept`` by

    SITEPLAN_KEEP=1 pytest tests/outputs/test_kept.py

and the difference in the commit is what is looked at. Texts must be the same. Numbers may differ
by one in the last digit, as processors round.
"""

from __future__ import annotations

import dataclasses
import math
import os
import re
from collections.abc import Callable
from pathlib import Path
from types import MappingProxyType

import numpy as np
import pytest

from siteplan.fields import ASBUILT_FIELDS, COMPARE_FIELDS, FIELDS
from siteplan.model import ColumnRead, Note, NoteKind, NoteLine, Reject, RejectKind
from siteplan.outputs import console
from siteplan.outputs.asbuilt.files import page as asbuilt_page
from siteplan.outputs.console.site import SITE_BLOCKS
from siteplan.outputs.lists.kit import write_kit
from siteplan.outputs.lists.returned import write_blank
from siteplan.outputs.lists.sun import write_sun_calendars, write_sun_table
from siteplan.outputs.lists.tracks import write_gpx, write_kml
from siteplan.outputs.map.page import render
from siteplan.outputs.sheets.drawings import compass_rose, obstacle_view, side_view, skew_view
from siteplan.outputs.sheets.files import sheet_html, write_sheets
from siteplan.outputs.sheets.skyplot import Sky, sky_plot
from siteplan.planning.report.verdict import answered
from siteplan.results import AsBuilt, Plan
from tests.frozen.compare import same_text
from tests.outputs.pack import every_flag, with_pack
from tests.outputs.read_back.unlike import unlike_plan

KEPT = Path(__file__).parent / "kept"
NAN = math.nan


def same(name: str, told: str) -> None:
    """Hold a page against the kept one, line by line."""
    path = KEPT / f"{name}.txt"
    if os.environ.get("SITEPLAN_KEEP"):
        path.write_text(told, encoding="utf-8", newline="\n")
    kept = path.read_text(encoding="utf-8").split("\n")
    lines = told.replace("\r\n", "\n").split("\n")
    for number, (now, then) in enumerate(zip(lines, kept, strict=False), start=1):
        assert same_text(then, now, exact=False), f"{path.name}, line {number}: {then!r}, {now!r}"
    assert len(lines) == len(kept)


def tags(markup: str) -> str:
    """Return markup a tag a line."""
    lines = re.sub(r"\s*\n\s*", " ", markup).replace("<", "\n<").split("\n")
    return "\n".join(line.rstrip() for line in lines)


#: Drawings at angles of both signs and at both ends, and with nothing known.
DRAWINGS = {
    "rose": [
        compass_rose(azimuth, declination)
        for azimuth, declination in ((213.37, -11.3), (33.3, 19.7), (351.2, 2.3), (9.7, 2.3),
                                     (100.3, NAN), (NAN, 4.3))
    ],
    "side": [
        side_view(elevation, offset, rim)
        for elevation, offset, rim in ((44.37, 22.3, 22.07), (9.83, 24.5, -14.67), (60.3, 0, NAN),
                                       (21.9, NAN, NAN), (22.1, 22.07, 0.03), (88.3, 0.0, 88.3))
    ],
    "skew": [
        skew_view(skew, behind=behind)
        for skew in (31.3, -64.7, 3.3, 0.03) for behind in (True, False)
    ],
    "obstacle": [
        obstacle_view(elevation, heights, away)
        for elevation, heights, away in ((23.0, (3, 5, 10), (0.0, 7.12, 31.01)),
                                         (4.0, (5, 20), (71.3, NAN)), (80.0, (), ()))
    ],
    "sky": [
        sky_plot(sky)
        for sky in (
            Sky(213.3, 41.7, (0.0, 3.3, 12.7, 0.0, 0.0, 95.0, 40.3, 1.3),
                tuple((f"{h:02d}:00", 15.3 * h, 3.7 * (h - 5)) for h in range(5, 14))),
            Sky(33.3, 12.3), Sky(NAN, NAN, (), (("12:00", 180.3, 50.3),)),
        )
    ],
}  # fmt: skip


@pytest.mark.parametrize("name", DRAWINGS)
def test_drawings(name: str) -> None:
    same(name, "\n".join(tags(svg) for svg in DRAWINGS[name]))


def without_drawings(html: str) -> str:
    return re.sub(r"<svg.*?</svg>", "<svg/>", html, flags=re.DOTALL)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return unlike_plan()


@pytest.fixture(scope="module")
def full(make_plan: Callable[..., Plan]) -> Plan:
    plan = make_plan(np.array([45.0, 40.0, 5.0]), np.array([20.0, -75.0, 13.5]))
    return with_pack(plan, zone="Europe/Oslo", flags=every_flag())


@pytest.mark.parametrize("site", range(3))
def test_sheets_of_unlike_sites(plan: Plan, site: int) -> None:
    same(f"sheet_{site}", tags(without_drawings(sheet_html(plan, site))))


@pytest.mark.parametrize("site", range(2))
def test_sheets_at_their_longest(full: Plan, site: int) -> None:
    """With every flag; the second site is below the horizon."""
    same(f"sheet_long_{site}", tags(without_drawings(sheet_html(full, site))))


def test_sheets_of_a_plan_without_the_pack(make_plan: Callable[..., Plan]) -> None:
    plan = make_plan(np.array([45.0, 52.0]), np.array([20.0, -20.0]))
    same("sheet_bare", tags(without_drawings(sheet_html(plan, 1))))


@dataclasses.dataclass(frozen=True)
class Round:
    group: str
    part: int
    sites: np.ndarray


def test_the_folder_of_sheets(tmp_path: Path, plan: Plan) -> None:
    rounds = [Round("", 1, np.array([2])), Round("north", 2, np.array([1, 0]))]
    assert write_sheets(plan, rounds, tmp_path) == 3
    told = [path.relative_to(tmp_path).as_posix() for path in sorted(tmp_path.rglob("*.html"))]
    html = (tmp_path / "index.html").read_text(encoding="utf-8")
    titles = [re.findall(r"<title>.*?</title>", (tmp_path / name).read_text()) for name in told]
    index = re.sub(r"<style>.*?</style>", "<style/>", html, flags=re.DOTALL)
    same("sheets", "\n".join([*map(str, zip(told, titles, strict=True)), tags(index)]))


def test_lists(tmp_path: Path, plan: Plan) -> None:
    write_kit(answered(plan), tmp_path / "kit.csv")
    write_blank(plan, tmp_path / "returned.csv")
    write_kml(plan, tmp_path / "sites.kml")
    write_gpx(plan, tmp_path / "sites.gpx")
    for path in sorted(tmp_path.iterdir()):
        told = path.read_bytes().decode("utf-8-sig")
        same(f"list_{path.suffix[1:]}_{path.stem}", told.replace("\r\n", "\n"))


def test_the_sun_s_table_and_calendar(tmp_path: Path, full: Plan) -> None:
    """The second of writing is left out."""
    columns = dict(full.columns)
    columns["group"] = np.array(["b", "a", "b"], dtype=object)
    grouped = dataclasses.replace(full, columns=MappingProxyType(columns))
    write_sun_table(grouped, tmp_path / "sun.csv")
    write_sun_calendars(grouped, tmp_path)
    for path in sorted(tmp_path.iterdir()):
        lines = path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n").split("\n")
        kept = [line for line in lines if not line.startswith("DTSTAMP")][:120]
        same(f"sun_{path.suffix[1:]}_{path.stem}", "\n".join(kept))


def test_what_came_back(full: Plan) -> None:
    n = len(full)
    columns = {}
    for k, (name, field) in enumerate(ASBUILT_FIELDS.items()):
        given = full.columns.get(name)
        invented = [f"{name} {i}" for i in range(n)] if field.is_text else [
            (k + 1.37 * i) * (-1) ** i for i in range(n)]  # fmt: skip
        kind = object if field.is_text else float
        columns[name] = np.array(invented, dtype=kind) if given is None else given
    columns["verdict"] = np.array(["accepted", "not accepted", "incomplete"], dtype=object)
    columns["causes"] = np.array(["", "mispointed;wet_cable", ""], dtype=object)
    reject = Reject(7, "X1", "c_n_db", "99", "back.csv: c_n_db 99 looks odd", "Give the value.")
    back = AsBuilt(columns, full, full, (reject,), 1, ("M1", "M2"))
    html = re.sub(r"<style>.*?</style>", "<style/>", asbuilt_page(back), flags=re.DOTALL)
    same("asbuilt", tags(html))


def test_the_map_s_page_around_its_data() -> None:
    """Scripts, styles and data are read elsewhere; here what stands around them."""
    for tiles in ("", "https://tiles.example.org/{z}/{x}/{y}.png"):
        html = render("A <title>", {"a": 1}, tiles=tiles, plain=True)
        html = re.sub(r"(<(script|style)[^>]*>).*?(</\2>)", r"\1\3", html, flags=re.DOTALL)
        html = re.sub(r"sha256-[\w+/=]+", "sha256-x", html)
        html = re.sub(r'"data:[^"]*"', '"data:x"', html)
        same(f"map_{'tiles' if tiles else 'plain'}", tags(html))


SUMMARY = {
    "name": "Invented", "sites": 3, "rows_read": 4, "rejected": 1, "availability_pct": 99.5,
    "satellite_lon_deg": -30.5,
    "counts": {"margin_class": {"< 0 dB": 1, "0 to 1 dB": 2}, "antenna_m": {"1.2": 2, "none": 1},
               "mount": {"pole": 3}, "provisional_mount": {"pole": 2},
               "limiting_end": {"site": 2, "hub": 1}},
    "cautions": ["The hub stands in the rain."], "remarks": ["Two sites rest on little."],
    "verdict": {"lines": ["Served: 1 of 3", "Not served: Hill and 1 more", "Antennas: 2 × 1.2 m"]},
    "worst": [{"site_id": "B", "name": "Hill", "margin_db": None, "margin_after_reserve_db": None,
               "reason": "not in view"},
              {"site_id": "C", "name": "", "margin_db": 2.04, "margin_after_reserve_db": -0.002,
               "reason": "holds", "tried_antenna_m": 1.2, "tried_buc_w": 2.0}],
    "assumed": [{"key": "rules.reserve_db", "value": "1", "unit": "dB", "meaning": "Left over"}],
    "limits": ["First.", "Second.", "Third."], "crew": "Sheets for the crew.",
    "clouds": {"current": True, "maps": "maps of 2023"}, "methods": {"cloud": "P.840-9"},
}  # fmt: skip


def test_the_terminal_s_pages(full: Plan, capsys: pytest.CaptureFixture[str]) -> None:
    """One after another, each with its defaults."""
    console.show_summary(SUMMARY, "out")
    console.show_assumed(SUMMARY["assumed"])
    console.show_assumed(SUMMARY["assumed"], all_of_them=True)
    console.show_checked("fjord", rows_read=9, good=7, rejected=2, noted=1)
    console.show_rejects([Reject(k, f"S{k}", "lat", "x", "it is none", "Mend") for k in range(2)])
    doubt = Note.of("note.input_mended.no_id", count=2, rows=9, example="S1")
    reject = Reject(3, "S3", "lon", "y", "it is none", "Mend")
    console.show_columns([ColumnRead("Breite", "lat", 7, 2, "1.25", None),
                          ColumnRead("x" * 40, "free", 9, 0, "", None)])  # fmt: skip
    console.show_reject_kinds([RejectKind(reject, 4, (3, 5, 8))])
    console.show_kinds([NoteKind("warn", 2, (4, 6), "doubted"), NoteKind("note", 0, (), "told")],
                       where="in notes.csv")  # fmt: skip
    console.show_notes([NoteLine(None, "", doubt), NoteLine(4, "S2", doubt)])
    console.show_coverage({"margin_db": [("below 0 dB", 12.34), ("more", 87.66)],
                           "elevation_deg": [("all", 100)]}, "A note.")  # fmt: skip
    console.show_written(12345, ["a.gpkg", "b.geojson"], "out")
    console.show_written(7, ["a.tif"], "out")
    console.show_maps([("rain", "P.837-7", "a source"), ("rain height", "P.839-4", "another")])
    columns = {k: v for k, v in full.columns.items() if k not in COMPARE_FIELDS}
    for k, name in enumerate(name for _, names in SITE_BLOCKS for name in names):
        columns.setdefault(name, np.array([k + 1.25] * len(full)))
    for k, name in enumerate(name for name in columns if name not in FIELDS):
        columns[name] = np.array([k - 0.75] * len(full))
    for key in ("no_fit_reason", "flag_notes"):
        columns[key] = np.array([f"A sentence of {key}."] * len(full), dtype=object)
    console.show_site(dataclasses.replace(full, columns=MappingProxyType(columns)))
    told = "\n".join(line.rstrip() for line in capsys.readouterr().out.split("\n"))
    same("console", told)
