"""Readers of what the outputs hold: each figure by the label that stands beside it.

A reader knows nothing of the code that wrote the page. It returns ``{(block, label): text}``;
what stands under no label that it knows comes back under its own words, so that a test of the
labels sees it.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import gpxpy
import icalendar
import numpy as np
import zxingcpp
from lxml import etree, html
from numpy.typing import NDArray

Boxes = dict[tuple[str, str], str]
Point = tuple[float, float]


def _text(element: Any) -> str:
    return " ".join(element.text_content().split())


def find(element: Any, path: str) -> list[Any]:
    """Return what lies below an element on a path such as ``dl.rows dt``: tags and classes."""
    steps = []
    for step in path.split():
        tag, *classes = step.split(".")
        tests = [f"[contains(concat(' ', @class, ' '), ' {name} ')]" for name in classes]
        steps.append((tag or "*") + "".join(tests))
    found: list[Any] = element.xpath(".//" + "//".join(steps))
    return found


# --- the crew's sheet -----------------------------------------------------------------------


class Sheet:
    """One site's sheet: its boxes, its drawings, and the words that stand in no box."""

    def __init__(self, page: Any) -> None:
        self.boxes: Boxes = {}
        self.root = html.fragment_fromstring(page) if isinstance(page, str) else page
        for read in (self._head, self._angles, self._figures, self._blocks, self._fixed):
            read()
        self.rest = _text(self.root)

    def _take(self, element: Any) -> str:
        """Return an element's text and leave it out of the rest."""
        text = _text(element)
        element.drop_tree()
        return text

    def _put(self, block: str, label: str, text: str) -> None:
        assert (block, label) not in self.boxes, f"{label} stands twice under {block}"
        self.boxes[block, label] = text

    def _head(self) -> None:
        (head,) = find(self.root, "header")
        (code,) = find(head, ".qr svg")
        self._put("head", "QR code", read_qr(etree.tostring(code, encoding="unicode")))
        self._put("head", "under the QR code", self._take(find(head, ".qr")[0]))
        self._put("head", "name", self._take(find(head, "h1")[0]))
        people = [_text(cell) for rows in find(head, "dl.people") for cell in rows]
        for who, told in zip(people[::2], people[1::2], strict=True):
            self._put("people", who, told)
        network, *pieces = [p for line in find(head, "p") for p in _text(line).split(" · ")]
        self._put("head", "network", network)
        self._take(head)
        for piece in pieces:
            for pattern, label in HEAD:
                found = re.fullmatch(pattern, piece)
                if found:
                    self._put("head", label, found[1])
                    break
            else:
                self._put("head", piece, piece)
        self._put("page 2", "head", self._take(find(find(self.root, ".page")[1], "p")[0]))
        for over in find(self.root, ".banner"):
            told = self._take(over)
            kinds = {"STANDS ALREADY": "stands", "STOP": "stop"}
            kind = next((kind for word, kind in kinds.items() if word in told), "banner")
            self._put("head", kind, told)
        for k, item in enumerate(find(self.root, "ul.flags li")):
            self._put("head", f"flag {k + 1}", self._take(item))

    def _angles(self) -> None:
        for box in find(self.root, "dl.angles div"):
            label = _text(find(box, "dt")[0])
            self._put("angles", label, _text(find(box, ".big")[0]))
            for note in find(box, ".note"):
                self._put("angles", f"{label}, note", _text(note))
            box.drop_tree()

    def _figures(self) -> None:
        self.drawings: dict[str, Any] = {}
        for figure in find(self.root, ".drawings figure"):
            titles = []
            for drawing in find(figure, "svg"):
                title, _, rest = drawing.get("aria-label").partition(": ")
                titles.append(title)
                self.drawings[title] = drawing
                self._put("drawing", title, rest)
            for table in find(figure, "table"):
                titles = [_text(find(figure, "b")[0])]
                rows = [[_text(cell) for cell in find(row, "td")] for row in find(table, "tr")]
                cells = [row[k : k + 3] for k in (0, 3) for row in rows if row and row[k]]
                self._put(titles[0], "hours", "; ".join(" ".join(cell) for cell in cells))
                self._put(titles[0], "day", _text(find(figure, "span")[0]))
            self._put("caption", titles[0], _text(find(figure, "figcaption")[0]))
            figure.drop_tree()

    def _blocks(self) -> None:
        for section in find(self.root, "section.block"):
            heading = self._take(find(section, "h2")[0])
            block, _, told = heading.partition(": ")
            if told:
                self._put(block, "heading", told)
            seasons = 0
            for name, value in self._pairs(section):
                if re.fullmatch(r"\d+ \w{3} \d{4} to \d+ \w{3} \d{4}", name):
                    seasons += 1
                    self._put(block, f"season {seasons}", f"{name}: {value}")
                else:
                    self._put(block, name, value)
            self._lines(section, block)

    @staticmethod
    def _pairs(section: Any) -> Iterator[tuple[str, str]]:
        for rows in find(section, "dl.rows"):
            cells = [_text(cell) for cell in rows]
            yield from zip(cells[::2], cells[1::2], strict=True)
            rows.drop_tree()
        for table in find(section, "table.tune"):
            for row in find(table, "tr")[1:]:
                name, receive, transmit = (_text(cell) for cell in row)
                yield f"{name}, receive", receive
                yield f"{name}, transmit", transmit
            table.drop_tree()
        for table in find(section, "table.measured"):
            for row in find(table, "tr")[1:]:
                name, planned, _ = (_text(cell) for cell in row)
                yield name, planned
            table.drop_tree()

    def _lines(self, section: Any, block: str) -> None:
        """Read the lines of a block that carry figures of the site: lists and small print."""
        for label, path in LINES.get(block, {}).items():
            found = [self._take(line) for line in find(section, path)]
            if found:
                self._put(block, label, " | ".join(found))

    def _fixed(self) -> None:
        for line in find(self.root, "p.count"):
            self._put("foot", "assumed", self._take(line))
        for item in find(self.root, "li"):
            if _text(item).startswith("Cross-polar isolation"):
                self._put("Access test", "Cross-polar isolation", self._take(item))


