"""The page's frame, rendered by folium: head, styles, scripts and the call that starts the map.

It holds no text of a project and is the same for every plan. Importing folium takes as long as
planning a hundred sites, so what one version of it renders is kept beside this file, under that
version; another version that is installed renders it when a map is made. The kept file is made by
``python -m siteplan.outputs.map.frame``, and a test holds that folium renders it so.
"""

from __future__ import annotations

import re
import socket
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import Any

from siteplan.outputs.assets import asset

#: Where a gap is in the frame, and which.
_GAP = re.compile(r"<!-- gap: (\w+) -->")
_GAPS = (
    *("policy", "title", "styles", "leaflet", "shell"),
    *("data_kind", "data", "basemap", "scripts"),
)

_PAGE = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{{ this.policy }}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="icon" href="data:,">
<title>{{ this.title }}</title>
{{ this.styles }}<script>
{{ this.leaflet }}
</script>
</head>
<body>
{{ this.shell }}

<script type="{{ this.data_kind }}" id="siteplan-data">{{ this.data }}</script>

<script type="application/json" id="siteplan-basemap">{{ this.basemap }}</script>

<script>
{{ this.scripts }}
{{ this.script.render(**kwargs) }}
</script>
</body>
</html>
"""

#: What folium adds to the page.
_MAP = """
{% macro script(this, kwargs) %}
siteplan.start("map", { ...{{ this.options|tojavascript }}, crs: L.CRS.{{ this.crs }} });
{% endmacro %}
"""


def filled(parts: Mapping[str, str]) -> str:
    """Return the page with a text in each gap; the texts are taken as they are.

    Parameters
    ----------
    parts : mapping
        Of each gap: ``policy``, ``title``, ``styles``, ``leaflet``, ``shell``, ``data_kind``,
        ``data``, ``basemap``, ``scripts``.
    """
    return _GAP.sub(lambda gap: parts[gap[1]], _frame())


@cache
def _frame() -> str:
    try:
        return asset(f"map/{kept_name()}")
    except FileNotFoundError:
        return rendered()


def kept_name() -> str:
    """Return the name of the file that the frame is kept in for folium as it is installed."""
    return f"frame_folium_{metadata.version('folium')}.html"


def rendered() -> str:
    """Return the frame as folium renders it, gaps and all.

    folium's own links are taken off the map's instance (its ``add_js_link`` would change the
    class, and so the next map).
    """
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
    for name in _GAPS:
        setattr(figure, name, f"<!-- gap: {name} -->")
    return str(figure.render())


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


if __name__ == "__main__":
    (Path(__file__).parent / kept_name()).write_text(rendered(), encoding="utf-8")
