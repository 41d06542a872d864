"""Wind on a dish: pressure, force, ballast, and first figures for pole and wall.

Figures for planning and for asking the right questions, never a structural approval: local
codes, the maker's coefficients and a licensed engineer decide.

The Eurocode's basic speed is a 10-minute mean, the 0.613 form takes a 3-second gust. Mixing
them roughly doubles or halves the pressure, so each has its own function.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray

#: Density of air [kg/m3]; EN 1991-1-4 section 4.5, recommended value.
AIR_DENSITY_KG_M3: Final = 1.25

#: Standard acceleration of gravity [m/s2]; CGPM 1901.
GRAVITY_M_S2: Final = 9.80665

#: EN 1991-1-4 table 4.1, terrain category: roughness length and least height [m].
TERRAIN: Final = {
    "0": (0.003, 1.0),
    "I": (0.01, 1.0),
    "II": (0.05, 2.0),
    "III": (0.3, 5.0),
    "IV": (1.0, 10.0),
}

#: ASCE 7-16 table 26.11-1, exposure: exponent and gradient height [m] (from memory).
EXPOSURE: Final = {"B": (7.0, 365.76), "C": (9.5, 274.32), "D": (11.5, 213.36)}

#: Preliminary friction of a rubber mat by roofing, to be used only where the roof is known.
MAT_FRICTION: Final = {"bitumen": 0.6, "EPDM": 0.6, "PVC": 0.5, "TPO": 0.5}


class PeakPressure(NamedTuple):
    """Pressures of EN 1991-1-4: basic and peak [Pa], roughness and exposure factor."""

    basic_pa: FloatArray
    roughness_factor: FloatArray
    exposure_factor: FloatArray
    peak_pa: FloatArray


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


def mean_wind_pressure(
    wind_m_s: ArrayLike,
    height_m: ArrayLike,
    terrain: str,
    *,
    orography: ArrayLike = 1.0,
    density_kg_m3: ArrayLike = AIR_DENSITY_KG_M3,
) -> PeakPressure:
    """Return the peak velocity pressure from a 10-minute mean wind speed.

    Parameters
    ----------
    wind_m_s : array_like
        Basic wind speed: 10-minute mean, 10 m above open country. [m/s]
    height_m : array_like
        Height above ground. [m]
    terrain : {'0', 'I', 'II', 'III', 'IV'}
        Terrain category; open country with few obstacles is II.
    orography : array_like, optional
        Factor c_o for hills and crests.
    density_kg_m3 : array_like, optional
        Density of the air. [kg/m3] The arrays broadcast together.

    Returns
    -------
    PeakPressure
        Arrays of the broadcast shape.

    Raises
    ------
    ValueError
        If the terrain category is unknown.

    References
    ----------
    EN 1991-1-4 equations 4.3 to 4.10 with the recommended values; k_I = 1.
    """
    if terrain not in TERRAIN:
        raise ValueError(f"terrain {terrain!r} is not known: use one of {', '.join(TERRAIN)}")
    roughness_m, least_m = TERRAIN[terrain]
    wind, orography = np.asarray(wind_m_s, dtype=float), np.asarray(orography, dtype=float)
    logarithm = np.log(np.maximum(np.asarray(height_m, dtype=float), least_m) / roughness_m)
    factor = 0.19 * (roughness_m / 0.05) ** 0.07 * logarithm
    basic = 0.5 * np.asarray(density_kg_m3, dtype=float) * wind**2
    exposure = (1 + 7 / (orography * logarithm)) * (factor * orography) ** 2
    return PeakPressure(
        np.asarray(basic), np.asarray(factor), np.asarray(exposure), np.asarray(exposure * basic)
    )


def gust_pressure_pa(
    gust_m_s: ArrayLike, height_factor: ArrayLike = 1.0, directionality: ArrayLike = 1.0
) -> FloatArray:
    """Return the velocity pressure from a 3-second gust, 0.613 Kz Kd V^2.

    Parameters
    ----------
    gust_m_s : array_like
        Basic wind speed: 3-second gust, 10 m above open country. [m/s]
    height_factor : array_like, optional
        Kz, from `gust_height_factor`.
    directionality : array_like, optional
        Kd; 1 gives no relief. All broadcast together.

    Returns
    -------
    ndarray
        Velocity pressure. [Pa]

    References
    ----------
    ASCE 7-16 equation 26.10-1, flat ground at sea level.
    """
    speed = np.asarray(gust_m_s, dtype=float)
    factors = np.asarray(height_factor, dtype=float) * np.asarray(directionality, dtype=float)
    return np.asarray(0.613 * factors * speed**2)


def gust_height_factor(height_m: ArrayLike, exposure: str) -> FloatArray:
    """Return Kz, how a gust's pressure grows with height.

    Parameters
    ----------
    height_m : array_like
        Height above ground [m]; below 4.57 m (15 ft) the factor stays what it is there.
    exposure : {'B', 'C', 'D'}
        Town and wood, open country, or flat coast.

    Returns
    -------
    ndarray

    Raises
    ------
    ValueError
        If the exposure is unknown.

    References
    ----------
    ASCE 7-16 table 26.10-1, note 1 (from memory).
    """
    if exposure not in EXPOSURE:
        raise ValueError(f"exposure {exposure!r} is not known: use one of {', '.join(EXPOSURE)}")
    exponent, gradient_m = EXPOSURE[exposure]
    height = np.clip(np.asarray(height_m, dtype=float), 4.57, gradient_m)
    return np.asarray(2.01 * (height / gradient_m) ** (2 / exponent))


def wind_force_n(
    pressure_pa: ArrayLike, diameter_m: ArrayLike, coefficient: ArrayLike
) -> FloatArray:
    """Return a force of the wind on a dish: pressure x coefficient x aperture.

    The worst direction is meant: the full aperture faces the wind, whatever the dish's tilt.
    Pole and frame add their own area, which is not counted here.

    Parameters
    ----------
    pressure_pa : array_like
        Peak velocity pressure. [Pa]
    diameter_m : array_like
        Diameter of the reflector. [m]
    coefficient : array_like
        Force coefficient on the aperture: drag of a solid dish 1.2 to 1.5, lift taken together
        with the full drag 0.5 (common practice, no source). All broadcast together.

    Returns
    -------
    ndarray
        Force. [N]

    References
    ----------
    EN 1991-1-4 equation 5.3 with structural factor 1.
    """
    aperture_m2 = np.pi / 4 * np.asarray(diameter_m, dtype=float) ** 2
    coefficient = np.asarray(coefficient, dtype=float)
    return np.asarray(np.asarray(pressure_pa, dtype=float) * coefficient * aperture_m2)


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
        Horizontal force and uplift of the wind, from `wind_force_n`. [N]
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
