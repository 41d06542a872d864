"""Exposure at each site: densities, distances in the beam and beside it, the beam's edge, fences.

Worked out on the unsafe side: rated power at the antenna's flange, the longer distance. For
planning, to be confirmed by a qualified engineer: the licence and local law decide.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray, TextArray, TextColumn
from siteplan.frozen import frozen
from siteplan.network import Network
from siteplan.physics.radio import exposure
from siteplan.physics.radio.limits import Audience, exposure_limit_w_m2, known_rules
from siteplan.planning.link.ends import Kit
from siteplan.planning.site.stance import Stance
from siteplan.planning.step import Raised, Told, flag
from siteplan.words import CAVEAT

#: Height that nobody reaches while standing [m]; common practice.
HEAD_M = 2.5
#: How far a whole arm reaches [m]: ISO 13857, arm stopped by the shoulder alone (from memory).
ARM_M = 0.85
#: Whose rules there are, as ``exposure_limits`` names them.
BODIES = ("47 CFR 1.1310", "ICNIRP 2020")
#: Gain far off the axis [dBi]: ITU-R S.465-6 from 48 degrees on.
_FAR_OFF_DBI = -10.0
#: Power into the feed [W], dish [m], efficiency (n,), and frequency [GHz].
Beam = tuple[FloatArray, FloatArray, FloatArray, float]


@frozen
class Radiator:
    """What radiates (n,): power into the feed [W], dish [m], efficiency, elevation [deg].

    ``rim_m`` is the height of the lower rim above what people stand on [m], negative where a
    bracket holds it below the roof's edge; ``roof_edge`` tells where one does. ``rated_w`` is the
    BUC's rated power before any loss [W].
    """

    power_w: FloatArray
    diameter_m: FloatArray
    efficiency: FloatArray
    elevation_deg: FloatArray
    rim_m: FloatArray
    roof_edge: BoolArray | bool = False
    rated_w: FloatArray | float = float("nan")


@frozen(eq=False)
class Exposure(Arrays):
    """Densities [W/m2], distances and heights [m] (n,), the rule, and where people reach in.

    ``fence_m`` is told where somebody can stand in the beam beyond arm's reach of the dish,
    ``reachable``; ``rated_w`` (n,) is what the figures rest on [W], NaN where there are none.
    """

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
    fence_m: Column
    reachable: BoolArray
    roof_edge: BoolArray
    rated_w: FloatArray


def rules_wanted(network: Network) -> tuple[str, ...]:
    """Return the rules that ``exposure_limits`` names."""
    wanted = network.site.exposure_limits
    return tuple(r for r in known_rules() if wanted == "both" or r.startswith(wanted))


def rules_in_force(network: Network) -> tuple[str, ...]:
    """Return the rules that must hold: those named that know the remotes' frequency.

    Where none of those named does, the others stand in; none at all, where nobody knows it.
    """
    speaking = [r for r in known_rules() if _knows(r, network.inbound.uplink_ghz)]
    named = [r for r in rules_wanted(network) if r in speaking]
    return tuple(named or speaking)


def _knows(rule: str, frequency_ghz: float) -> bool:
    """Whether a rule's limits are known at a frequency."""
    low, high = known_rules()[rule]
    return low <= frequency_ghz <= high


def given_loss_db(network: Network) -> float:
    """Return the loss between BUC and feed that somebody gave [dB]; an assumed one is none."""
    terminal = network.terminal
    return terminal.tx_loss_db if "tx_loss_db" in terminal.model_fields_set else 0.0


def radiator(kit: Kit, elevation_deg: FloatArray, stands: Stance, network: Network) -> Radiator:
    """Return what radiates at each site (n,): the BUC at its rated power at the flange.

    Only a loss that network.toml gives is taken off: an assumed one may not be there.
    """
    power = kit.tried_w * 10 ** (-given_loss_db(network) / 10)
    return Radiator(
        power,
        kit.dish_m,
        kit.efficiency,
        elevation_deg,
        stands.rim_m,
        stands.at_roof_edge,
        kit.tried_w,
    )


