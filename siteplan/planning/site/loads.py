"""What the wind does to the dish on each mount: pressure, force, moment, ballast, fixings.

Every figure is for planning, to be confirmed by a qualified engineer.
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from siteplan.arrays import BoolArray, FloatArray
from siteplan.model import Note, Sites
from siteplan.network import Network
from siteplan.physics import holding, wind
from siteplan.physics.constants import GRAVITY_M_S2
from siteplan.planning.step import Columns


class Standing(NamedTuple):
    """A dish on one kind of mount (n,) [m].

    ``height_m`` is that of its centre above ground, ``lever_m`` above the mount's foot (for a
    bracket: off the wall), ``rim_m`` that of its lower rim above the surface that the dish stands
    on, where people stand too, and ``base_m`` that of this surface above ground. For a bracket at
    a roof's edge the surface is the roof: the rim lies below it.
    """

    height_m: FloatArray
    lever_m: FloatArray
    rim_m: FloatArray
    base_m: FloatArray | float = 0.0


class Loads(NamedTuple):
    """Wind pressure [Pa], force [N] and moment at the mount's foot [Nm] (n,)."""

    pressure_pa: FloatArray
    drag_n: FloatArray
    moment_nm: FloatArray


class Frame(NamedTuple):
    """A ballasted frame (n,): ballast [kg], whether sliding sets it, side [m], load [Pa]."""

    ballast_kg: FloatArray
    sliding: BoolArray
    base_m: FloatArray
    load_pa: FloatArray


def with_design_winds(sites: Sites, network: Network) -> Sites:
    """Return sites (n,) without winds that are too low for a design wind, each with a note.

    An observed speed would take the ballast away. What is left out falls to the network's wind.
    """
    floor, used = network.wind_floor_m_s, network.design_wind_m_s
    low = np.flatnonzero(sites.wind_m_s < floor)
    if not len(low):
        return sites
    wind, notes = sites.wind_m_s.copy(), dict(sites.notes)
    for at in low.tolist():
        told = Note.of(
            "note.input_mended.wind_floor",
            column="wind_m_s",
            given=float(wind[at]),
            floor=floor,
            used=used,
        )
        notes[at] = (*notes.get(at, ()), told)
    wind[low] = np.nan
    return replace(sites, wind_m_s=wind, notes=MappingProxyType(notes))


def design_wind_m_s(wind_m_s: FloatArray, network: Network) -> FloatArray:
    """Return each site's design wind (n,) [m/s]: given, else the network file's, else by basis."""
    return np.where(np.isnan(wind_m_s), network.design_wind_m_s, wind_m_s)


def roof_m(roof_height_m: FloatArray, network: Network) -> FloatArray:
    """Return each site's roof height (n,) [m]: given, else the network file's."""
    return np.where(np.isnan(roof_height_m), network.site.roof_height_m, roof_height_m)


def on_pole(dish_m: FloatArray, network: Network) -> Standing:
    """Return dishes (n,) [m] on poles in the ground."""
    rim = np.full_like(dish_m, network.site.pole_rim_m)
    centre = rim + dish_m / 2
    return Standing(centre, centre, rim)


def on_frame(dish_m: FloatArray, base_height_m: FloatArray, network: Network) -> Standing:
    """Return dishes (n,) [m] on ballasted frames that stand at a height above ground (n,) [m]."""
    rim = np.full_like(dish_m, network.site.frame_rim_m)
    lever = rim + dish_m / 2
    return Standing(base_height_m + lever, lever, rim, base_height_m)


def on_wall(dish_m: FloatArray, roof_height_m: FloatArray, network: Network) -> Standing:
    """Return dishes (n,) [m] on brackets: at roof height where it is given (n,) [m]."""
    given = ~np.isnan(roof_height_m) & (roof_height_m > 0)
    height = np.where(given, roof_height_m, network.site.bracket_height_m)
    stand_off = np.maximum(network.site.bracket_stand_off_m, dish_m / 2)
    roof = np.where(given, roof_height_m, 0.0)
    return Standing(height, stand_off, np.maximum(height - dish_m / 2, 0) - roof, roof)


def loads(standing: Standing, dish_m: FloatArray, wind_m_s: FloatArray, network: Network) -> Loads:
    """Return the wind's loads on dishes (n,), worst direction, no relief for tilt.

    The basis is the network's: a 10-minute mean by EN 1991-1-4, or a 3-second gust by
    0.613 V^2 with ASCE 7's factor for height and no relief for direction.
    """
    if network.rules.wind_basis == "gust_3s":
        factor = wind.gust_height_factor(standing.height_m, network.site.gust_exposure)
        pressure = wind.gust_pressure_pa(wind_m_s, factor)
    else:
        category = network.site.terrain_category
        pressure = wind.mean_wind_pressure(wind_m_s, standing.height_m, category).peak_pa
    drag = wind.wind_force_n(pressure, dish_m, network.site.force_coefficient)
    return Loads(pressure, drag, drag * standing.lever_m)


def frame(load: Loads, lever_m: FloatArray, dish_m: FloatArray, network: Network) -> Frame:
    """Return the ballasted frame that holds dishes (n,) against sliding and overturning.

    The load counts dish, frame and ballast over the base, without snow.
    """
    site = network.site
    lift = wind.wind_force_n(load.pressure_pa, dish_m, site.lift_coefficient)
    base = site.frame_base_ratio * dish_m
    found = holding.ballast(
        load.drag_n,
        lift,
        lever_m,
        base,
        mount_kg=mount_kg(dish_m, network),
        friction=site.friction,
        safety=site.safety_factor,
    )
    sliding = found.sliding_kg >= found.overturning_kg
    return Frame(found.ballast_kg, sliding, base, found.roof_load_pa)


def frame_fields(of: Frame) -> Columns:
    """Return the result fields of a ballasted frame, as they are where it is chosen (n,)."""
    return {
        "ballast_kg": of.ballast_kg,
        "ballast_governs": np.where(of.sliding, "sliding", "overturning").astype(object),
        "frame_base_m": of.base_m,
    }


def mount_kg(dish_m: FloatArray, network: Network) -> FloatArray:
    """Return the mass of dish and mount (n,) [kg]."""
    return np.asarray(network.site.mount_kg_m2 * np.pi / 4 * dish_m**2)


def embedment_m(load: Loads, lever_m: FloatArray, network: Network) -> FloatArray:
    """Return a first figure for the depth of poles' footings (n,) [m]."""
    site = network.site
    return holding.pole_embedment_m(load.drag_n, lever_m, site.footing_m, site.soil_pa_per_m)


def fixings(
    load: Loads, stand_off_m: FloatArray, dish_m: FloatArray, network: Network
) -> holding.WallReactions:
    """Return pull and shear of the fixings of wall brackets (n,) [N]."""
    weight = mount_kg(dish_m, network) * GRAVITY_M_S2
    spacing = network.site.bracket_spacing_m
    return holding.wall_reactions(load.drag_n, weight, stand_off_m, (spacing, spacing))
