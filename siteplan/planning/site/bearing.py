"""What each mount has to bear: wind on the dish, moment at its foot, and what its kind asks for."""

from __future__ import annotations

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray, TextColumn
from siteplan.frozen import frozen
from siteplan.planning.site.mounts.choice import KINDS
from siteplan.planning.site.stance import Stance
from siteplan.planning.step import Columns


@frozen(eq=False)
class Bearing(Arrays):
    """Height, wind and loads of each dish (n,); ``own`` are the fields of the kinds of mount."""

    dish_height_m: Column
    wind_design_m_s: Column
    wind_source: TextColumn
    wind_pressure_pa: Column
    wind_drag_n: Column
    overturning_nm: Column
    own: Columns

    def columns(self) -> Columns:
        """Return the result fields by name, those of the kinds of mount among them."""
        return super().columns() | self.own


def bearing(of: Stance, wind_m_s: FloatArray) -> Bearing:
    """Return what the mounts of sites (n,) bear; ``wind_m_s`` is the wind that a site gives."""
    seen = ~np.isnan(of.spot.elevation_deg)

    def assumed(name: str, where: BoolArray) -> FloatArray:
        """Return a load or height of the mount that is assumed, where it is to be told."""
        found = np.full(len(where), np.nan)
        for code, tried in of.tried.items():
            here = where & (of.kind == code)
            source = tried.load if name in tried.load._fields else tried.standing
            found[here] = getattr(source, name)[here]
        return found

    return Bearing(
        dish_height_m=assumed("height_m", seen),
        wind_design_m_s=of.spot.wind_m_s,
        wind_source=np.where(np.isnan(wind_m_s), "assumed", "given").astype(object),
        wind_pressure_pa=assumed("pressure_pa", seen),
        wind_drag_n=assumed("drag_n", seen),
        overturning_nm=assumed("moment_nm", np.asarray(of.mount != "")),
        own=_own_fields(of),
    )


def _own_fields(of: Stance) -> Columns:
    """Return the fields of every kind of mount (n,), blank but where it is the one chosen."""
    found: Columns = {}
    for kind in KINDS:
        here = of.mount == kind.code
        for name in kind.fields:
            values = of.tried[kind.code].needs[name]
            blank = "" if values.dtype == object else np.nan
            found[name] = np.where(here, values, found.get(name, blank))
    return found
