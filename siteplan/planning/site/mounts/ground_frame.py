"""A ballasted frame on the ground."""

from __future__ import annotations

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.network import Network
from siteplan.planning.site import loads
from siteplan.planning.site.mounts.kind import (
    GROUND_ELEVATION_DEG,
    HEAVY_BALLAST_KG,
    Kind,
    Spot,
    Tried,
)
from siteplan.planning.site.mounts.weighing import Limit, Option, Reason

_BASE = {"ground": 70.0, "flat_roof": 40.0, "pitched_roof": 45.0, "wall": 45.0, "": 40.0}
_FIELDS = ("ballast_kg", "ballast_governs", "frame_base_m")


def stand(spot: Spot, dish_m: FloatArray, network: Network) -> loads.Standing:
    """Return how dishes (n,) [m] stand on a frame on the ground."""
    return loads.on_frame(dish_m, np.zeros_like(dish_m), network)


def tried(spot: Spot, network: Network) -> Tried:
    """Return what a frame has to bear at each site, and its ballast."""
    standing = stand(spot, spot.antenna_m, network)
    load = loads.loads(standing, spot.antenna_m, spot.wind_m_s, network)
    found = loads.frame(load, standing.lever_m, spot.antenna_m, network)
    return Tried(standing, load, loads.frame_fields(found))


def option(spot: Spot, of: Tried, network: Network) -> Option:
    """Return what speaks for a frame on the ground and against it, and its most ballast."""
    elsewhere, ballast = ~spot.on_any("ground"), of.needs["ballast_kg"]
    much = ballast > 2 * HEAVY_BALLAST_KG
    snow = np.full(len(much), network.site.snow_pa > 0)
    return Option(
        "mount.ground",
        spot.base(_BASE),
        (
            Reason(0, spot.everywhere, "mount.ground.no_digging"),
            Reason(-5, spot.everywhere, "mount.ground.within_reach"),
            Reason(-5, elsewhere, "mount.ground_to_find"),
            Reason(-10, much, "mount.ground.much_ballast"),
            Reason(-5, spot.elevation_deg < GROUND_ELEVATION_DEG, "mount.low_beam"),
            Reason(-10, snow, "mount.ground.snow"),
        ),
        (),
        (Limit(ballast, network.site.ground_ballast_limit_kg, "mount.limit.ground_ballast"),),
        ((elsewhere, "mount.ask.ground"),),
    )


GROUND = Kind("ground", (), stand, tried, option, _FIELDS)
