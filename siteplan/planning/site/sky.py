"""The open sky: surveyed obstacles, terrain, clearance of the beam, distances to keep."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import (
    Arrays,
    BoolArray,
    Column,
    FloatArray,
    IntArray,
    TextArray,
    TextColumn,
)
from siteplan.frozen import frozen
from siteplan.model import Obstructions, Surroundings
from siteplan.network import Network, SitePack
from siteplan.physics.angles import horizon
from siteplan.physics.radio.antennas import beamwidth_deg
from siteplan.planning.link.ends import lower_ghz
from siteplan.planning.place import Place
from siteplan.planning.site.stance import Stance
from siteplan.planning.step import Raised, Told, flag

#: Step of the horizon's grid [deg].
STEP_DEG = 5.0
#: Heights of obstacles, above the surface that the dish stands on, for which the distance to
#: keep is told [m].
HEIGHTS_M = (3.0, 5.0, 10.0, 15.0, 20.0)
#: Distance at which a tree is taken to stand that was surveyed by its angle alone [m].
TREE_DISTANCE_M = 20.0
#: Surfaces that a dish stands on.
ROOF, EARTH = "roof", "ground"
#: What the terrain is called beside surveyed obstacles.
TERRAIN = "terrain"


class Obstacles(NamedTuple):
    """Obstacles (m,) of the sites at hand: index of the site, sector [deg], top [deg], kind."""

    site: IntArray
    from_deg: FloatArray
    to_deg: FloatArray
    top_deg: FloatArray
    kind: TextArray


@frozen
class View:
    """Where each dish looks from (n,): bearing, elevation, beam [deg], rim above ground [m].

    ``surface_m`` is the height above ground of the surface that it stands on [m]. Where no dish is
    given: the line to the satellite, seen from where one would stand.
    """

    azimuth_true_deg: FloatArray
    elevation_deg: FloatArray
    beamwidth_deg: FloatArray
    rim_m: FloatArray
    surface_m: FloatArray | float = 0.0


@frozen
class Sky:
    """What stands at the satellite's bearing (n,), NaN and '' where nothing is known."""

    horizon_deg: FloatArray
    source: TextArray
    kind: TextArray
    clearance_deg: FloatArray


def obstacles_at(found: Obstructions, site_id: TextArray, rim_m: FloatArray, rules: SitePack
                 ) -> Obstacles:  # fmt: skip
    """Return the obstacles of some sites with their tops as the dish sees them.

    Parameters
    ----------
    found : Obstructions
        Of the whole project.
    site_id : array (n,)
        The sites at hand.
    rim_m : array (n,)
        Height of the dish's lower rim above ground: what is given by height and distance is
        seen from there, to be on the safe side. [m]
    rules : SitePack
        Years of growth to allow for.

    Returns
    -------
    Obstacles
        Growth included; a tree surveyed by its angle alone grows as one 20 m away.
    """
    order = np.argsort(site_id.astype(str))
    names = site_id.astype(str)[order]
    wanted = found.site_id.astype(str)
    place = np.minimum(np.searchsorted(names, wanted), max(len(names) - 1, 0))
    here = np.flatnonzero(names[place] == wanted) if len(names) else np.zeros(0, dtype=np.intp)
    site = order[place[here]]
    growth = found.growth_m_per_year[here] * rules.growth_years
    distance = found.distance_m[here]
    by_angle = ~np.isnan(found.elevation_deg[here])
    near = np.where(np.isnan(distance), TREE_DISTANCE_M, distance)
    seen_m = np.tan(np.radians(np.minimum(found.elevation_deg[here], 89.9))) * near
    height = np.where(by_angle, seen_m, found.height_m[here] - rim_m[site])
    top = horizon.top_elevation_deg(height + growth, near)
    return Obstacles(site, found.from_deg[here], found.to_deg[here], top, found.kind[here])


