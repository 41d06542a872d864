"""The terrain's horizon along the satellite's bearing, read window by window from a GeoTIFF.

Whatever the file's reference
system, rays are laid on the globe and their points carried into it. Their points lie a
quarter of a pixel apart near by, and some 0.8 % of the distance far off.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from siteplan.errors import ProjectError
from siteplan.physics.angles.horizon import EARTH_RADIUS_M, TerrainHorizon, terrain_horizon
from siteplan.planning.site.raster import raster

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

#: How far the terrain is followed [m]: a hill of 1000 m stands 1 degree high there.
RANGE_M: Final = 50_000.0
#: Points of a ray, and how many of them lie a quarter of a pixel apart, next to the site.
POINTS: Final = 600
FINE_POINTS: Final = 125
#: Side of the cells in which sites share a window [deg].
CELL_DEG: Final = 0.25


def terrain_at(
    path: Path,
    lat: FloatArray,
    lon: FloatArray,
    azimuth_true_deg: FloatArray,
    dish_m: FloatArray,
) -> TerrainHorizon:
    """Return the terrain's horizon at the sites' bearings.

    Parameters
    ----------
    path : Path
        A GeoTIFF of heights [m] in any reference system.
    lat, lon : array (n,)
        Sites. [deg]
    azimuth_true_deg : array (n,)
        Bearings; NaN gives NaN. [deg]
    dish_m : array (n,)
        Height of the dish above the file's own ground at the site. [m]

    Returns
    -------
    TerrainHorizon
        Arrays (n,); NaN where the site lies outside the file, or has no height in it. A ray
        that leaves the file counts as far as it goes.

    Raises
    ------
    ProjectError
        rasterio is not installed, the file cannot be read, or it has no reference system.
    """
    with raster(path) as file:
        elevation, distance = np.full(len(lat), np.nan), np.full(len(lat), np.nan)
        inside = _inside(file, lat, lon)
        steps = ray_steps_m(_resolution_m(file))
        good = inside & ~np.isnan(azimuth_true_deg)
        for at in _cells(lat, lon, good):
            ray_lat, ray_lon = along(lat[at], lon[at], azimuth_true_deg[at], steps)
            heights = _heights(file, ray_lat, ray_lon)
            found = terrain_horizon(steps[1:], heights[:, 1:], heights[:, 0] + dish_m[at])
            known = ~np.isnan(heights[:, 0])
            elevation[at] = np.where(known, found.elevation_deg, np.nan)
            distance[at] = np.where(known, found.distance_m, np.nan)
    return TerrainHorizon(elevation, distance)


def check_covers(path: Path, lat: FloatArray, lon: FloatArray) -> None:
    """Raise unless a file of terrain can be read and holds at least one of the sites (n,).

    Raises
    ------
    ProjectError
        As `terrain_at`, or with the area that the file covers.
    """
    with raster(path) as file:
        if len(lat) and not _inside(file, lat, lon).any():
            raise ProjectError(
                f"none of the {len(lat)} sites lies in it: it covers {extent_text(file)}.",
                where=str(path),
                fix="Take a file of the sites' area, or move this one away.",
            )


def ray_steps_m(resolution_m: float) -> FloatArray:
    """Return distances along a ray: from 0, by quarter pixels near by, wider far off. [m]"""
    near = np.arange(FINE_POINTS) * resolution_m / 4
    if near[-1] >= RANGE_M:
        return np.append(near[near < RANGE_M], RANGE_M)
    far = np.geomspace(near[-1], RANGE_M, POINTS - FINE_POINTS + 1)[1:]
    return np.concatenate([near, far])


def along(
    lat: FloatArray, lon: FloatArray, azimuth_deg: FloatArray, distance_m: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return points (n, k) at distances (k,) from sites (n,) on great circles. [deg]

    On a sphere: some 0.3 % of the distance against the ellipsoid, along the ray.
    """
    phi, alpha = np.radians(lat)[:, None], np.radians(azimuth_deg)[:, None]
    arc = (distance_m / EARTH_RADIUS_M)[None, :]
    sine = np.sin(phi) * np.cos(arc) + np.cos(phi) * np.sin(arc) * np.cos(alpha)
    east = np.sin(alpha) * np.sin(arc) * np.cos(phi)
    turn = np.degrees(np.arctan2(east, np.cos(arc) - np.sin(phi) * sine))
    ray_lon = np.remainder(lon[:, None] + turn + 180, 360) - 180
    return np.degrees(np.arcsin(np.clip(sine, -1, 1))), np.asarray(ray_lon)


