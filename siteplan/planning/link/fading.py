"""How the sky over a path fades with the percentage of time, at the sites and at the hub.

P.618's rain falls again below some small percentage (under 0.006 % at 5 degrees of elevation and
above; at grazing ones far earlier). Planning takes the greatest attenuation at a percentage or
any larger one, so that a margin is never bought with less outage.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.frozen import frozen
from siteplan.physics.propagation.attenuation import (
    P_RANGE_PCT,
    Attenuation,
    SlantPath,
    in_range_pct,
    parts,
    with_upper_moisture,
)
from siteplan.physics.propagation.climate import FROZEN_P_PCT
from siteplan.physics.propagation.depolarization import rain_xpd_db
from siteplan.physics.propagation.rain import RainFade

#: The first percentage of time beyond the frozen formula [%]: the total steps down there.
JUST_ABOVE_FROZEN_PCT = FROZEN_P_PCT * (1 + 1e-12)
#: Where rain begins to be reckoned from [ln %]: P.618-14 eq. 8 scales from 0.01 %.
_LN_REFERENCE = float(np.log(0.01))
_NEWTON_STEPS = 8


def clear(path: SlantPath) -> Attenuation:
    """Return clear sky: gas only, at its 5 % value."""
    zero = np.zeros_like(path.gas_db)
    return Attenuation(path.gas_db, zero, zero, zero)


def turning_pct(rain: RainFade) -> FloatArray:
    """Return the percentage of time (n,) below which P.618's rain attenuation falls again.

    Where the derivative of P.618-14 eq. 8 in ln p is zero; zero where there is no rain.
    """
    slope = rain.beta * rain.sin_el
    wet = rain.at_001_db > 0
    constant = 0.655 - 0.045 * np.log(np.where(wet, rain.at_001_db, 1.0)) - slope
    x = (_LN_REFERENCE - constant / 0.033) / 2
    for _ in range(_NEWTON_STEPS):  # the slope's own p moves the turn a little
        p = np.exp(np.minimum(x, 0.0))
        beyond = 1 + x - _LN_REFERENCE
        value = constant + 0.033 * (2 * x - _LN_REFERENCE) + slope * p * beyond
        x = x - value / np.maximum(0.066 + slope * p * (1 + beyond), 0.033)
    return np.where(wet, np.exp(np.minimum(x, 0.0)), 0.0)


@frozen
class Fading:
    """One path of sites (n,): its sky at any percentage of time, and when a dish is wet.

    ``turn_pct`` is the percentage under which rain stays at its greatest; a wet dish takes
    ``wet_db`` up to ``wet_until_pct``. ``rain_scale`` times the method's rain is what is reckoned
    with: 1, but where it is asked what other rain would change, a number or one a site (n,).
    """

    path: SlantPath
    turn_pct: FloatArray
    wet_db: float
    wet_until_pct: FloatArray
    rain_scale: float | FloatArray = 1.0

    @property
    def gas_db(self) -> FloatArray:
        """Gas in clear sky (n,) [dB]."""
        return self.path.gas_db

    @property
    def clear(self) -> Attenuation:
        """Clear sky (n,)."""
        return clear(self.path)

    def sky(self, p_pct: FloatArray, sigma_db: FloatArray) -> Attenuation:
        """Return the attenuation (n,) at percentages of time (n,) [%].

        ``sigma_db`` is the standard deviation of scintillation behind the dish [dB].
        """
        turn, scale = self.turn_pct, self.rain_scale
        return parts(self.path, p_pct, sigma_db, turn_pct=turn, rain_scale=scale)

    def wet_loss_db(self, p_pct: FloatArray) -> FloatArray | float:
        """Return what water on reflector and feed takes at percentages of time (n,) [dB]."""
        if self.wet_db == 0:
            return 0.0
        return np.where(np.maximum(p_pct, P_RANGE_PCT[0]) <= self.wet_until_pct, self.wet_db, 0.0)

    def xpd_db(self, rain_db: FloatArray, p_pct: FloatArray) -> FloatArray:
        """Return the discrimination that rain leaves (n,) [dB] at percentages of time (n,) [%].

        ``rain_db`` (n,) is the rain's part of the sky at them.
        """
        p = np.maximum(in_range_pct(p_pct), self.turn_pct)
        path = self.path
        return rain_xpd_db(rain_db, p, path.frequency_ghz, path.elevation_deg, path.tilt_deg)

    def beyond_frozen(self) -> Fading:
        """Return the same with its moisture above 5 % looked up once, for many percentages."""
        return self if self.path.upper else replace(self, path=with_upper_moisture(self.path))


def fading(path: SlantPath, wet_db: float, rain_pct: FloatArray | None) -> Fading:
    """Return how a path fades; ``rain_pct`` (n,) is how often it rains, where wet dishes count."""
    often = FROZEN_P_PCT if rain_pct is None else np.minimum(rain_pct, FROZEN_P_PCT)
    rains = path.rain.at_001_db > 0
    return Fading(path, turning_pct(path.rain), wet_db, np.where(rains, often, 0.0))
