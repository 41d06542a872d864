"""How each dish stands: mounts weighed, the one assumed for heights, what the wind does to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.fields import CAVEAT
from siteplan.messages import fill
from siteplan.physics.angles import horizon
from siteplan.physics.radio.antennas import beamwidth_deg
from siteplan.planning.setting import Worked
from siteplan.planning.site import loads
from siteplan.planning.site.mounts import choice as mounts

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
TextArray = NDArray[np.object_]
Columns = dict[str, NDArray[Any]]
#: Flags that a step raises: code to where (n,), and the sentences there (k,).
Raised = dict[str, tuple[BoolArray, TextArray]]


class Pack(NamedTuple):
    """What a step of the site pack gives: fields and flags."""

    columns: Columns
    raised: Raised


@dataclass(frozen=True)
class Footing:
    """How each dish stands (n,): weighed mounts, the one assumed for heights, and its loads.

    ``kind`` is the mount chosen, or where the survey decides the likeliest on that structure;
    ``dish_m`` is the dish of the plan, or the largest that was tried.
    """

    place: mounts.Place
    trial: mounts.Trial
    chosen: mounts.Mounts
    kind: TextArray
    dish_m: FloatArray
    rim_m: FloatArray
    base_m: FloatArray

    @property
    def view_rim_m(self) -> FloatArray:
        """Height of the lower rim above ground (n,) [m]."""
        return self.base_m + self.rim_m


def footing(done: Worked) -> Footing:
    """Return how each dish stands, every mount weighed."""
    network, sites, kit = done.shared.network, done.sites, done.sizing.kit
    elevation = done.angles.elevation_deg
    beam = beamwidth_deg(kit.antenna_m, lower_ghz(done))
    rise = max(network.site.parapet_m - network.site.frame_rim_m, 0.0)
    place = mounts.Place(
        structure=sites.structure,
        antenna_m=kit.antenna_m,
        roof_height_m=sites.roof_height_m,
        wall_facing_deg=sites.wall_facing_deg,
        azimuth_true_deg=done.angles.azimuth_true_deg,
        elevation_deg=elevation,
        wind_m_s=loads.design_wind_m_s(sites.wind_m_s, network),
        parapet_m=horizon.required_distance_m(rise, elevation, beam),
    )
    trial = mounts.try_mounts(place, network)
    chosen = mounts.mounts(place, trial, network)
    likely = np.full(len(sites), mounts.POLE, dtype=object)
    likely[sites.structure == "flat_roof"] = mounts.ROOF
    likely[sites.structure == "wall"] = mounts.WALL
    kind = np.where(chosen.mount == mounts.SURVEY, likely, chosen.mount)
    return Footing(place, trial, chosen, kind, kit.dish_m, *_stance(done, kind))


def _stance(done: Worked, kind: TextArray) -> tuple[FloatArray, FloatArray]:
    """Return the rim above what people stand on, and that above ground (n,) [m]."""
    network, dish = done.shared.network, done.sizing.kit.dish_m
    wall = loads.on_wall(dish, done.sites.roof_height_m, network).rim_m
    framed = (kind == mounts.ROOF) | (kind == mounts.GROUND)
    low = np.where(framed, network.site.frame_rim_m, network.site.pole_rim_m)
    roof = loads.roof_m(done.sites.roof_height_m, network)
    return np.where(kind == mounts.WALL, wall, low), np.where(kind == mounts.ROOF, roof, 0.0)


def lower_ghz(done: Worked) -> float:
    """Return the lower of the remotes' two frequencies [GHz], whose beam is the wider."""
    network = done.shared.network
    return min(network.outbound.downlink_ghz, network.inbound.uplink_ghz)


def mount_columns(standing: Footing) -> Columns:
    """Return mount and reason, which every plan has."""
    return {"mount": standing.chosen.mount, "mount_reason": standing.chosen.reason}


def _pick(standing: Footing, of: dict[str, FloatArray]) -> FloatArray:
    """Return from each option's values (n,) those of the mount that is assumed."""
    found = np.full(len(standing.kind), np.nan)
    for kind, values in of.items():
        here = standing.kind == kind
        found[here] = values[here]
    return found


def load_columns(done: Worked, standing: Footing) -> Pack:
    """Return heights, wind, loads and what each kind of mount needs."""
    trial, mount, site = standing.trial, standing.chosen.mount, done.shared.network.site
    roof, ground, pole, wall = (
        mount == kind for kind in (mounts.ROOF, mounts.GROUND, mounts.POLE, mounts.WALL)
    )

    def only(where: BoolArray, values: FloatArray) -> FloatArray:
        return np.where(where, values, np.nan)

    frame = trial.ground_frame._replace(
        **{
            name: np.where(roof, getattr(trial.roof_frame, name), getattr(trial.ground_frame, name))
            for name in trial.roof_frame._fields
        }
    )
    framed = roof | ground
    governs = np.where(framed, np.where(frame.sliding, "sliding", "overturning"), "")
    load = only(roof, trial.roof_frame.load_pa + site.snow_pa)
    seen = ~np.isnan(done.angles.elevation_deg)
    given = ~np.isnan(done.sites.wind_m_s)
    height = _pick(standing, {k: s.height_m for k, s in trial.standing.items()})
    columns: Columns = {
        "mount_options": standing.chosen.options,
        "dish_height_m": only(seen, height),
        "wind_design_m_s": standing.place.wind_m_s,
        "wind_source": np.where(given, "given", "assumed").astype(object),
        "wind_pressure_pa": only(
            seen, _pick(standing, {k: x.pressure_pa for k, x in trial.load.items()})
        ),
        "wind_drag_n": only(seen, _pick(standing, {k: x.drag_n for k, x in trial.load.items()})),
        "overturning_nm": only(
            mount != mounts.SURVEY,
            _pick(standing, {k: x.moment_nm for k, x in trial.load.items()}),
        ),
        "ballast_kg": only(framed, frame.ballast_kg),
        "ballast_governs": governs.astype(object),
        "frame_base_m": only(framed, frame.base_m),
        "roof_load_pa": load,
        "pole_embedment_m": only(pole, trial.embedment_m),
        "wall_pull_n": only(wall, trial.fixing.pull_n),
        "wall_shear_n": only(wall, trial.fixing.shear_n),
        "parapet_distance_m": only(roof, standing.place.parapet_m),
    }
    heavy = load > site.roof_limit_pa
    sentence = (
        "The ballasted frame loads the roof with {load:.0f} Pa, more than the"
        f" {site.roof_limit_pa:g} Pa taken as its limit: ask for the roof's real one"
        f" ({CAVEAT})."
    )
    return Pack(columns, {"roof_load": (heavy, fill(sentence, {"load": load[heavy]}))})
