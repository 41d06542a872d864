"""A bracket on a wall."""

from __future__ import annotations

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.network import Network
from siteplan.planning.site import loads
from siteplan.planning.site.mounts.kind import Kind, Spot, Tried
from siteplan.planning.site.mounts.weighing import Limit, Option, Reason

#: From this elevation on a dish may look over a wall that faces away [deg]; common practice.
OVER_ELEVATION_DEG = 75.0
#: From this angle on the beam passes along the wall [deg]; common practice.
ALONG_DEG = 50.0
#: Above this elevation eaves over a wall come into the way [deg]; common practice.
EAVES_ELEVATION_DEG = 65.0
#: Pull on one fixing from which it counts against a bracket [N]; common practice.
HEAVY_PULL_N = 1500.0
_BASE = {"wall": 80.0, "flat_roof": 45.0, "pitched_roof": 50.0, "": 30.0}


def stand(spot: Spot, dish_m: FloatArray, network: Network) -> loads.Standing:
    """Return how dishes (n,) [m] stand on a bracket."""
    return loads.on_wall(dish_m, spot.roof_height_m, network)


def tried(spot: Spot, network: Network) -> Tried:
    """Return what a bracket has to bear at each site, and what pulls at its fixings."""
    standing = stand(spot, spot.antenna_m, network)
    # The wind is never taken lower than at a bracket of no known height: a roof height of 0 stands
    # for 'not known', and more height must never be lighter.
    in_wind = np.maximum(standing.height_m, network.site.bracket_height_m)
    load = loads.loads(standing._replace(height_m=in_wind), spot.antenna_m, spot.wind_m_s, network)
    fixing = loads.fixings(load, standing.lever_m, spot.antenna_m, network)
    return Tried(standing, load, {"wall_pull_n": fixing.pull_n, "wall_shear_n": fixing.shear_n})


def swing_deg(azimuth_true_deg: FloatArray, wall_facing_deg: FloatArray) -> FloatArray:
    """Return how far a satellite's bearing lies from the way a wall faces (n,) [deg]."""
    return np.asarray(np.abs((azimuth_true_deg - wall_facing_deg + 180) % 360 - 180))


def option(spot: Spot, of: Tried, network: Network) -> Option:
    """Return what speaks for a bracket and against it, its limits and questions."""
    site, dish, pull = network.site, spot.antenna_m, of.needs["wall_pull_n"]
    swing = swing_deg(spot.azimuth_true_deg, spot.wall_facing_deg)
    ground, most = spot.on_any("ground"), site.wall_angle_limit_deg
    steep = spot.elevation_deg >= OVER_ELEVATION_DEG
    over = steep & (swing > most)
    return Option(
        "mount.wall",
        spot.base(_BASE),
        (
            Reason(0, swing <= most, "mount.wall.looks_there"),
            Reason(0, ~ground, "mount.wall.above_people"),
            Reason(-20, np.isnan(swing), "mount.wall.facing_unknown"),
            Reason(-20, over, "mount.wall.over_the_top"),
            Reason(-10, (swing > ALONG_DEG) & (swing <= most), "mount.wall.along"),
            Reason(-10, pull > HEAVY_PULL_N, "mount.wall.strong_pull"),
            Reason(-5, spot.elevation_deg > EAVES_ELEVATION_DEG, "mount.wall.eaves"),
        ),
        ((ground, "mount.wall.no_wall"),),
        (
            Limit(dish, site.bracket_dish_limit_m, "mount.limit.bracket_dish", 2),
            Limit(pull, site.fixing_pull_limit_n, "mount.limit.fixing_pull"),
            Limit(np.where(steep, np.nan, swing), most, "mount.limit.wall_angle", 1, False),
        ),
        (
            (over | (steep & np.isnan(swing)), "mount.ask.wall_rise"),
            (np.isnan(swing), "mount.ask.facing"),
            (~spot.on_any("wall"), "mount.ask.wall"),
        ),
    )


WALL = Kind("wall", ("wall",), stand, tried, option, ("wall_pull_n", "wall_shear_n"))
