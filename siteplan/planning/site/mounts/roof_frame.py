"""A ballasted frame on a flat roof, which stays unpierced."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.network import Network
from siteplan.planning.site import loads
from siteplan.planning.site.mounts.kind import HEAVY_BALLAST_KG, Kind, Spot, Tried
from siteplan.planning.site.mounts.weighing import Option, Reason
from siteplan.planning.step import Raised, flag
from siteplan.words import CAVEAT

#: Largest dish that ballast usually holds on a roof [m]; common practice.
LARGEST_DISH_M = 1.8
#: Below this elevation a parapet easily shadows a dish on a roof [deg]; common practice.
PARAPET_ELEVATION_DEG = 20.0
_BASE = {"flat_roof": 85.0, "": 40.0}
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


def option(spot: Spot, of: Tried, network: Network) -> Option:
    """Return what speaks for a frame on the roof and against it, and where it is impossible."""
    site, dish = network.site, spot.antenna_m
    heavy = of.needs["roof_load_pa"] > site.roof_limit_pa
    # A limit that somebody gave weighs more than one that is only assumed.
    given = "roof_limit_pa" in site.model_fields_set
    over = Reason(-45, heavy, "mount.roof.over_limit")
    assumed = Reason(-25, heavy, "mount.roof.over_assumed_limit")
    return Option(
        "mount.roof",
        spot.base(_BASE),
        (
            Reason(0, spot.everywhere, "mount.roof.unpierced"),
            Reason(0, spot.everywhere, "mount.roof.out_of_reach"),
            over if given else assumed,
            Reason(-25, dish > LARGEST_DISH_M, "mount.roof.too_large"),
            Reason(-5, of.needs["ballast_kg"] > HEAVY_BALLAST_KG, "mount.roof.much_ballast"),
            Reason(-5, spot.elevation_deg < PARAPET_ELEVATION_DEG, "mount.roof.parapet"),
            Reason(-5, np.full(len(heavy), site.snow_pa > 0), "mount.roof.snow"),
        ),
        (
            (spot.on_any("pitched_roof"), "mount.roof.pitched"),
            (spot.on_any("ground", "wall"), "mount.roof.no_roof"),
        ),
    )


ROOF = Kind("non_penetrating", ("flat_roof",), stand, tried, option, _FIELDS)


def raised(roof_load_pa: FloatArray, network: Network) -> Iterator[Raised]:
    """Yield the flag of roofs that the frame loads (n,) [Pa] beyond their limit."""
    limit = network.site.roof_limit_pa
    yield flag("roof_load", roof_load_pa > limit, load=roof_load_pa, limit=limit, caveat=CAVEAT)
