"""Physical constants, each with its source."""

from __future__ import annotations

from typing import Final

#: Speed of light in vacuum [m/s]; exact, SI definition of the metre.
SPEED_OF_LIGHT_M_S: Final = 299_792_458.0

#: Boltzmann constant [J/K]; exact, SI definition of the kelvin (2019).
BOLTZMANN_J_K: Final = 1.380_649e-23

#: Boltzmann constant in decibels, 10 log10(k) [dBW/(K Hz)].
BOLTZMANN_DBW_K_HZ: Final = -228.599_167_173_217_66

#: Semi-major axis of the WGS 84 ellipsoid [km]; NGA.STND.0036, table 3.1.
WGS84_A_KM: Final = 6378.137

#: Flattening of the WGS 84 ellipsoid; NGA.STND.0036, table 3.1.
WGS84_F: Final = 1 / 298.257_223_563

#: First eccentricity squared of the WGS 84 ellipsoid, f (2 - f).
WGS84_E2: Final = WGS84_F * (2 - WGS84_F)

#: Radius of the geostationary orbit [km]: (GM T^2 / 4 pi^2)^(1/3) with the WGS 84 GM of
#: 398600.4418 km3/s2 and T a sidereal day of 86164.0905 s.
GEOSTATIONARY_RADIUS_KM: Final = 42_164.17

#: Physical temperature of lossy lines and losses [K]; IEEE standard noise temperature T0.
REFERENCE_TEMPERATURE_K: Final = 290.0

#: Background of the cosmic microwave radiation [K] as in ITU-R P.618-14, equation 69.
COSMIC_BACKGROUND_K: Final = 2.7

#: Standard acceleration of gravity [m/s2]; CGPM 1901.
GRAVITY_M_S2: Final = 9.80665
