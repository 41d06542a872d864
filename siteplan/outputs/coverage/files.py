"""coverage.geojson, .gpkg and .tif: contours, the grid, and a raster where rasterio is.

Written into the output folder; read by desktop GIS. The map draws the same contours.
"""

from __future__ import annotations

import importlib.util
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import at_decimals
from siteplan.fields import FIELDS, Field
from siteplan.frozen import frozen
from siteplan.outputs.coverage import contours
from siteplan.outputs.coverage.contours import Geometry
from siteplan.outputs.geopackage import write_layer
from siteplan.outputs.shown import angle
from siteplan.results import Band, Coverage

#: What coverage writes.
CONTOURS_NAME, GRID_NAME, RASTER_NAME = "coverage.geojson", "coverage.gpkg", "coverage.tif"
OUTPUT_NAMES = (CONTOURS_NAME, GRID_NAME, RASTER_NAME)
#: Coordinates in coverage.geojson are rounded to this many decimals [deg], some 11 m.
DECIMALS = 4


@frozen
class Layer:
    """The contours of one quantity: its field, and where each of its classes lies.

    The polygons are shapely's, in (lon, lat) [deg]; longitudes run on past 180.
    """

    field: Field
    bands: tuple[tuple[Band, Geometry], ...]


def layers(coverage: Coverage, within: Geometry | None = None) -> tuple[Layer, ...]:
    """Return the contours of every quantity.

    Parameters
    ----------
    coverage : Coverage
        Of a grid.
    within : shapely geometry, optional
        What the contours are cut to, such as land or the user's area.

    Returns
    -------
    tuple of Layer
        Classes without an area are left out.
    """
    return tuple(_layer(coverage, name, within) for name in coverage.bands)


def _layer(coverage: Coverage, name: str, within: Geometry | None) -> Layer:
    found = [(band, _where(coverage, name, band.low, band.high)) for band in coverage.bands[name]]
    if name == "required_antenna_m":
        found = _only_served(coverage, found)
    clipped = ((band, contours.cut(shape, within)) for band, shape in found)
    return Layer(FIELDS[name], tuple((b, s) for b, s in clipped if not s.is_empty))


def _where(coverage: Coverage, name: str, low: float, high: float) -> Geometry:
    grid = coverage.grid
    return contours.between(grid.lat, grid.lon, coverage.surfaces[name], low, high)


def _only_served(
    coverage: Coverage, found: list[tuple[Band, Geometry]]
) -> list[tuple[Band, Geometry]]:
    """Return the classes of the diameter where kit is given, and the rest as a class."""
    floor = coverage.floor_deg
    served = _where(coverage, "elevation_deg", floor, math.inf)
    under = _where(coverage, "elevation_deg", -math.inf, floor)
    words = f"no kit: elevation below {angle(floor)}"
    rest = Band(math.inf, math.inf, words, care=True)
    return [*((band, contours.cut(shape, served)) for band, shape in found), (rest, under)]


def write_geojson(drawn: tuple[Layer, ...], path: Path) -> None:
    """Write the contours as GeoJSON (RFC 7946): one feature a class of a quantity.

    Properties are ``quantity``, ``low``, ``high`` (null at an open end), ``label`` and ``unit``.
    Polygons are cut at the antimeridian, valid, and outer rings run anticlockwise.
    """
    import orjson

    features = [feature for layer in drawn for feature in _features(layer)]
    path.write_bytes(orjson.dumps({"type": "FeatureCollection", "features": features}))


def _features(layer: Layer) -> Iterator[dict[str, Any]]:
    import orjson
    import shapely

    for band, shape in layer.bands:
        tidy = contours.split(contours.on_grid(shape, 10.0**-DECIMALS))
        if tidy.is_empty:
            continue
        rounded = shapely.transform(contours.right_handed(tidy), lambda xy: np.round(xy, DECIMALS))
        low, high = band.bounds
        yield {
            "type": "Feature",
            "properties": {
                "quantity": layer.field.name,
                "low": low,
                "high": high,
                "label": band.label,
                "unit": layer.field.unit,
            },
            "geometry": orjson.Fragment(shapely.to_geojson(rounded)),
        }


def write_gpkg(coverage: Coverage, path: Path, within: Geometry | None = None) -> int:
    """Write the grid as a GeoPackage, one layer ``coverage`` of points in EPSG:4326.

    Parameters
    ----------
    coverage : Coverage
        Of a grid; values are rounded as the dictionary of fields says, blanks are null.
    path : pathlib.Path
        The file.
    within : shapely geometry, optional
        Only nodes inside it are written.

    Returns
    -------
    int
        The number of points written.
    """
    import pyarrow as pa
    import shapely

    kept = nodes_within(coverage, within)
    lat, lon = (values[kept] for values in coverage.grid.points)
    columns = {
        name: pa.array(at_decimals(values.ravel()[kept], FIELDS[name].decimals), from_pandas=True)
        for name, values in coverage.columns.items()
    }
    points = shapely.points(np.mod(lon + 180, 360) - 180, lat)
    table = pa.table({**columns, "geom": pa.array(shapely.to_wkb(points))})
    write_layer(table, path, layer="coverage", geometry="geom")
    return len(table)


def nodes_within(coverage: Coverage, within: Geometry | None) -> NDArray[np.bool_]:
    """Return which nodes (r * c,) lie in an area; none twice where the grid goes all round."""
    import shapely

    lat, lon = coverage.grid.points
    kept = lon < coverage.grid.lon[0] + 360 - 1e-9
    if within is not None:
        shapely.prepare(within)
        kept &= shapely.intersects_xy(within, lon, lat)
    return np.asarray(kept)


def write_tif(coverage: Coverage, path: Path) -> bool:
    """Write the whole grid as a GeoTIFF, one band a quantity, if rasterio is installed.

    Returns
    -------
    bool
        Whether it was written. Pixels lie about the nodes; NaN is 'no answer'; longitudes run
        on past 180 where the area lies across the antimeridian.
    """
    if importlib.util.find_spec("rasterio") is None:
        return False
    import rasterio

    grid, names = coverage.grid, list(coverage.columns)
    half, (rows, cols) = grid.step_deg / 2, grid.shape
    west, north = float(grid.lon[0]) - half, float(grid.lat[-1]) + half
    place = rasterio.Affine(grid.step_deg, 0, west, 0, -grid.step_deg, north)
    with rasterio.open(
        path, "w", driver="GTiff", width=cols, height=rows, count=len(names), dtype="float32",
        crs="EPSG:4326", transform=place, nodata=math.nan, compress="deflate", predictor=3,
    ) as file:  # fmt: skip
        for number, name in enumerate(names, 1):
            file.write(np.flipud(coverage.columns[name]).astype(np.float32), number)
            file.set_band_description(number, FIELDS[name].heading)
    return True
