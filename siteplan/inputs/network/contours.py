"""The files that ``[[contours]]`` name: lines and their values, read and checked."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from siteplan.errors import NetworkError, ProjectError
from siteplan.inputs.network.named import named_file
from siteplan.network import ContourLine, Contours, Network
from siteplan.network.beams.contours import LEVELS, UNITS

if TYPE_CHECKING:
    from siteplan.inputs.files.shapes import Valued

#: Columns named in a message at most.
_NAMED = 12


def with_contours(network: Network, folder: Path) -> Network:
    """Return a network that holds the lines of the files of contours that it names.

    Parameters
    ----------
    network : Network
    folder : Path
        Where names of files count from.

    Returns
    -------
    Network
        The same one where it names no file. Lines that contours have already stay.

    Raises
    ------
    NetworkError
        A file is missing or cannot be used: with its name, its row, and what to do.
    """
    if not network.contour_files:
        return network
    read = tuple(_filled(of, folder, k) for k, of in enumerate(network.contours, 1))
    return network.model_copy(update={"contours": read})


def _filled(of: Contours, folder: Path, number: int) -> Contours:
    if of.file is None or of.attribute is None or of.lines is not None:
        return of
    from siteplan.inputs.files.shapes import read_valued

    place = f"[[contours]] no. {number}"
    path = named_file(of.file, folder, f"{place} file")
    try:
        found = read_valued(path)
    except ProjectError as error:
        raise NetworkError(error.what, where=error.where, fix=error.fix) from None
    return of.model_copy(
        update={"lines": tuple(_lines(found, of, path.name, f"network.toml, {place}"))}
    )


def _lines(found: Valued, of: Contours, name: str, place: str) -> Iterator[ContourLine]:
    """Yield the lines of a file, each closed ring of a polygon one."""
    from siteplan.inputs.files.shapes import continuous

    if of.attribute not in found.columns:
        known = ", ".join(list(found.columns)[:_NAMED]) or "none"
        raise NetworkError(
            f"there is no column {of.attribute!r} in {name}.",
            where=f"{place} attribute",
            fix=f"Name the one that holds the values. Columns there: {known}.",
        )
    drawn = 0
    for row, (shape, value) in enumerate(
        zip(found.shapes, found.columns[of.attribute], strict=True), 1
    ):
        for points in _paths(shape):
            level = _level(value, of, f"{name}, shape {row}")
            lon, lat = continuous(points).xy
            yield ContourLine(value=level, lat=tuple(lat), lon=tuple(lon))
            drawn += 1
    if not drawn:
        raise NetworkError(
            "there is no line and no polygon in it.",
            where=name,
            fix="Give a file with the contours as lines or polygons.",
        )


def _paths(shape: Any) -> Iterator[Any]:
    """Yield the lines of a geometry: its own, or the borders of a polygon and of its holes."""
    import shapely

    if shape is None or shape.is_empty:
        return
    for part in shapely.get_parts([shape]):
        if part.geom_type == "GeometryCollection":
            yield from _paths(part)
        elif part.geom_type == "Polygon":
            yield from (shapely.LineString(r) for r in (part.exterior, *part.interiors))
        elif part.geom_type in ("LineString", "LinearRing"):
            yield shapely.LineString(part)


def _level(value: Any, of: Contours, where: str) -> float:
    """Return the value of a contour as a number in its direction's range."""
    low, high = LEVELS[of.direction]
    range_ = f"{low:g} to {high:g} {UNITS[of.direction]}"
    try:
        number = float("nan") if isinstance(value, bool | np.bool_) else float(value)
    except (TypeError, ValueError):
        number = float("nan")
    if np.isnan(number):
        blank = value is None or isinstance(value, float) or not str(value).strip()
        told = "is blank" if blank else f"= {str(value)[:40]!r} is no number"
        raise NetworkError(
            f"{of.attribute} {told}.", where=where, fix=f"Give the contour's value, {range_}."
        )
    if not low <= number <= high:
        raise NetworkError(
            f"{of.attribute} = {number:g} is no level of direction = {of.direction!r}.",
            where=where,
            fix=f"Give the contour's value itself, {range_}; a drop under the peak is none.",
        )
    return number
