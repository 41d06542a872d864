"""Sites, networks and plans that the comparisons of satellites are tried with."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from siteplan.answers.slots import Repointing
from siteplan.arrays import FloatArray
from siteplan.inputs.network.read import network_from_mapping
from siteplan.inputs.network.slots import network_at
from siteplan.inputs.satellites import Satellite
from siteplan.model import Obstructions, Sites, Surroundings
from siteplan.network import Network
from siteplan.planning.compare.kept import kept
from siteplan.planning.compare.repointing import repointing
from siteplan.planning.plan import make_plan
from siteplan.results import Plan

NOTHING_KNOWN = Surroundings()
BASE: dict[str, Any] = {
    "network": {"date": "2026-09-01", "availability_pct": 99.5},
    "outbound": {"satellite_eirp_dbw": 50, "satellite_g_t_db_k": 2},
    "inbound": {"satellite_eirp_dbw": 50, "satellite_g_t_db_k": 2},
    "antennas": [{"diameter_m": d} for d in (1.2, 1.8, 2.4)],
    "bucs": [{"rated_w": w} for w in (1, 2, 4)],
}


def network(longitude_deg: float, **more: Any) -> Network:
    """A network without a hub's place, at an orbital position."""
    stands = {"satellite": {"name": "Ours", "longitude_deg": longitude_deg}}
    return network_from_mapping({**BASE, **stands, **more})


def moved(of: Network, longitude_deg: float, **levels: float) -> Network:
    """The network with another satellite."""
    other = Satellite("Other", longitude_deg, "s.csv, row 2", levels)
    return network_at(of, other, Path()).network


def at(*places: tuple[float, float], **known: Any) -> Sites:
    """Sites at latitudes and longitudes."""
    lat, lon = np.array(places, dtype=float).T
    columns = {name: np.array(values) for name, values in known.items()}
    return Sites.at(lat, lon, **columns)


def turned(
    sites: Sites, of: Network, other: Network, around: Surroundings = NOTHING_KNOWN
) -> tuple[Plan, Plan, Repointing]:
    """The plan, the one with the other satellite, and what turning the dishes takes."""
    present, there = (make_plan(sites, n, around=around) for n in (of, other))
    keeps = kept(sites, present, there, around)
    return present, there, repointing(sites, present, there, keeps)


def obstacle(site: str, azimuth_deg: float, top_deg: float) -> Surroundings:
    """A mast of an angle, 10 degrees wide, at one site."""
    one = np.array([1.0])
    rows = Obstructions(
        np.array([site], dtype=object),
        one * (azimuth_deg - 5) % 360,
        one * (azimuth_deg + 5) % 360,
        one * top_deg,
        one * np.nan,
        one * np.nan,
        one * 0,
        np.array(["mast"], dtype=object),
        np.array([2]),
    )
    return Surroundings(rows)


def with_kit(sites: Sites, antenna_m: FloatArray | float, buc_w: FloatArray | float) -> Sites:
    """Sites with kit that stands, of one size or one each."""
    sizes = (np.zeros(len(sites)) + size for size in (antenna_m, buc_w))
    return replace(sites, **dict(zip(("fixed_antenna_m", "fixed_buc_w"), sizes, strict=True)))
