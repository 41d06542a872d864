"""The cases: number and seed give a kind of input, and the bytes of a file that may be damaged.

    case(seed=1, number=4711)

is the same each time, on any machine with the same libraries.
"""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random

from siteplan.inputs.kinds import OVERLAY_SUFFIXES, kind_of
from tests.fuzz import bytewise, structured, tables

#: Files other than sites', and how often each is drawn; a kind of sites has 4, CSV and xlsx more.
_OTHERS = {
    "network.toml": 10, "obstructions.csv": 5, "returned.csv": 5, "terrain.tif": 4,
    "clouds.zip": 2, "area.geojson": 3, "overlay.parquet": 2, "dish.csv": 3,
    "outages.csv": 6, "outages.xlsx": 2, "satellites.csv": 4, "satellites.toml": 4,
}  # fmt: skip
_SITES = {".csv": 12, ".xlsx": 8}
_STARTER = """\
[network]
name = "Ferries"
date = 2026-09-01
availability_pct = 99.5
timezone = "Europe/Stockholm"

[satellite]
longitude_deg = 10.0
neighbours_deg = [7.0, 13.0]

[hub]
lat = 59.3
lon = 18.0
antenna_m = 6.3

[outbound]
satellite_eirp_dbw = 50
modcod = "QPSK 3/4"

[inbound]
symbol_rate_msps = 0.512

[[antennas]]
diameter_m = 1.2

[[antennas]]
diameter_m = 1.8
efficiency = 0.65

[[bucs]]
rated_w = 2

[[neighbours]]
longitude_deg = 7.0
downlink_level_db = -1.5

[[neighbours]]
longitude_deg = 13.0
downlink_dbw_mhz = 33

[regulation]
masks = ["s728_1", "own"]
emission_class = "G7W"

[[masks]]
name = "own"
date = 2026-01-15
reference_khz = 40
angle_from = "satellite"
segments = [[2.5, 7, 33, 25], [7, 9.2, 12, 0], [9.2, 48, 36, 25]]

[rules]
min_elevation_deg = 7

[site]
wind_m_s = 25
"""
_OBSTRUCTIONS = (
    ("site_id", "azimuth_deg", "azimuth_from_deg", "azimuth_to_deg", "elevation_deg", "height_m",
     "distance_m", "kind", "growth_m_per_year"),
    [(f"F{k:02d}", "", 170.0 + k, 190.0 + k, "", 12.5, 60.0 + k, "trees", 0.3) for k in range(6)],
)  # fmt: skip
_RETURNED = (
    ("site_id", "name", "lat", "lon", "altitude_m", "azimuth_true_deg", "elevation_deg", "skew_deg",
     "c_n_db", "cable_m", "cable_loss_db", "buc_voltage_v", "obstacle_azimuth_deg",
     "obstacle_elevation_deg", "remarks"),
    [(f"F{k:02d}", "", 58.1 + 0.173 * k, 11.2 + 0.09 * k, 13.0, 181.5, 23.4, 1.2, 9.5, 24.0, 3.1,
      24.0, "", "", "klart") for k in range(6)],
)  # fmt: skip


_DISH = (
    ("angle_deg", "rx_gain_dbi", "tx_gain_dbi"),
    [(0.0, 41.7, 43.2), (1.25, 27.5, 24.9), (2.5, 19.1, 18.75), (48.0, -6.5, -7.2),
     (180.0, -10.0, -11.5)],
)  # fmt: skip


_SATELLITES = """\
[[satellites]]
name = "Ten east"
longitude_deg = 10.0
satellite_eirp_dbw = 51.5
satellite_g_t_db_k = 2
sfd_dbw_m2 = -90
neighbours_deg = [7.0, 13.0]

[[satellites]]
name = "Five west"
longitude_deg = "5W"
outbound_satellite_eirp_dbw = 47.25
area = "spot.geojson"

[[satellites]]
longitude_deg = 299
eirp_contours = "levels.geojson"
attribute = "dbw"
"""


