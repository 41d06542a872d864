"""Tables of sites as files of each kind."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import geopandas as gpd
import pytest
import shapely

COUNT = 30


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
    }[suffix]()
    return path


@pytest.fixture
def write() -> Callable[[Path, str], Path]:
    """Return what writes 30 sites into a folder; a kind that is new needs a line of its own."""
    return _write
