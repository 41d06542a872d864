"""How often a line, a queue or a slot is taken: Erlang's formulas and slotted ALOHA.

A. K. Erlang's loss and waiting formulas (B and C) and the throughput of slotted ALOHA, in the form
of the ITU's Teletraffic Engineering Handbook (ITU-D Study Group 2) and of L. Kleinrock, Queueing
Systems; written from memory of them.
"""

from __future__ import annotations

import math

import numpy as np

from siteplan.arrays import FloatArray

#: Lines that are looked through at most.
MOST_LINES = 1_000_000


def erlang_b(erlangs: float, lines: int) -> float:
    """Return the share of calls that find no line free, and are lost (Erlang B).

    By the recursion B(k) = E B(k-1) / (k + E B(k-1)), B(0) = 1, which neither overflows nor
    cancels.

    Parameters
    ----------
    erlangs : float
        Offered traffic, mean calls at a time were there lines enough.
    lines : int

    Raises
    ------
    ValueError
        If either is negative.

    Examples
    --------
    >>> erlang_b(1.0, 1)
    0.5
    """
    _check(erlangs, lines)
    blocked = 1.0
    for k in range(1, lines + 1):
        blocked = erlangs * blocked / (k + erlangs * blocked)
    return blocked


def erlang_c(erlangs: float, lines: int) -> float:
    """Return the share of calls that have to wait for a line (Erlang C).

    1 where the traffic fills all lines; else C = m B / (m - E (1 - B)) of m lines, B by `erlang_b`.

    Raises
    ------
    ValueError
        If either is negative.
    """
    blocked = erlang_b(erlangs, lines)
    if erlangs >= lines:
        return 1.0
    return lines * blocked / (lines - erlangs * (1 - blocked))


def lines_for(erlangs: float, blocking: float) -> int:
    """Return the fewest lines at which no larger share of calls than ``blocking`` is lost.

    Parameters
    ----------
    erlangs : float
        Offered traffic.
    blocking : float
        Share of calls that may find no line, above 0 and below 1.

    Raises
    ------
    ValueError
        If the traffic is negative, or the share none; or for more than ``MOST_LINES``.

    Examples
    --------
    >>> lines_for(10, 0.01)
    18
    """
    _check(erlangs, 0)
    if not 0 < blocking < 1:
        raise ValueError(f"blocking {blocking!r} is no share between 0 and 1")
    if erlangs == 0:
        return 0
    blocked = 1.0
    for lines in range(1, MOST_LINES + 1):
        blocked = erlangs * blocked / (lines + erlangs * blocked)
        if blocked <= blocking:
            return lines
    raise ValueError(f"{erlangs!r} erlangs ask for more than {MOST_LINES} lines")


def slotted_aloha(offered: FloatArray | float) -> FloatArray:
    """Return what gets through of traffic that is sent by chance in slots: S = G exp(-G).

    Parameters
    ----------
    offered : float or array
        Bursts a slot, repetitions among them. At 1 most gets through: 1/e of the slots.
    """
    return np.asarray(offered * np.exp(-np.asarray(offered, dtype=float)))


def offered_to_slots(throughput: float) -> float:
    """Return what has to be sent by chance for so much to get through, of slots [ratio].

    Of the two loads that slotted ALOHA carries alike, the lesser: the other is a jam. The inverse
    of `slotted_aloha`, by halves: Lambert's W without scipy, whose import takes longer than a plan.

    Raises
    ------
    ValueError
        If it is negative, or more than 1/e.
    """
    if not 0 <= throughput <= math.exp(-1):
        raise ValueError(f"{throughput!r} does not get through slots by chance: at most 1/e does")
    low, high = 0.0, 1.0  # what gets through rises up to one burst a slot
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if middle * math.exp(-middle) < throughput else (low, middle)
    return (low + high) / 2


def _check(erlangs: float, lines: int) -> None:
    if not (erlangs >= 0 and math.isfinite(erlangs)):
        raise ValueError(f"{erlangs!r} is no traffic in erlangs")
    if lines < 0:
        raise ValueError(f"{lines!r} is no number of lines")
