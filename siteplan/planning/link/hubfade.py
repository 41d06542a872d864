"""What the hub's sky takes from every site alike: one table a path, read both ways."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from siteplan.arrays import FloatArray, stretch
from siteplan.physics.propagation.attenuation import P_RANGE_PCT, Attenuation, SlantPath
from siteplan.physics.propagation.climate import FROZEN_P_PCT
from siteplan.planning.link.fading import JUST_ABOVE_FROZEN_PCT, fading

#: Knots of a table below and above 5 % of time: lines between them hold to 0.00001 dB.
_KNOTS = 8000, 200
#: P.618's rain exponent has a corner at this percentage of time.
_CORNER_PCT = 1.0


@dataclass(frozen=True)
class HubFade:
    """What one of the hub's paths loses against clear sky, as a table over ln p (k,).

    ``loss_db`` (k,) falls as ``ln_p`` rises. Without a hub's place there is no loss at any p.
    """

    ln_p: FloatArray
    loss_db: FloatArray

    def at(self, p_pct: FloatArray | float) -> FloatArray:
        """Return the loss [dB] at percentages of time, held at the ends of the table."""
        p = np.clip(np.asarray(p_pct, dtype=float), *P_RANGE_PCT)
        return np.asarray(np.interp(np.log(p), self.ln_p, self.loss_db))

    def outage_pct(self, loss_db: FloatArray) -> FloatArray:
        """Return the smallest percentage of time [%] at which the loss is no greater.

        0 where the loss never is greater, infinite where it is at the largest percentage; NaN
        for NaN.
        """
        p = np.exp(np.interp(loss_db, self.loss_db[::-1], self.ln_p[::-1]))
        p = np.where(loss_db >= self.loss_db[0], 0.0, p)
        found = np.where(loss_db < self.loss_db[-1], np.inf, p)
        return np.where(np.isnan(loss_db), np.nan, found)

    @property
    def silent(self) -> bool:
        """Whether nothing is lost at any percentage of time."""
        return not self.loss_db.any()


#: A hub that is not placed, or whose rain is not counted.
NO_HUB_FADE = HubFade(np.log(np.array(P_RANGE_PCT)), np.zeros(2))


def knots_pct() -> FloatArray:
    """Return the percentages of time (k,) [%] of a table, rising.

    The method's corner and both sides of its step at 5 % are among them.
    """
    low, high = P_RANGE_PCT
    below = np.geomspace(low, FROZEN_P_PCT, _KNOTS[0])
    above = np.geomspace(JUST_ABOVE_FROZEN_PCT, high, _KNOTS[1])
    edges = low, _CORNER_PCT, FROZEN_P_PCT, JUST_ABOVE_FROZEN_PCT, high
    inner = np.concatenate([below[1:-1], above[1:-1]])
    return np.unique(np.concatenate([inner, edges]))


def hub_skies(path: SlantPath, sigma_db: FloatArray) -> tuple[FloatArray, Attenuation]:
    """Return the percentages of a table (k,) and the sky of the hub's path (1,) at each."""
    p = knots_pct()
    return p, stretch(fading(path, 0.0, None), len(p)).sky(p, sigma_db)


def hub_fade(p_pct: FloatArray, loss_db: FloatArray) -> HubFade:
    """Return a table from losses (k,) [dB] at percentages of time (k,), never rising with p."""
    falling = np.maximum.accumulate(loss_db[::-1])[::-1]
    return HubFade(np.log(p_pct), falling)
