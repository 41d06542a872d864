"""Exposure at each site: densities, distances in the beam and beside it, the beam's edge.

For planning, to be confirmed by a qualified engineer: the licence and local law decide.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.network import Network
from siteplan.physics.radio import exposure
from siteplan.physics.radio.limits import exposure_limit_w_m2, known_rules

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
TextArray = NDArray[np.object_]

#: Height that nobody reaches while standing [m]; common practice.
HEAD_M = 2.5


@dataclass(frozen=True)
class Radiator:
    """What radiates (n,): power into the feed [W], dish [m], efficiency, elevation [deg].

    ``rim_m`` is the height of the lower rim above what people stand on. [m]
    """

    power_w: FloatArray
    diameter_m: FloatArray
    efficiency: FloatArray
    elevation_deg: FloatArray
    rim_m: FloatArray


@dataclass(frozen=True)
class Exposure:
    """Densities [W/m2], distances and heights [m] (n,), the rule, and where people reach in."""

    regions: exposure.FieldRegions
    controlled_m: FloatArray
    public_m: FloatArray
    controlled_beside_m: FloatArray
    public_beside_m: FloatArray
    rule: TextArray
    edge_m: FloatArray
    over_head_m: FloatArray
    reachable: BoolArray


def rules_in_force(network: Network) -> tuple[str, ...]:
    """Return the rules that must hold, from ``exposure_limits``."""
    wanted = network.site.exposure_limits
    return tuple(r for r in known_rules() if wanted == "both" or r.startswith(wanted))


def exposures(source: Radiator, network: Network) -> Exposure:
    """Return what the beam means for people at each site.

    The BUC's rated power is taken, without back-off and without pauses.
    """
    frequency = network.inbound.uplink_ghz
    beam = source.power_w, source.diameter_m, source.efficiency, frequency
    rules = rules_in_force(network)
    regions = exposure.field_regions(*beam)
    far = exposure.safe_distances(*beam, rules=rules)
    limits = {
        who: np.min([exposure_limit_w_m2(r, who, frequency) for r in rules])
        for who in ("controlled", "public")
    }
    slope = np.tan(np.radians(np.clip(source.elevation_deg, 0.1, 89.9)))
    over_head = np.maximum(HEAD_M - source.rim_m, 0) / slope
    passes = (far.public_m > 0) | (regions.surface_w_m2 > limits["public"])
    unseen = np.isnan(source.elevation_deg)
    return Exposure(
        regions,
        far.controlled_m,
        far.public_m,
        _beside_m(source, regions, float(limits["controlled"])),
        _beside_m(source, regions, float(limits["public"])),
        _ruling(beam, rules),
        source.rim_m,
        np.where(unseen, np.nan, over_head),
        passes & (source.rim_m < HEAD_M) & ~unseen,
    )


def _beside_m(source: Radiator, regions: exposure.FieldRegions, limit_w_m2: float) -> FloatArray:
    """Return the distance to keep from the beam's side (n,) [m].

    None where the beam itself keeps the limit; else one diameter, where the density is at
    least 20 dB down, or as much further as the limit asks for at the pattern's -10 dBi.
    """
    beside = exposure.beside_beam_w_m2(regions.near_w_m2)
    far = exposure.off_axis_safe_distance_m(limit_w_m2, source.power_w, -10.0)
    wide = np.where(beside <= limit_w_m2, source.diameter_m, np.maximum(far, source.diameter_m))
    return np.where(regions.near_w_m2 <= limit_w_m2, 0.0, wide)


def _ruling(
    beam: tuple[FloatArray, FloatArray, FloatArray, float], rules: tuple[str, ...]
) -> TextArray:
    """Return the rule that asks for the longest public distance; with none, the lowest limit."""
    limits = [exposure_limit_w_m2(r, "public", beam[3]) for r in rules]
    distances = np.stack([exposure.safe_distance_m(limit, *beam) for limit in limits], axis=1)
    rank = np.where(distances > 0, distances, -np.array([float(limit) for limit in limits]))
    found = np.array(rules, dtype=object)[np.argmax(np.nan_to_num(rank, nan=-1e9), axis=1)]
    return np.where(np.isnan(distances).all(axis=1), "", found)
