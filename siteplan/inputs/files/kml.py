"""Reading placemarks of a KML file (OGC KML 2.2/2.3): name, point and extended data."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np

from siteplan.errors import SitesError
from siteplan.inputs.faults import told_plainly
from siteplan.inputs.files.points import place
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.headings import unlike_headings

#: Bytes of a file that are parsed at once.
_BLOCK = 1 << 20


def read_kml(path: Path) -> Table:
    """Read the placemarks of a KML file, in all its folders.

    Parameters
    ----------
    path : Path

    Returns
    -------
    Table
        ``name``, ``description`` and the extended data as text; rows count from 2, in the
        order of the file. Of a polygon a point inside is taken, of a line its middle.

    Raises
    ------
    SitesError
        No XML, or no placemark.
    """
    records, points = [], []
    for placemark in _placemarks(path):
        records.append(_texts(placemark))
        points.append(_geometry(placemark))
    if not records:
        raise SitesError("it has no placemark.", where=path.name, fix="Put each site as a point.")
    keys = list(dict.fromkeys(key for record in records for key in record))
    headings, written = unlike_headings(keys)
    columns = {}
    for key, heading in zip(keys, headings, strict=True):
        values = np.empty(len(records), dtype=object)
        values[:] = [record.get(key, "") for record in records]
        columns[heading] = values
    row = np.arange(2, len(records) + 2, dtype=np.int64)
    geometry = np.empty(len(points), dtype=object)
    geometry[:] = points
    return place(Table(columns, row, path.name, written=written), geometry, "EPSG:4326")


def _placemarks(path: Path) -> Iterator[ElementTree.Element]:
    """Yield each placemark, which is emptied when the next is asked for."""
    # In large blocks: a name that does not end in one is read from its start with the next.
    reader: Any = ElementTree.XMLPullParser(("end",))
    with told_plainly("kml", path), path.open("rb") as file:
        block = b"x"
        while block:
            block = file.read(_BLOCK)
            reader.feed(block) if block else reader.close()
            for _, element in reader.read_events():
                if _tag(element) == "Placemark":
                    yield element
                    element.clear()


def _tag(element: ElementTree.Element) -> str:
    return element.tag.rpartition("}")[2]


def _texts(placemark: ElementTree.Element) -> dict[str, str]:
    """Return name, description and extended data; our own data names win over both."""
    record: dict[str, str] = {}
    extended: dict[str, str] = {}
    for element in placemark.iter():
        tag, text = _tag(element), (element.text or "").strip()
        if tag in ("name", "description") and element in list(placemark):
            record[tag] = text
        elif tag == "SimpleData":
            extended[element.get("name", "")] = text
        elif tag == "Data":
            value = next((e.text for e in element if _tag(e) == "value"), "")
            extended[element.get("name", "")] = (value or "").strip()
    return {key: text for key, text in (record | extended).items() if key}


def _geometry(placemark: ElementTree.Element) -> object:
    """Return the placemark's point, else its shape (shapely), None where it has none."""
    shapes = [e for e in placemark.iter() if _tag(e) in _SHAPES]
    points = [shape for shape in shapes if _tag(shape) == "Point"]
    if len(points) == 1:
        return _point(_coordinates(points[0]), _absolute(points[0]))
    rings = {ring for shape in shapes if _tag(shape) == "Polygon" for ring in shape.iter()}
    parts = [_shape(shape) for shape in shapes if shape not in rings or _tag(shape) == "Polygon"]
    found = [part for part in parts if part is not None]
    return found[0] if len(found) == 1 else _joined(found) if found else None


def _joined(parts: list[Any]) -> Any:
    """Return several shapes as one, of one kind where they are."""
    import shapely

    kinds = {part.geom_type for part in parts}
    if kinds == {"Polygon"}:
        return shapely.MultiPolygon(parts)
    if kinds == {"LineString"}:
        return shapely.MultiLineString(parts)
    return shapely.GeometryCollection(parts)


def _shape(element: ElementTree.Element) -> Any:
    """Return one element's shape (shapely), None where it cannot be read."""
    from shapely.errors import ShapelyError

    try:
        return _SHAPES[_tag(element)](element)
    except (ValueError, LookupError, ShapelyError):
        return None


def _placed(element: ElementTree.Element) -> Any:
    return _point(_coordinates(element), keep_height=False)


def _line(element: ElementTree.Element) -> Any:
    import shapely

    return shapely.LineString(_places(_coordinates(element)))


def _polygon(element: ElementTree.Element) -> Any:
    import shapely

    rings: dict[str, list[Any]] = {"outerBoundaryIs": [], "innerBoundaryIs": []}
    for side in element:
        found = [_places(_coordinates(e)) for e in side.iter() if _tag(e) == "LinearRing"]
        rings.setdefault(_tag(side), []).extend(found)
    return shapely.Polygon(rings["outerBoundaryIs"][0], rings["innerBoundaryIs"])


def _track(element: ElementTree.Element) -> Any:
    import shapely

    fixes = [(e.text or "").split() for e in element if _tag(e) == "coord"]
    return shapely.LineString([(float(fix[0]), float(fix[1])) for fix in fixes])


def _model(element: ElementTree.Element) -> Any:
    at = {_tag(e): e.text or "" for e in element.iter()}
    return _point(f"{at.get('longitude', '')},{at.get('latitude', '')}", keep_height=False)


def _coordinates(element: ElementTree.Element) -> str:
    """Return the coordinates that stand in an element."""
    return next((e.text or "" for e in element if _tag(e) == "coordinates"), "")


def _places(text: str) -> list[tuple[float, float]]:
    """Return the pairs of longitude and latitude [deg] in a text."""
    each = [part.split(",") for part in text.split()]
    return [(float(numbers[0]), float(numbers[1])) for numbers in each]


def _absolute(point: ElementTree.Element) -> bool:
    """Whether the point's height counts at all (KML clamps to the ground by default)."""
    return any(_tag(e) == "altitudeMode" and e.text == "absolute" for e in point)


def _point(text: str, keep_height: bool) -> object:
    import shapely

    try:
        numbers = [float(part) for part in text.strip().split(",")]
        if len(numbers) not in (2, 3):
            return None
        return shapely.Point(numbers if keep_height else numbers[:2])
    except ValueError:
        return None


#: Elements with which a placemark can say where it is, and what makes a shape of each.
_SHAPES: Mapping[str, Callable[[ElementTree.Element], Any]] = {
    "Point": _placed,
    "LineString": _line,
    "LinearRing": _line,
    "Polygon": _polygon,
    "Track": _track,
    "Model": _model,
}