def sky(view: View, obstacles: Obstacles | None, terrain_deg: FloatArray | None) -> Sky:
    """Return the horizon at the satellite's bearing and the beam's clearance over it.

    Parameters
    ----------
    view : View
        Of n sites.
    obstacles : Obstacles or None
        None where nothing was surveyed at all.
    terrain_deg : array (n,) or None
        Elevation of the terrain's horizon at the bearing, NaN where it is not known. [deg]

    Returns
    -------
    Sky
        A site with surveyed obstacles, none of them in the beam's width, has a horizon of 0.
    """
    n = len(view.elevation_deg)
    nothing = np.full(n, np.nan)
    ground = nothing if terrain_deg is None else terrain_deg
    surveyed = np.zeros(n, dtype=bool)
    top, kind = nothing, np.full(n, "", dtype=object)
    if obstacles is not None and len(obstacles.site):
        surveyed[obstacles.site] = True
        top, kind = _highest(view, obstacles)
        top = np.where(surveyed, np.fmax(top, 0.0), np.nan)
    level = np.fmax(top, ground)
    hilly = ~np.isnan(ground) & ~(top >= ground)
    kind = np.where(hilly, TERRAIN, kind)
    source = np.where(surveyed, np.where(np.isnan(ground), "survey", "survey and terrain"),
                      np.where(np.isnan(ground), "", TERRAIN))  # fmt: skip
    clearance = horizon.clearance_deg(view.elevation_deg, level, view.beamwidth_deg)
    unseen = np.isnan(view.elevation_deg)
    level = np.where(unseen, np.nan, level)
    kind, source = (np.where(unseen, "", x).astype(object) for x in (kind, source))
    return Sky(level, source, kind, clearance)


def _highest(view: View, obstacles: Obstacles) -> tuple[FloatArray, TextArray]:
    """Return top (n,) and kind (n,) of the highest obstacle within the beam's width."""
    half = half_width_deg(view)
    sectors = obstacles.from_deg, obstacles.to_deg
    top = horizon.blocking_elevation_deg(
        view.azimuth_true_deg, half, obstacles.site, sectors, obstacles.top_deg
    )
    kind = np.full(len(top), "", dtype=object)
    is_top = obstacles.top_deg == top[obstacles.site]
    kind[obstacles.site[is_top]] = obstacles.kind[is_top]
    return top, kind


def half_width_deg(view: View) -> FloatArray:
    """Return how far to either side of its bearing the beam reaches (n,) [deg of azimuth].

    The higher the beam, the more bearings half its width spans; near the zenith all.
    """
    level = np.cos(np.radians(np.nan_to_num(view.elevation_deg)))
    sine = np.sin(np.radians(view.beamwidth_deg / 2)) / np.maximum(level, 1e-6)
    return np.asarray(np.where(sine >= 1, 180.0, np.degrees(np.arcsin(np.minimum(sine, 1)))))


def horizon_grid_deg(obstacles: Obstacles | None, n: int) -> NDArray[np.float32]:
    """Return each site's horizon (n, 72) at azimuths 0, 5, ... 355. [deg]

    The highest obstacle within 2.5 degrees of each; 0 where nothing stands, and NaN for sites
    where nothing was surveyed.
    """
    bins = round(360 / STEP_DEG)
    grid = np.full((n, bins), np.nan, dtype=np.float32)
    if obstacles is None or not len(obstacles.site):
        return grid
    grid[obstacles.site] = 0
    centre = np.arange(bins) * STEP_DEG
    width = np.remainder(obstacles.to_deg - obstacles.from_deg, 360)[:, None]
    start = np.remainder(centre - obstacles.from_deg[:, None], 360)
    half = STEP_DEG / 2
    row, column = np.nonzero((start <= width + half) | (start >= 360 - half))
    top = np.maximum(obstacles.top_deg[row], 0).astype(np.float32)
    np.maximum.at(grid, (obstacles.site[row], column), top)
    return grid


def stand_off_per_m(view: View, spare_deg: float) -> FloatArray:
    """Return the distance to keep for each metre of an obstacle above the rim (n,). [m/m]"""
    return horizon.required_distance_m(
        1.0, view.elevation_deg, view.beamwidth_deg, spare_deg=spare_deg
    )


