"""The sheets in a browser: two A4 pages at most, nothing cut off, no sideways scroll on a phone."""

from __future__ import annotations

import base64
import dataclasses
import io
import re
from collections.abc import Callable
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest
from pypdf import PdfReader

from siteplan.api import plan_sites, read_project
from siteplan.fields import FLAGS
from siteplan.outputs.assets import asset
from siteplan.outputs.sheets import words as sheet_words
from siteplan.outputs.sheets.context import PLANNERS
from siteplan.outputs.sheets.files import write_sheets
from siteplan.planning.rounds import rounds
from siteplan.results import Plan
from tests.outputs.pack import every_flag, with_pack
from tests.samples import LIVE, NAMES

pytestmark = pytest.mark.browser

#: A4 in points (ISO 216: 210 mm x 297 mm).
A4_POINTS = (595.3, 841.9)
#: Elements whose text is wider than they are, or that stick out of the page sideways.
CUT_OFF = """
const wide = document.documentElement.clientWidth;
return [...document.querySelectorAll('article *')].filter((e) => {
  if (e.closest('svg')) return false;
  const box = e.getBoundingClientRect();
  const block = getComputedStyle(e).display !== 'inline' && e.clientWidth > 0;
  return block && e.scrollWidth > e.clientWidth + 1 || box.right > wide + 1 || box.left < -1;
}).map((e) => e.tagName + ': ' + e.textContent.slice(0, 60));
"""
#: Texts of drawings that stick out of their drawing's frame.
OUTSIDE = """
return [...document.querySelectorAll('figure svg text')].filter((t) => {
  const box = t.getBoundingClientRect(), frame = t.closest('figure').getBoundingClientRect();
  return box.left < frame.left - 1 || box.right > frame.right + 1 || box.top < frame.top - 1;
}).map((t) => t.textContent);
"""


def write(plan: Plan, folder: Path) -> None:
    columns = plan.columns
    write_sheets(plan, rounds(columns["group"], columns["lat"], columns["lon"]), folder)


