"""Roots of many functions found side by side."""

from __future__ import annotations

from collections.abc import Callable

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
    while live.size:
        x = state.guess()
        state.shrink(x, function(x, live))
        done = state.width() <= tolerance
        if steep:
            done |= np.abs(state.fa) <= tolerance
        root[live[done]] = state.best()[done]
        live = live[~done]
        state = state.keep(~done)
    return root


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

    def guess(self) -> FloatArray:
        """Return the next points to try."""
        return self.a + self.t * (self.b - self.a)

    def shrink(self, x: FloatArray, fx: FloatArray) -> None:
        """Put the points ``x`` in, and choose where to go next."""
        same = np.sign(fx) == np.sign(self.fa)
        self.c, self.fc = np.where(same, self.a, self.b), np.where(same, self.fa, self.fb)
        self.b, self.fb = np.where(same, self.b, self.a), np.where(same, self.fb, self.fa)
        self.a, self.fa = x, fx
        self.t = self._step()

    def _step(self) -> FloatArray:
        """Return the fraction of the way to b: inverse quadratic where that is safe, else half."""
        with np.errstate(divide="ignore", invalid="ignore"):
            xi = (self.a - self.b) / (self.c - self.b)
            phi = (self.fa - self.fb) / (self.fc - self.fb)
            alpha = (self.c - self.a) / (self.b - self.a)
            t = self.fa / (self.fb - self.fa) * self.fc / (self.fb - self.fc) + (
                alpha * self.fa / (self.fc - self.fa) * self.fb / (self.fc - self.fb)
            )
        safe = (phi**2 < xi) & ((1 - phi) ** 2 < 1 - xi) & np.isfinite(t)
        return np.where(safe, np.clip(t, 0.02, 0.98), 0.5)

    def width(self) -> FloatArray:
        """Return the widths; zero where the newest point is a root."""
        return np.where(self.fa == 0, 0.0, np.abs(self.b - self.a))

    def best(self) -> FloatArray:
        """Return the end whose value is nearer zero."""
        return np.where(np.abs(self.fa) <= np.abs(self.fb), self.a, self.b)