def sheets_of(path: Path) -> list[Sheet]:
    """Return the sheets that a file holds, in order."""
    return [Sheet(article) for article in find(html.parse(path).getroot(), "article")]


def links_of(path: Path) -> list[tuple[str, str]]:
    """Return the links of a page: their words and where they lead."""
    return [(_text(a), a.get("href")) for a in find(html.parse(path).getroot(), "a")]


#: Pieces of the sheet's head, and what each is.
HEAD = (
    (r"group (.+)", "group"),
    (r"visit (.+)", "visit"),
    (r"Site (.+)", "Site"),
    (r"priority (.+)", "priority"),
    (r"(.+) above sea level", "above sea level"),
    (r"Satellite (.+)", "Satellite"),
    (r"plan of (.+)", "plan of"),
    (r"install (.+)", "install"),
    (r"(\S+° [A-Z] \S+° [A-Z])", "place"),
)
#: Lines of the sheet's blocks that carry figures of the site, as CSS paths.
LINES = {
    "Kit and carriers": {"mind": "p.mind"},
    "Peak and accept": {"for 0.1 degree": "p.steps", "Not these": "p.small"},
    "Mount": {
        "made fast": "ul.made-fast li",
        "options": "ul.small li",
        "question": "p.ask",
        "reason": "p",
    },
    "Wind and ballast": {"no factor": "p.bare", "basis": "p.small"},
    "Parts": {"parts": "li"},
    "Cable and power": {"clad steel": "p.steel", "advice": "p.small"},
    "Keep out of the beam": {"rule": "p.small"},
    "The flags in words": {"notes": "p.small"},
}


def read_qr(svg: str) -> str:
    """Return what a drawn QR code says, read by zxing-cpp from its horizontal strokes."""
    size = int(re.findall(r'(?i)viewBox="0 0 (\d+) ', svg)[0])
    image: NDArray[np.uint8] = np.full((size, size), 255, dtype=np.uint8)
    x = y = 0.0
    for command, a, b in re.findall(r"([Mmh])(-?[\d.]+)(?: (-?[\d.]+))?", svg.split(' d="')[1]):
        if command == "h":
            image[int(y), int(x) : int(x + float(a))] = 0
            x += float(a)
        else:
            x, y = (float(a), float(b)) if command == "M" else (x + float(a), y + float(b))
    (code,) = zxingcpp.read_barcodes(np.kron(image, np.ones((6, 6), dtype=np.uint8)))
    return str(code.text)


# --- drawings -------------------------------------------------------------------------------


def points(drawing: Any, path: str) -> list[Point]:
    """Return the corners of the lines that a CSS path finds in a drawing."""
    text = " ".join(line.get("d") for line in find(drawing, path))
    numbers = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", text)]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def rings(drawing: Any, path: str) -> list[Point]:
    """Return the middles of the circles that a CSS path finds in a drawing."""
    return [(float(c.get("cx")), float(c.get("cy"))) for c in find(drawing, path)]


def words(drawing: Any) -> list[tuple[str, Point]]:
    """Return a drawing's words and where they stand."""
    return [(_text(t), (float(t.get("x")), float(t.get("y")))) for t in find(drawing, "text")]


def bearing(start: Point, end: Point) -> float:
    """Return the bearing from a point to another, clockwise from the drawing's top [deg]."""
    return math.degrees(math.atan2(end[0] - start[0], start[1] - end[1])) % 360


# --- the map's card -------------------------------------------------------------------------

