"""Many unlike sites in no order, planned in one call: what the tables of flags are held against."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple

import numpy as np

from siteplan.messages import english, gaps
from siteplan.model import Note, Obstructions, Sites, Surroundings
from siteplan.network import Network

NAN = float("nan")
STRUCTURES = ("", "ground", "flat_roof", "pitched_roof", "wall")
#: South-west and north-east corner of the terrain file [deg]: other sites lie outside.
TERRAIN_BOX = (-12.0, -70.0, 4.0, -52.0)
#: The catalogue, not in order: diameter [m], efficiency, offset angle [deg]; rated power [W],
#: back-off [dB]. Each size has figures of its own, so that a mix-up shows.
ANTENNAS = ((2.4, 0.62, 0.0), (1.2, 0.67, 22.0), (1.8, 0.64, 17.0))
BUCS = ((3.0, 0.5), (1.0, 1.5), (2.0, 1.0))
#: Cables that do not rank alike: the thin one carries the supply, the thick one the signal.
CABLES = (
    {"name": "far", "diameter_mm": 11, "loss_db_100m": 8.0, "core_mm": 1.0, "core": "clad_steel",
     "shield_ohm_km": 20.0},
    {"name": "strong", "diameter_mm": 9, "loss_db_100m": 40.0, "core_mm": 2.0,
     "shield_ohm_km": 5.0},
)  # fmt: skip
TABLES: dict[str, Any] = {
    "network": {"date": "2026-06-01", "availability_pct": 99.5},
    "satellite": {"longitude_deg": -61.0},
    "hub": {"lat": -15.8, "lon": -47.9, "power_control_db": 5},
    "antennas": [{"diameter_m": d, "efficiency": e, "offset_angle_deg": o} for d, e, o in ANTENNAS],
    "bucs": [{"rated_w": w, "backoff_db": b} for w, b in BUCS],
    "cables": list(CABLES),
    "rules": {"hub_outage_share": 0.2, "reserve_db": 1.0, "min_elevation_deg": 10.0},
    "outbound": {"satellite_eirp_dbw": 45.5},
    "inbound": {"symbol_rate_msps": 0.4, "modcod": "QPSK 3/4"},
    "site": {"clearance_deg": 2.0},
}


def look_deg(lat: Any, lon: Any, altitude_m: Any) -> tuple[Any, Any]:
    """Return azimuth and elevation [deg] from earth-fixed coordinates on WGS 84.

    Textbook geometry, 42 164.17 km to the satellite; no refraction.
    """
    phi, lam = np.radians(lat), np.radians(lon)
    a, e2, height = 6378.137, 6.69437999014e-3, altitude_m / 1000
    curve = a / np.sqrt(1 - e2 * np.sin(phi) ** 2)
    site = (
        (curve + height) * np.cos(phi) * np.cos(lam),
        (curve + height) * np.cos(phi) * np.sin(lam),
        (curve * (1 - e2) + height) * np.sin(phi),
    )
    east_of = np.radians(-61.0)
    dx, dy = 42164.17 * np.cos(east_of) - site[0], 42164.17 * np.sin(east_of) - site[1]
    dz = -site[2]
    east = -np.sin(lam) * dx + np.cos(lam) * dy
    outward = np.cos(lam) * dx + np.sin(lam) * dy
    north = -np.sin(phi) * outward + np.cos(phi) * dz
    up = np.cos(phi) * outward + np.sin(phi) * dz
    level = np.hypot(east, north)
    return np.degrees(np.arctan2(east, north)) % 360, np.degrees(np.arctan2(up, level))


class World(NamedTuple):
    """Sites, their network, and what stands around them."""

    sites: Sites
    network: Network
    around: Surroundings


def network(**changes: Any) -> Network:
    """Return the network of the mixed sites, tables changed as ``rules={...}``."""
    changed = {k: v if isinstance(v, list) else TABLES.get(k, {}) | v for k, v in changes.items()}
    return Network.model_validate(TABLES | changed)


def world(terrain: Path | None = None) -> World:
    """Return the mixed sites with notes and obstacles, and the terrain file where there is one."""
    rng = np.random.default_rng(20260601)
    sites = _shuffled(_families(rng), rng)
    sites = replace(sites, notes=MappingProxyType(_notes(rng, len(sites))))
    return World(sites, network(), Surroundings(_obstacles(sites, rng), terrain))


def _families(rng: np.random.Generator) -> list[dict[str, Any]]:
    """Return columns of groups of sites, each drawn so that some conditions are not rare."""
    anywhere = _drawn(rng, rng.uniform(-75, 75, 260), rng.uniform(-160, 40, 260))
    overhead = _drawn(rng, rng.uniform(-7, 7, 80), -61 + rng.uniform(-7, 7, 80))
    arctic = _drawn(rng, rng.uniform(68, 78, 10), rng.uniform(-120, -85, 10))
    bare = {"fixed_antenna_m": np.full(60, NAN), "fixed_buc_w": np.full(60, NAN)}
    wet = _drawn(rng, rng.uniform(-10, 10, 60), rng.uniform(-75, -50, 60)) | bare
    wet["availability_pct"] = rng.uniform(99.7, 99.95, 60)
    just = _drawn(rng, rng.uniform(25, 40, 60), rng.uniform(-100, -75, 60))
    just |= {"fixed_antenna_m": rng.uniform(0.7, 1.3, 60), "fixed_buc_w": np.full(60, 3.0)}
    just["availability_pct"] = np.full(60, NAN)
    weak = _drawn(rng, rng.uniform(-10, 40, 40), rng.uniform(-90, -50, 40))
    weak |= {"fixed_antenna_m": np.full(40, NAN), "fixed_buc_w": np.full(40, 0.2)}
    weak["availability_pct"] = rng.uniform(98, 99.9, 40)
    return [anywhere, overhead, arctic, wet, just, weak]


def _drawn(rng: np.random.Generator, lat: Any, lon: Any) -> dict[str, Any]:
    """Return columns of sites at points, everything else by chance."""
    n = len(lat)
    partly = np.where(rng.random(n) < 0.5, 1.0, NAN), np.where(rng.random(n) < 0.5, 1.0, NAN)
    return {
        "lat": lat,
        "lon": lon,
        "structure": rng.choice(np.array(STRUCTURES, dtype=object), n),
        "fixed_antenna_m": rng.choice([0.6, 0.9, 1.2, 1.8, 2.4, 3.7, 6.0, 10.0], n) * partly[0],
        "fixed_buc_w": rng.choice([0.2, 1.0, 3.0, 20.0, 40.0], n) * partly[1],
        "availability_pct": rng.choice([NAN, 50.0, 95.0, 99.0, 99.9, 99.99, 99.999], n),
        "altitude_m": rng.choice([NAN, 0.0, 900.0, 3000.0], n),
        "cable_m": rng.choice([NAN, 3.0, 30.0, 105.0, 300.0], n),
        "wind_m_s": rng.choice([NAN, 16.0, 18.0, 40.0], n),
        "wall_facing_deg": rng.choice([NAN, 0.0, 80.0, 170.0, 260.0], n),
        "roof_height_m": rng.choice([NAN, 3.0, 12.0], n),
    }


def _shuffled(families: list[dict[str, Any]], rng: np.random.Generator) -> Sites:
    """Return the sites of all families, none beside its like, ids in no order either."""
    columns = {name: np.concatenate([f[name] for f in families]) for name in families[0]}
    n = len(columns["lat"])
    order = rng.permutation(n)
    columns = {name: values[order] for name, values in columns.items()}
    ids = np.array([f"M{k:04d}" for k in rng.permutation(n)], dtype=object)
    return Sites.at(columns.pop("lat"), columns.pop("lon"), **columns, site_id=ids)


def _notes(rng: np.random.Generator, n: int) -> Mapping[int, tuple[Note, ...]]:
    """Return notes by site: every sentence that reading knows at five sites, some with two."""
    notes: dict[int, tuple[Note, ...]] = {}
    for key in english():
        if key.startswith("note."):
            for i in rng.choice(n, 5, replace=False).tolist():
                told = Note.of(key, **dict.fromkeys(gaps(english()[key]), i))
                notes[i] = (*notes.get(i, ()), told)
    return dict(sorted(notes.items(), key=lambda item: item[0] * 7919 % n))


def _obstacles(sites: Sites, rng: np.random.Generator) -> Obstructions:
    """Return obstacles all round two sites in five, two at some, in no order."""
    site_id = np.concatenate([sites.site_id[rng.random(len(sites)) < p] for p in (0.35, 0.1)])
    rng.shuffle(site_id)
    m = len(site_id)
    index = {name: i for i, name in enumerate(sites.site_id.tolist())}
    at = np.array([index[name] for name in site_id.tolist()])
    seen_at = look_deg(sites.lat, sites.lon, 0.0)[1][at]
    just_under = np.clip(seen_at - rng.uniform(0, 5, m), 0, 85)
    return Obstructions(
        site_id=site_id,
        from_deg=np.zeros(m),
        to_deg=np.full(m, 359.9),
        elevation_deg=np.where(rng.random(m) < 0.5, rng.uniform(0, 80, m), just_under),
        height_m=np.full(m, NAN),
        distance_m=np.full(m, NAN),
        growth_m_per_year=np.zeros(m),
        kind=np.full(m, "building", dtype=object),
        source_row=np.arange(m) + 2,
    )


def write_terrain(path: Path) -> Path:
    """Write a flat plain over `TERRAIN_BOX` as a GeoTIFF; needs rasterio."""
    import rasterio
    from rasterio.transform import from_origin

    south, west, north, east = TERRAIN_BOX
    step = 0.05
    shape = round((north - south) / step), round((east - west) / step)
    heights = np.full(shape, 100.0, dtype="float32")
    with rasterio.open(
        path, "w", driver="GTiff", height=shape[0], width=shape[1], count=1, dtype="float32",
        crs="EPSG:4326", transform=from_origin(west, north, step, step), tiled=True,
    ) as file:  # fmt: skip
        file.write(heights, 1)
    return path
