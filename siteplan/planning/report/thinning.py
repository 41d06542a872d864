"""Which sites the map of a very large plan shows: the failing ones first, the rest evenly."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray


class Chosen(NamedTuple):
    """Rows to show, rising, and what was left out in a sentence (empty if nothing was)."""

    rows: NDArray[np.int64]
    note: str


def choose(flags: NDArray[np.object_], stops: frozenset[str], most: int) -> Chosen:
    """Return at most ``most`` rows: sites with a stopping flag first, then every k-th other.

    Where the failing ones alone are too many, a quarter of the room is kept for the others.

    Parameters
    ----------
    flags : (n,) array of str
        Codes joined by ``;``.
    stops : frozenset of str
        Codes that stop a site.
    most : int
        Most rows to show.
    """
    n = len(flags)
    if n <= most:
        return Chosen(np.arange(n), "")
    stopped = carrying(flags, stops)
    failing, others = np.flatnonzero(stopped), np.flatnonzero(~stopped)
    kept = min(len(others), most // 4) if len(failing) > most else 0
    shown_failing = _evenly(failing, most - kept)
    shown_others = _evenly(others, most - len(shown_failing))
    note = (
        f"{len(shown_failing) + len(shown_others):,} of {n:,} sites:"
        f" {_share(len(shown_failing), len(failing), 'failing')} and"
        f" {_share(len(shown_others), len(others), 'other')}"
    )
    return Chosen(np.sort(np.concatenate([shown_failing, shown_others])), note)


def carrying(flags: NDArray[np.object_], codes: frozenset[str]) -> NDArray[np.bool_]:
    """Return which of ``flags`` (n,), codes joined by ``;``, hold any of ``codes``."""
    texts = flags.tolist()
    known = {text: not codes.isdisjoint(text.split(";")) for text in set(texts)}
    return np.array([known[text] for text in texts], dtype=bool)


def _evenly(rows: NDArray[np.int64], most: int) -> NDArray[np.int64]:
    """Return at most ``most`` of the rows, spread evenly."""
    if len(rows) <= most:
        return rows
    return rows[np.linspace(0, len(rows) - 1, max(most, 0)).astype(np.int64)]


def _share(shown: int, there: int, what: str) -> str:
    """Return how many of how many are shown."""
    return f"all {there:,} {what}" if shown == there else f"{shown:,} of {there:,} {what}"
