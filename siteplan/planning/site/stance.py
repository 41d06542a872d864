"""How each dish stands: mounts weighed, and the one assumed for heights."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np

from siteplan.arrays import Arrays, BoolArray, FloatArray, IntArray, TextArray, TextColumn
from siteplan.frozen import frozen
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.physics.angles import horizon
from siteplan.physics.radio.antennas import beamwidth_deg
from siteplan.planning.link.ends import Kit, lower_ghz
from siteplan.planning.place import Place
from siteplan.planning.site import loads
from siteplan.planning.site.mounts.choice import KINDS, Mounts, mounts, stood_on, try_mounts
from siteplan.planning.site.mounts.kind import Spot, Tried
from siteplan.planning.site.mounts.wall_bracket import WALL


@frozen(eq=False)
class Stance(Arrays):
    """How each dish stands (n,): weighed mounts, and the one assumed for heights.

    ``mount_certainty`` says whether a question is open; ``kind`` is the kind of mount that heights
    and loads rest on, also where an engineer designs it or nothing is to be mounted;
    ``dish_m`` is the dish of the plan, or the largest that was tried. ``rim_m`` is the height of
    its lower rim above the surface that the dish stands on, ``base_m`` the height of that above
    ground [m]; a bracket at a roof's edge stands on that roof, with its rim below it.
    """

    mount: TextColumn
    mount_certainty: TextColumn
    spot: Spot
    tried: dict[str, Tried]
    chosen: Mounts
    kind: TextArray
    dish_m: FloatArray
    rim_m: FloatArray
    base_m: FloatArray

    @property
    def view_rim_m(self) -> FloatArray:
        """Height of the lower rim above ground (n,) [m]."""
        return self.base_m + self.rim_m

    @property
    def at_roof_edge(self) -> BoolArray:
        """Where a bracket holds the dish at the edge of a roof (n,)."""
        return np.asarray((self.kind == WALL.code) & (self.base_m > 0))


def stance(sites: Sites, at: Place, kit: Kit, network: Network) -> Stance:
    """Return how the dish of each site (n,) stands, every kind of mount weighed."""
    spot = Spot(
        structure=sites.structure,
        antenna_m=kit.antenna_m,
        roof_height_m=sites.roof_height_m,
        wall_facing_deg=sites.wall_facing_deg,
        azimuth_true_deg=at.azimuth_true_deg,
        elevation_deg=at.elevation_deg,
        wind_m_s=loads.design_wind_m_s(sites.wind_m_s, network),
        parapet_distance_m=behind_parapet_m(kit.antenna_m, at.elevation_deg, network),
    )
    tried = try_mounts(spot, network)
    chosen = mounts(spot, tried, network)
    kind = stood_on(spot, chosen)
    return Stance(
        mount=chosen.mount,
        mount_certainty=chosen.certainty,
        spot=spot,
        tried=tried,
        chosen=chosen,
        kind=kind,
        dish_m=kit.dish_m,
        **_heights(spot, kind, kit.dish_m, network),
    )


def mounts_of_others(
    of: Stance, index: IntArray, antenna_m: FloatArray, network: Network
) -> Mounts:
    """Return the mounts of other antennas (k,) [m] at the sites ``index`` (k,)."""
    there = {f.name: getattr(of.spot, f.name)[index] for f in fields(Spot)}
    elevation = there["elevation_deg"]
    spot = Spot(**there | {
        "antenna_m": antenna_m,
        "parapet_distance_m": behind_parapet_m(antenna_m, elevation, network),
    })  # fmt: skip
    return mounts(spot, try_mounts(spot, network), network)


def behind_parapet_m(
    antenna_m: FloatArray, elevation_deg: FloatArray, network: Network
) -> FloatArray:
    """Return how far behind its parapet a frame (n,) must stand to look over it [m]."""
    rise = max(network.site.parapet_m - network.site.frame_rim_m, 0.0)
    beam = beamwidth_deg(antenna_m, lower_ghz(network))
    return horizon.required_distance_m(rise, elevation_deg, beam)


def standing_on(of: Stance, mount: TextArray, network: Network) -> Stance:
    """Return how the same dishes stand on mounts (n,) that are there already.

    A mount that is no kind of its own (blank, or an engineer's) leaves the one assumed.
    """
    known = np.isin(mount.astype(str), [kind.code for kind in KINDS])
    kind = np.where(known, mount, of.kind)
    heights = _heights(of.spot, kind, of.dish_m, network)
    return replace(of, kind=kind, rim_m=heights["rim_m"], base_m=heights["base_m"])


def _heights(
    spot: Spot, kind: TextArray, dish_m: FloatArray, network: Network
) -> dict[str, FloatArray]:
    """Return the height of the rim, and of the surface below it, for dishes on their mounts."""
    rim, base = np.full(len(kind), np.nan), np.zeros(len(kind))
    for option in KINDS:
        here, standing = kind == option.code, option.stand(spot, dish_m, network)
        rim = np.where(here, standing.rim_m, rim)
        base = np.where(here, standing.base_m, base)
    return {"rim_m": rim, "base_m": base}
