"""What the hub's sky takes from every site alike: one table a path, read both ways."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, TypeVar

import numpy as np

from siteplan.arrays import FloatArray, IntArray, stretch
from siteplan.frozen import frozen
from siteplan.physics.propagation.attenuation import P_RANGE_PCT, Attenuation, SlantPath
from siteplan.physics.propagation.climate import FROZEN_P_PCT
from siteplan.planning.link.fading import JUST_ABOVE_FROZEN_PCT, fading

#: Knots of a table below and above 5 % of time: lines between them hold to 0.00001 dB.
_KNOTS = 8000, 200
#: P.618's rain exponent has a corner at this percentage of time.
_CORNER_PCT = 1.0
_NEWTON_STEPS = 4
_NEPERS_PER_DB = np.log(10) / 10
T = TypeVar("T")


@frozen
class HubFade:
    """What one of the hub's paths loses against clear sky, as a table over ln p (k,).

    ``loss_db`` (k,) falls as ``ln_p`` rises. Without a hub's place there is no loss at any p.
    Where it is asked for several skies side by side there are tables (t, k), and ``which`` (n,)
    is each site's.
    """

    ln_p: FloatArray
    loss_db: FloatArray
    which: IntArray | None = None

    def at(self, p_pct: FloatArray | float) -> FloatArray:
        """Return the loss [dB] at percentages of time, held at the ends of the table."""
        ln_p = np.log(np.clip(np.asarray(p_pct, dtype=float), *P_RANGE_PCT))
        return _by_table(
            lambda loss, x: np.interp(x, self.ln_p, loss), self.loss_db, self.which, ln_p
        )

    def outage_pct(self, loss_db: FloatArray) -> FloatArray:
        """Return the smallest percentage of time [%] at which the loss is no greater.

        0 where the loss never is greater, infinite where it is at the largest percentage; NaN
        for NaN.
        """
        rising = self.ln_p[::-1]
        ln_p = _by_table(
            lambda loss, x: np.interp(x, loss[::-1], rising), self.loss_db, self.which, loss_db
        )
        p = np.where(loss_db >= self.knot(0), 0.0, np.exp(ln_p))
        found = np.where(loss_db < self.knot(-1), np.inf, p)
        return np.where(np.isnan(loss_db), np.nan, found)

    def knot(self, k: IntArray | int) -> FloatArray:
        """Return the loss at knots of the table [dB], a number or one a site (n,)."""
        return np.asarray(_knot(self.loss_db, self.which, k))

    def take(self, index: IntArray) -> HubFade:
        """Return what the sites at ``index`` (k,) lose, where they have tables of their own."""
        return self if self.which is None else replace(self, which=self.which[index])

    @property
    def silent(self) -> bool:
        """Whether nothing is lost at any percentage of time."""
        return not self.loss_db.any()


@frozen
class HubLeak:
    """What the hub's rain turns over from the other polarization, as a table over ln p (k,).

    ``ci_db`` (k,) is the carrier over it; it never falls as ``ln_p`` rises. Several side by side
    are as of `HubFade`.
    """

    ln_p: FloatArray
    ci_db: FloatArray
    which: IntArray | None = None

    def at(self, p_pct: FloatArray | float) -> FloatArray:
        """Return the carrier over it [dB] at percentages of time, held at the table's ends."""
        ln_p = np.log(np.clip(np.asarray(p_pct, dtype=float), *P_RANGE_PCT))
        return _by_table(lambda ci, x: np.interp(x, self.ln_p, ci), self.ci_db, self.which, ln_p)

    def knot(self, k: IntArray | int) -> FloatArray:
        """Return the carrier over it at knots of the table [dB], a number or one a site (n,)."""
        return np.asarray(_knot(self.ci_db, self.which, k))

    def take(self, index: IntArray) -> HubLeak:
        """Return what sites at ``index`` (k,) have, where they have tables of their own."""
        return self if self.which is None else replace(self, which=self.which[index])


def tables_of_each(tables: Sequence[T], which: IntArray) -> T:
    """Return several tables as one group: each site (n,) has the one at its ``which``.

    The very same object in each place stays what it is; so does None.
    """
    kinds = {id(table): table for table in tables}
    if len(kinds) == 1:
        return tables[0]
    place = {key: k for k, key in enumerate(kinds)}
    whose = np.array([place[id(table)] for table in tables])[which]
    each: list[Any] = list(kinds.values())
    name = "loss_db" if isinstance(each[0], HubFade) else "ci_db"
    values = np.stack([getattr(table, name) for table in each])
    joined: T = replace(each[0], **{name: values}, which=whose)
    return joined


def _by_table(
    read: Callable[[FloatArray, FloatArray], FloatArray],
    tables: FloatArray,
    which: IntArray | None,
    x: FloatArray,
) -> FloatArray:
    """Return what is read at ``x`` in the one table (k,), or in each site's of tables (t, k)."""
    if which is None:
        return np.asarray(read(tables, x))
    found, x = np.empty(which.shape), np.broadcast_to(x, which.shape)
    for t, table in enumerate(tables):
        here = np.flatnonzero(which == t)
        found[here] = read(table, x[here])
    return found


def _knot(tables: FloatArray, which: IntArray | None, k: IntArray | int) -> FloatArray:
    return tables[k] if which is None else tables[which, k]


def _knots(tables: FloatArray, which: IntArray | None) -> Callable[[IntArray], FloatArray]:
    """Return what reads knots (n,) of the one table (k,), or of each site's of tables (t, k)."""
    if which is None:
        return tables.take
    begin, all_of_them = which * tables.shape[1], tables.ravel()
    return lambda k: all_of_them.take(begin + k)


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
    fades, leaks = _knots(fade.loss_db, fade.which), _knots(leak.ci_db, leak.which)

    def added(k: IntArray) -> FloatArray:
        lost, over = fades(k) * _NEPERS_PER_DB, leaks(k) * -_NEPERS_PER_DB
        return np.asarray(own * np.exp(lost) + np.exp(over))

    low, end = np.zeros(noise.shape, dtype=np.intp), len(fade.ln_p) - 1
    first, last = added(low), added(low + end)
    stride = end
    while stride > 1:  # a table's knots lie so close that their place is sought first
        stride = (stride + 1) // 2
        ahead = np.minimum(low + stride, end - 1)
        low = np.where(added(ahead) > noise, ahead, low)
    high = low + 1
    part = np.zeros(noise.shape)
    begin = fades(low), leaks(low)
    step = fades(high) - begin[0], leaks(high) - begin[1]
    for _ in range(_NEWTON_STEPS):
        level = begin[0] + part * step[0], begin[1] + part * step[1]
        terms = own * np.exp(level[0] * _NEPERS_PER_DB), np.exp(level[1] * -_NEPERS_PER_DB)
        slope = (terms[0] * step[0] - terms[1] * step[1]) * _NEPERS_PER_DB
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
