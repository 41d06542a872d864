"""The folder ``regulation``: tables by kind and by site, and a drawing of each antenna in use."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from siteplan.answers.licence import Licence, MaskDrawing
from siteplan.outputs.regulation.drawing import drawing_text
from siteplan.outputs.regulation.sites import join_sites, write_sites
from siteplan.outputs.regulation.types import write_types
from siteplan.outputs.shown import whole_or_short
from siteplan.results import Plan

TYPES_NAME, SITES_NAME = "types.csv", "sites.csv"


def write_regulation(plan: Plan, folder: Path, parts: Sequence[Path] = ()) -> None:
    """Write what a licence asks into a new folder, for the regulator and the operator.

    ``types.csv`` has a row an antenna and BUC in use, ``sites.csv`` one a site that transmits,
    both the hub's first; ``mask_ANTENNA.svg`` is drawn of each antenna in use. Only where limits
    off axis are given.

    Parameters
    ----------
    plan : Plan
        With all sites, or, of a plan in parts, with the facts of all.
    folder : Path
        It is made.
    parts : sequence of Path
        The parts' tables, where ``plan`` does not hold all sites.
    """
    licence = plan.facts.licence
    if licence is None:
        return
    folder.mkdir()
    write_types(licence, folder / TYPES_NAME)
    if parts:
        join_sites(licence, parts, folder / SITES_NAME)
    else:
        write_sites(licence, plan, folder / SITES_NAME)
    for name, drawing in _named(licence):
        text = drawing_text(drawing, simultaneous=licence.simultaneous)
        (folder / name).write_text(text, encoding="utf-8", errors="replace", newline="\n")


def _named(licence: Licence) -> list[tuple[str, MaskDrawing]]:
    """Return the drawings by file name; antennas of one size and unlike gain have a number."""
    every, found = (licence, *licence.others), dict[str, MaskDrawing]()
    for drawing in (drawing for one in every for drawing in one.drawings):
        _put(found, f"mask_{whole_or_short(drawing.antenna_m)}_m", drawing)
    for one in every:
        if one.hub_drawing is not None:
            _put(found, "mask_hub", one.hub_drawing)
    return list(found.items())


def _put(found: dict[str, MaskDrawing], stem: str, drawing: MaskDrawing) -> None:
    """Put a drawing under a name that no other has."""
    name, number = f"{stem}.svg", 2
    while name in found:
        name, number = f"{stem}_{number}.svg", number + 1
    found[name] = drawing
