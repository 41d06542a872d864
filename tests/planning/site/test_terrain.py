"""The terrain's horizon out of GeoTIFFs made here: ridges, gaps, edges, other projections."""

from __future__ import annotations

import re
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.errors import ProjectError
from siteplan.model import Sites, Surroundings
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.planning.site.terrain import (
    CELL_DEG,
    RANGE_M,
    _cells,
    along,
    check_covers,
    ray_steps_m,
    terrain_at,
)

rasterio = pytest.importorskip("rasterio")
# rasterio's own arithmetic with the transforms of its dependency.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")
R = 6_371_000.0


def write(
    path: Path,
    heights: Any,
    *,
    west: float = 10.0,
    north: float = 46.0,
    step: float = 0.001,
    crs: str | None = "EPSG:4326",
    nodata: float | None = None,
) -> Path:
    """Write heights (rows from the north) as a GeoTIFF."""
    from rasterio.transform import from_origin

    data = np.asarray(heights, dtype="float32")
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        height=data.shape[0],
        width=data.shape[1],
        count=1,
        dtype="float32",
        crs=crs,
        transform=from_origin(west, north, step, step),
        nodata=nodata,
        tiled=True,
    ) as file:
        file.write(data, 1)
    return path


def ridge(rise: float = 400.0, rows: int = 700, cols: int = 300) -> Any:
    """Return a plain at 100 m with an east-west wall at 45.9 N, seen from the south."""
    data = np.full((rows, cols), 100.0)
    data[100] += rise
    return data


def one(value: float) -> Any:
    return np.array([value])


def test_a_ridge_to_the_north(tmp_path: Path) -> None:
    """The wall's row is centred on 45.8995 N, 0.1995 degree from 45.7 N: some 22.2 km.

    By the definition of P.452-17 over 4/3 of the earth's radius.
    """
    path = write(tmp_path / "t.tif", ridge())
    found = terrain_at(path, one(45.7), one(10.15), one(0.0), one(10.0))
    distance = np.radians(45.8995 - 45.7) * R
    expected = np.degrees(np.arctan(390 / distance - distance / (2 * 4 / 3 * R)))
    # Far off, points of the ray lie some 200 m apart: the thin wall may be met off its crest.
    assert found.elevation_deg[0] <= expected + 0.01
    broad = ridge()
    broad[95:106] = 500
    path = write(tmp_path / "b.tif", broad)
    found = terrain_at(path, one(45.7), one(10.15), one(0.0), one(10.0))
    near = np.radians(45.8945 - 45.7) * R
    by_hand = np.degrees(np.arctan(390 / near - near / (2 * 4 / 3 * R)))
    assert found.elevation_deg[0] == pytest.approx(by_hand, abs=0.02)
    assert found.distance_m[0] == pytest.approx(near, abs=250)


def test_looking_away_sees_the_plain(tmp_path: Path) -> None:
    path = write(tmp_path / "t.tif", ridge())
    found = terrain_at(path, one(45.7), one(10.15), one(180.0), one(10.0))
    # Over a plain the horizon dips by some sqrt(2 h / k a): 10 m give 0.0880 degree.
    assert found.elevation_deg[0] == pytest.approx(-np.degrees(np.sqrt(20 / (R * 4 / 3))), abs=0.01)


