"""The sheets as text: all that the crew needs, cautions everywhere, hostile texts as texts."""

from __future__ import annotations

import dataclasses
import re
import tracemalloc
from collections.abc import Callable
from html import unescape
from html.parser import HTMLParser
from pathlib import Path
from types import MappingProxyType, SimpleNamespace
from typing import Any

import numpy as np
import pytest
import zxingcpp
from numpy.typing import NDArray

from siteplan.fields import FIELDS
from siteplan.model import Assumption
from siteplan.network import Network
from siteplan.outputs.sheets import blocks as sheet_blocks
from siteplan.outputs.sheets import words as sheet_words
from siteplan.outputs.sheets.assumed import TABLES, listed
from siteplan.outputs.sheets.context import geo_uri
from siteplan.outputs.sheets.files import round_names, sheet_html, sheets, write_sheets
from siteplan.outputs.sheets.qr import qr_code
from siteplan.outputs.shown import label
from siteplan.results import Plan
from siteplan.words import CAVEAT
from tests.outputs.pack import every_flag, policy_of, with_pack

Rounds = list[Any]
#: Fields of the site pack.
PACK_GROUPS = ("mount", "sky", "cable", "exposure", "sun", "pointing")
PACK_FIELDS = [field for field in FIELDS.values() if field.group in PACK_GROUPS]


@dataclasses.dataclass(frozen=True)
class Round:
    group: str
    part: int
    sites: NDArray[np.int64]


