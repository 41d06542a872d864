"""``[coverage]`` and ``[[overlays]]``: what is drawn behind the sites."""

from __future__ import annotations

from typing import Literal

from siteplan.network.table import Table, key


class CoverageTable(Table):
    """``[coverage]``: what is drawn behind the sites of the map, and written beside them."""

    step_deg: float | None = key(
        None, "Spacing of the coverage grid (absent: only when asked for)", "deg", ge=0.01, le=10
    )
    area: str | None = key(
        None, "File of polygons, from the project's folder (absent: around the sites)",
        max_length=400,
    )  # fmt: skip
    land_only: bool = key(False, "Cut coverage to land")


class OverlayFile(Table):
    """``[[overlays]]``: a map layer of the user's own."""

    file: str = key(
        ..., "Vector file to draw on the map, from the project's folder", min_length=1,
        max_length=400,
    )  # fmt: skip
    name: str = key("", "Name on the map (absent: the file's)", max_length=200)
    color: Literal["blue", "vermilion", "green", "purple", "grey", "black"] | None = key(
        None, "Colour of its lines (absent: one after another)"
    )
