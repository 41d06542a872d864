"""Noise of a receiving earth station: sky (ITU-R P.618-14 section 3), antenna, line, receiver."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray
from siteplan.physics.constants import COSMIC_BACKGROUND_K, REFERENCE_TEMPERATURE_K

#: Mean radiating temperature where the surface temperature is unknown [K]; ITU-R P.618-14
#: section 3 recommends 275 K for clear and rainy weather.
DEFAULT_MEAN_RADIATING_K: Final = 275.0


def mean_radiating_temperature_k(surface_k: ArrayLike) -> FloatArray:
    """Return the mean radiating temperature of the atmosphere, 37.34 + 0.81 Ts.

    Parameters
    ----------
    surface_k : array_like
        Surface temperature; NaN where it is unknown. [K]

    Returns
    -------
    ndarray
        Temperature [K]; 275 K where the surface temperature is NaN.

    References
    ----------
    ITU-R P.618-14 section 3.

    Examples
    --------
    37.34 + 0.81 x 300 by hand; 275 K where the surface is not known.

    >>> mean_radiating_temperature_k([300.0, float("nan")]).round(2).tolist()
    [280.34, 275.0]
    """
    surface = np.asarray(surface_k, dtype=float)
    return np.asarray(np.where(np.isnan(surface), DEFAULT_MEAN_RADIATING_K, 37.34 + 0.81 * surface))


def sky_noise_k(
    absorption_db: ArrayLike, mean_radiating_k: ArrayLike = DEFAULT_MEAN_RADIATING_K
) -> FloatArray:
    """Return the noise temperature of the sky behind an attenuating atmosphere.

    Parameters
    ----------
    absorption_db : array_like
        Attenuation without scintillation, which makes no noise. [dB]
    mean_radiating_k : array_like
        Mean radiating temperature of the atmosphere. [K] The two broadcast together.

    Returns
    -------
    ndarray
        Sky noise at the antenna. [K]

    References
    ----------
    ITU-R P.618-14 equation 69.

    Examples
    --------
    Without loss the sky's background is left; 3 dB let half of it through, and radiate half of
    275 K: (275 + 2.7) / 2, to the rounding of 3 dB.

    >>> sky_noise_k([0.0, 3.0103], 275).round(2).tolist()
    [2.7, 138.85]
    """
    through = _ratio(-np.asarray(absorption_db, dtype=float))
    radiating = np.asarray(mean_radiating_k, dtype=float)
    return np.asarray(radiating * (1 - through) + COSMIC_BACKGROUND_K * through)


def system_noise_k(
    sky_k: ArrayLike,
    spillover_k: ArrayLike,
    rx_loss_db: ArrayLike,
    receiver_k: ArrayLike,
    *,
    wet_loss_db: ArrayLike = 0.0,
) -> FloatArray:
    """Return the system noise temperature, referred to the receiver's input.

    Water on reflector and feed acts as an attenuator at 290 K ahead of the feed, and adds to
    the lossy line, which is at 290 K as well.

    Parameters
    ----------
    sky_k : array_like
        Sky noise. [K]
    spillover_k : array_like
        Antenna noise from the ground and spillover. [K]
    rx_loss_db : array_like
        Loss between feed and receiver. [dB]
    receiver_k : array_like
        Noise temperature of the receiver. [K]
    wet_loss_db : array_like, optional
        Loss of the wet reflector and feed. [dB] All broadcast together.

    Returns
    -------
    ndarray
        System noise temperature. [K]

    References
    ----------
    Noise of an attenuator at physical temperature T0: Maral and Bousquet, Satellite
    Communications Systems, 5th ed., chapter 5.

    Examples
    --------
    40 K of antenna and 75 K of receiver; 3 dB of line halve the 40 K and add 145 K.

    >>> system_noise_k(20, 20, [0.0, 3.0103], 75).round(1).tolist()
    [115.0, 240.0]
    """
    antenna = np.asarray(sky_k, dtype=float) + np.asarray(spillover_k, dtype=float)
    loss_db = np.asarray(rx_loss_db, dtype=float) + np.asarray(wet_loss_db, dtype=float)
    through = _ratio(-loss_db)
    line = REFERENCE_TEMPERATURE_K * (1 - through)
    return np.asarray(antenna * through + line + np.asarray(receiver_k, dtype=float))


def g_over_t_db(
    gain_dbi: ArrayLike,
    rx_loss_db: ArrayLike,
    system_k: ArrayLike,
    *,
    wet_loss_db: ArrayLike = 0.0,
) -> FloatArray:
    """Return the figure of merit G/T, both referred to the receiver's input.

    Parameters
    ----------
    gain_dbi : array_like
        Gain of the antenna. [dBi]
    rx_loss_db : array_like
        Loss between feed and receiver. [dB]
    system_k : array_like
        System noise temperature from `system_noise_k`, with the same losses. [K]
    wet_loss_db : array_like, optional
        Loss of the wet reflector and feed; taken off here, so not again from the carrier. [dB]

    Returns
    -------
    ndarray
        G/T. [dB/K]

    Examples
    --------
    41 dBi, no loss, 100 K (20 dBK).

    >>> g_over_t_db([41.0], 0.0, 100.0).round(2).tolist()
    [21.0]
    """
    losses_db = np.asarray(rx_loss_db, dtype=float) + np.asarray(wet_loss_db, dtype=float)
    noise_db = 10 * np.log10(np.asarray(system_k, dtype=float))
    return np.asarray(np.asarray(gain_dbi, dtype=float) - losses_db - noise_db)


def _ratio(level_db: ArrayLike) -> FloatArray:
    """Return a level [dB] as a ratio of powers."""
    return np.asarray(np.exp(np.asarray(level_db, dtype=float) * (np.log(10) / 10)))
