"""A pole in the ground, its footing in concrete."""

from __future__ import annotations

from siteplan.arrays import FloatArray
from siteplan.network import Network
from siteplan.planning.site import loads
from siteplan.planning.site.mounts.kind import (
    GROUND_ELEVATION_DEG,
    LARGE_DISH_M,
    Kind,
    Spot,
    Tried,
)
from siteplan.planning.site.mounts.weighing import Limit, Option, Reason

#: Largest dish that one pole usually carries [m]; common practice.
LARGEST_DISH_M = 2.4
#: Depth of a footing from which it counts against a pole [m]; common practice.
DEEP_FOOTING_M = 1.5
_BASE = {"ground": 85.0, "flat_roof": 45.0, "pitched_roof": 45.0, "wall": 45.0, "": 50.0}


def stand(spot: Spot, dish_m: FloatArray, network: Network) -> loads.Standing:
    """Return how dishes (n,) [m] stand on a pole."""
    return loads.on_pole(dish_m, network)


def tried(spot: Spot, network: Network) -> Tried:
    """Return what a pole has to bear at each site, and how deep its footing goes."""
    standing = stand(spot, spot.antenna_m, network)
    load = loads.loads(standing, spot.antenna_m, spot.wind_m_s, network)
    depth = loads.embedment_m(load, standing.lever_m, network)
    return Tried(standing, load, {"pole_embedment_m": depth})


def option(spot: Spot, of: Tried, network: Network) -> Option:
    """Return what speaks for a pole and against it, and how deep it may go."""
    elsewhere, dish, depth = ~spot.on_any("ground"), spot.antenna_m, of.needs["pole_embedment_m"]
    low = spot.elevation_deg < GROUND_ELEVATION_DEG
    return Option(
        "mount.pole",
        spot.base(_BASE),
        (
            Reason(0, ~elsewhere, "mount.pole.open_ground"),
            Reason(0, elsewhere, "mount.pole.any_bearing"),
            Reason(0, dish > LARGE_DISH_M, "mount.pole.large_dishes"),
            Reason(-5, elsewhere, "mount.ground_to_find"),
            Reason(-5, spot.everywhere, "mount.pole.digging"),
            Reason(-10, depth > DEEP_FOOTING_M, "mount.pole.deep_footing"),
            Reason(-5, low, "mount.low_beam"),
            Reason(-10, dish > LARGEST_DISH_M, "mount.pole.too_large"),
        ),
        (),
        (Limit(depth, network.site.footing_depth_limit_m, "mount.limit.footing", 2),),
        ((elsewhere, "mount.ask.ground"),),
    )


POLE = Kind("pole", (), stand, tried, option, ("pole_embedment_m",))