_CARD = """
siteplan.store.set({chosen: -1, dms: arguments[1]});
siteplan.store.set({chosen: arguments[0]});
const box = document.querySelector('#card'), found = [];
const text = (e) => (e ? e.textContent : '');
const put = (block, label, value) => found.push([block, label, value]);
put('head', 'name', text(box.querySelector('h2')));
put('head', 'site_id', text(box.querySelector('.card-id')));
put('head', 'verdict', text(box.querySelector('.verdict')));
put('head', 'coordinates', text(box.querySelector('.coordinates')));
put('head', 'sheet', box.querySelector('#sheet-link')?.getAttribute('href') ?? '');
[...box.querySelectorAll('.flags li')].forEach((e, k) => put('Flags', `flag ${k + 1}`, text(e)));
put('Flags', 'notes', text(box.querySelector('.flags + .notes')));
for (const dl of box.querySelectorAll('dl')) {
  const heading = text(dl.parentElement.querySelector('h3, summary'));
  const own = ['What another antenna buys', 'From the sites table'].includes(heading);
  const block = own ? heading : 'field';
  for (const dt of dl.querySelectorAll('dt')) put(block, text(dt), text(dt.nextElementSibling));
}
for (const row of box.querySelectorAll('table tr')) {
  const [label, value] = ['th', '.num'].map((part) => text(row.querySelector(part)));
  put(text(row.closest('table').caption), label, value);
}
put('What another antenna buys', 'next', text(box.querySelector('.buys')));
const sky = box.querySelector('svg.sky');
put('Sky', 'plot', sky.getAttribute('aria-label'));
put('Sky', 'key', text(sky.nextElementSibling));
return [found, sky.outerHTML];
"""


class Card:
    """The card of one site on the map, opened in a browser."""

    def __init__(self, browser: Any, site: int, *, dms: bool = False) -> None:
        found, sky = browser.run(_CARD, site, dms)
        self.boxes: Boxes = {}
        for block, label, text in found:
            assert (block, label) not in self.boxes, f"{label} stands twice under {block}"
            self.boxes[block, label] = " ".join(text.split())
        self.sky = html.fragment_fromstring(sky)


# --- KML and GPX ----------------------------------------------------------------------------


def _described(text: str) -> Boxes:
    """Return the lines of a description by their labels."""
    pairs = (line.partition(": ") for line in text.splitlines())
    return {("description", label): value for label, _, value in pairs}


def kml_boxes(path: Path) -> list[Boxes]:
    """Return each placemark's boxes, its folder among them."""
    space = {"k": "http://www.opengis.net/kml/2.2"}
    found = []
    for mark in etree.parse(path).iterfind(".//k:Placemark", space):
        lon, lat = mark.findtext("k:Point/k:coordinates", namespaces=space).split(",")
        found.append(
            {
                ("place", "latitude"): lat,
                ("place", "longitude"): lon,
                ("place", "name"): mark.findtext("k:name", namespaces=space),
                ("place", "group"): mark.getparent().findtext("k:name", namespaces=space),
                **_described(mark.findtext("k:description", namespaces=space)),
            }
        )
    return found


def gpx_boxes(path: Path) -> list[Boxes]:
    """Return each waypoint's boxes, as gpxpy reads them."""
    return [
        {
            ("place", "latitude"): f"{point.latitude:.6f}",
            ("place", "longitude"): f"{point.longitude:.6f}",
            ("place", "elevation"): f"{point.elevation:.1f}",
            ("place", "name"): str(point.name),
            ("place", "group"): str(point.type),
            **_described(str(point.description)),
        }
        for point in gpxpy.parse(path.read_text("utf-8")).waypoints
    ]


# --- lists ----------------------------------------------------------------------------------


def kit_boxes(path: Path) -> tuple[dict[str, Boxes], Boxes]:
    """Return the kit list's cells by part and heading: for each site's id, and of the totals."""
    sites: dict[str, Boxes] = {}
    totals: Boxes = {}
    for row in _csv(path):
        is_site = row["rows"] == "site"
        boxes = sites.setdefault(row["site_id"], {}) if is_site else totals
        part = row["part"] if is_site else f"{row['part']} {row['kind']}"
        for heading, cell in row.items():
            if heading not in ("rows", "part"):
                assert (part, heading) not in boxes, f"{part} stands twice"
                boxes[part, heading] = cell
    return sites, totals


def sun_rows(path: Path) -> list[dict[str, str]]:
    """Return the rows of the table of sun transits by their headings."""
    return _csv(path)


def _csv(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def calendar_name(path: Path) -> str:
    """Return what a calendar calls itself."""
    return str(icalendar.Calendar.from_ical(path.read_bytes())["X-WR-CALNAME"])


def calendar_entries(path: Path) -> list[dict[str, str]]:
    """Return a calendar's entries by the names of RFC 5545, moments in UTC."""
    found = []
    for event in icalendar.Calendar.from_ical(path.read_bytes()).walk("VEVENT"):
        moments = {
            name: event[name].dt.strftime("%Y-%m-%dT%H:%M:%S%z")
            for name in ("DTSTAMP", "DTSTART", "DTEND")
        }
        texts = {name: str(event[name]) for name in event if name not in moments}
        found.append({**moments, **texts})
    return found
