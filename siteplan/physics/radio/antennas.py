"""Gain and beamwidth of reflector antennas, and the diameter for a wanted gain."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray
from siteplan.physics.constants import SPEED_OF_LIGHT_M_S

#: Half-power beamwidth times D/lambda [deg]; common practice for the usual tapered illumination
#: (58.4 for a uniformly lit circular aperture).
BEAMWIDTH_FACTOR_DEG: Final = 70.0


def wavelength_m(frequency_ghz: ArrayLike) -> FloatArray:
    """Return the wavelength in vacuum [m] of frequencies [GHz].

    Examples
    --------
    >>> wavelength_m([14.25, 29.9792458]).round(4).tolist()
    [0.021, 0.01]
    """
    return np.asarray(SPEED_OF_LIGHT_M_S / (np.asarray(frequency_ghz, dtype=float) * 1e9))


def gain_dbi(diameter_m: ArrayLike, efficiency: ArrayLike, frequency_ghz: ArrayLike) -> FloatArray:
    """Return the gain on axis, eta (pi D / lambda)^2.

    Parameters
    ----------
    diameter_m : array_like
        Diameter of the aperture. [m]
    efficiency : array_like
        Aperture efficiency, 0 to 1.
    frequency_ghz : array_like
        Frequency. [GHz] All broadcast together.

    Returns
    -------
    ndarray
        Gain. [dBi]

    References
    ----------
    Maral and Bousquet, Satellite Communications Systems, 5th ed., chapter 5.

    Examples
    --------
    43.20 dBi is what the exhibit of FCC file SES-LIC-20180501-00417 states for 1.2 m; twice the
    diameter has 6.02 dB more.

    >>> gain_dbi([1.2, 2.4], 0.65, 14.25).round(2).tolist()
    [43.2, 49.22]
    """
    wavelengths = np.asarray(diameter_m, dtype=float) / wavelength_m(frequency_ghz)
    return np.asarray(10 * np.log10(np.asarray(efficiency) * (np.pi * wavelengths) ** 2))


def diameter_for_gain_m(
    gain: ArrayLike, efficiency: ArrayLike, frequency_ghz: ArrayLike
) -> FloatArray:
    """Return the diameter that has a gain: the inverse of `gain_dbi`.

    Parameters
    ----------
    gain : array_like
        Gain on axis. [dBi]
    efficiency : array_like
        Aperture efficiency, 0 to 1.
    frequency_ghz : array_like
        Frequency. [GHz] All broadcast together.

    Returns
    -------
    ndarray
        Diameter. [m]

    Examples
    --------
    >>> diameter_for_gain_m([43.20, 49.22], 0.65, 14.25).round(2).tolist()
    [1.2, 2.4]
    """
    ratio = 10 ** (np.asarray(gain, dtype=float) / 10) / np.asarray(efficiency, dtype=float)
    return np.asarray(wavelength_m(frequency_ghz) / np.pi * np.sqrt(ratio))


def beamwidth_deg(diameter_m: ArrayLike, frequency_ghz: ArrayLike) -> FloatArray:
    """Return the full half-power beamwidth, 70 lambda / D.

    Parameters
    ----------
    diameter_m : array_like
        Diameter of the aperture. [m]
    frequency_ghz : array_like
        Frequency. [GHz] The two broadcast together.

    Returns
    -------
    ndarray
        Angle between the two directions 3 dB down. [deg]

    References
    ----------
    Maral and Bousquet, Satellite Communications Systems, 5th ed., chapter 5; the factor of 70
    is common practice, the maker's pattern comes first.

    Examples
    --------
    A wavelength of 1 cm: 70 x 0.01 / 0.7 by hand.

    >>> beamwidth_deg([0.7, 1.4], 29.9792458).round(3).tolist()
    [1.0, 0.5]
    """
    diameter = np.asarray(diameter_m, dtype=float)
    return np.asarray(BEAMWIDTH_FACTOR_DEG * wavelength_m(frequency_ghz) / diameter)
