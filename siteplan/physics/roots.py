"""Roots of many functions found side by side."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, IntArray


def find_roots(
    function: Callable[[FloatArray, IntArray], FloatArray],
    low: FloatArray,
    high: FloatArray,
    *,
    tolerance: float = 1e-9,
    steep: bool = False,
) -> FloatArray:
    """Return a root in each bracket by Chandrupatla's method, all brackets side by side.

    Parameters
    ----------
    function : callable
        ``function(x, index)`` gives the values at ``x`` (k,) of the problems ``index`` (k,),
        which are distinct and rise.
    low, high : (n,) arrays
        Brackets; the function has opposite signs (or a zero) at the two ends.
    tolerance : float
        Width of the final bracket, in the unit of x.
    steep : bool
        The function changes by at least as much as x: a value within the tolerance is a root.

    Returns
    -------
    (n,) array
        Roots; NaN where an end is not finite or the signs agree. A jump through zero counts as
        a root.

    References
    ----------
    T. R. Chandrupatla, Advances in Engineering Software 28 (1997) 145-149.

    Examples
    --------
    x^2 = 2, x^2 = 9, and x^2 = -1, which has none.

    >>> squares = np.array([2.0, 9.0, -1.0])
    >>> found = find_roots(lambda x, index: x**2 - squares[index], np.zeros(3), np.full(3, 5.0))
    >>> found.round(6).tolist()
    [1.414214, 3.0, nan]
    """
    everyone = np.arange(len(low))
    a, b = np.array(high, dtype=float), np.array(low, dtype=float)
    fa, fb = function(a, everyone), function(b, everyone)
    root = np.where(fa == 0, a, np.where(fb == 0, b, np.nan))
    live = everyone[(np.sign(fa) * np.sign(fb) < 0)]
    state = _Brackets(a[live], b[live], fa[live], fb[live])
    _close(function, live, state, root, Ending(tolerance, steep=steep))
    return root


def find_roots_near(
    function: Callable[[FloatArray, IntArray], FloatArray],
    first: tuple[FloatArray, FloatArray],
    step: FloatArray | float,
    ends: tuple[FloatArray | float, FloatArray | float],
    *,
    ending: Ending,
) -> FloatArray:
    """Return the root of each rising function, sought from a point near it.

    Steps are taken towards the root, each twice as long as the one before, until it lies between
    two of them; then as `find_roots`.

    Parameters
    ----------
    function : callable
        As that of `find_roots`; its values never fall as x rises.
    first : pair of (n,) arrays
        Where to begin, and the values there.
    step : float or (n,) array
        Length of the first step, above zero.
    ends : pair of float or (n,) array
        How far down and up a root is sought.
    ending : Ending

    Returns
    -------
    (n,) array
        Roots; NaN where there is none between the ends.

    Examples
    --------
    >>> cubes = np.array([8.0, 1000.0])
    >>> start = np.full(2, 3.0)
    >>> found = find_roots_near(
    ...     lambda x, index: x**3 - cubes[index], (start, start**3 - cubes), 0.5, (0.0, 9.0),
    ...     ending=Ending(1e-9),
    ... )
    >>> found.round(6).tolist()
    [2.0, nan]
    """
    b, fb = first
    root = np.where(fb == 0, b, np.nan)
    live = np.flatnonzero((fb != 0) & ~np.isnan(fb))
    low, high, pace = (np.broadcast_to(x, b.shape)[live] for x in (*ends, step))
    b, fb = b[live], fb[live]
    held = []
    while live.size:
        a = np.clip(b - np.sign(fb) * pace, low, high)
        fa = function(a, live)
        root[live[fa == 0]] = a[fa == 0]
        crossed = np.sign(fa) * np.sign(fb) < 0
        held.append((live[crossed], a[crossed], b[crossed], fa[crossed], fb[crossed]))
        on = (np.sign(fa) == np.sign(fb)) & (a > low) & (a < high)
        live, low, high, pace = live[on], low[on], high[on], 2 * pace[on]
        b, fb = a[on], fa[on]
    if held:
        index, a, b, fa, fb = (np.concatenate(column) for column in zip(*held, strict=True))
        order = np.argsort(index)
        state = _Brackets(a[order], b[order], fa[order], fb[order])
        state.aim()
        _close(function, index[order], state, root, ending)
    return root


class Ending(NamedTuple):
    """When a root is found: its bracket is narrower than ``tolerance``, in the unit of x.

    ``steep``: or the value is within the tolerance, as where functions change by at least as
    much as x.
    """

    tolerance: float
    steep: bool = False


def _close(
    function: Callable[[FloatArray, IntArray], FloatArray],
    live: IntArray,
    state: _Brackets,
    root: FloatArray,
    ending: Ending,
) -> None:
    """Narrow the brackets of the problems ``live`` (k,) and write their roots into ``root``."""
    while live.size:
        x = state.guess()
        state.shrink(x, function(x, live), ending.tolerance / 2)
        done = state.width() <= ending.tolerance
        if ending.steep:
            done |= np.abs(state.fa) <= ending.tolerance
        root[live[done]] = state.best()[done]
        live = live[~done]
        state = state.keep(~done)


class _Brackets:
    """Brackets [a, b] around roots, the newest point in b, and the point c before it."""

    def __init__(self, a: FloatArray, b: FloatArray, fa: FloatArray, fb: FloatArray) -> None:
        self.a, self.b, self.fa, self.fb = a, b, fa, fb
        self.c, self.fc = a, fa
        self.t = np.full(a.shape, 0.5)

    def keep(self, mask: BoolArray) -> _Brackets:
        """Return the brackets that are still open."""
        kept = _Brackets(self.a[mask], self.b[mask], self.fa[mask], self.fb[mask])
        kept.c, kept.fc, kept.t = self.c[mask], self.fc[mask], self.t[mask]
        return kept

    def aim(self) -> None:
        """Try where the line between the ends meets zero, not the middle; ends lie near it."""
        finite = np.isfinite(self.fa) & np.isfinite(self.fb)
        with np.errstate(invalid="ignore"):
            t = self.fa / (self.fa - self.fb)
        self.t = np.where(finite, np.clip(t, 0.02, 0.98), 0.5)

    def guess(self) -> FloatArray:
        """Return the next points to try."""
        return self.a + self.t * (self.b - self.a)

    def shrink(self, x: FloatArray, fx: FloatArray, least: float) -> None:
        """Put the points ``x`` in, and choose where to go next, ``least`` away from the ends."""
        same = np.sign(fx) == np.sign(self.fa)
        self.c, self.fc = np.where(same, self.a, self.b), np.where(same, self.fa, self.fb)
        self.b, self.fb = np.where(same, self.b, self.a), np.where(same, self.fb, self.fa)
        self.a, self.fa = x, fx
        self.t = self._step(least)

    def _step(self, least: float) -> FloatArray:
        """Return the fraction of the way to b: inverse quadratic where that is safe, else half."""
        with np.errstate(divide="ignore", invalid="ignore"):
            xi = (self.a - self.b) / (self.c - self.b)
            phi = (self.fa - self.fb) / (self.fc - self.fb)
            alpha = (self.c - self.a) / (self.b - self.a)
            t = self.fa / (self.fb - self.fa) * self.fc / (self.fb - self.fc) + (
                alpha * self.fa / (self.fc - self.fa) * self.fb / (self.fc - self.fb)
            )
        safe = (phi**2 < xi) & ((1 - phi) ** 2 < 1 - xi) & np.isfinite(t)
        return np.where(safe, self._inside(t, least), 0.5)

    def _inside(self, t: FloatArray, least: float) -> FloatArray:
        """Return fractions that keep at least ``least`` from both ends of the bracket."""
        with np.errstate(divide="ignore"):
            part = np.minimum(least / np.abs(self.b - self.a), 0.5)
        return np.clip(t, part, 1 - part)

    def width(self) -> FloatArray:
        """Return the widths; zero where the newest point is a root."""
        return np.where(self.fa == 0, 0.0, np.abs(self.b - self.a))

    def best(self) -> FloatArray:
        """Return the end whose value is nearer zero."""
        return np.where(np.abs(self.fa) <= np.abs(self.fb), self.a, self.b)
