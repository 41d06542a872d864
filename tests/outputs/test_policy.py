"""What a page allows itself: its own scripts and styles as written, and nothing besides."""

from __future__ import annotations

import base64
import hashlib
import http.server
import threading
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from siteplan.outputs.map import page as map_page
from siteplan.outputs.map.payload import write_map
from siteplan.outputs.policy import PLACE, inline, source, under_policy
from siteplan.outputs.sheets.files import write_sheets
from siteplan.planning.rounds import rounds
from siteplan.results import Plan
from tests.outputs.pack import policy_of

#: The smallest picture there is: a pixel that is transparent (GIF89a).
PIXEL = base64.b64decode("R0lGODlhAQABAAAAACH5BAEKAAEALAAAAAABAAEAAAICTAEAOw==")
LAPTOP = {"width": 1366, "height": 768}


class Elements(HTMLParser):
    """The attributes of a page's elements, and what its scripts and styles hold."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.attributes: set[str] = set()
        self.inline: list[tuple[str, str]] = []
        self._open: tuple[str, bool] = ("", False)
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.attributes |= {name for name, _ in attrs}
        self._open = (tag, not dict(attrs).get("type"))

    def handle_data(self, data: str) -> None:
        tag, runs = self._open
        if tag in ("script", "style") and runs:
            self.inline.append((tag, data))
            self._open = ("", False)


@pytest.fixture(scope="module")
def pages(worked_plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The map with and without tiles, the sheets: one, a group's, the index."""
    folder = tmp_path_factory.mktemp("pages")
    write_map(worked_plan, folder / "map.html")
    write_map(worked_plan, folder / "tiles.html", tiles="https://t.example.org/{z}/{x}/{y}.png")
    columns = worked_plan.columns
    visits = rounds(columns["group"], columns["lat"], columns["lon"])
    write_sheets(worked_plan, visits, folder / "sheets")
    return {
        "map": folder / "map.html",
        "tiles": folder / "tiles.html",
        "sheet": next((folder / "sheets").glob("S*.html")),
        "group": next((folder / "sheets" / "groups").glob("*.html")),
        "index": folder / "sheets" / "index.html",
    }


EVERY = pytest.mark.parametrize("name", ["map", "tiles", "sheet", "group", "index"])


@EVERY
def test_scripts_and_styles_are_allowed_by_their_hashes_alone(
    pages: dict[str, Path], name: str
) -> None:
    text = pages[name].read_text("utf-8")
    rules = dict(policy_of(text))
    found = Elements(text).inline
    for kind in ("script", "style"):
        digests = [hashlib.sha256(t.encode()).digest() for k, t in found if k == kind]
        expected = [f"'sha256-{base64.b64encode(d).decode()}'" for d in digests]
        assert rules.get(f"{kind}-src", "").split() == expected
    assert len(found) == (8 if name in ("map", "tiles") else 1)
    assert "unsafe" not in text.split("</head>")[0].split("<style>")[0]
    assert rules["default-src"] == "'none'"


@EVERY
def test_no_element_has_a_style_or_a_handler_of_its_own(pages: dict[str, Path], name: str) -> None:
    found = Elements(pages[name].read_text("utf-8")).attributes
    assert "class" in found
    assert [a for a in sorted(found) if a == "style" or a.startswith("on")] == []


def test_no_script_gives_an_element_an_attribute_style() -> None:
    own = map_page.page_script()
    assert "style:" not in own.replace(" ", "")
    assert "cssText" not in own


def test_the_policy_stands_ahead_of_texts_of_users(pages: dict[str, Path]) -> None:
    text = map_page.render(PLACE, {"a": PLACE})
    assert f"<title>{PLACE}</title>" in text
    assert text.count(PLACE) == 2
    assert dict(policy_of(text))["default-src"] == "'none'"


def test_data_are_no_scripts() -> None:
    page = '<script type="application/json">{}</script><script>\n1 < 2\n</script><style>a</style>'
    assert list(inline(page)) == [("script", "\n1 < 2\n"), ("style", "a")]
    ruled = under_policy(f'<meta content="{PLACE}">{page}')
    assert ruled.endswith(page)
    assert f"script-src {source(chr(10) + '1 < 2' + chr(10))}; style-src {source('a')}; " in ruled