def extent_text(file: Any) -> str:
    """Return the area that an open file covers, in words. [deg]"""
    from rasterio.warp import transform_bounds

    west, south, east, north = transform_bounds(file.crs, "EPSG:4326", *file.bounds)
    return f"latitude {south:.3f} to {north:.3f}, longitude {west:.3f} to {east:.3f}"


def _to_file(file: Any, lat: FloatArray, lon: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return column and row (any shape) of points in the file, pixel centres at .5."""
    from rasterio.warp import transform

    x, y = lon, lat
    if file.crs.to_epsg() != 4326:
        px, py = transform("EPSG:4326", file.crs, lon.ravel().tolist(), lat.ravel().tolist())
        x, y = np.reshape(px, lon.shape), np.reshape(py, lat.shape)
    back = ~file.transform
    return (
        np.asarray(back.a * x + back.b * y + back.c),
        np.asarray(back.d * x + back.e * y + back.f),
    )


def _inside(file: Any, lat: FloatArray, lon: FloatArray) -> BoolArray:
    column, row = _to_file(file, lat, lon)
    return np.asarray((column >= 0) & (column < file.width) & (row >= 0) & (row < file.height))


def _resolution_m(file: Any) -> float:
    """Return the side of a pixel [m]; the larger of the two where they differ."""
    width, height = (abs(side) for side in file.res)
    if file.crs.is_geographic:
        return float(max(width, height) * np.pi / 180 * EARTH_RADIUS_M)
    factor = float(file.crs.linear_units_factor[1])
    return float(max(width, height) * factor)


def _cells(lat: FloatArray, lon: FloatArray, good: BoolArray) -> Iterator[IntArray]:
    """Yield the indices of the good sites, cell by cell."""
    at = np.flatnonzero(good)
    code = np.floor(lat[at] / CELL_DEG) * 10_000 + np.floor(lon[at] / CELL_DEG)
    order = np.argsort(code, kind="stable")
    edges = np.flatnonzero(np.diff(code[order])) + 1
    for part in np.split(order, edges):
        # Some hundred rays at once keep the working memory small.
        for start in range(0, len(part), 500):
            if len(part):
                yield at[part[start : start + 500]]


def _heights(file: Any, lat: FloatArray, lon: FloatArray) -> FloatArray:
    """Return heights (n, k) by bilinear interpolation in one window; NaN outside and in gaps."""
    from rasterio.windows import Window

    column, row = _to_file(file, lat, lon)
    column, row = column - 0.5, row - 0.5
    inside = (column > -1) & (column < file.width) & (row > -1) & (row < file.height)
    if not inside.any():
        return np.full(lat.shape, np.nan)
    left, top = (max(int(np.floor(v[inside].min())), 0) for v in (column, row))
    right = min(int(np.floor(column[inside].max())) + 2, file.width)
    bottom = min(int(np.floor(row[inside].max())) + 2, file.height)
    window = Window(left, top, right - left, bottom - top)
    data = file.read(1, window=window, masked=True, out_dtype="float32").filled(np.nan)
    data[~np.isfinite(data)] = np.nan  # a NaN that signals becomes one that does not
    # At the file's edge the outer half pixel takes the edge's own value.
    x = np.clip(np.where(inside, column - left, 0), 0, data.shape[1] - 1)
    y = np.clip(np.where(inside, row - top, 0), 0, data.shape[0] - 1)
    return np.where(inside, _bilinear(data, x, y), np.nan)


def _bilinear(data: NDArray[np.float32], x: FloatArray, y: FloatArray) -> FloatArray:
    """Return values of ``data`` at columns ``x`` and rows ``y``; a gap beside makes a gap."""
    left = np.minimum(np.floor(x).astype(np.intp), max(data.shape[1] - 2, 0))
    top = np.minimum(np.floor(y).astype(np.intp), max(data.shape[0] - 2, 0))
    right, bottom = (
        np.minimum(left + 1, data.shape[1] - 1),
        np.minimum(top + 1, data.shape[0] - 1),
    )
    u, v = x - left, y - top
    upper = data[top, left] * (1 - u) + data[top, right] * u
    lower = data[bottom, left] * (1 - u) + data[bottom, right] * u
    return np.asarray(upper * (1 - v) + lower * v)
