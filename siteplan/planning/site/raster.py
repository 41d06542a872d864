"""A GeoTIFF of heights, opened by rasterio; what is wrong with it becomes an error of ours.

rasterio comes with the extra ``terrain``. Errors of GDAL that come while heights are read, here or
in the middle of a plan, are turned in the same place.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np

from siteplan.errors import ProjectError

#: A pixel's side must lie between these [degrees, or units of the reference system].
_PIXEL = 1e-9, 1e9


@contextmanager
def raster(path: Path) -> Iterator[Any]:
    """Yield an open file of heights, that has a place on the Earth.

    Raises
    ------
    ProjectError
        rasterio is not installed, or the file cannot be read, holds no heights, or does not say
        where it lies; also where reading it fails within the block.
    """
    try:
        import rasterio
        from rasterio._err import CPLE_BaseError
    except ImportError:
        raise ProjectError(
            "reading terrain needs rasterio, which is not installed.",
            where=str(path),
            fix="Install it with: pip install 'siteplan[terrain]', or move the file away.",
        ) from None
    try:
        with _silent(), rasterio.open(path) as file:
            _check(file, path)
            yield file
    except (rasterio.errors.RasterioError, CPLE_BaseError, UnicodeError):
        _refuse_forbidden(path)
        raise ProjectError(
            "it cannot be read as a GeoTIFF.", where=str(path), fix="Export it anew."
        ) from None


@contextmanager
def _silent() -> Iterator[None]:
    """Pass over rasterio's warning of a file without a place: it is refused in our words."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Dataset has no geotransform")
        yield


def _refuse_forbidden(path: Path) -> None:
    """Raise where the file may not be read: to GDAL it is but a bad one."""
    try:
        path.open("rb").close()
    except OSError as error:
        what = f"it cannot be read ({error.strerror})."
        raise ProjectError(what, where=str(path), fix="Check its permissions.") from None


def _check(file: Any, path: Path) -> None:
    """Refuse a file that does not say where it lies, or holds no heights."""
    if file.crs is None or not (file.crs.is_geographic or file.crs.is_projected):
        fix = "Export it with one, as EPSG:4326."
        raise ProjectError("it has no reference system.", where=str(path), fix=fix)
    sides = np.abs([file.transform.a, file.transform.b, file.transform.d, file.transform.e])
    low, high = _PIXEL
    place = np.array(file.transform[:6])
    good = np.isfinite(place).all() and (np.abs(place) < high * 1e3).all()
    if not good or file.transform.is_identity or not low < max(sides) < high or _flat(file):
        raise ProjectError(
            "it does not say where it lies (its georeference is missing or wrong).",
            where=str(path),
            fix="Export it anew as a GeoTIFF with its place.",
        )
    if not file.count or np.dtype(file.dtypes[0]).kind not in "iuf":
        fix = "Export it with heights in metres as its first band."
        raise ProjectError("it holds no heights.", where=str(path), fix=fix)


def _flat(file: Any) -> bool:
    """Whether its pixels have no width or no height."""
    area: float = file.transform.determinant
    return not abs(area) > _PIXEL[0] ** 2