def test_many_sites_equal_one_by_one(tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    path = write(tmp_path / "t.tif", rng.uniform(0, 600, (700, 800)))
    lat, lon = rng.uniform(45.35, 45.95, 60), rng.uniform(10.05, 10.75, 60)
    azimuth, height = rng.uniform(0, 360, 60), rng.uniform(2, 20, 60)
    together = terrain_at(path, lat, lon, azimuth, height)
    for i in range(0, 60, 7):
        alone = terrain_at(
            path, lat[i : i + 1], lon[i : i + 1], azimuth[i : i + 1], height[i : i + 1]
        )
        assert alone.elevation_deg[0] == together.elevation_deg[i]


def test_sites_are_read_cell_by_cell() -> None:
    """Sites whose windows are read at once lie close together, however they are ordered."""
    rng = np.random.default_rng(7)
    lat, lon = rng.uniform(-60, 60, 3000), rng.uniform(-180, 180, 3000)
    lat[:1200], lon[:1200] = rng.uniform(10.01, 10.24, 1200), rng.uniform(20.01, 20.24, 1200)
    good = rng.random(3000) < 0.9
    parts = list(_cells(lat, lon, good))
    for at in parts:
        assert np.ptp(lat[at]) <= CELL_DEG
        assert np.ptp(lon[at]) <= CELL_DEG
        assert len(at) <= 500
    np.testing.assert_array_equal(np.sort(np.concatenate(parts)), np.flatnonzero(good))


def test_projected_files_give_the_same(tmp_path: Path) -> None:
    """One hill in degrees and in UTM metres, the latter resampled by rasterio."""
    from rasterio.warp import Resampling, calculate_default_transform, reproject

    y, x = np.mgrid[0:700, 0:700]
    hill = (100 + 500 * np.exp(-((y - 150) ** 2 + (x - 350) ** 2) / 2000)).astype("float32")
    path = write(tmp_path / "t.tif", hill)
    with rasterio.open(path) as src:
        turn, width, height = calculate_default_transform(
            src.crs, "EPSG:32632", src.width, src.height, *src.bounds
        )
        with rasterio.open(
            tmp_path / "utm.tif", "w", driver="GTiff", width=width, height=height, count=1,
            dtype="float32", crs="EPSG:32632", transform=turn, nodata=-9999,
        ) as out:  # fmt: skip
            reproject(
                rasterio.band(src, 1), rasterio.band(out, 1), resampling=Resampling.bilinear,
                dst_nodata=-9999,
            )  # fmt: skip
    at = one(45.7), one(10.35), one(0.0), one(5.0)
    degrees, metres = terrain_at(path, *at), terrain_at(tmp_path / "utm.tif", *at)
    assert degrees.elevation_deg[0] > 1
    assert metres.elevation_deg[0] == pytest.approx(degrees.elevation_deg[0], abs=0.03)


def test_outside_and_gaps_are_no_answer(tmp_path: Path) -> None:
    data = ridge()
    data[300:320, 140:160] = -9999
    path = write(tmp_path / "t.tif", data, nodata=-9999)
    lat, lon = np.array([45.69, 50.0, 45.5]), np.array([10.15, 10.15, 10.15])
    found = terrain_at(path, lat, lon, np.zeros(3), np.full(3, 5.0))
    np.testing.assert_array_equal(np.isnan(found.elevation_deg), [True, True, False])
    none = terrain_at(path, one(45.5), one(10.15), one(np.nan), one(5.0))
    assert np.isnan(none.elevation_deg[0])


def test_rays_are_great_circles() -> None:
    """Against pyproj on the same sphere."""
    from pyproj import Geod

    rng = np.random.default_rng(1)
    lat, lon, azimuth = (
        rng.uniform(-70, 70, 20),
        rng.uniform(-180, 180, 20),
        rng.uniform(0, 360, 20),
    )
    steps = np.array([0.0, 1e3, 5e4])
    ours_lat, ours_lon = along(lat, lon, azimuth, steps)
    globe = Geod(a=R, b=R)
    for k, step in enumerate(steps):
        x, y, _ = globe.fwd(lon, lat, azimuth, np.full(20, step))
        np.testing.assert_allclose(ours_lat[:, k], y, atol=1e-9)
        np.testing.assert_allclose(np.mod(ours_lon[:, k] - x + 180, 360) - 180, 0, atol=1e-9)


def test_steps_are_fine_near_by() -> None:
    steps = ray_steps_m(30.0)
    assert steps[0] == 0
    assert steps[-1] == pytest.approx(RANGE_M, rel=1e-12)
    np.testing.assert_allclose(np.diff(steps[:125]), 7.5, rtol=1e-9)
    assert (np.diff(steps)[125:] < 0.01 * steps[126:]).all()
    assert (np.diff(steps) > 0).all()
    assert ray_steps_m(2000.0)[-1] == RANGE_M


def test_horizon_against_a_plain_search(tmp_path: Path) -> None:
    """Hills of all sizes, followed every 20 m on the ellipsoid (pyproj) with exact angles."""
    from pyproj import Geod

    rng = np.random.default_rng(5)
    waves = np.hypot(*np.meshgrid(np.fft.fftfreq(1200), np.fft.fftfreq(1200)))
    waves[0, 0] = 1
    rough = np.real(np.fft.ifft2(np.fft.fft2(rng.normal(size=(1200, 1200))) / waves**2.2))
    hills = ((rough - rough.min()) / np.ptp(rough) * 1500).astype("float32").astype(float)
    path = write(tmp_path / "t.tif", hills)
    lat, lon = rng.uniform(45.2, 45.6, 30), rng.uniform(10.4, 10.8, 30)
    azimuth = rng.uniform(0, 360, 30)
    ours = terrain_at(path, lat, lon, azimuth, np.full(30, 5.0)).elevation_deg
    steps, radius = np.arange(0, 2500) * 20.0, R * 4 / 3
    x, y, _ = Geod(ellps="WGS84").fwd(
        *(np.repeat(v, steps.size) for v in (lon, lat, azimuth)), np.tile(steps, 30)
    )
    row, column = (46.0 - np.array(y)) / 0.001 - 0.5, (np.array(x) - 10.0) / 0.001 - 0.5
    top, left = (np.clip(np.floor(v), 0, 1198).astype(int) for v in (row, column))
    v, u = row - top, column - left
    height = (1 - v) * ((1 - u) * hills[top, left] + u * hills[top, left + 1])
    height += v * ((1 - u) * hills[top + 1, left] + u * hills[top + 1, left + 1])
    height[(row < 0) | (row > 1199) | (column < 0) | (column > 1199)] = np.nan
    height = height.reshape(30, -1)
    turn = steps[1:] / radius
    rise = (radius + height[:, 1:]) * np.cos(turn) - (radius + height[:, :1] + 5)
    angle = np.degrees(np.arctan2(rise, (radius + height[:, 1:]) * np.sin(turn)))
    np.testing.assert_allclose(ours, np.nanmax(angle, axis=1), atol=0.1)


def test_heights_between_pixels_are_bilinear_and_the_edge_keeps_its_own(tmp_path: Path) -> None:
    """Against scipy's linear interpolation of the same noise at the same points of the rays.

    Sites in the outer half pixel of each edge and corner are among them, and rays that leave.
    """
    from scipy.ndimage import map_coordinates

    rng = np.random.default_rng(12)
    noise = rng.uniform(0, 900, (400, 300)).astype("float32")
    path = write(tmp_path / "t.tif", noise)
    north, west, south, east = 46.0, 10.0, 45.6, 10.3
    inner = rng.uniform(south, north, 40), rng.uniform(west, east, 40)
    hair = 2e-4
    lat = np.append(inner[0], [north - hair, south + hair, north - hair, south + hair, 45.8, 45.8])
    lon = np.append(inner[1], [west + hair, east - hair, east - hair, 10.15, west + hair, 10.2999])
    azimuth, dish = rng.uniform(0, 360, lat.size), rng.uniform(0, 20, lat.size)
    azimuth[:8] = [0, 90, 180, 270] * 2
    steps = ray_steps_m(0.001 * np.pi / 180 * R)
    ray_lat, ray_lon = along(lat, lon, azimuth, steps)
    row, column = (north - ray_lat) / 0.001 - 0.5, (ray_lon - west) / 0.001 - 0.5
    height = map_coordinates(noise.astype(float), [row, column], order=1, mode="nearest")
    height[(row <= -1) | (row >= 400) | (column <= -1) | (column >= 300)] = np.nan
    rise = height[:, 1:] - height[:, :1] - dish[:, None]
    slope = rise / steps[1:] - steps[1:] / (2 * 4 / 3 * R)
    at = np.nanargmax(slope, axis=1)
    found = terrain_at(path, lat, lon, azimuth, dish)
    highest = np.degrees(np.arctan(slope[np.arange(lat.size), at]))
    np.testing.assert_allclose(found.elevation_deg, highest, atol=1e-4)
    np.testing.assert_allclose(found.distance_m, steps[1:][at], rtol=1e-9)
    # Along a row or a column alone, the window that is read is no wider than it must be.
    for k in range(8):
        own = slice(k, k + 1)
        alone = terrain_at(path, lat[own], lon[own], azimuth[own], dish[own])
        np.testing.assert_allclose(alone.elevation_deg, highest[own], atol=1e-4)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (
            lambda p: write(p, ridge(), crs=None),
            "it has no reference system. Export it with one, as EPSG:4326.",
        ),
        (
            lambda p: p.write_text("height"),
            "it cannot be read as a GeoTIFF. Export it anew.",
        ),
        (
            lambda p: write(p, ridge(), north=20.0),
            "none of the 1 sites lies in it: it covers latitude 19.300 to 20.000, longitude 10.000"
            " to 10.300. Take a file of the sites' area, or move this one away.",
        ),
    ],
)
@pytest.mark.filterwarnings("ignore::rasterio.errors.NotGeoreferencedWarning")
def test_unusable_files(tmp_path: Path, make: Any, words: str) -> None:
    path = tmp_path / "terrain.tif"
    make(path)
    with pytest.raises(ProjectError, match=f"^{re.escape(f'{path}: {words}')}$"):
        check_covers(path, one(45.7), one(10.15))