class Text(HTMLParser):
    """The words of a page, and its tags."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.feed(page)

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


@pytest.fixture(scope="module")
def bare(make_plan: Callable[..., Plan]) -> Plan:
    lat = np.array([45.0, 52.0, 5.0, -30.0, 60.0, 40.0, -3.0, 20.0, 1.0, 38.0, -40.0])
    lon = np.array([20.0, -20.0, 13.5, 40.0, 60.0, 13.0, 20.0, -10.0, 13.0, -40.0, 175.0])
    return make_plan(lat, lon)


@pytest.fixture(scope="module")
def full(bare: Plan) -> Plan:
    return with_pack(bare, zone="Europe/Oslo", flags=every_flag())


def all_in_one(plan: Plan) -> Rounds:
    return [Round("north", 1, np.arange(len(plan)))]


def test_every_sheet_has_its_cautions_and_starts_with_transmit_off(bare: Plan, full: Plan) -> None:
    for plan in (bare, full):
        for site in range(len(plan)):
            page = Text(sheet_html(plan, site)).text
            if np.isnan(plan.columns["antenna_m"][site]):  # no kit: see test_no_kit.py
                assert all(caution in page for caution in sheet_words.CAUTIONS)
                continue
            abort = sheet_words.ABORT.format(wind="10 m/s")
            for caution in (*sheet_words.CAUTIONS, abort, *sheet_words.PHOTOS):
                assert caution in page
            assert page.index("TRANSMIT OFF") < page.index("Peak and accept")
            for word in ("Polarization peaked", "Cross-polar isolation", "Compression checked"):
                assert word in page


def test_no_figure_of_wind_ballast_or_exposure_without_its_caveat(full: Plan) -> None:
    """Each of the fields that the dictionary marks stands in a block that has the caveat."""
    grave = [f for f in FIELDS.values() if f.group in ("mount", "exposure")]
    marked = [f.name for f in grave if CAVEAT in f.meaning]
    assert {"ballast_kg", "wind_drag_n", "public_distance_m"} <= set(marked)
    placed = {*sheet_blocks.WIND, *sheet_blocks.BARE_LOADS, *sheet_blocks.EXPOSURE}
    assert set(marked) <= placed
    page = unescape(sheet_html(full, 0))
    blocks = re.split(r"<section", page)
    for name in marked:
        label = FIELDS[name].label
        holding = [b for b in blocks if f"<dt>{label}</dt>" in b]
        assert holding, name
        assert all(CAVEAT in block for block in holding), name
    parts = next(b for b in blocks if "<h2>Parts</h2>" in b)
    assert re.search(rf"Ballast \d+ kg \({re.escape(CAVEAT)}\)", parts)


def test_values_are_those_of_the_plan(full: Plan) -> None:
    page = Text(sheet_html(full, 0)).text
    for name in ("azimuth_true_deg", "elevation_deg"):
        assert f"{full.columns[name][0]:.2f}°" in page
    assert f"{full.columns['azimuth_magnetic_deg'][0]:.1f}°" in page
    assert FIELDS["azimuth_magnetic_deg"].source in page
    assert str(full.facts.date) in page
    for part in ("10° E", "16° E", "19.2° E"):
        assert f"{part}, " in page
    assert "Europe/Oslo" in page
    assert "27 Feb 2026 to 5 Mar 2026" in page


def test_the_wind_basis_of_the_plan_is_printed(full: Plan) -> None:
    assert "10-minute mean" in Text(sheet_html(full, 0)).text
    rules = full.network.rules.model_copy(update={"wind_basis": "gust_3s"})
    gust = dataclasses.replace(full, network=full.network.model_copy(update={"rules": rules}))
    page = Text(sheet_html(gust, 0)).text
    assert "3-second gust" in page
    assert "10-minute mean" not in page


@pytest.mark.parametrize(
    ("source", "assumed", "told"),
    [
        ("assumed", (), "the network file"),
        ("assumed", ("site.wind_m_s",), "assumed"),
        ("given", (), "given"),
    ],
)
def test_only_where_the_wind_comes_from_is_said_of_the_network(
    source: str, assumed: tuple[str, ...], told: str
) -> None:
    class Values(dict[str, str]):
        def rows(self, *_: str) -> list[tuple[str, str]]:
            return [("Drag", "900 N"), (label("wind_source"), self["wind_source"])]

    plan: Any = SimpleNamespace(assumptions=[SimpleNamespace(key=key) for key in assumed])
    values: Any = Values(wind_source=source)
    assert sheet_blocks._wind(plan, values) == [("Drag", "900 N"), (label("wind_source"), told)]


def test_absent_fields_leave_their_blocks_out(bare: Plan) -> None:
    columns = {k: v for k, v in bare.columns.items() if FIELDS.get(k) not in PACK_FIELDS}
    page = Text(sheet_html(dataclasses.replace(bare, columns=MappingProxyType(columns)), 0)).text
    for heading in ("Wind and ballast", "Cable and power", "Keep out of the beam",
                    "Sun behind the satellite", "Check the compass by the sun"):  # fmt: skip
        assert heading not in page
    assert "nan" not in page.lower().split()
    assert "Azimuth from true north" in page


def test_a_site_that_does_not_see_the_satellite_has_a_sheet_without_angles(full: Plan) -> None:
    unseen = int(np.flatnonzero(np.isnan(full.columns["elevation_deg"]))[0])
    page = Text(sheet_html(full, unseen)).text
    assert "Azimuth from true north" not in page
    assert "The satellite is below the horizon" in page
    assert page.index("DO NOT INSTALL") < page.index("If you survey here again")


def test_how_many_figures_were_assumed_and_where_they_stand(full: Plan, tmp_path: Path) -> None:
    """A count on each sheet; the figures in words, once, behind the last sheet of the group."""
    page = Text(sheet_html(full, 0)).text
    count = len(full.assumptions)
    assert f"Given by nobody: the altitude is from P.1511; {count} figures, in words" in page
    assert "1500 Pa/m" not in page
    write_sheets(full, all_in_one(full), tmp_path)
    (file,) = (tmp_path / "groups").iterdir()
    told = file.read_text("utf-8")
    last = Text(told[told.rindex("</article>") :]).text
    assert f"{count} figures behind these sheets" in last
    assert "Of the site 1500 Pa/m" in last
    assert told.count("Assumed, given by nobody") == 1
    assert "Assumed, given by nobody" not in (tmp_path / "S00000.html").read_text("utf-8")


def test_a_plan_that_assumes_nothing_has_no_page_of_it(full: Plan, tmp_path: Path) -> None:
    columns = {**full.columns, "altitude_source": np.full(len(full), "given", dtype=object)}
    plan = dataclasses.replace(full, assumptions=(), columns=MappingProxyType(columns))
    write_sheets(plan, all_in_one(plan), tmp_path)
    text = "".join(path.read_text("utf-8") for path in tmp_path.rglob("*.html"))
    assert "by nobody" not in text


def test_every_table_of_the_network_file_has_a_heading_that_people_use() -> None:
    assert set(TABLES) == set(Network.model_fields)
    assert not [name for key, name in TABLES.items() if name == key or "_" in name]


@pytest.mark.parametrize(
    ("value", "unit", "told"),
    [("as at the sites", "dB", "as at the sites"), ("not counted", "dBW/40 kHz", "not counted"),
     ("2.5", "dB", "2.5 dB"), ("[0, 1]", "dB", "0, 1 dB")],
)  # fmt: skip
def test_a_unit_stands_behind_figures_alone(full: Plan, value: str, unit: str, told: str) -> None:
    of = Assumption("costs.x", value, unit, "What it is; more of it")
    ((_, said),) = listed(dataclasses.replace(full, assumptions=(of,)))[0]["rows"]
    assert said == told


def test_hostile_names_are_text_and_nothing_is_fetched(
    full: Plan, hostile_names: tuple[str, ...], tmp_path: Path
) -> None:
    assert write_sheets(full, all_in_one(full), tmp_path) == len(full)
    for path in tmp_path.rglob("*.html"):
        page = path.read_text("utf-8")
        found = Text(page)
        tags = {tag for tag, _ in found.tags}
        assert not tags & {"script", "img", "iframe", "object", "embed", "form", "base"}
        assert "//" not in page
        assert "url(" not in page
        for _, attributes in found.tags:
            assert not any(name == "style" or name.startswith("on") for name in attributes)
        assert [rule for rule, _ in policy_of(page)] == [
            *("default-src", "style-src", "img-src", "base-uri", "form-action"),
        ]
    index = Text((tmp_path / "index.html").read_text("utf-8")).text
    for name in hostile_names[:4]:
        assert " ".join(name.split()) in index


def test_links_of_the_index_lead_to_files(full: Plan, tmp_path: Path) -> None:
    write_sheets(full, all_in_one(full), tmp_path)
    links = [a["href"] for t, a in Text((tmp_path / "index.html").read_text("utf-8")).tags
             if t == "a"]  # fmt: skip
    assert len(links) == len(full) + 1
    assert all((tmp_path / str(link)).is_file() for link in links)


def test_group_files_hold_their_sites_in_visiting_order(full: Plan, tmp_path: Path) -> None:
    order = np.array([4, 0, 7])
    write_sheets(full, [Round("a/b", 1, order), Round("a/b", 2, np.array([1]))], tmp_path)
    pages = {
        tuple(re.findall(r'<article class="[^"]*" id="([^"]*)"', page)): Text(page).text
        for page in (path.read_text("utf-8") for path in (tmp_path / "groups").iterdir())
    }
    ids = full.columns["site_id"]
    assert set(pages) == {tuple(ids[order]), (ids[1],)}
    assert re.findall(r"visit \d of \d", pages[tuple(ids[order])]) == [
        f"visit {k} of 3" for k in (1, 2, 3)
    ]


def test_round_names_are_apart() -> None:
    stops = [Round(g, p, np.arange(2)) for g, p in (("", 1), ("no_group", 1), ("x", 1), ("x", 2),
                                                    ("x-2", 1), ("X", 1))]  # fmt: skip
    names = round_names(stops)
    assert len({name.casefold() for name in names}) == len(stops)


@pytest.mark.parametrize(
    ("lat", "lon", "uri"),
    [
        (-4.25828, -69.95038, "geo:-4.258280,-69.950380"),
        (0.0, 0.0, "geo:0.000000,0.000000"),
        (71.123456, 179.999999, "geo:71.123456,179.999999"),
        (-0.0000004, 12.5, "geo:0.000000,12.500000"),  # RFC 5870, 3.4.2: no minus zero
    ],
)
def test_the_qr_code_reads_as_a_geo_uri(lat: float, lon: float, uri: str) -> None:
    """Latitude first (RFC 5870, 3.3); read by an independent reader (zxing-cpp) from the lines."""
    found = zxingcpp.read_barcodes(_pixels(qr_code(geo_uri(lat, lon))))
    assert [code.text for code in found] == [uri]


def _pixels(svg: str) -> NDArray[np.uint8]:
    """Draw the horizontal strokes of the code's path, 6 pixels a module."""
    size = int(re.findall(r'viewBox="0 0 (\d+) ', svg)[0])
    image = np.full((size, size), 255, dtype=np.uint8)
    x = y = 0.0
    for command, a, b in re.findall(r"([Mmh])(-?[\d.]+)(?: (-?[\d.]+))?", svg.split(' d="')[1]):
        if command == "h":
            image[int(y), int(x) : int(x + float(a))] = 0
            x += float(a)
        else:
            x, y = (float(a), float(b)) if command == "M" else (x + float(a), y + float(b))
    return np.kron(image, np.ones((6, 6), dtype=np.uint8))


