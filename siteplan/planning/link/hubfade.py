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
_NEWTON_STEPS = 4
_DB_PER_NEPER = 10 / np.log(10)


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


@dataclass(frozen=True)
class HubLeak:
    """What the hub's rain turns over from the other polarization, as a table over ln p (k,).

    ``ci_db`` (k,) is the carrier over it; it never falls as ``ln_p`` rises.
    """

    ln_p: FloatArray
    ci_db: FloatArray

    def at(self, p_pct: FloatArray | float) -> FloatArray:
        """Return the carrier over it [dB] at percentages of time, held at the table's ends."""
        p = np.clip(np.asarray(p_pct, dtype=float), *P_RANGE_PCT)
        return np.asarray(np.interp(np.log(p), self.ln_p, self.ci_db))


def joint_outage_pct(
    fade: HubFade, leak: HubLeak, down_db: FloatArray, noise: FloatArray
) -> FloatArray:
    """Return the smallest percentage of time (n,) [%] at which fade and leak leave a carrier be.

    Parameters
    ----------
    fade, leak : HubFade, HubLeak
        Tables over the same percentages.
    down_db : (n,) array
        The hub's downlink in clear sky, Es/N0 [dB].
    noise : (n,) array
        How much of noise over carrier both together may add.

    Returns
    -------
    (n,) array
        0 where they never add more, infinite where they do at the largest percentage.
    """
    own = 10 ** (-down_db / 10)

    def added(fade_db: FloatArray, ci_db: FloatArray) -> FloatArray:
        return own * 10 ** (fade_db / 10) + 10 ** (-ci_db / 10)

    first, last = (added(fade.loss_db[k], leak.ci_db[k]) for k in (0, -1))
    low, high = np.zeros(noise.shape, dtype=np.intp), np.full(noise.shape, len(fade.ln_p) - 1)
    while np.any(high - low > 1):  # a table's knots lie so close that their place is sought first
        middle = (low + high) // 2
        more = added(fade.loss_db[middle], leak.ci_db[middle]) > noise
        low, high = np.where(more, middle, low), np.where(more, high, middle)
    part = np.zeros(noise.shape)
    step = [table[high] - table[low] for table in (fade.loss_db, leak.ci_db)]
    for _ in range(_NEWTON_STEPS):
        level = fade.loss_db[low] + part * step[0], leak.ci_db[low] + part * step[1]
        terms = own * 10 ** (level[0] / 10), 10 ** (-level[1] / 10)
        slope = (terms[0] * step[0] - terms[1] * step[1]) / _DB_PER_NEPER
        part = np.clip(
            part + (noise - terms[0] - terms[1]) / np.where(slope < 0, slope, -1.0), 0, 1
        )
    p = np.exp(fade.ln_p[low] + part * (fade.ln_p[high] - fade.ln_p[low]))
    found = np.where(last > noise, np.inf, np.where(first <= noise, 0.0, p))
    return np.where(np.isnan(own + noise), np.nan, found)


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


def hub_leak(p_pct: FloatArray, ci_db: FloatArray) -> HubLeak:
    """Return a table from carriers over what leaks (k,) [dB], never falling with p (k,)."""
    return HubLeak(np.log(p_pct), np.minimum.accumulate(ci_db[::-1])[::-1])
