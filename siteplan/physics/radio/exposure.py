"""Radio-frequency exposure in and beside the beam: power densities and safe distances.

Densities are those of FCC OET Bulletin 65 (1997); the limits, of 47 CFR 1.1310 and ICNIRP 2020,
stand in `siteplan.physics.radio.limits`.

Planning figures: the licence, local law and the maker's data decide, and measured values come
before computed ones. Switch off before anybody enters the beam.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray
from siteplan.physics.radio.antennas import gain_dbi, wavelength_m
from siteplan.physics.radio.limits import Audience, exposure_limit_w_m2, known_rules


class FieldRegions(NamedTuple):
    """Where near field ends and far field starts [m], and densities of the near field [W/m2].

    ``near_w_m2`` is the greatest on the axis, ``surface_w_m2`` the greatest at the aperture.
    """

    near_end_m: FloatArray
    far_start_m: FloatArray
    near_w_m2: FloatArray
    surface_w_m2: FloatArray


class SafeDistances(NamedTuple):
    """Distances [m] on the axis beyond which every rule holds."""

    controlled_m: FloatArray
    public_m: FloatArray


def field_regions(
    power_w: ArrayLike, diameter_m: ArrayLike, efficiency: ArrayLike, frequency_ghz: ArrayLike
) -> FieldRegions:
    """Return extent and power densities of an antenna's field regions.

    Parameters
    ----------
    power_w : array_like
        Power into the feed. [W]
    diameter_m : array_like
        Diameter of the aperture. [m]
    efficiency : array_like
        Aperture efficiency, 0 to 1.
    frequency_ghz : array_like
        Frequency. [GHz] All broadcast together.

    Returns
    -------
    FieldRegions
        Near field to D^2 / 4 lambda, far field from 0.6 D^2 / lambda; 16 eta P / pi D^2 in the
        near field, 4 P / A at the aperture.

    References
    ----------
    FCC OET Bulletin 65 (1997), equations 11 to 13 and 16 (aperture antennas).

    Examples
    --------
    FCC file SES-LIC-20180501-00417: 1.2 m, 87.10 W, efficiency 0.65, wavelength 21.038 mm; near
    field to 17.11 m with 20.02 mW/cm2, far field from 41.07 m.

    >>> regions = field_regions(87.10, 1.2, 0.65, 14.25)
    >>> [round(float(x), 1) for x in (regions.near_end_m, regions.far_start_m, regions.near_w_m2)]
    [17.1, 41.1, 200.2]
    """
    power, diameter = np.asarray(power_w, dtype=float), np.asarray(diameter_m, dtype=float)
    squares = diameter**2 / wavelength_m(frequency_ghz)
    surface = 16 * power / (np.pi * diameter**2)
    near = np.asarray(efficiency, dtype=float) * surface
    return FieldRegions(
        np.asarray(squares / 4), np.asarray(0.6 * squares), np.asarray(near), np.asarray(surface)
    )


def power_density_w_m2(
    distance_m: ArrayLike,
    power_w: ArrayLike,
    diameter_m: ArrayLike,
    efficiency: ArrayLike,
    frequency_ghz: ArrayLike,
) -> FloatArray:
    """Return the greatest power density on the axis at a distance.

    Parameters
    ----------
    distance_m : array_like
        Distance from the aperture. [m]
    power_w, diameter_m, efficiency, frequency_ghz : array_like
        As in `field_regions`. All broadcast together.

    Returns
    -------
    ndarray
        Constant in the near field, falling as 1/R through the transition and as 1/R^2 in the
        far field, where P G / 4 pi R^2 starts some 3 % above the transition's end. [W/m2]

    References
    ----------
    FCC OET Bulletin 65 (1997), equations 13, 17 and 18.

    Examples
    --------
    At the aperture, and at twice the near field's length, where half is left.

    >>> power_density_w_m2([0.0, 34.22], 87.10, 1.2, 0.65, 14.25).round(1).tolist()
    [200.2, 100.1]
    """
    distance = np.asarray(distance_m, dtype=float)
    regions = field_regions(power_w, diameter_m, efficiency, frequency_ghz)
    eirp_w = np.asarray(power_w) * 10 ** (gain_dbi(diameter_m, efficiency, frequency_ghz) / 10)
    near_or_transition = regions.near_w_m2 / np.maximum(distance / regions.near_end_m, 1)
    far = eirp_w / (4 * np.pi * np.maximum(distance, regions.far_start_m) ** 2)
    return np.asarray(np.where(distance >= regions.far_start_m, far, near_or_transition))


def safe_distance_m(
    limit_w_m2: ArrayLike,
    power_w: ArrayLike,
    diameter_m: ArrayLike,
    efficiency: ArrayLike,
    frequency_ghz: ArrayLike,
) -> FloatArray:
    """Return the distance on the axis beyond which a limit is nowhere passed.

    Parameters
    ----------
    limit_w_m2 : array_like
        Limit of the power density. [W/m2]
    power_w, diameter_m, efficiency, frequency_ghz : array_like
        As in `field_regions`. All broadcast together.

    Returns
    -------
    ndarray
        Distance [m]; zero where even the near field keeps the limit. The aperture's surface
        may still pass it: compare ``surface_w_m2`` of `field_regions`.

    References
    ----------
    FCC OET Bulletin 65 (1997), equations 17 and 18 solved for the distance.

    Examples
    --------
    The same antenna: 50 W/m2 lie in the far field, sqrt(87.10 x 10^4.320 / (4 pi 50)) = 53.8 m;
    150 W/m2 in the transition, 200.2 x 17.11 / 150 = 22.8 m; 201 W/m2 are reached nowhere.

    >>> safe_distance_m([50.0, 150.0, 201.0], 87.10, 1.2, 0.65, 14.25).round(1).tolist()
    [53.8, 22.8, 0.0]
    """
    limit = np.asarray(limit_w_m2, dtype=float)
    regions = field_regions(power_w, diameter_m, efficiency, frequency_ghz)
    eirp_w = np.asarray(power_w) * 10 ** (gain_dbi(diameter_m, efficiency, frequency_ghz) / 10)
    transition = regions.near_w_m2 * regions.near_end_m / limit
    far = np.sqrt(eirp_w / (4 * np.pi * limit))
    distance = np.where(far >= regions.far_start_m, far, transition)
    return np.asarray(np.where(regions.near_w_m2 <= limit, 0.0, distance))


def safe_distances(
    power_w: ArrayLike,
    diameter_m: ArrayLike,
    efficiency: ArrayLike,
    frequency_ghz: ArrayLike,
    *,
    rules: Sequence[str] | None = None,
) -> SafeDistances:
    """Return the distances on the axis beyond which all rules hold: the longest of each.

    Parameters
    ----------
    power_w, diameter_m, efficiency, frequency_ghz : array_like
        As in `field_regions`.
    rules : sequence of str, optional
        The rules of `siteplan.physics.radio.limits.known_rules` that must hold; all, if not given.

    Returns
    -------
    SafeDistances
        Arrays of the broadcast shape [m]; NaN where a rule says nothing at the frequency, and
        without any rule.

    References
    ----------
    As in `safe_distance_m` and `siteplan.physics.radio.limits.exposure_limit_w_m2`.

    Examples
    --------
    1 W into 1.2 m stays under the public's 10 W/m2 everywhere: 16 x 0.65 / (pi 1.44) = 2.3.

    >>> safe_distances([1.0, 16.0], 1.2, 0.65, 14.25).public_m.round(1).tolist()
    [0.0, 51.6]
    """

    def longest(audience: Audience) -> FloatArray:
        each = [
            safe_distance_m(
                exposure_limit_w_m2(rule, audience, frequency_ghz),
                power_w,
                diameter_m,
                efficiency,
                frequency_ghz,
            )
            for rule in (known_rules() if rules is None else rules)
        ]
        if not each:
            return safe_distance_m(np.nan, power_w, diameter_m, efficiency, frequency_ghz)
        return np.asarray(np.max(np.stack(np.broadcast_arrays(*each)), axis=0))

    return SafeDistances(longest("controlled"), longest("public"))


def off_axis_gain_dbi(
    angle_deg: ArrayLike, diameter_m: ArrayLike, efficiency: ArrayLike, frequency_ghz: ArrayLike
) -> FloatArray:
    """Return an envelope of the gain off the axis.

    Parameters
    ----------
    angle_deg : array_like
        Angle from the axis, 0 to 180. [deg]
    diameter_m, efficiency, frequency_ghz : array_like
        As in `field_regions`. All broadcast together.

    Returns
    -------
    ndarray
        32 - 25 log(angle) from the pattern's first angle to 48 degrees, -10 dBi beyond; the
        gain on the axis inside the first angle, to be on the safe side. [dBi]

    References
    ----------
    ITU-R S.465-6. Antennas for 29 - 25 log(angle) stay 3 dB below it out to 20 degrees.

    Examples
    --------
    32 - 25 log(angle) of ITU-R S.465-6: 32 at 1 degree, 7 at 10 degrees, -10 far off.

    >>> off_axis_gain_dbi([1.0, 10.0, 60.0], 2.4, 0.65, 14.25).round(2).tolist()
    [32.0, 7.0, -10.0]
    """
    angle = np.abs(np.asarray(angle_deg, dtype=float))
    wavelengths = np.asarray(diameter_m, dtype=float) / wavelength_m(frequency_ghz)
    first = np.where(
        wavelengths >= 50,
        np.maximum(1, 100 / wavelengths),
        np.maximum(2, 114 * wavelengths**-1.09),
    )
    # The two branches meet within 0.03 dB at 48 degrees; the higher is taken.
    envelope = np.maximum(32 - 25 * np.log10(np.maximum(angle, 1e-3)), -10.0)
    on_axis = gain_dbi(diameter_m, efficiency, frequency_ghz)
    return np.asarray(np.where(angle < first, on_axis, np.minimum(envelope, on_axis)))


def off_axis_safe_distance_m(
    limit_w_m2: ArrayLike, power_w: ArrayLike, gain_off_axis_dbi: ArrayLike
) -> FloatArray:
    """Return the distance in an off-axis direction beyond which a limit holds.

    Parameters
    ----------
    limit_w_m2 : array_like
        Limit of the power density. [W/m2]
    power_w : array_like
        Power into the feed. [W]
    gain_off_axis_dbi : array_like
        Gain in that direction, from `off_axis_gain_dbi`. [dBi] All broadcast together.

    Returns
    -------
    ndarray
        Distance sqrt(P G / 4 pi S) [m]: the far-field law, which errs on the safe side nearer.

    References
    ----------
    FCC OET Bulletin 65 (1997), equation 18 with the gain in the direction.
    """
    gain = 10 ** (np.asarray(gain_off_axis_dbi, dtype=float) / 10)
    eirp_w = np.asarray(power_w, dtype=float) * gain
    return np.asarray(np.sqrt(eirp_w / (4 * np.pi * np.asarray(limit_w_m2, dtype=float))))


def beside_beam_w_m2(near_w_m2: ArrayLike) -> FloatArray:
    """Return the density in the near field one diameter or more away from the beam.

    Parameters
    ----------
    near_w_m2 : array_like
        Greatest density on the axis, from `field_regions`. [W/m2]

    Returns
    -------
    ndarray
        A hundredth (20 dB less) of that on the axis. [W/m2]

    References
    ----------
    FCC OET Bulletin 65 (1997), section on aperture antennas: at least 20 dB less one diameter
    removed from the centre of the main beam.
    """
    return np.asarray(np.asarray(near_w_m2, dtype=float) / 100)