@dataclass(frozen=True)
class Case:
    """A file that is tried: ``name`` with its ending, and what is known to be in the project."""

    seed: int
    number: int
    name: str
    data: bytes

    @property
    def rng(self) -> Random:
        """What chooses how it is read."""
        return Random(f"{self.seed}/{self.number}/reading")


def weights() -> dict[str, int]:
    """Return the names of the files that are drawn and how often; the kinds that are read."""
    sites = {f"sites{s}": _SITES.get(s, 4) for s in tables.WRITERS if kind_of(Path(f"sites{s}"))}
    sites["sites-geo.parquet"] = 4
    overlays = {f"overlay{s}": 2 for s in OVERLAY_SUFFIXES if s in tables.WRITERS}
    return sites | overlays | _OTHERS


def case(seed: int, number: int) -> Case:
    """Return a case."""
    rng = Random(f"{seed}/{number}")
    names = weights()
    name = rng.choices(list(names), list(names.values()))[0]
    pick = rng.random()
    if pick < 0.04:
        other = rng.choice([*bytewise.OTHERS, well_formed(rng.choice(list(names)))])
        return Case(seed, number, name, other)
    data = _structured(rng, name) if pick < 0.6 else well_formed(name)
    if pick > 0.5:
        data = bytewise.changed(rng, data)
    return Case(seed, number, name, data)


@cache
def well_formed(name: str) -> bytes:
    """Return a file that is read without a word."""
    stem, suffix = Path(name).stem, Path(name).suffix
    rng = Random(name)
    if suffix == ".toml":
        return (_SATELLITES if stem == "satellites" else _STARTER).encode()
    if suffix == ".tif":
        return terrain(rng, plain=True)
    if name == "clouds.zip":
        return _clouds()
    if suffix == ".csv":
        headings, rows = _tables(stem)
        lines = [headings, *rows]
        return "\n".join(",".join(map(str, line)) for line in lines).encode() + b"\n"
    if stem in ("area", "overlay"):
        return _shapes(suffix)
    return _writer(name)(rng, *_tables(stem))


def _tables(stem: str) -> tuple[tuple[str, ...], tables.Rows]:
    own = {"obstructions": _OBSTRUCTIONS, "returned": _RETURNED, "dish": _DISH,
           "outages": tables.OUTAGES, "satellites": tables.SATELLITES}  # fmt: skip
    return own.get(stem, (tables.HEADINGS, tables.ROWS))


def _writer(name: str) -> Callable[[Random, tuple[str, ...], tables.Rows], bytes]:
    return tables.geoparquet if name == "sites-geo.parquet" else tables.WRITERS[Path(name).suffix]


def _structured(rng: Random, name: str) -> bytes:
    """Return a file that is well formed, or nearly, and holds what nobody meant."""
    stem, suffix = Path(name).stem, Path(name).suffix
    by_suffix: dict[str, Callable[[Random, bytes], bytes]] = {
        ".geojson": structured.json_changed, ".json": structured.json_changed,
        ".kml": structured.xml_changed, ".gpx": structured.xml_changed,
        ".toml": structured.toml_changed, ".gpkg": structured.database_changed,
        ".parquet": structured.parquet_changed,
    }  # fmt: skip
    if suffix == ".tif":
        return terrain(rng, plain=False)
    tabular = suffix != ".toml" and stem not in ("terrain", "clouds", "area", "overlay")
    if suffix in by_suffix and (not tabular or rng.random() < 0.5):
        return by_suffix[suffix](rng, well_formed(name))
    if not tabular:
        return bytewise.changed(rng, well_formed(name))
    typed = suffix not in (".csv", ".kml", ".gpx")
    headings, rows = structured.cells_changed(rng, *_tables(stem), typed=typed)
    try:
        return _writer(name)(rng, tuple(headings), rows)
    except Exception:  # what a writer will not write cannot come in that way
        return bytewise.changed(rng, well_formed(name))


