"""A bracket on a wall."""

from __future__ import annotations

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.network import Network
from siteplan.planning.site import loads
from siteplan.planning.site.mounts.kind import WALL_LIMIT_M, Kind, Spot, Tried
from siteplan.planning.site.mounts.weighing import Option, Reason

#: A dish on a wall looks past it up to this angle from the way the wall faces [deg].
SWING_DEG = 70.0
#: From this angle on the beam passes along the wall [deg]; common practice.
ALONG_DEG = 50.0
#: Above this elevation eaves over a wall come into the way [deg]; common practice.
EAVES_ELEVATION_DEG = 65.0
#: Pull on one fixing from which it counts against a bracket [N]; common practice.
HEAVY_PULL_N = 3000.0
_BASE = {"wall": 80.0, "flat_roof": 45.0, "pitched_roof": 50.0, "": 40.0}


def stand(spot: Spot, dish_m: FloatArray, network: Network) -> loads.Standing:
    """Return how dishes (n,) [m] stand on a bracket."""
    return loads.on_wall(dish_m, spot.roof_height_m, network)


def tried(spot: Spot, network: Network) -> Tried:
    """Return what a bracket has to bear at each site, and what pulls at its fixings."""
    standing = stand(spot, spot.antenna_m, network)
    load = loads.loads(standing, spot.antenna_m, spot.wind_m_s, network)
    fixing = loads.fixings(load, standing.lever_m, spot.antenna_m, network)
    return Tried(standing, load, {"wall_pull_n": fixing.pull_n, "wall_shear_n": fixing.shear_n})


def swing_deg(spot: Spot) -> FloatArray:
    """Return how far the satellite's bearing lies from the way the wall faces (n,) [deg]."""
    return np.asarray(np.abs((spot.azimuth_true_deg - spot.wall_facing_deg + 180) % 360 - 180))


def option(spot: Spot, of: Tried, network: Network) -> Option:
    """Return what speaks for a bracket and against it, and where it is impossible."""
    swing, ground = swing_deg(spot), spot.on_any("ground")
    return Option(
        "mount.wall",
        spot.base(_BASE),
        (
            Reason(0, swing <= SWING_DEG, "mount.wall.looks_there"),
            Reason(0, ~ground, "mount.wall.above_people"),
            Reason(-20, np.isnan(swing), "mount.wall.facing_unknown"),
            Reason(-10, (swing > ALONG_DEG) & (swing <= SWING_DEG), "mount.wall.along"),
            Reason(-40, spot.antenna_m > WALL_LIMIT_M, "mount.wall.too_large"),
            Reason(-10, of.needs["wall_pull_n"] > HEAVY_PULL_N, "mount.wall.strong_pull"),
            Reason(-5, spot.elevation_deg > EAVES_ELEVATION_DEG, "mount.wall.eaves"),
        ),
        (
            (ground, "mount.wall.no_wall"),
            (swing > SWING_DEG, "mount.wall.looks_away"),
        ),
    )


WALL = Kind("wall", ("wall",), stand, tried, option, ("wall_pull_n", "wall_shear_n"))
