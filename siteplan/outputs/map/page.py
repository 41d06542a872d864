"""The offline page: folium's map with everything it needs written into one file.

Leaflet comes from the XStatic-Leaflet package at run time; folium's own links are taken off
the map's instance (its ``add_js_link`` would change the class, and so the next map).
"""

from __future__ import annotations

import base64
import re
import socket
import sys
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from siteplan.errors import OutputError
from siteplan.outputs.assets import asset
from siteplan.outputs.escaping import for_html, for_script
from siteplan.outputs.map.dataset import dump
from siteplan.outputs.map.join import join
from siteplan.outputs.policy import PLACE, under_policy

#: Where the page's images come from: itself.
IMAGES = "data: blob:"
#: Data shorter than this [characters] is left plain: every browser reads it.
PLAIN_BELOW = 500_000

#: Address of tiles: the host in full, then a path.
_TILES = re.compile(r"(https?://[a-z0-9.-]+(?::\d+)?)(/[^\s\"'<>;,]*)", re.IGNORECASE)
STYLES = ("map.css", "coverage.css", "work.css", "strip.css", "print.css")

_PAGE = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{{ this.policy }}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="icon" href="data:,">
<title>{{ this.title }}</title>
{% for style in this.styles %}<style>
{{ style }}
</style>
{% endfor %}<script>
{{ this.leaflet }}
</script>
</head>
<body>
{{ this.shell }}
{% for name, kind, text in this.blocks %}
<script type="{{ kind }}" id="{{ name }}">{{ text }}</script>
{% endfor %}
<script>
{{ this.scripts }}
{{ this.script.render(**kwargs) }}
</script>
</body>
</html>
"""

#: What folium adds to the page. It must hold no text of users: branca renders it twice.
_MAP = """
{% macro script(this, kwargs) %}
siteplan.start("map", { ...{{ this.options|tojavascript }}, crs: L.CRS.{{ this.crs }} });
{% endmacro %}
"""


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


def data_block(name: str, payload: Any, *, plain: bool) -> tuple[str, str, str]:
    """Return id, type and text of the data's script element: JSON, or gzip as base64."""
    raw = dump(payload)
    if plain or len(raw) < PLAIN_BELOW:
        return name, "application/json", for_script(raw)
    packed = zlib.compressobj(4, zlib.DEFLATED, 31)  # 31: a gzip header (RFC 1952)
    text = base64.b64encode(packed.compress(raw) + packed.flush()).decode("ascii")
    return name, "text/plain", text


@contextmanager
def _no_socket() -> Iterator[None]:
    """Let folium be imported without a socket.

    It brings urllib3, which nothing here uses and which opens one as it is imported, to try for
    IPv6. It is told that there is none, and afterwards what the system says.
    """
    known, there = socket.has_ipv6, "urllib3.util.connection" in sys.modules
    socket.has_ipv6 = False
    try:
        yield
    finally:
        socket.has_ipv6 = known
        probed = sys.modules.get("urllib3.util.connection")
        if probed is not None and not there:
            vars(probed)["HAS_IPV6"] = known


def render(title: str, payload: Any, *, tiles: str = "", plain: bool = False) -> str:
    """Return the page as text: ``payload`` becomes the dataset, ``title`` the title.

    Raises
    ------
    OutputError
        If the address of the tiles cannot be used.
    """
    allowed = images(tiles)
    with _no_socket():
        import folium
        from folium.template import Template

    chart = folium.Map(
        tiles=None,
        zoom_control=False,
        zoom_snap=0.25,
        zoom_delta=0.5,
        wheel_px_per_zoom_level=120,
        min_zoom=1,
        max_zoom=18,
        max_bounds_viscosity=1,
        keyboard_pan_delta=80,
    )
    chart.default_js, chart.default_css = [], []
    chart._template = Template(_MAP)
    figure: Any = chart.get_root()
    figure._template = Template(_PAGE)
    figure.policy = PLACE
    figure.title = for_html(title)
    figure.styles = [leaflet_style(), *(asset(f"map/styles/{name}") for name in STYLES)]
    figure.leaflet = leaflet_script()
    figure.shell = asset("map/shell.html")
    figure.blocks = [
        data_block("siteplan-data", payload, plain=plain),
        ("siteplan-basemap", "application/json", basemap_json()),
    ]
    figure.scripts = page_script()
    return under_policy(figure.render(), allowed)
