"""A GeoPackage on a disk that will not take it: an error of the system, not of the program."""

from __future__ import annotations

import errno
import shutil
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyogrio
import pytest
import shapely
from pyogrio.errors import DataLayerError, DataSourceError, FeatureError

from siteplan.outputs.geopackage import write_layer

TABLE = pa.table({"name": ["A"], "geom": [shapely.Point(1.5, 2.5).wkb]})


def test_the_layer_comes_back(tmp_path: Path) -> None:
    path = tmp_path / "a.gpkg"
    write_layer(TABLE, path, layer="places", geometry="geom")
    meta, back = pyogrio.read_arrow(path, layer="places")
    assert (meta["crs"], meta["geometry_name"], back["name"].to_pylist()) == (
        "EPSG:4326",
        "geom",
        ["A"],
    )
    assert shapely.from_wkb(back["geom"][0].as_py()).equals(shapely.Point(1.5, 2.5))


@pytest.mark.parametrize(
    ("error", "number"),
    [
        (DataLayerError("sqlite3_exec(COMMIT) failed: database or disk is full"), errno.ENOSPC),
        (FeatureError("failed to execute insert: disk I/O error"), errno.EIO),
        (DataSourceError("sqlite3_open(a) failed: unable to open database file"), errno.EIO),
        (DataSourceError("attempt to write a readonly database"), errno.EROFS),
        (DataLayerError("unsupported type"), None),
    ],
)
def test_what_a_disk_says(
    error: Exception, number: int | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: Any, **__: Any) -> None:
        raise error

    monkeypatch.setattr(pyogrio, "write_arrow", fails)
    kind = DataLayerError if number is None else OSError
    with pytest.raises(kind, match="unsupported type" if number is None else "a.gpkg") as caught:
        write_layer(TABLE, tmp_path / "a.gpkg", layer="places", geometry="geom")
    assert getattr(caught.value, "errno", None) == number


def test_a_disk_without_space_need_not_say_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: Any, **__: Any) -> None:
        raise DataLayerError("no such table: gpkg_contents")

    monkeypatch.setattr(pyogrio, "write_arrow", fails)
    monkeypatch.setattr(shutil, "disk_usage", lambda _: shutil._ntuple_diskusage(9, 9, 0))
    with pytest.raises(OSError, match="No space left"):
        write_layer(TABLE, tmp_path / "a.gpkg", layer="places", geometry="geom")