# --- in a browser ---------------------------------------------------------------------------


class Tiles(http.server.BaseHTTPRequestHandler):
    """Gives the same small picture for every tile."""

    def do_GET(self) -> None:
        self.send_response(200)
        self.send_header("Content-Type", "image/gif")
        self.end_headers()
        self.wfile.write(PIXEL)

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture(scope="module")
def tile_host() -> Iterator[str]:
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Tiles)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join()
    server.server_close()


#: All that a reader may open: the card, the table to its end and back, dialogs, dark, print.
WORK = """
siteplan.store.set({chosen: 3, hubLine: true});
for (const id of ['open-table', 'tab-find', 'tab-whatif', 'tab-view', 'set-dark', 'open-assumed']) {
  document.getElementById(id).click();
}
document.querySelectorAll('dialog[open] .close').forEach((button) => button.click());
window.dispatchEvent(new Event('beforeprint'));
window.dispatchEvent(new Event('afterprint'));
const frame = document.getElementById('table-frame');
frame.scrollTop = 2000;
"""


@pytest.mark.browser
@pytest.mark.parametrize("with_tiles", [False, True])
def test_the_map_works_under_its_policy(
    browser: Any, spread_plan: Plan, tile_host: str, tmp_path: Path, with_tiles: bool
) -> None:
    path = tmp_path / "map.html"
    write_map(spread_plan, path, tiles=f"{tile_host}/{{z}}/{{x}}/{{y}}.png" * with_tiles)
    browser.open(path, **LAPTOP)
    browser.run(WORK)
    browser.settle()
    gaps = "return [...document.querySelectorAll('#table .gap td')].map((td) => td.offsetHeight)"
    assert max(browser.run(gaps)) > 500, "room for the rows that are out of sight"
    browser.run("document.getElementById('table-frame').scrollTop = 0")
    browser.settle()
    loaded = "return document.querySelectorAll('.leaflet-tile-loaded').length"
    for _ in range(100):
        if not with_tiles or browser.run(loaded):
            break
        browser.settle()
    assert bool(browser.run(loaded)) is with_tiles
    assert browser.console() == []
    asked = {url.split("/")[2] for url in browser.requests() if url.startswith("http")}
    assert asked == ({tile_host.split("/")[2]} if with_tiles else set())


@pytest.mark.browser
@pytest.mark.parametrize("name", ["map", "sheet"])
def test_what_is_smuggled_in_neither_runs_nor_styles(
    browser: Any, pages: dict[str, Path], tmp_path: Path, name: str
) -> None:
    """As if a text of a user had got past the escaping."""
    smuggled = (
        "<script>document.title = 'ran'</script>"
        "<svg onload=\"document.title = 'ran'\"></svg>"
        '<p id="smuggled" style="width:77px">x</p><style>#smuggled { height: 77px }</style>'
    )
    text = pages[name].read_text("utf-8")
    head, body, rest = text.partition("<body>")
    (tmp_path / "page.html").write_text(head + body + smuggled + rest, "utf-8")
    browser.open(tmp_path / "page.html", **LAPTOP)
    box = browser.run("const b = document.getElementById('smuggled').getBoundingClientRect();"
                      "return [b.width, b.height]")  # fmt: skip
    assert browser.run("return document.title") != "ran"
    assert 77 not in box
    blocked = [row["message"] for row in browser.console()]
    assert len([m for m in blocked if "Content Security Policy" in m]) == 4


@pytest.mark.browser
@pytest.mark.parametrize("name", ["sheet", "group", "index"])
def test_sheets_keep_their_styles_and_the_console_is_empty(
    browser: Any, pages: dict[str, Path], name: str
) -> None:
    browser.open(pages[name], **LAPTOP)
    browser.driver.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    assert browser.run("return document.styleSheets[0].cssRules.length") > 20
    assert browser.console() == []
