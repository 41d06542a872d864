"""What the sun does to a receiver while it stands in the beam: noise, and the fall of G/T."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray
from siteplan.physics.angles.sun import SOLAR_RADIUS_DEG

#: Up to here a sum of some 250 terms gives a lobe's share on the sun's disc.
_SUMMED_UP_TO = 200.0


def sun_noise_k(frequency_ghz: ArrayLike) -> FloatArray:
    """Return the brightness temperature of the quiet sun, 120000 f^-0.75.

    Parameters
    ----------
    frequency_ghz : array_like
        Frequency. [GHz]

    Returns
    -------
    ndarray
        Brightness temperature. [K]

    References
    ----------
    Maral and Bousquet, Satellite Communications Systems, 5th ed., chapter 5.

    Examples
    --------
    12^0.75 is 6.4474 by hand.

    >>> sun_noise_k([1.0, 12.0]).round().tolist()
    [120000.0, 18612.0]
    """
    return np.asarray(120_000 * np.asarray(frequency_ghz, dtype=float) ** -0.75)


def antenna_sun_noise_k(
    frequency_ghz: ArrayLike, beamwidth_deg: ArrayLike, separation_deg: ArrayLike = 0.0
) -> FloatArray:
    """Return what the sun adds to the antenna's noise.

    The main lobe is taken as Gaussian and summed over the disc, on the axis and off it: a beam
    narrower than the disc sees nothing of its fall until the disc's rim comes near.

    Parameters
    ----------
    frequency_ghz : array_like
        Frequency. [GHz]
    beamwidth_deg : array_like
        Full half-power beamwidth. [deg]
    separation_deg : array_like, optional
        Angle between the antenna's axis and the sun's centre. [deg] All broadcast together.

    Returns
    -------
    ndarray
        Added noise temperature at the antenna. [K]

    References
    ----------
    Integral of a Gaussian lobe over a uniform disc, brightness as in `sun_noise_k`. The share of
    the lobe that falls on the disc is the chance that a point strewn as the lobe is lies within
    the disc: a non-central chi-square distribution of two degrees of freedom (computed).

    Examples
    --------
    A beam far narrower than the disc sees the sun alone, at the rim half of it; a wide one loses
    half at half its beamwidth.

    >>> antenna_sun_noise_k(12, [0.05, 0.05, 1.5, 1.5], [0, 0.265, 0, 0.75]).round().tolist()
    [18612.0, 9008.0, 1543.0, 794.0]
    """
    # A lobe 2^-(2 theta / beamwidth)^2 is a normal distribution of this variance inverted.
    sharpness = 8 * np.log(2) / np.asarray(beamwidth_deg, dtype=float) ** 2
    apart = np.asarray(separation_deg, dtype=float) ** 2
    seen = _strewn_within(sharpness * SOLAR_RADIUS_DEG**2, sharpness * apart)
    return np.asarray(sun_noise_k(frequency_ghz) * seen)


def _strewn_within(x: FloatArray, away: FloatArray) -> FloatArray:
    """Return the non-central chi-square distribution of two degrees of freedom at ``x``.

    As a sum over Poisson's weights of ``away / 2``; each of its
    terms is a gamma distribution of whole order, which is a sum itself. Without scipy, whose import
    takes longer than a small plan; beams far narrower than the sun's disc are left to it.
    """
    x, away = np.broadcast_arrays(x, away)
    most = max(float(np.max(v, initial=0, where=np.isfinite(v))) for v in (x, away))
    if most > _SUMMED_UP_TO:
        from scipy.special import chndtr

        return np.asarray(chndtr(x, 2, away))
    mean, half = away / 2, x / 2
    weight, step = np.exp(-mean), np.exp(-half)
    below = 1 - step
    total = weight * below
    for j in range(1, int(most / 2 + 12 * math.sqrt(most / 2)) + 30):
        weight, step = weight * mean / j, step * half / j
        below = below - step
        total += weight * below
    return np.asarray(total)


def degradation_db(
    system_k: ArrayLike, sun_k: ArrayLike, rx_loss_db: ArrayLike = 0.0
) -> FloatArray:
    """Return how far G/T falls while the sun is in the beam.

    Parameters
    ----------
    system_k : array_like
        System noise temperature without the sun, at the receiver's input. [K]
    sun_k : array_like
        Noise that the sun adds at the antenna, from `antenna_sun_noise_k`. [K]
    rx_loss_db : array_like, optional
        Loss between antenna and receiver. [dB] All broadcast together.

    Returns
    -------
    ndarray
        Loss of G/T. [dB]

    Examples
    --------
    As much noise again doubles it.

    >>> degradation_db(120, [0, 120]).round(2).tolist()
    [0.0, 3.01]
    """
    through = 10 ** (-np.asarray(rx_loss_db, dtype=float) / 10)
    added = np.asarray(sun_k, dtype=float) * through
    return np.asarray(10 * np.log10(1 + added / np.asarray(system_k, dtype=float)))
