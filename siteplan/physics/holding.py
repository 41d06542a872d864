"""What holds a dish against the wind: ballast, and first figures for pole and wall.

Figures for planning and for asking the right questions, never a structural approval: local
codes, the maker's data and a licensed engineer decide. Forces come from `siteplan.physics.wind`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray
from siteplan.physics.constants import GRAVITY_M_S2


class Ballast(NamedTuple):
    """Ballast [kg] against sliding and overturning, and the roof's mean load [Pa]."""

    sliding_kg: FloatArray
    overturning_kg: FloatArray
    ballast_kg: FloatArray
    roof_load_pa: FloatArray


class WallReactions(NamedTuple):
    """Worst pull and shear of one fixing. [N]"""

    pull_n: FloatArray
    shear_n: FloatArray


def ballast(
    drag_n: ArrayLike,
    lift_n: ArrayLike,
    lever_m: ArrayLike,
    base_m: ArrayLike,
    *,
    mount_kg: ArrayLike = 0.0,
    friction: ArrayLike,
    safety: ArrayLike,
) -> Ballast:
    """Return the ballast of a non-penetrating mount.

    The frame must neither slide, ``friction (W - safety lift) >= safety drag``, nor tip over
    the nearer edge of its base, ``W base / 2 >= safety (drag lever + lift base / 2)``.

    Parameters
    ----------
    drag_n, lift_n : array_like
        Horizontal force and uplift of the wind, from `siteplan.physics.wind.wind_force_n`. [N]
    lever_m : array_like
        Height of the dish's centre above the roof. [m]
    base_m : array_like
        Side of the square base; of an oblong one, the shorter. [m]
    mount_kg : array_like, optional
        Mass of dish and frame, taken off the ballast. [kg]
    friction, safety : array_like
        Coefficient of friction; safety factor on wind. All broadcast together.

    Returns
    -------
    Ballast
        Arrays of the broadcast shape; the roof's load counts mount and ballast, spread evenly.

    References
    ----------
    Statics of a rigid body. Friction and safety factor: common practice.

    Examples
    --------
    1000 N at 1 m on a base of 2 m: 1.5 x 1000 / 0.4 N against sliding, 1.5 x 1000 N against
    tipping.

    >>> found = ballast([1000.0], 0.0, 1.0, 2.0, friction=0.4, safety=1.5)
    >>> found.sliding_kg.round(1).tolist(), found.overturning_kg.round(1).tolist()
    ([382.4], [153.0])
    """
    drag, lift = np.asarray(drag_n, dtype=float), np.asarray(lift_n, dtype=float)
    base, mount = np.asarray(base_m, dtype=float), np.asarray(mount_kg, dtype=float)
    safety = np.asarray(safety, dtype=float)
    against_sliding_n = safety * (drag / np.asarray(friction, dtype=float) + lift)
    tipping_nm = drag * np.asarray(lever_m, dtype=float) + lift * base / 2
    against_tipping_n = safety * tipping_nm / (base / 2)
    sliding = np.maximum(against_sliding_n / GRAVITY_M_S2 - mount, 0)
    overturning = np.maximum(against_tipping_n / GRAVITY_M_S2 - mount, 0)
    needed = np.maximum(sliding, overturning)
    load_pa = (needed + mount) * GRAVITY_M_S2 / base**2
    return Ballast(
        np.asarray(sliding), np.asarray(overturning), np.asarray(needed), np.asarray(load_pa)
    )


