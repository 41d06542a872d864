"""A table of sites as a file of each kind: well formed, whatever stands in its cells."""

from __future__ import annotations

import csv
import io
import json
import tempfile
import warnings
from collections.abc import Callable, Sequence
from pathlib import Path
from random import Random
from typing import Any
from xml.sax.saxutils import escape, quoteattr

from tests.fuzz.bytewise import rezipped, zipped

Rows = Sequence[Sequence[Any]]

HEADINGS = ("site_id", "name", "lat", "lon", "altitude_m", "availability_pct", "structure",
            "wall_facing_deg", "cable_m", "wind_m_s", "group", "timezone", "opened")  # fmt: skip
ROWS: Rows = tuple(
    (f"F{k:02d}", f"Färjeläge {k}", 58.1 + 0.173 * k, 11.2 + 0.09 * k, 12.0 + k, 99.5,
     ("ground", "wall", "flat_roof")[k % 3], 180.0, 25.5, 24.0, "öst" if k % 2 else "väst",
     "Europe/Stockholm", f"20{10 + k}-05-0{1 + k % 9}")
    for k in range(12)
)  # fmt: skip
_AT = HEADINGS.index("lat"), HEADINGS.index("lon")


#: A log of outages: offsets, none, clocks that are put back and forward, leap days, open ends.
OUTAGES: tuple[tuple[str, ...], Rows] = (
    ("site_id", "from", "to", "cause", "counted"),
    (
        ("F00", "2025-01-03T00:00:00+01:00", "2025-01-03T09:30Z", "rain", ""),
        ("F01", "2024-02-29 23:50", "2024-03-01 00:10", "power", "yes"),
        ("F02", "2025-10-26 02:30", "2025-10-26 03:10", "", "no"),
        ("F03", "2025-03-30 02:15", "2025-03-30T03:30:15.250+02:00", "Equipment", "no"),
        ("F04", "20250601T0000", "2025-06-01T24:00", "maintenance", "0"),
        ("F05", "2025-12-31T23:00Z", "2026-01-02", "sun", "x"),
        ("hub", "2025-07-01T12:00Z", "2025-07-01T12:20Z", "rain", ""),
        ("F00", "2025-08-01T00:00Z", "", "unknown", ""),
    ),
)
#: Satellites to compare: a row each, with what is known of it.
SATELLITES: tuple[tuple[str, ...], Rows] = (
    ("name", "longitude_deg", "satellite_eirp_dbw", "satellite_g_t_db_k", "sfd_dbw_m2",
     "neighbours_deg", "area", "eirp_contours", "attribute"),
    (
        ("Ten east", "10.0", "51.5", "2", "-90", "7; 13", "", "", ""),
        ("Five west", "5W", "47.25 dBW", "", "", "", "spot.geojson", "", ""),
        ("", "299", "n/a", "", "", "", "", "levels.geojson", "dbw"),
    ),
)  # fmt: skip


def as_text(value: Any) -> str:
    """Return a cell as a writer of texts would."""
    return "" if value is None else str(value)


def csv_file(rng: Random, headings: Sequence[str], rows: Rows) -> bytes:
    """Return a CSV file in one of many encodings, with one of many delimiters."""
    delimiter = rng.choice(",,,;\t|")
    out = io.StringIO()
    how = rng.choice((csv.QUOTE_MINIMAL, csv.QUOTE_MINIMAL, csv.QUOTE_ALL))
    end = rng.choice(("\n", "\r\n", "\r"))
    writer = csv.writer(out, delimiter=delimiter, quoting=how, lineterminator=end)
    writer.writerow(headings)
    writer.writerows([[as_text(value) for value in row] for row in rows])
    names = ("utf-8", "utf-8", "utf-8-sig", "utf-16", "cp1252", "latin-1", "cp1251", "mac_roman")
    return out.getvalue().encode(rng.choice(names), "replace")


def workbook(_: Random, headings: Sequence[str], rows: Rows) -> bytes:
    """Return an .xlsx workbook; what a sheet cannot hold is left out."""
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append([_fit(heading) for heading in headings])
    for row in rows:
        sheet.append([_fit(value) for value in row])
    out = io.BytesIO()
    book.save(out)
    return rezipped(out.getvalue())


def _fit(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    kept = "".join(c for c in value if c >= " " or c in "\t\n")
    return "".join(c for c in kept if not "\ud800" <= c <= "\udfff" and c < "\ufffe")[:32_000]


def features(headings: Sequence[str], rows: Rows) -> dict[str, Any]:
    """Return a collection of GeoJSON features; lat and lon are the points."""
    return {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "properties": {
                    h: v if isinstance(v, str | int | float | list | dict | None) else str(v)
                    for at, (h, v) in enumerate(zip(headings, row, strict=True))
                    if at not in _AT
                },
                "geometry": {"type": "Point", "coordinates": [row[_AT[1]], row[_AT[0]]]},
            }
            for row in rows
        ],
    }


