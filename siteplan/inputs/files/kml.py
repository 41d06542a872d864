"""Reading placemarks of a KML file (OGC KML 2.2/2.3): name, point and extended data."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

import numpy as np

from siteplan.errors import SitesError
from siteplan.inputs.faults import told_plainly
from siteplan.inputs.files.points import place
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.headings import unlike_headings

#: Elements with which a placemark can say where it is.
_SHAPES = ("Point", "LineString", "LinearRing", "Polygon", "MultiGeometry", "Track", "Model")


def read_kml(path: Path) -> Table:
    """Read the placemarks of a KML file, in all its folders.

    Parameters
    ----------
    path : Path

    Returns
    -------
    Table
        ``name``, ``description`` and the extended data as text; rows count from 2, in the
        order of the file. A shape other than a point is rejected.

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
    with told_plainly("kml", path):
        for _, element in ElementTree.iterparse(path):
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
    """Return the placemark's point, or a shape that stands for what it has instead."""
    import shapely

    shapes = [e for e in placemark.iter() if _tag(e) in _SHAPES]
    if not shapes:
        return None
    kinds = [_tag(shape) for shape in shapes if _tag(shape) != "MultiGeometry"]
    if kinds != ["Point"]:
        # Only the kind of the shape matters for the reject's sentence.
        return shapely.GeometryCollection([shapely.Point(0, 0), shapely.Point(1, 1)])
    point = next(shape for shape in shapes if _tag(shape) == "Point")
    text = next((e.text for e in point if _tag(e) == "coordinates"), "") or ""
    return _point(text, _absolute(point))


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