def exposures(source: Radiator, network: Network) -> Exposure:
    """Return what the beam means for people at each site.

    The BUC's rated power is taken, without back-off and without pauses. Where the density passes
    a limit at the reflector alone, the distance in the beam is that beside it. Densities without
    a limit, at a frequency that no rule knows, have no distances.
    """
    frequency, rules = network.inbound.uplink_ghz, rules_in_force(network)
    beam = source.power_w, source.diameter_m, source.efficiency, frequency
    regions = exposure.field_regions(*beam)
    ahead = exposure.safe_distances(*beam, rules=rules)
    controlled, public = (
        _beside_m(source, regions, _lowest_w_m2(rules, who, frequency))
        for who in ("controlled", "public")
    )
    slope = np.tan(np.radians(np.clip(source.elevation_deg, 0.1, 89.9)))
    over_head = np.maximum(HEAD_M - source.rim_m, 0) / slope
    unseen = np.isnan(source.elevation_deg)
    in_beam = np.maximum(ahead.public_m, public)
    # Without a limit nobody can say that the beam keeps it.
    reachable = ~(in_beam <= ARM_M) & (over_head > ARM_M) & ~unseen
    found = {
        "aperture_w_m2": regions.surface_w_m2,
        "near_field_w_m2": regions.near_w_m2,
        "near_field_end_m": regions.near_end_m,
        "far_field_start_m": regions.far_start_m,
        "controlled_distance_m": np.maximum(ahead.controlled_m, controlled),
        "public_distance_m": in_beam,
        "controlled_beside_m": controlled,
        "public_beside_m": public,
        "beam_edge_m": source.rim_m,
        "beam_over_head_m": over_head,
        "fence_m": np.where(reachable, np.fmax(over_head, public), np.nan),
        "rated_w": np.broadcast_to(source.rated_w, over_head.shape),
    }
    return Exposure(
        **{name: np.where(unseen, np.nan, values) for name, values in found.items()},
        exposure_rule=np.where(unseen, "", _ruling(beam, rules)).astype(object),
        reachable=reachable,
        roof_edge=np.broadcast_to(source.roof_edge, over_head.shape),
    )


def raised(of: Exposure) -> Iterator[Raised]:
    """Yield the flag of sites where people can stand in the beam beyond arm's reach."""
    numbers = {"far": of.fence_m, "caveat": CAVEAT}
    yield flag("beam_reachable", of.reachable & ~of.roof_edge, **numbers)
    at_edge = Told("flag.beam_reachable.roof_edge", of.reachable & of.roof_edge, numbers)
    yield Raised("beam_reachable", at_edge)


def told(of: Exposure, network: Network) -> tuple[Told, ...]:
    """Return what the figures rest on: power, limits, and rules that say nothing here."""
    frequency, rules = network.inbound.uplink_ghz, rules_in_force(network)
    here, loss = ~np.isnan(of.rated_w), given_loss_db(network)
    silent = [r for r in rules_wanted(network) if not _knows(r, frequency)]
    numbers = {
        "power": of.rated_w,
        "loss": loss,
        "ghz": frequency,
        "rules": _bodies(rules),
        "silent": _bodies(silent),
        "public": _lowest_w_m2(rules, "public", frequency),
        "controlled": _lowest_w_m2(rules, "controlled", frequency),
    }
    keys = ["exposure.power.less_loss" if loss else "exposure.power.rated"]
    keys += ["exposure.limits" if rules else "exposure.no_limit"]
    keys += ["exposure.alone"] if rules and silent else []
    return tuple(Told(key, here, numbers) for key in keys)


def _bodies(rules: Iterable[str]) -> str:
    """Return whose rules they are, each once: ICNIRP 2020 has two."""
    return ", ".join(b for b in BODIES if any(rule.startswith(b) for rule in rules))


def _lowest_w_m2(rules: tuple[str, ...], who: Audience, frequency_ghz: float) -> float:
    """Return the lowest limit of the rules [W/m2]; NaN without a rule."""
    each = [float(exposure_limit_w_m2(rule, who, frequency_ghz)) for rule in rules]
    return min(each, default=float("nan"))


def _beside_m(source: Radiator, regions: exposure.FieldRegions, limit_w_m2: float) -> FloatArray:
    """Return the distance to keep from the beam's side (n,) [m].

    None where the density keeps the limit even at the reflector; else one diameter, where it is
    at least 20 dB down, or as much further as the limit asks for at the pattern's -10 dBi.
    """
    beside = exposure.beside_beam_w_m2(regions.near_w_m2)
    far = exposure.off_axis_safe_distance_m(limit_w_m2, source.power_w, _FAR_OFF_DBI)
    wide = np.where(beside <= limit_w_m2, source.diameter_m, np.maximum(far, source.diameter_m))
    return np.where(regions.surface_w_m2 <= limit_w_m2, 0.0, wide + 0.0 * limit_w_m2)


def _ruling(beam: Beam, rules: tuple[str, ...]) -> TextArray:
    """Return the rule that asks for the longest public distance; with none, the lowest limit."""
    if not rules:
        return np.full(len(beam[0]), "", dtype=object)
    limits = [exposure_limit_w_m2(r, "public", beam[3]) for r in rules]
    distances = np.stack([exposure.safe_distance_m(limit, *beam) for limit in limits], axis=1)
    rank = np.where(distances > 0, distances, -np.array([float(limit) for limit in limits]))
    found = np.array(rules, dtype=object)[np.argmax(np.nan_to_num(rank, nan=-1e9), axis=1)]
    return np.where(np.isnan(distances).all(axis=1), "", found)