def stand_off_m(view: View, spare_deg: float) -> FloatArray:
    """Return the distance (n, 5) to keep from obstacles of some heights. [m]

    `HEIGHTS_M` are counted from the surface that the dish stands on, as whoever stands beside it
    sees them.
    """
    per_m = stand_off_per_m(view, spare_deg)[:, None]
    rim_m = np.asarray(view.rim_m - view.surface_m)
    return np.asarray(np.maximum(np.array(HEIGHTS_M) - rim_m[:, None], 0) * per_m)


@frozen(eq=False)
class Clearance(Arrays):
    """What stands at the satellite's bearing (n,), and how far the beam clears it.

    ``stand_off_from`` is the surface that heights of obstacles are counted from, ``roof`` or
    ``ground``; ``terrain_deg`` is the terrain's horizon [deg], None without a file; ``no_dish``
    where none is given.
    """

    horizon_at_satellite_deg: Column
    horizon_source: TextColumn
    obstacle_kind: TextColumn
    clearance_deg: Column
    stand_off_per_m: Column
    stand_off_from: TextColumn
    beamwidth_deg: Column
    view: View
    obstacles: Obstacles | None
    terrain_deg: FloatArray | None
    no_dish: BoolArray


def clearance(
    site_id: TextArray, at: Place, stands: Stance, around: Surroundings, network: Network
) -> Clearance:
    """Return horizon, clearance and stand-off of sites (n,) with their ids."""
    dish = stands.spot.antenna_m
    beam = np.nan_to_num(beamwidth_deg(dish, lower_ghz(network)))
    rim = np.where(np.isnan(dish), stands.base_m, stands.view_rim_m)
    view = View(at.azimuth_true_deg, at.elevation_deg, beam, rim, stands.base_m)
    obstacles = None
    if around.obstructions is not None:
        obstacles = obstacles_at(around.obstructions, site_id, view.rim_m, network.site)
    terrain = _terrain_deg(at, rim + np.nan_to_num(dish) / 2, around)
    found = sky(view, obstacles, terrain)
    return Clearance(
        horizon_at_satellite_deg=found.horizon_deg,
        horizon_source=found.source,
        obstacle_kind=found.kind,
        clearance_deg=found.clearance_deg,
        stand_off_per_m=stand_off_per_m(view, network.site.clearance_deg),
        stand_off_from=_surface(at, stands),
        beamwidth_deg=np.where(at.seen, beam, np.nan),
        view=view,
        obstacles=obstacles,
        terrain_deg=terrain,
        no_dish=np.isnan(dish),
    )


def _surface(at: Place, stands: Stance) -> TextArray:
    """Return what heights of obstacles are counted from (n,), '' where nothing is seen."""
    return np.where(at.seen, np.where(stands.base_m > 0, ROOF, EARTH), "").astype(object)


def _terrain_deg(at: Place, centre_m: FloatArray, around: Surroundings) -> FloatArray | None:
    """Return the terrain's horizon (n,) [deg] as dishes see it, None without a file."""
    if around.terrain_path is None:
        return None
    from siteplan.planning.site.terrain import terrain_at

    path = around.terrain_path
    return terrain_at(path, at.lat, at.lon, at.azimuth_true_deg, centre_m).elevation_deg


def raised(of: Clearance, at: Place, network: Network) -> Iterator[Raised]:
    """Yield the flags of what stands in the beam or near it, and of terrain that is not known."""
    asked = network.site.clearance_deg
    blocked = of.clearance_deg < 0
    tight = ~blocked & (of.clearance_deg < asked)
    top = {"top": of.horizon_at_satellite_deg}
    yield flag("blocked", blocked & ~of.no_dish, **top)
    yield Raised("blocked", Told("flag.blocked.hidden", blocked & of.no_dish, top))
    yield flag("sky_tight", tight, clear=of.clearance_deg, asked=asked)
    if of.terrain_deg is not None:
        unknown = np.isnan(of.terrain_deg) & at.seen & ~np.isnan(at.azimuth_true_deg)
        yield flag("outside_terrain", unknown)