def test_sheets_are_made_one_at_a_time(make_plan: Callable[..., Plan], tmp_path: Path) -> None:
    """Memory does not grow with the number of sheets: 60 take little more than 10."""
    rng = np.random.default_rng(1)
    plan = with_pack(make_plan(rng.uniform(-30, 50, 60), rng.uniform(0, 40, 60)))
    write_sheets(plan, [Round("g", 1, np.arange(2))], tmp_path / "first")  # with what is made once
    peaks = []
    for count in (10, 60):
        tracemalloc.start()
        write_sheets(plan, [Round("g", 1, np.arange(count))], tmp_path / str(count))
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] < peaks[0] + 200_000  # a sheet has some 40 kB
    stream = sheets(plan, Round("g", 1, np.arange(60)), {i: str(i) for i in range(60)})
    assert next(stream).site == 0


def test_progress_is_told_after_each(full: Plan, tmp_path: Path) -> None:
    told: list[int] = []
    write_sheets(full, all_in_one(full), tmp_path, progress=told.append)
    assert told == list(range(1, len(full) + 1))


def test_every_field_of_the_pack_finds_a_place_or_is_left_out_on_purpose() -> None:
    shown = {*sheet_blocks.ACCEPT, *(name for _, name in sheet_blocks.STEPS), *sheet_blocks.BUILD,
             *sheet_blocks.WIND, *sheet_blocks.BARE_LOADS, *sheet_blocks.CABLE,
             *sheet_blocks.EXPOSURE, *sheet_blocks.SUN}  # fmt: skip
    elsewhere = {"mount", "mount_certainty", "mount_question", "mount_reason",
                 "mount_options", "cable_advice", "exposure_rule", "cable_clad_steel",
                 "horizon_at_satellite_deg", "clearance_deg", "stand_off_per_m",
                 "stand_off_from", "exposure_basis",
                 "inclinometer_deg", "sun_peak_local", "loss_0_1_deg_db", "expected_c_n_db",
                 "acceptance_c_n_db"}  # fmt: skip
    left_out = {"horizon_source", "obstacle_kind", "beamwidth_deg", "sun_first_day", "sun_peak_utc",
                "sun_last_day", "sun_days"}  # fmt: skip
    pack = {field.name for field in PACK_FIELDS}
    assert pack <= shown | elsewhere | left_out


def test_a_minus_zero_is_a_zero(full: Plan) -> None:
    columns = {**full.columns, "skew_deg": np.full(len(full), -0.01)}
    plan = dataclasses.replace(full, columns=MappingProxyType(columns))
    assert "-0.0" not in Text(sheet_html(plan, 0)).text