def test_without_rasterio_the_way_to_it_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "rasterio", None)
    path = tmp_path / "terrain.tif"
    words = (
        "reading terrain needs rasterio, which is not installed."
        " Install it with: pip install 'siteplan[terrain]', or move the file away."
    )
    with pytest.raises(ProjectError, match=f"^{re.escape(f'{path}: {words}')}$"):
        check_covers(path, one(45.7), one(10.15))


def test_a_plan_with_terrain(tmp_path: Path) -> None:
    """A wall to the south blocks a site in its shadow; another lies outside the file."""
    data = np.full((300, 300), 100.0)
    data[150:160] = 4000
    path = write(tmp_path / "terrain.tif", data)
    network = Network.model_validate({"satellite": {"longitude_deg": 10.15}})
    sites = Sites.at(np.array([45.86, 45.72, 47.0]), np.array([10.15, 10.15, 10.15]))
    plan = make_plan(sites, network, around=Surroundings(terrain_path=path))
    flags = [set(x.split(";")) & {"blocked", "outside_terrain"} for x in plan.columns["flags"]]
    assert flags == [{"blocked"}, set(), {"outside_terrain"}]
    assert plan.columns["obstacle_kind"][0] == "terrain"
    assert plan.columns["horizon_at_satellite_deg"][1] < 0.5


