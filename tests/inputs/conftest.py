"""Tables of sites as files of each kind."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from pathlib import Path

import geopandas as gpd
import pytest
import shapely

COUNT = 30


def _renamed(save: Callable[..., None], path: Path, suffix: str) -> None:
    save(path.with_suffix(suffix), index=False)
    path.with_suffix(suffix).rename(path)


def _packed(path: Path, name: str, text: str) -> None:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(name, text)


def _write(folder: Path, suffix: str) -> Path:
    """Write 30 sites as a file of a kind."""
    path = folder / f"sites{suffix}"
    sites = gpd.GeoDataFrame(
        {"site_id": [f"A{i:02d}" for i in range(COUNT)]},
        geometry=shapely.points([[30.11 + 0.1 * i, -1.23] for i in range(COUNT)]),
        crs=4326,
    )
    table = sites.drop(columns="geometry").assign(lat=sites.geometry.y, lon=sites.geometry.x)
    placemarks = "".join(
        f"<Placemark><name>{i}</name><Point><coordinates>{x},{y}</coordinates></Point></Placemark>"
        for i, (x, y) in enumerate(zip(table["lon"], table["lat"], strict=True))
    )
    {
        ".csv": lambda: table.to_csv(path, index=False),
        ".xlsx": lambda: table.to_excel(path, index=False),
        ".geojson": lambda: sites.to_file(path, driver="GeoJSON"),
        ".gpkg": lambda: sites.to_file(path, driver="GPKG"),
        ".kml": lambda: path.write_text(f"<kml>{placemarks}</kml>"),
        ".parquet": lambda: sites.to_parquet(path),
        ".xlsm": lambda: _renamed(table.to_excel, path, ".xlsx"),
        ".json": lambda: sites.to_file(path, driver="GeoJSON"),
        ".kmz": lambda: _packed(path, "doc.kml", f"<kml>{placemarks}</kml>"),
        ".gpx": lambda: sites.assign(name=sites.site_id)[["name", "geometry"]].to_file(
            path, driver="GPX", layer="waypoints"
        ),
        ".shp": lambda: sites.to_file(path),
        ".zip": lambda: _packed(path, "list/all_sites.csv", table.to_csv(index=False)),
    }[suffix]()
    return path


@pytest.fixture
def write() -> Callable[[Path, str], Path]:
    """Return what writes 30 sites into a folder; a kind that is new needs a line of its own."""
    return _write
