"""How long a direction's level is held: the sites' end as lines between the what-if's outages.

The sites' margin is known at the outages of the what-if tables, just above 5 % (where the total of
P.618 steps), and at 10, 20, 30 and 50 %; between them it is a straight line in ln p, beyond 50 %
it is that of clear sky. Where a line crosses a level is a closed form. The hub's end is asked as
the outage rule has it.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, IntArray, Narrowing
from siteplan.frozen import frozen
from siteplan.planning.link.fading import JUST_ABOVE_FROZEN_PCT
from siteplan.planning.link.outage import both_ends_pct
from siteplan.planning.link.ways import Way, margins_at_db
from siteplan.planning.link.whatif import PERCENTAGES

#: Percentages of time [%] beyond the what-if tables' at which the sites' margin is known.
BEYOND: Final = (JUST_ABOVE_FROZEN_PCT, 10.0, 20.0, 30.0, 50.0)
#: Beyond so much of the time there is clear sky [%].
CLEAR_FROM_PCT: Final = BEYOND[-1]
_LN_P = np.log(np.array([*PERCENTAGES, *BEYOND]))
_BELOW = len(PERCENTAGES)
#: Sites are picked out of others again where no more than this part of them is still asked for.
_WORTH_TAKING = 0.7
_DECIMALS = 6


@frozen
class Wet:
    """Dishes stay wet up to ``ln_p`` (n,), where the margin jumps from ``wet_db`` to ``dry_db``."""

    ln_p: FloatArray
    wet_db: FloatArray
    dry_db: FloatArray


@frozen
class Curve:
    """A direction of n sites: the sites' margin (k, n) [dB] at the curve's percentages, rising.

    Minus infinity where it lies under every level that may be asked for.
    """

    way: Way
    site_db: FloatArray
    wet: Wet | None

    def outage_pct(self, level_db: FloatArray | float) -> FloatArray:
        """Return the outage of a level (n,) [%]: that of both ends, by the outage rule.

        At most ``CLEAR_FROM_PCT`` where clear sky holds the level, infinite where it does not.

        Parameters
        ----------
        level_db : float or (n,) array
            Not under the lowest level that the curve was made for. [dB]
        """
        clear = self.way.clear_db
        level = np.broadcast_to(np.asarray(level_db, dtype=float), clear.shape)
        found = both_ends_pct(self.way, level, self._site_pct(level))
        held = np.round(clear - level, _DECIMALS) >= 0
        return np.where(held, np.minimum(found, CLEAR_FROM_PCT), np.inf)

    def _site_pct(self, level_db: FloatArray) -> FloatArray:
        """Return where the sites' margin crosses a level (n,) [%]: 0 below the first percentage."""
        under = (self.site_db < level_db).view(np.int8)
        above = np.add.reduce(under, axis=0, dtype=np.int8).astype(np.intp)
        high = np.clip(above, 1, len(_LN_P) - 1)
        column = np.arange(len(level_db))
        x0, x1 = _LN_P[high - 1], _LN_P[high]
        y0, y1 = self.site_db[high - 1, column], self.site_db[high, column]
        if self.wet is not None:
            x0, y0, x1, y1 = _beside(self.wet, level_db, (x0, y0, x1, y1))
        with np.errstate(invalid="ignore"):  # infinite margins, outside what is asked
            part = np.clip((level_db - y0) / np.where(y1 > y0, y1 - y0, np.nan), 0.0, 1.0)
        p = np.exp(x0 + np.nan_to_num(part) * (x1 - x0))
        return np.where(above == 0, 0.0, np.where(above == len(_LN_P), CLEAR_FROM_PCT, p))


def _beside(
    wet: Wet, level_db: FloatArray, ends: tuple[FloatArray, FloatArray, FloatArray, FloatArray]
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return a line's ends (n,) on the side of a wet dish's jump on which a level lies."""
    x0, y0, x1, y1 = ends
    inside = (x0 < wet.ln_p) & (wet.ln_p < x1)
    before, after = inside & (level_db <= wet.wet_db), inside & (level_db > wet.wet_db)
    return (
        np.where(after, wet.ln_p, x0), np.where(after, wet.dry_db, y0),
        np.where(before, wet.ln_p, x1), np.where(before, wet.wet_db, y1),
    )  # fmt: skip


def curve(way: Way, levels_db: list[FloatArray | float], known: FloatArray | None = None) -> Curve:
    """Return the curve of a direction of n sites, fit for asking for some levels.

    Parameters
    ----------
    way : Way
        The direction.
    levels_db : list of float or (n,) array
        The levels that will be asked for, rising [dB]. Where none of them lies between the margin
        at 5 % of time and clear sky's, the percentages above need not be worked out.
    known : (n, k) array, optional
        The margin at the what-if tables' percentages [dB], where they are made anyway.
    """
    n = len(way.link)
    found = np.empty((len(_LN_P), n))
    found[:_BELOW] = _margins_db(way, levels_db[0]) if known is None else known.T
    found[_BELOW:] = np.inf
    open_ = np.flatnonzero(_between(found[_BELOW - 1], way.clear_db, levels_db))
    if open_.size:
        some = way.take(open_).beyond_frozen()
        found[_BELOW:, open_] = margins_at_db(some, BEYOND)
    return Curve(way, found, _wet(way))


def _between(
    low_db: FloatArray, high_db: FloatArray, levels_db: list[FloatArray | float]
) -> BoolArray:
    """Return where one of the levels lies above one margin (n,) and not above another."""
    any_ = np.zeros(low_db.shape, dtype=bool)
    for level in levels_db:
        any_ |= (low_db < level) & (np.round(high_db - level, _DECIMALS) >= 0)
    return any_


def _margins_db(way: Way, lowest_db: FloatArray | float) -> FloatArray:
    """Return the sites' margin (k, n) [dB] at the what-if tables' percentages.

    From 5 % of time down, each site as far as it holds the lowest level.
    """
    n = len(way.link)
    lowest = np.broadcast_to(np.asarray(lowest_db, dtype=float), n)
    found = np.full((_BELOW, n), -np.inf)
    those, index = Narrowing(way), np.arange(n)
    for row in range(_BELOW - 1, -1, -1):
        found[row, index] = those.at(index).site_db(np.array([PERCENTAGES[row]]))
        index = _open(index, found[row, index] >= lowest[index])
        if not index.size:
            break
    return found


def _open(index: IntArray, held: BoolArray) -> IntArray:
    """Return the sites that are still asked for; all of them where few would fall out."""
    few = np.count_nonzero(held) <= _WORTH_TAKING * index.size
    return index[held] if few else index


def _wet(way: Way) -> Wet | None:
    """Return where the dishes' being wet ends; None where no loss is reckoned with."""
    if way.link.network.terminal.wet_loss_db == 0:
        return None
    until = way.link.site.down.wet_until_pct
    inside = np.maximum(until, PERCENTAGES[0])
    sides = (way.site_db(p) for p in (inside, inside * (1 + 1e-12)))
    with np.errstate(divide="ignore"):  # where it never rains a dish is never wet
        return Wet(np.log(until), *sides)