def _shapes(suffix: str) -> bytes:
    """Return polygons, lines and points as a file of a kind."""
    import geopandas
    import pyogrio
    import shapely

    shapes = [
        shapely.box(11, 58, 12, 59).difference(shapely.box(11.2, 58.2, 11.4, 58.4)),
        shapely.LineString([(11, 58), (11.5, 58.5), (12, 58)]),
        shapely.MultiPolygon([shapely.box(179, 1, 180, 2), shapely.box(-180, 1, -179, 2)]),
        shapely.Point(11.5, 58.5),
    ]
    if suffix == ".kml":
        shapes = shapes[:1]
    frame = geopandas.GeoDataFrame({"name": [f"led {k}" for k in range(len(shapes))]},
                                   geometry=shapes, crs=4326)  # fmt: skip
    out = io.BytesIO()
    if suffix in (".geojson", ".json"):
        return str(frame.to_json()).encode()
    if suffix == ".parquet":
        frame.to_parquet(out)
        return out.getvalue()
    drivers = {
        ".gpkg": ("GPKG", ""),
        ".kml": ("KML", ""),
        ".kmz": ("LIBKML", ""),
        ".gpx": ("GPX", ""),
    }
    if suffix not in drivers:
        return b""
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": "2026-01-01T00:00:00Z"})
    from tempfile import TemporaryDirectory

    with TemporaryDirectory(prefix="siteplan-fuzz-") as folder:
        path = Path(folder) / f"overlay{suffix}"
        frame.to_file(path, driver=drivers[suffix][0])
        return path.read_bytes()


def terrain(rng: Random, *, plain: bool) -> bytes:
    """Return a small GeoTIFF at the sites; else one of odd values, kinds or reference systems."""
    import numpy as np
    from rasterio.io import MemoryFile
    from rasterio.transform import Affine

    heights = np.arange(144, dtype="float64").reshape(12, 12)
    kind, crs, step, nodata, bands = "float32", "EPSG:4326", 0.25, None, 1
    if not plain:
        heights[rng.randrange(12), rng.randrange(12)] = rng.choice(
            (np.nan, np.inf, -np.inf, 1e38, -1e38, -9999, 9e5)
        )
        kind = rng.choice(("float32", "float64", "int16", "uint8", "complex64", "uint32", "int8"))
        crs = rng.choice(("EPSG:4326", "EPSG:3857", None, "EPSG:4979", "EPSG:27700", "EPSG:5714"))
        step = rng.choice((0.25, 0.0, 1e-12, 1e12, -0.25, 40.0))
        nodata = rng.choice((None, 0.0, 5.0))
        bands = rng.choice((1, 1, 3))
    with np.errstate(all="ignore"):
        data = np.nan_to_num(heights).astype(kind) if kind[0] in "iu" else heights.astype(kind)
    with MemoryFile() as memory:
        with memory.open(driver="GTiff", height=12, width=12, count=bands, dtype=kind, crs=crs,
                         transform=Affine(step, 0, 11, 0, -step, 60),
                         nodata=nodata) as file:  # fmt: skip
            for band in range(1, bands + 1):
                file.write(data, band)
        return bytes(memory.read())


def _clouds() -> bytes:
    """Return a ZIP of five small grids: of maps only in name."""
    grid = "\n".join(" ".join(f"{0.1 * (a + b):.3f}" for a in range(9)) for b in range(5))
    return bytewise.zipped({f"L_{p}.txt": grid.encode() for p in (5, 10, 20, 30, 50)})


def described(one: Case) -> str:
    """Return a case in a line."""
    begins = json.dumps(one.data[:60].decode("latin-1"))
    return f"--seed {one.seed} --only {one.number}: {one.name}, {len(one.data)} bytes, {begins}"


def signature(text: str) -> str:
    """Return a message without its numbers and names, to tell kinds of failure apart."""
    return re.sub(r"'[^']*'|\"[^\"]*\"|\d+", "*", text)[:160]
