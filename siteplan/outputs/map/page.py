"""The offline page: folium's map with everything it needs written into one file.

The frame is in ``frame.py``; Leaflet comes from the XStatic-Leaflet package at run time.
"""

from __future__ import annotations

import base64
import re
import zlib
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from siteplan.errors import OutputError
from siteplan.outputs.assets import asset
from siteplan.outputs.escaping import for_html, for_script
from siteplan.outputs.map.dataset import dump
from siteplan.outputs.map.frame import filled
from siteplan.outputs.map.join import join
from siteplan.outputs.policy import PLACE, under_policy

#: Where the page's images come from: itself.
IMAGES = "data: blob:"
#: Data shorter than this [characters] is left plain: every browser reads it.
PLAIN_BELOW = 500_000

#: Address of tiles: the host in full, then a path.
_TILES = re.compile(r"(https?://[a-z0-9.-]+(?::\d+)?)(/[^\s\"'<>;,]*)", re.IGNORECASE)
STYLES = ("map.css", "coverage.css", "work.css", "strip.css", "print.css")


@cache
def basemap_json() -> str:
    """Return the basemap, safe inside a script element."""
    return for_script(resources.files("siteplan").joinpath("basemap", "basemap.json").read_bytes())


def _leaflet_dir() -> Path:
    from xstatic.pkg import leaflet

    return Path(leaflet.BASE_DIR)


@cache
def leaflet_script() -> str:
    """Return Leaflet without the note that would have a browser look for its source map."""
    text = (_leaflet_dir() / "leaflet.js").read_text("utf-8")
    return re.sub(r"^//# sourceMappingURL=.*$", "", text, flags=re.MULTILINE).strip()


@cache
def leaflet_style() -> str:
    """Return Leaflet's style sheet with its images inside and without its VML rule."""
    folder = _leaflet_dir()
    text = (folder / "leaflet.css").read_text("utf-8")
    text = re.sub(r"^.*behavior:\s*url\(#default#VML\).*$", "", text, flags=re.MULTILINE)

    def inlined(match: re.Match[str]) -> str:
        image = base64.b64encode((folder / match[1]).read_bytes()).decode("ascii")
        return f"url(data:image/png;base64,{image})"

    return re.sub(r"url\((images/[\w.-]+\.png)\)", inlined, text)


@cache
def page_script() -> str:
    """Return the page's own scripts as one that leaves nothing behind but ``siteplan``."""
    scripts = resources.files("siteplan.outputs.map").joinpath("scripts")
    return f"const {{ siteplan }} = {join(scripts, 'main.js')};"


def images(tiles: str) -> str:
    """Return where images may come from; with tiles it is their host too, nothing else.

    Raises
    ------
    OutputError
        If the address of the tiles is no https or http address with {z}, {x} and {y}, or its
        host is not spelled out.
    """
    if not tiles:
        return IMAGES
    match = _TILES.fullmatch(tiles)
    if match is None or not all(mark in match[2] for mark in ("{z}", "{x}", "{y}")):
        raise OutputError(
            f"the address of the tiles cannot be used: {tiles!r}.",
            where="--tiles",
            fix="Give one such as https://tiles.example.org/{z}/{x}/{y}.png, the host in full.",
        )
    return f"{match[1]} {IMAGES}"


def data_block(payload: Any, *, plain: bool) -> tuple[str, str]:
    """Return type and text of the data's script element: JSON, or gzip as base64."""
    raw = dump(payload)
    if plain or len(raw) < PLAIN_BELOW:
        return "application/json", for_script(raw)
    packed = zlib.compressobj(4, zlib.DEFLATED, 31)  # 31: a gzip header (RFC 1952)
    text = base64.b64encode(packed.compress(raw) + packed.flush()).decode("ascii")
    return "text/plain", text


def render(title: str, payload: Any, *, tiles: str = "", plain: bool = False) -> str:
    """Return the page as text: ``payload`` becomes the dataset, ``title`` the title.

    Raises
    ------
    OutputError
        If the address of the tiles cannot be used.
    """
    allowed = images(tiles)
    kind, data = data_block(payload, plain=plain)
    styles = [leaflet_style(), *(asset(f"map/styles/{name}") for name in STYLES)]
    page = filled(
        {
            "policy": PLACE,
            "title": for_html(title),
            "styles": "".join(f"<style>\n{style}\n</style>\n" for style in styles),
            "leaflet": leaflet_script(),
            "shell": asset("map/shell.html"),
            "data_kind": kind,
            "data": data,
            "basemap": basemap_json(),
            "scripts": page_script(),
        }
    )
    return under_policy(page, allowed)
