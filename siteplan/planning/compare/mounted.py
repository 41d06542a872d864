"""Mounts that stay: whether one holds its dish in another direction.

Of the kinds of mount a bracket on a wall asks which way its dish looks, and a frame on a roof how
far it stands behind the parapet; the others turn with the dish.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from siteplan.arrays import BoolArray, TextArray
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.asbuilt.differences import wrapped
from siteplan.planning.site.mounts.choice import ENGINEERED
from siteplan.planning.site.mounts.roof_frame import ROOF
from siteplan.planning.site.mounts.wall_bracket import OVER_ELEVATION_DEG, WALL, swing_deg
from siteplan.planning.site.stance import behind_parapet_m

#: Words for it.
MOUNTS = ("yes", "no", "over_wall", "facing_unknown", "parapet", "engineered")
#: A frame is not moved for less [m], nor a dish turned [deg].
_LEAST_M, _LEAST_DEG = 0.05, 0.05


def mounted(
    sites: Sites, old: Mapping[str, Any], new: Mapping[str, Any], network: Network
) -> TextArray:
    """Return whether the mount of each site's dish (n,) does for another satellite, in a word.

    ``no``: its wall stands in the way. ``over_wall``: the dish looks over the wall that it hangs
    on. ``facing_unknown``: nobody told which way the wall faces. ``parapet``: the frame must stand
    further behind the parapet than now. ``engineered``: the engineer who designed it knows. Blank
    without a mount, and where the satellite is out of view.

    Parameters
    ----------
    sites : Sites
        Of n sites.
    old, new : mapping
        Columns of the plan as it is, and of the one with the other satellite.
    network : Network
        For the limits of ``[site]``.
    """
    mount, elevation = old["mount"], new["elevation_deg"]
    wall = np.asarray(mount == WALL.code)
    swing = swing_deg(new["azimuth_true_deg"], sites.wall_facing_deg)
    away = wall & (swing > network.site.wall_angle_limit_deg)
    over = elevation >= OVER_ELEVATION_DEG
    was, is_ = (behind_parapet_m(old["antenna_m"], of["elevation_deg"], network)
                for of in (old, new))  # fmt: skip
    cases = (
        ("", (mount == "") | np.isnan(elevation)),
        ("yes", _no_turn(old, new)),
        ("engineered", mount == ENGINEERED),
        ("facing_unknown", wall & np.isnan(swing)),
        ("over_wall", away & over),
        ("no", away),
        ("parapet", (mount == ROOF.code) & (is_ - was > _LEAST_M)),
    )
    words, where = zip(*cases, strict=True)
    texts = [np.full(len(mount), word, dtype=object) for word in words]
    return np.select([np.asarray(w) for w in where], texts, default="yes").astype(object)


def _no_turn(old: Mapping[str, Any], new: Mapping[str, Any]) -> BoolArray:
    """Return where dishes (n,) stay as they are."""
    azimuth = wrapped(new["azimuth_true_deg"] - old["azimuth_true_deg"], 360)
    elevation = new["elevation_deg"] - old["elevation_deg"]
    return np.asarray((np.abs(azimuth) < _LEAST_DEG) & (np.abs(elevation) < _LEAST_DEG))
