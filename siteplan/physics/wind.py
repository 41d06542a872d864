"""Wind on a dish: pressure and force.

Figures for planning and for asking the right questions, never a structural approval: local
codes, the maker's coefficients and a licensed engineer decide.

The basic speed of EN 1991-1-4 is a 10-minute mean, the 0.613 form (with ASCE 7-16's height
factor) takes a 3-second gust. Mixing them roughly doubles or halves the pressure, so each has its
own function.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray

#: Density of air [kg/m3]; EN 1991-1-4 section 4.5, recommended value.
AIR_DENSITY_KG_M3: Final = 1.25

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


class PeakPressure(NamedTuple):
    """Pressures of EN 1991-1-4: basic and peak [Pa], roughness and exposure factor."""

    basic_pa: FloatArray
    roughness_factor: FloatArray
    exposure_factor: FloatArray
    peak_pa: FloatArray


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

    Examples
    --------
    Steel Buildings in Europe, part 3, appendix B: 26 m/s at 8 m in category III have a basic
    pressure of 422.5 Pa and a peak of 659 Pa; without rounding on the way it is 662 Pa.

    >>> pressure = mean_wind_pressure([26.0], 8.0, "III")
    >>> pressure.basic_pa.round(1).tolist(), pressure.peak_pa.round().tolist()
    ([422.5], [662.0])
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

    Examples
    --------
    0.613 x 30^2 by hand.

    >>> gust_pressure_pa([30.0]).round(1).tolist()
    [551.7]
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

    Examples
    --------
    ASCE 7-16 table 26.10-1, exposure C: 0.85 up to 15 ft and 0.98 at 30 ft.

    >>> gust_height_factor([4.57, 9.14], "C").round(2).tolist()
    [0.85, 0.98]
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

    Examples
    --------
    800 Pa x 1.5 x pi / 4 x 1.2^2 by hand.

    >>> wind_force_n([800.0], 1.2, 1.5).round().tolist()
    [1357.0]
    """
    aperture_m2 = np.pi / 4 * np.asarray(diameter_m, dtype=float) ** 2
    coefficient = np.asarray(coefficient, dtype=float)
    return np.asarray(np.asarray(pressure_pa, dtype=float) * coefficient * aperture_m2)