@pytest.fixture(scope="module")
def worst(make_plan: Callable[..., Plan], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every flag at once, the longest name, all fields, at elevations from 3 to 89 degrees."""
    lat = np.array([45.0, 52.0, 5.0, -30.0, 60.0, 40.0, -3.0, 20.0, 1.0, 78.0])
    lon = np.array([20.0, -20.0, 13.5, 40.0, 60.0, 13.0, 20.0, -10.0, 13.0, 20.0])
    folder = tmp_path_factory.mktemp("worst")
    zone = "America/Argentina/ComodRivadavia"
    plan = with_pack(make_plan(lat, lon), zone=zone, flags=every_flag())
    plan.columns["site_id"][8] = "ID" * 150
    plan.columns["group"][8] = "G" * 200
    write(longest(plan), folder)
    return folder


def longest(plan: Plan, **general: Any) -> Plan:
    """The plan with the longest texts of the network, contacts, and columns of the user's."""
    of, n = plan.network, len(plan)
    contacts = {f"{who}_{what}": "W" * most for who in ("operator", "planner")
                for what, most in (("name", 80), ("phone", 40))}  # fmt: skip
    columns = tuple(f"column_{k}_of_many" for k in range(8))
    network = of.model_copy(
        update={
            "satellite": of.satellite.model_copy(update={"name": "S" * 200}),
            "network": of.network.model_copy(update=general),
            "contacts": of.contacts.model_copy(update=contacts),
            "sheets": of.sheets.model_copy(
                update={"columns": columns, "lone_worker": "Never alone. " * 15}
            ),
        }
    )
    words = np.full(n, "By the quay, ring twice, the key is with the caretaker. " * 9, dtype=object)
    facts = dataclasses.replace(plan.facts, name="Network " * 25)
    return dataclasses.replace(
        plan, facts=facts, network=network, extra=MappingProxyType(dict.fromkeys(columns, words))
    )


#: Letter paper in points: 8.5 by 11 inches.
LETTER_POINTS = (612.0, 792.0)


@pytest.fixture(scope="module")
def worst_us(make_plan: Callable[..., Plan], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same with feet and pounds beside, on letter paper."""
    folder = tmp_path_factory.mktemp("worst_us")
    plan = make_plan(np.array([45.0, 78.0]), np.array([20.0, 20.0]))
    zone = "America/Argentina/ComodRivadavia"
    write(longest(with_pack(plan, zone=zone, flags=every_flag()), units="us"), folder)
    return folder


def test_letter_paper_and_other_units_take_two_pages(browser: Any, worst_us: Path) -> None:
    assert len(sites_of(worst_us)) == 2
    for path in sites_of(worst_us):
        reader = printed(browser, path)
        assert len(reader.pages) <= 2, path.name
        for page in reader.pages:
            assert [float(x) for x in page.mediabox[2:]] == pytest.approx(LETTER_POINTS, abs=1)
        assert "lbf" in reader.pages[1].extract_text() or "DO NOT" in reader.pages[0].extract_text()


def test_a_cover_is_one_page_and_so_are_the_assumed_figures(
    browser: Any, worst: Path, worst_us: Path, usual: Path
) -> None:
    """Where every kind of risk stands at the stops, their list may follow, whole."""
    for folder in (worst, worst_us, usual):
        for path in (folder / "groups").iterdir():
            pages = [page.extract_text() for page in printed(browser, path).pages]
            sheets = path.read_text("utf-8").count('<section class="page')
            assert sum("Before you leave" in text for text in pages) == 1
            assert "Before you leave" in pages[0]
            assert "Round:" in pages[0]
            assert "given by nobody" in pages[-1]
            assert len(pages) <= sheets + 2 + int(folder is not usual), path
            (risks,) = (text for text in pages if "Risks, and where" in text)
            assert len(re.findall("(?:Stop|Decide|More): ", risks)) == listed_risks(path)


def listed_risks(path: Path) -> int:
    """Return how many risks the cover of a group's file lists."""
    html = path.read_text("utf-8")
    return html[html.index("Risks, and where") : html.index("<article")].count("<li>")


@pytest.fixture(scope="module")
def usual(make_plan: Callable[..., Plan], tmp_path_factory: pytest.TempPathFactory) -> Path:
    lat, lon = np.array([45.0, 52.0, 5.0]), np.array([20.0, -20.0, 13.5])
    folder = tmp_path_factory.mktemp("usual")
    write(with_pack(make_plan(lat, lon), flags=("low_elevation",)), folder)
    return folder


@pytest.fixture(scope="module", params=NAMES)
def sample(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sample project: the sites with the longest names and with the most flags."""
    folder = tmp_path_factory.mktemp(request.param)
    project, site_list, network = read_project(LIVE / request.param)
    plan = plan_sites(site_list, network, name=project.name)
    longest = max(range(len(plan)), key=lambda i: len(plan.columns["name"][i]))
    flagged = max(range(len(plan)), key=lambda i: plan.columns["flags"][i].count(";"))
    worded = max(range(len(plan)), key=lambda i: len(plan.columns["flag_notes"][i]))
    chosen = rounds(*(plan.columns[k] for k in ("group", "lat", "lon")))[0]
    some = np.unique([longest, flagged, worded])
    write_sheets(plan, [chosen._replace(sites=some)], folder)
    return folder


def extremes(folder: Path) -> list[Path]:
    """The worst sheets to print: the usual place, the steepest beam, the lowest, the longest id."""
    chosen = [p for p in sites_of(folder) if p.stem in ("S00000", "S00002", "S00009")]
    return [*chosen, *(p for p in sites_of(folder) if p.stem.startswith("IDID"))]


def printed(browser: Any, path: Path) -> PdfReader:
    browser.open(path)
    options = {"preferCSSPageSize": True, "printBackground": True}
    data = browser.driver.execute_cdp_cmd("Page.printToPDF", options)["data"]
    return PdfReader(io.BytesIO(base64.b64decode(data)))


def sites_of(folder: Path) -> list[Path]:
    return sorted(p for p in folder.glob("*.html") if p.name != "index.html")


def check_print(browser: Any, path: Path) -> str:
    reader = printed(browser, path)
    assert len(reader.pages) <= 2, path.name
    for page in reader.pages:
        assert [float(x) for x in page.mediabox[2:]] == pytest.approx(A4_POINTS, abs=1)
    text = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    bare = "DO NOT INSTALL" in text
    assert bare or "TRANSMIT OFF" in text
    assert len(reader.pages) == (1 if bare else 2)
    assert "Site contact: name, signature" in text
    return text


def test_the_worst_sheets_take_two_pages(browser: Any, worst: Path) -> None:
    assert len(extremes(worst)) == 4
    for path in extremes(worst):
        text = check_print(browser, path).replace(" ", "")
        for code in every_flag():
            if FLAGS[code].severity != "note":
                shown = FLAGS[code].meaning.replace(" ", "") in text
                assert shown == (code not in PLANNERS), code
        for caution in sheet_words.CAUTIONS:
            assert caution.replace(" ", "")[:40] in text


def test_usual_sheets_take_two_pages_in_larger_type(browser: Any, usual: Path) -> None:
    for path in sites_of(usual):
        check_print(browser, path)
        assert re.search(r'class="sheet ("|dense")', path.read_text("utf-8"))


def test_sample_sheets_take_two_pages(browser: Any, sample: Path) -> None:
    assert sites_of(sample)
    for path in sites_of(sample):
        check_print(browser, path)


def test_a_groups_file_takes_two_pages_a_site(browser: Any, usual: Path) -> None:
    for path in (usual / "groups").iterdir():
        sites = path.read_text("utf-8").count("<article")
        assert len(printed(browser, path).pages) <= 2 * sites + 2  # cover, assumed figures


@pytest.mark.parametrize(("width", "height", "touch"), [(390, 844, True), (1366, 768, False)])
def test_nothing_is_cut_off_and_nothing_scrolls_sideways(
    browser: Any, worst: Path, width: int, height: int, touch: bool
) -> None:
    for path in sites_of(worst):
        browser.open(path, width=width, height=height, touch=touch)
        assert browser.run("return document.documentElement.scrollWidth") <= width
        assert browser.run(CUT_OFF) == []
        assert browser.run(OUTSIDE) == []


def test_nothing_is_cut_off_on_paper(browser: Any, worst: Path) -> None:
    """With the print style at the width of A4 less its margins (190 mm at 96 pixels an inch)."""
    browser.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        for path in sites_of(worst):
            browser.open(path, width=718, height=1050)
            assert browser.run(CUT_OFF) == []
            assert browser.run(OUTSIDE) == []
    finally:
        browser.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


def test_the_page_is_quiet_and_asks_for_nothing(browser: Any, worst: Path) -> None:
    browser.console()
    browser.requests()
    for path in [*sites_of(worst)[:2], worst / "index.html"]:
        browser.open(path)
        assert browser.run("return document.title") != "broken"
    assert browser.console() == []
    assert all(url.startswith(("file:", "data:")) for url in browser.requests())


def test_there_is_no_colour_on_the_sheet() -> None:
    """Black, white and greys only: a grey printer loses nothing."""

    for color in re.findall(r"#([0-9a-fA-F]{3,6})\b", asset("paper/page.css")):
        channels = {color[k : k + len(color) // 3] for k in range(0, len(color), len(color) // 3)}
        assert len(channels) == 1, color