GEOREFERENCE = r"it does not say where it lies \(its georeference is missing or wrong\)\. Export it"


@pytest.mark.parametrize("step", [0.0, 1e-12, 1e12])
def test_pixels_of_no_size(tmp_path: Path, step: float) -> None:
    path = write(tmp_path / "t.tif", np.zeros((4, 4)), step=step)
    with pytest.raises(ProjectError, match=GEOREFERENCE):
        check_covers(path, one(45.9), one(10.1))


@pytest.mark.filterwarnings("ignore::rasterio.errors.NotGeoreferencedWarning")
def test_a_file_without_a_place(tmp_path: Path) -> None:
    path = tmp_path / "t.tif"
    with rasterio.open(
        path, "w", driver="GTiff", height=4, width=4, count=1, dtype="float32", crs="EPSG:4326"
    ) as file:
        file.write(np.zeros((4, 4), dtype="float32"), 1)
    with pytest.raises(ProjectError, match=GEOREFERENCE):
        check_covers(path, one(1.0), one(1.0))


@pytest.mark.parametrize("crs", ["EPSG:5714", "EPSG:4978"])
def test_a_reference_system_without_places(tmp_path: Path, crs: str) -> None:
    """Heights alone; axes through the earth's centre."""
    path = write(tmp_path / "t.tif", np.zeros((4, 4)), crs=crs)
    with pytest.raises(ProjectError, match=r"it has no reference system\. Export it with one, as"):
        check_covers(path, one(45.9), one(10.1))


def test_a_band_that_holds_no_heights(tmp_path: Path) -> None:
    path = tmp_path / "t.tif"
    with rasterio.open(
        path, "w", driver="GTiff", height=4, width=4, count=1, dtype="complex64", crs="EPSG:4326",
        transform=rasterio.Affine(0.1, 0, 10, 0, -0.1, 46),
    ) as file:  # fmt: skip
        file.write(np.zeros((4, 4), dtype="complex64"), 1)
    with pytest.raises(
        ProjectError, match=r"it holds no heights\. Export it with heights in metres"
    ):
        check_covers(path, one(45.9), one(10.1))


def test_a_file_that_is_cut_short_where_its_heights_are(tmp_path: Path) -> None:
    """It opens; the error comes in the middle of a plan."""
    path = write(tmp_path / "t.tif", np.arange(250_000.0).reshape(500, 500))
    path.write_bytes(path.read_bytes()[:20_000])
    check_covers(path, one(45.9), one(10.1))
    with pytest.raises(
        ProjectError, match=r"t\.tif: it cannot be read as a GeoTIFF\. Export it anew"
    ):
        terrain_at(path, one(45.6), one(10.4), one(180.0), one(2.0))


def test_sites_beyond_the_reach_of_its_projection(tmp_path: Path) -> None:
    path = write(tmp_path / "t.tif", np.zeros((4, 4)), crs="EPSG:3857", west=0, north=0, step=1e3)
    with pytest.raises(ProjectError, match=r"lies in it|cannot be read as a GeoTIFF"):
        check_covers(path, one(90.0), one(10.1))


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "t.tif"
    path.write_bytes(b"no GeoTIFF to a library that may not read it")

    def forbidden(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", forbidden)
    with pytest.raises(
        ProjectError, match=r"cannot be read \(Permission denied\)\. Check its perm"
    ):
        check_covers(path, one(45.9), one(10.1))


SIGNALLING = np.array([0x7FA00000], dtype="uint32").view("float32")[0]


@pytest.mark.parametrize("height", [np.inf, -np.inf, SIGNALLING])
def test_a_height_without_end_is_a_gap(tmp_path: Path, height: float) -> None:
    data = np.full((200, 200), 100.0, dtype="float32")
    data[60, 100] = height
    there = terrain_at(
        write(tmp_path / "t.tif", data), one(45.85), one(10.1005), one(0.0), one(5.0)
    )
    data[60, 100] = np.nan
    gap = terrain_at(write(tmp_path / "g.tif", data), one(45.85), one(10.1005), one(0.0), one(5.0))
    assert there.elevation_deg[0] == pytest.approx(gap.elevation_deg[0], abs=1e-12)
    assert -1 < gap.elevation_deg[0] < 0
