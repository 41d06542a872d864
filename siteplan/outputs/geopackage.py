"""A layer of points as a GeoPackage, written by GDAL; a disk that refuses it is an OSError."""

from __future__ import annotations

import errno
import os
import re
import shutil
from pathlib import Path
from typing import Any

#: What SQLite and GDAL say where the disk, and not the table, is at fault.
_REFUSALS = {
    errno.ENOSPC: re.compile("disk is full|no space left", re.I),
    errno.EROFS: re.compile("readonly|read-only", re.I),
    errno.EIO: re.compile("disk I/O error|unable to open database", re.I),
}
#: Less than this [bytes] is no space left.
_LITTLE = 1 << 20


def write_layer(table: Any, path: Path, *, layer: str, geometry: str) -> None:
    """Write points as the one layer of a GeoPackage in EPSG:4326.

    Parameters
    ----------
    table : pyarrow.Table or pyarrow.RecordBatchReader
        Its column ``geometry`` holds points as WKB.
    path : Path
    layer, geometry : str
        Names of the layer and of its column of points.

    Raises
    ------
    OSError
        If the disk is full, read-only or broken.
    """
    import pyogrio

    try:
        pyogrio.write_arrow(
            table, path, layer=layer, geometry_name=geometry, geometry_type="Point",
            crs="EPSG:4326", driver="GPKG",
        )  # fmt: skip
    except RuntimeError as error:
        if (number := _refusal(str(error), path)) is None:
            raise
        raise OSError(number, os.strerror(number), str(path)) from None


def _refusal(told: str, path: Path) -> int | None:
    """Return the system's number of what a disk refused, None where it did not."""
    for number, said in _REFUSALS.items():
        if said.search(told):
            return number
    # Where the first page found no place, the next step misses what should stand on it.
    return errno.ENOSPC if shutil.disk_usage(path.parent).free < _LITTLE else None