def pole_embedment_m(
    drag_n: ArrayLike,
    lever_m: ArrayLike,
    footing_m: ArrayLike,
    soil_pa_per_m: ArrayLike,
) -> FloatArray:
    """Return how deep a pole's footing must reach, as a first figure.

    ``d = A/2 (1 + sqrt(1 + 4.36 h / A))`` with ``A = 2.34 P / (S b)`` and ``S`` the soil's
    allowable lateral pressure at a third of the depth, solved for the depth.

    Parameters
    ----------
    drag_n : array_like
        Horizontal force. [N]
    lever_m : array_like
        Height of the force above ground. [m]
    footing_m : array_like
        Diameter of the concrete footing. [m]
    soil_pa_per_m : array_like
        Allowable lateral bearing pressure for each metre of depth [Pa/m]: 15700 for clay,
        23600 for sand, 31400 for sandy gravel (IBC table 1806.2: 100, 150, 200 lb/ft2 per
        ft, from memory). All broadcast together.

    Returns
    -------
    ndarray
        Depth [m]. Frost depth and local code can ask for more.

    References
    ----------
    International Building Code, section 1807.3.2.1, nonconstrained post (from memory).

    Examples
    --------
    Put back into the code's formula, the depth comes out again.

    >>> depth = pole_embedment_m(1500.0, [2.0], 0.6, 15_700.0)
    >>> a = 2.34 * 1500 / (15_700 * depth / 3 * 0.6)
    >>> depth.round(2).tolist(), (a / 2 * (1 + np.sqrt(1 + 4.36 * 2 / a))).round(2).tolist()
    ([1.62], [1.62])
    """
    drag, lever, footing, soil = np.broadcast_arrays(
        *(np.asarray(x, dtype=float) for x in (drag_n, lever_m, footing_m, soil_pa_per_m))
    )
    # With S = soil d / 3, A is k / d, and the formula becomes d^3 = k d + 1.09 k h: one positive
    # root, which Newton's steps approach from above without passing it.
    k = 2.34 * 3 * drag / (soil * footing)
    depth = np.sqrt(k) + np.cbrt(1.09 * k * lever)
    for _ in range(12):
        slope = 3 * depth**2 - k
        excess = depth**3 - k * depth - 1.09 * k * lever
        depth = depth - np.divide(excess, slope, out=np.zeros_like(depth), where=slope > 0)
    return np.asarray(depth)


def wall_reactions(
    drag_n: ArrayLike,
    weight_n: ArrayLike,
    stand_off_m: ArrayLike,
    spacing_m: tuple[ArrayLike, ArrayLike],
    *,
    rise_m: ArrayLike = 0.0,
) -> WallReactions:
    """Return pull and shear of a fixing of a wall bracket with four fixings.

    A rigid bracket turns about its far row, so that the two fixings of the near row share the
    couple. The worse of wind straight off the wall and wind along it is taken.

    Parameters
    ----------
    drag_n : array_like
        Force of the wind. [N]
    weight_n : array_like
        Weight of dish, bracket and electronics. [N]
    stand_off_m : array_like
        Distance of the dish's centre from the wall. [m]
    spacing_m : tuple of array_like
        Vertical and horizontal spacing of the fixings. [m]
    rise_m : array_like, optional
        Height of the dish's centre above or below the bracket's centre. [m] All broadcast.

    Returns
    -------
    WallReactions
        Forces without a safety factor: the fixing's maker and the wall's material give it.

    References
    ----------
    Statics of a rigid bracket (first figure; common practice).

    Examples
    --------
    1200 N off the wall pull 300 N at each fixing; 400 N hanging 0.5 m out, on rows 0.4 m apart,
    250 N more.

    >>> wall_reactions([1200.0], 400.0, 0.5, (0.4, 10.0)).pull_n.round().tolist()
    [550.0]
    """
    drag, weight = np.asarray(drag_n, dtype=float), np.asarray(weight_n, dtype=float)
    stand_off, rise = np.asarray(stand_off_m, dtype=float), np.abs(np.asarray(rise_m, dtype=float))
    vertical, horizontal = (np.asarray(s, dtype=float) for s in spacing_m)
    hanging = weight * stand_off / (2 * vertical)
    off_the_wall = drag / 4 + drag * rise / (2 * vertical) + hanging
    along_the_wall = drag * stand_off / (2 * horizontal) + hanging
    # Along the wall, the rise twists the bracket in the wall's plane: four fixings share it,
    # each at half the diagonal.
    twist = drag * rise / (2 * np.hypot(vertical, horizontal))
    shear = np.hypot(drag / 4, weight / 4) + twist
    return WallReactions(np.asarray(np.maximum(off_the_wall, along_the_wall)), np.asarray(shear))
