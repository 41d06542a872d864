"""Exposure at each site: densities, distances in the beam and beside it, the beam's edge.

For planning, to be confirmed by a qualified engineer: the licence and local law decide.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray, TextArray, TextColumn
from siteplan.network import Network
from siteplan.physics.radio import exposure
from siteplan.physics.radio.limits import exposure_limit_w_m2, known_rules
from siteplan.planning.link.ends import Kit
from siteplan.planning.step import Raised, flag
from siteplan.words import CAVEAT

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


@dataclass(frozen=True, eq=False)
class Exposure(Arrays):
    """Densities [W/m2], distances and heights [m] (n,), the rule, and where people reach in."""

    aperture_w_m2: Column
    near_field_w_m2: Column
    near_field_end_m: Column
    far_field_start_m: Column
    controlled_distance_m: Column
    public_distance_m: Column
    controlled_beside_m: Column
    public_beside_m: Column
    exposure_rule: TextColumn
    beam_edge_m: Column
    beam_over_head_m: Column
    reachable: BoolArray
    over_head_m: FloatArray


def rules_in_force(network: Network) -> tuple[str, ...]:
    """Return the rules that must hold, from ``exposure_limits``."""
    wanted = network.site.exposure_limits
    return tuple(r for r in known_rules() if wanted == "both" or r.startswith(wanted))


def radiator(kit: Kit, elevation_deg: FloatArray, rim_m: FloatArray, network: Network) -> Radiator:
    """Return what radiates at each site (n,): the BUC at its rated power, less the feed's loss."""
    power = kit.tried_w * 10 ** (-network.terminal.tx_loss_db / 10)
    return Radiator(power, kit.dish_m, kit.efficiency, elevation_deg, rim_m)


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
    found = {
        "aperture_w_m2": regions.surface_w_m2,
        "near_field_w_m2": regions.near_w_m2,
        "near_field_end_m": regions.near_end_m,
        "far_field_start_m": regions.far_start_m,
        "controlled_distance_m": far.controlled_m,
        "public_distance_m": far.public_m,
        "controlled_beside_m": _beside_m(source, regions, float(limits["controlled"])),
        "public_beside_m": _beside_m(source, regions, float(limits["public"])),
        "beam_edge_m": source.rim_m,
        "beam_over_head_m": over_head,
    }
    return Exposure(
        **{name: np.where(unseen, np.nan, values) for name, values in found.items()},
        exposure_rule=np.where(unseen, "", _ruling(beam, rules)).astype(object),
        reachable=passes & (source.rim_m < HEAD_M) & ~unseen,
        over_head_m=over_head,
    )


def raised(of: Exposure) -> Iterator[Raised]:
    """Yield the flag of sites where people can reach the beam."""
    far = np.maximum(of.over_head_m, 0)
    yield flag("beam_reachable", of.reachable, far=far, caveat=CAVEAT)


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
