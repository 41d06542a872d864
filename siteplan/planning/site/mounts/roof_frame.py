"""A ballasted frame on a flat roof, which stays unpierced."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from siteplan.arrays import BoolArray, FloatArray
from siteplan.network import Network
from siteplan.planning.site import loads
from siteplan.planning.site.mounts.kind import HEAVY_BALLAST_KG, Kind, Spot, Tried
from siteplan.planning.site.mounts.weighing import Limit, Option, Reason
from siteplan.planning.step import Raised, flag
from siteplan.words import CAVEAT

#: Largest dish that ballast usually holds on a roof [m]; common practice.
LARGEST_DISH_M = 1.8
#: Below this elevation a parapet easily shadows a dish on a roof [deg]; common practice.
PARAPET_ELEVATION_DEG = 20.0
_BASE = {"flat_roof": 85.0, "": 30.0}
_FIELDS = ("ballast_kg", "ballast_governs", "frame_base_m", "roof_load_pa", "parapet_distance_m")


def stand(spot: Spot, dish_m: FloatArray, network: Network) -> loads.Standing:
    """Return how dishes (n,) [m] stand on a frame on the roof."""
    return loads.on_frame(dish_m, loads.roof_m(spot.roof_height_m, network), network)


def tried(spot: Spot, network: Network) -> Tried:
    """Return what a frame has to bear at each site, its ballast, and what the roof carries."""
    standing = stand(spot, spot.antenna_m, network)
    load = loads.loads(standing, spot.antenna_m, spot.wind_m_s, network)
    found = loads.frame(load, standing.lever_m, spot.antenna_m, network)
    needs = loads.frame_fields(found)
    needs["roof_load_pa"] = found.load_pa + network.site.snow_pa
    needs["parapet_distance_m"] = spot.parapet_distance_m
    return Tried(standing, load, needs)


def limit_given(network: Network) -> bool:
    """Whether somebody gave the roof's limit; else it is only assumed."""
    return "roof_limit_pa" in network.site.model_fields_set


def option(spot: Spot, of: Tried, network: Network) -> Option:
    """Return what speaks for a frame on the roof and against it, its limits and questions."""
    site, dish = network.site, spot.antenna_m
    load, ballast = of.needs["roof_load_pa"], of.needs["ballast_kg"]
    given = limit_given(network)
    carried = "mount.limit.roof_load.given" if given else "mount.limit.roof_load.assumed"
    return Option(
        "mount.roof",
        spot.base(_BASE),
        (
            Reason(0, spot.everywhere, "mount.roof.unpierced"),
            Reason(0, spot.everywhere, "mount.roof.out_of_reach"),
            Reason(-25, dish > LARGEST_DISH_M, "mount.roof.too_large"),
            Reason(-5, ballast > HEAVY_BALLAST_KG, "mount.roof.much_ballast"),
            Reason(-5, spot.elevation_deg < PARAPET_ELEVATION_DEG, "mount.roof.parapet"),
            Reason(-5, np.full(len(dish), site.snow_pa > 0), "mount.roof.snow"),
        ),
        (
            (spot.on_any("pitched_roof"), "mount.roof.pitched"),
            (spot.on_any("ground", "wall"), "mount.roof.no_roof"),
        ),
        (
            Limit(load, site.roof_limit_pa, carried),
            Limit(ballast, site.roof_ballast_limit_kg, "mount.limit.roof_ballast"),
        ),
        ((spot.everywhere & (not given), "mount.ask.roof"),),
    )


def assumed_limit_decides(spot: Spot, of: Tried, network: Network) -> BoolArray:
    """Return where nothing but the roof's assumed limit puts the frame out (n,)."""
    if limit_given(network):
        return ~spot.everywhere
    load, ballast = option(spot, of, network).limits
    return spot.on["flat_roof"] & load.beyond & ~ballast.beyond


ROOF = Kind("non_penetrating", ("flat_roof",), stand, tried, option, _FIELDS)


def raised(spot: Spot, of: Tried, network: Network) -> Iterator[Raised]:
    """Yield the flag of flat roofs that a frame would load beyond their limit."""
    load, _ = option(spot, of, network).limits
    yield flag(
        "roof_load",
        spot.on["flat_roof"] & spot.wanted & load.beyond,
        load=load.told,
        limit=load.limit,
        caveat=CAVEAT,
    )