def geojson(_: Random, headings: Sequence[str], rows: Rows) -> bytes:
    return json.dumps(features(headings, rows), ensure_ascii=False).encode("utf-8", "replace")


def kml(_: Random, headings: Sequence[str], rows: Rows) -> bytes:
    """Return a KML file with the columns as extended data."""
    marks = []
    for row in rows:
        data = "".join(
            f"<Data name={quoteattr(h)}><value>{escape(as_text(v))}</value></Data>"
            for at, (h, v) in enumerate(zip(headings, row, strict=True))
            if at not in _AT
        )
        place = f"{escape(as_text(row[_AT[1]]))},{escape(as_text(row[_AT[0]]))}"
        marks.append(
            f"<Placemark><name>{escape(as_text(row[1]))}</name><ExtendedData>{data}</ExtendedData>"
            f"<Point><coordinates>{place}</coordinates></Point></Placemark>"
        )
    head = '<?xml version="1.0" encoding="UTF-8"?>\n<kml xmlns="http://www.opengis.net/kml/2.2">'
    text = f"{head}<Document><Folder>{''.join(marks)}</Folder></Document></kml>"
    return text.encode("utf-8", "replace")


def kmz(rng: Random, headings: Sequence[str], rows: Rows) -> bytes:
    return zipped({"doc.kml": kml(rng, headings, rows)})


def gpx(_: Random, __: Sequence[str], rows: Rows) -> bytes:
    """Return the waypoints of a GPX file: name, description, height."""
    points = "".join(
        f"<wpt lat={quoteattr(as_text(r[_AT[0]]))} lon={quoteattr(as_text(r[_AT[1]]))}>"
        f"<ele>{escape(as_text(r[4]))}</ele><name>{escape(as_text(r[0]))}</name>"
        f"<desc>{escape(as_text(r[1]))}</desc></wpt>"
        for r in rows
    )
    head = '<?xml version="1.0"?><gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">'
    return f"{head}{points}</gpx>".encode("utf-8", "replace")


def _number(value: Any) -> float:
    try:
        return float(value)
    except (TypeError, ValueError, OverflowError):
        return float("nan")


def _frame(headings: Sequence[str], rows: Rows) -> Any:
    import geopandas
    import pandas as pd
    import shapely

    x, y = ([_number(row[at]) for row in rows] for at in (_AT[1], _AT[0]))
    columns = {h: [row[at] for row in rows] for at, h in enumerate(headings) if at not in _AT}
    plain = {h: [v if _alike(values) else as_text(v) for v in values]
             for h, values in columns.items()}  # fmt: skip
    frame = pd.DataFrame(plain)
    points = [shapely.Point(a, b) for a, b in zip(x, y, strict=True)]
    return geopandas.GeoDataFrame(frame, geometry=points, crs=4326)


def _alike(values: Sequence[Any]) -> bool:
    return len({type(value) for value in values}) == 1


def through_gdal(suffix: str, driver: str) -> Callable[[Random, Sequence[str], Rows], bytes]:
    """Return what writes a file by way of GDAL."""

    def write(_: Random, headings: Sequence[str], rows: Rows) -> bytes:
        import pyogrio

        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": "2026-01-01T00:00:00Z"})
        with tempfile.TemporaryDirectory(prefix="siteplan-fuzz-") as folder:
            path = Path(folder) / f"sites{suffix}"
            with warnings.catch_warnings():  # a shapefile's names end at ten characters
                warnings.simplefilter("ignore")
                _frame(headings, rows).to_file(path, driver=driver, encoding="utf-8")
            if suffix != ".shp":
                return path.read_bytes()
            return zipped({p.name: p.read_bytes() for p in sorted(Path(folder).iterdir())})

    return write


def parquet(_: Random, headings: Sequence[str], rows: Rows) -> bytes:
    """Return a Parquet file with lat and lon as columns."""
    import pandas as pd

    columns = {h: [row[at] for row in rows] for at, h in enumerate(headings)}
    frame = pd.DataFrame(
        {h: v if _alike(v) else [as_text(x) for x in v] for h, v in columns.items()}
    )
    return bytes(frame.to_parquet(None, index=False))


def geoparquet(_: Random, headings: Sequence[str], rows: Rows) -> bytes:
    out = io.BytesIO()
    _frame(headings, rows).to_parquet(out)
    return out.getvalue()


#: What writes a table of sites, by the ending of the file. The ones that siteplan does not read
#: are passed over.
WRITERS: dict[str, Callable[[Random, Sequence[str], Rows], bytes]] = {
    ".csv": csv_file,
    ".xlsx": workbook,
    ".xlsm": workbook,
    ".geojson": geojson,
    ".json": geojson,
    ".kml": kml,
    ".kmz": kmz,
    ".gpx": gpx,
    ".gpkg": through_gdal(".gpkg", "GPKG"),
    ".parquet": parquet,
    ".zip": through_gdal(".shp", "ESRI Shapefile"),
}
