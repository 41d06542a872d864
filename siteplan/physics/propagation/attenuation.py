"""Total attenuation on a slant path: ITU-R P.618-14 section 2.5, and its parts.

For 0.001 <= p <= 5 % the total is ``A_G + sqrt((A_R + A_C)^2 + A_S^2)`` with gas and cloud frozen
at their 5 % values (eq. 65 to 68); for 5 < p <= 50 % it is ``A_G + sqrt(A_C^2 + A_S^2)`` (from
memory). Below 5 % only rain and scintillation vary with p and both are closed forms, so ``parts``
looks up no map there. The total is not monotone in p below some 0.006 %.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.frozen import frozen
from siteplan.physics.propagation.climate import (
    FROZEN_P_PCT,
    Climate,
    UpperMoisture,
    moisture_above_frozen,
    upper_moisture,
)
from siteplan.physics.propagation.cloud import cloud_db
from siteplan.physics.propagation.gas_series import SERIES_FROM_SITES, gas_db
from siteplan.physics.propagation.mapped.maps import Level
from siteplan.physics.propagation.rain import RainFade, rain_db, rain_fade
from siteplan.physics.propagation.scintillation import (
    Scintillation,
    antenna_averaging,
    fade_factor,
    scintillation,
)

#: Range of p [%] over which the total is defined.
P_RANGE_PCT = (0.001, 50.0)


@frozen
class SlantPath:
    """All that the attenuation of n sites at one frequency needs, but for p and the antenna.

    ``tilt_deg`` is the polarization's from the horizontal. ``gas_db`` and ``cloud_db`` [dB] are
    frozen at 5 %. ``many`` tells whether gas is worked out by series: some sites taken out keep
    it. ``upper`` is the moisture above 5 %, where it was looked up beforehand. ``climate`` is None
    where nothing is asked above 5 % (see `without_climate`).
    """

    frequency_ghz: float
    elevation_deg: FloatArray
    tilt_deg: FloatArray
    climate: Climate | None
    gas_db: FloatArray
    cloud_db: FloatArray
    rain: RainFade
    scintillation: Scintillation
    many: bool
    upper: UpperMoisture | None = None


@frozen
class Attenuation:
    """Parts of the attenuation of n sites [dB] at their percentages of time.

    ``total`` combines them; ``absorption`` (gas, cloud and rain without scintillation) is what
    raises noise.
    """

    gas: FloatArray
    cloud: FloatArray
    rain: FloatArray
    scintillation: FloatArray

    @cached_property
    def total(self) -> FloatArray:
        """Total attenuation [dB], ITU-R P.618-14 eq. 65."""
        return self.gas + np.hypot(self.rain + self.cloud, self.scintillation)

    @cached_property
    def absorption(self) -> FloatArray:
        """Attenuation without scintillation [dB], for noise (P.618-14 section 3)."""
        return self.gas + self.rain + self.cloud


def polarization_tilt_deg(polarization: str, skew_deg: FloatArray) -> FloatArray:
    """Return the tilt of the received polarization from horizontal.

    Parameters
    ----------
    polarization : str
        ``horizontal``, ``vertical`` or ``circular``, in the satellite's frame.
    skew_deg : (n,) array
        Polarization skew [deg]; NaN (at the sub-satellite point, where the tilt has no effect)
        counts as 45.

    Returns
    -------
    (n,) array
        Tilt [deg], 0 to 90: |skew|, 90 - |skew|, or 45 (ITU-R P.838-3: 45 for circular).

    Examples
    --------
    >>> polarization_tilt_deg("vertical", np.array([-14.0, 0.0, np.nan])).tolist()
    [76.0, 90.0, 45.0]
    """
    size = np.abs(skew_deg)
    tilt = {"horizontal": size, "vertical": 90 - size, "circular": np.full_like(size, 45.0)}
    return np.where(np.isnan(size), 45.0, tilt[polarization])


def slant_path(
    frequency_ghz: float, elevation_deg: FloatArray, tilt_deg: FloatArray, climate: Climate
) -> SlantPath:
    """Return what the attenuation of sites at one frequency needs.

    Parameters
    ----------
    frequency_ghz : float
        Frequency [GHz], 1 to 55.
    elevation_deg, tilt_deg : (n,) arrays
        Elevation [deg], NaN below the horizon, and tilt of the polarization [deg].
    climate : Climate
        Of the n sites.

    Returns
    -------
    SlantPath
        For ``parts``.
    """
    wet = climate.moisture
    return SlantPath(
        frequency_ghz,
        elevation_deg,
        tilt_deg,
        climate,
        gas_db=_gas(frequency_ghz, elevation_deg, climate, wet.vapour_kg_m2, wet.density_g_m3),
        cloud_db=cloud_db(
            frequency_ghz, elevation_deg, wet.cloud_kg_m2, current=climate.clouds.current
        ),
        rain=rain_fade(
            frequency_ghz,
            elevation_deg,
            tilt_deg,
            lat=climate.lat,
            altitude_km=climate.altitude_km,
            rain_rate_mm_h=climate.rain_rate_mm_h,
            rain_height_km=climate.rain_height_km,
        ),
        scintillation=scintillation(frequency_ghz, elevation_deg, climate.wet_refractivity),
        many=len(elevation_deg) >= SERIES_FROM_SITES,
    )


def _gas(
    frequency_ghz: float,
    elevation_deg: FloatArray,
    climate: Climate,
    vapour_kg_m2: FloatArray,
    density_g_m3: FloatArray,
) -> FloatArray:
    return gas_db(
        frequency_ghz,
        elevation_deg,
        pressure_hpa=climate.pressure_hpa,
        density_g_m3=density_g_m3,
        temperature_k=climate.temperature_k,
        vapour_kg_m2=vapour_kg_m2,
        altitude_km=climate.altitude_km,
    )


def with_upper_moisture(path: SlantPath) -> SlantPath:
    """Return a path whose moisture above 5 % is looked up once, for many percentages."""
    c = _climate(path)
    return replace(path, upper=upper_moisture(c.lat, c.lon, c.altitude_km, c.clouds))


def without_climate(path: SlantPath) -> SlantPath:
    """Return a path that answers up to 5 % of time alone: the lighter, where many are taken out."""
    return replace(path, climate=None)


def _climate(path: SlantPath) -> Climate:
    """Return the climate of a path.

    Raises
    ------
    ValueError
        If it was left out.
    """
    if path.climate is None:
        raise ValueError("a path without its climate tells nothing above 5 % of time")
    return path.climate


def averaging(path: SlantPath, diameter_m: Level, efficiency: Level) -> FloatArray:
    """Return sigma of scintillation (n,) [dB] behind an antenna, for ``parts``."""
    return path.scintillation.sigma_db * antenna_averaging(
        path.scintillation, diameter_m, efficiency
    )


def parts(
    path: SlantPath,
    p_pct: FloatArray,
    sigma_db: FloatArray,
    *,
    turn_pct: FloatArray | float = 0.0,
    rain_scale: FloatArray | float = 1.0,
) -> Attenuation:
    """Return the parts of the attenuation exceeded for percentages of an average year.

    Parameters
    ----------
    path : SlantPath
        Of n sites.
    p_pct : (n,) array
        Percentage of time [%] of each site; clipped to ``P_RANGE_PCT``.
    sigma_db : (n,) array
        Scintillation behind the antenna [dB], from ``averaging``.
    turn_pct : float or (n,) array, optional
        Percentage of time under which rain, cloud and gas stay as they are there [%].
    rain_scale : float or (n,) array, optional
        What the method's rain is multiplied by.

    Returns
    -------
    Attenuation
        Each part (n,) [dB].

    Examples
    --------
    ITU-R's own example for 51.5 N, 13.75 GHz, 0.01 % of time gives 6.67 dB with P.840-9's cloud
    maps; with P.840-7's it is 0.10 dB more. For 10 % of time there is no rain.

    >>> from siteplan.physics.propagation.climate import site_climate
    >>> climate = site_climate(np.array([51.5]), np.array([-0.14]), np.array([0.031383]))
    >>> path = slant_path(13.75, np.array([31.07699]), np.zeros(1), climate)
    >>> sigma_db = averaging(path, 1.0, 0.65)
    >>> at = parts(path, np.array([0.01]), sigma_db)
    >>> at.total.round(2).tolist(), parts(path, np.array([10.0]), sigma_db).rain.tolist()
    ([6.77], [0.0])
    """
    p = in_range_pct(p_pct)
    if p.shape != path.elevation_deg.shape:
        p = np.broadcast_to(p, path.elevation_deg.shape)
    gas, cloud, rain = _absorbed(path, np.maximum(p, turn_pct))
    if not isinstance(rain_scale, float) or rain_scale != 1:
        rain = rain * rain_scale
    return Attenuation(gas, cloud, rain, fade_factor(p) * sigma_db)


def behind(sky: Attenuation, p_pct: FloatArray, sigma_db: FloatArray) -> Attenuation:
    """Return a sky (n,) at percentages of time (n,) [%] behind another antenna.

    Scintillation alone hangs on it; ``sigma_db`` is as of `parts`.
    """
    return replace(sky, scintillation=fade_factor(in_range_pct(p_pct)) * sigma_db)


def in_range_pct(p_pct: FloatArray) -> FloatArray:
    """Return percentages of time within those over which the total is defined [%]."""
    return np.minimum(np.maximum(p_pct, P_RANGE_PCT[0]), P_RANGE_PCT[1])


def _absorbed(path: SlantPath, p_pct: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return gas, cloud and rain (n,) [dB] at percentages of time in range (n,) [%]."""
    gas, cloud = path.gas_db, path.cloud_db
    beyond = p_pct > FROZEN_P_PCT
    if not beyond.any():
        return gas, cloud, rain_db(path.rain, p_pct)
    above = np.flatnonzero(beyond)
    gas, cloud, rain = gas.copy(), cloud.copy(), rain_db(path.rain, np.minimum(p_pct, FROZEN_P_PCT))
    rain[above] = 0.0
    gas[above], cloud[above] = _above_frozen(path, above, p_pct[above])
    return gas, cloud, rain


def _above_frozen(
    path: SlantPath, index: np.ndarray, p_pct: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return gas and cloud [dB] of some sites at percentages above 5 %."""
    c = _climate(path)
    if path.upper is None:
        places = c.lat[index], c.lon[index], c.altitude_km[index]
        wet = moisture_above_frozen(*places, p_pct, c.clouds)
    else:
        wet = path.upper.take(index).at(p_pct)
    elevation = path.elevation_deg[index]
    gas = gas_db(
        path.frequency_ghz,
        elevation,
        pressure_hpa=c.pressure_hpa[index],
        density_g_m3=wet.density_g_m3,
        temperature_k=c.temperature_k[index],
        vapour_kg_m2=wet.vapour_kg_m2,
        altitude_km=c.altitude_km[index],
        many=path.many,
    )
    current = c.clouds.current
    return gas, cloud_db(path.frequency_ghz, elevation, wet.cloud_kg_m2, current=current)
