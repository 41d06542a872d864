"""Limits of exposure to radio frequency: how much power density people may stand in.

``limits.csv`` holds them, row by row with its source: ``w_m2`` times the frequency [GHz] to the
power of ``exponent``, averaged over ``minutes``. ICNIRP's figures are from memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray
from siteplan.physics.tables import number, read_rows

Audience = Literal["public", "controlled"]


class _Limit(NamedTuple):
    """One row: the limit of a rule for an audience over a range of frequencies [GHz]."""

    rule: str
    audience: str
    from_ghz: float
    to_ghz: float
    w_m2: float
    exponent: float


def known_rules() -> Mapping[str, tuple[float, float]]:
    """Return the rules, and the frequencies [GHz] for which their limits are known here.

    Examples
    --------
    >>> known_rules()["47 CFR 1.1310"]
    (1.5, 100.0)
    """
    ranges: dict[str, tuple[float, float]] = {}
    for row in _limits():
        low, high = ranges.get(row.rule, (row.from_ghz, row.to_ghz))
        ranges[row.rule] = min(low, row.from_ghz), max(high, row.to_ghz)
    return MappingProxyType(ranges)


def exposure_limit_w_m2(rule: str, audience: Audience, frequency_ghz: ArrayLike) -> FloatArray:
    """Return a rule's limit of the power density.

    Parameters
    ----------
    rule : str
        A key of `known_rules`.
    audience : {'public', 'controlled'}
        General public, or workers who know and can leave (occupational).
    frequency_ghz : array_like
        Frequency. [GHz]

    Returns
    -------
    ndarray
        Limit [W/m2]; NaN outside the frequencies of `known_rules`.

    Raises
    ------
    ValueError
        If rule or audience is unknown.

    References
    ----------
    47 CFR 1.1310, table 1: 1 mW/cm2 over 30 min, 5 mW/cm2 over 6 min. ICNIRP 2020 table 5
    (whole body, 30 min) and table 6 (local, 6 min): 55 and 275 f^-0.177 above 6 GHz, 40 and
    200 W/m2 from 2 to 6 GHz. ICNIRP's figures are from memory.

    Examples
    --------
    1 mW/cm2 is 10 W/m2. At 300 GHz ICNIRP rounds its local figure to 20.

    >>> exposure_limit_w_m2("47 CFR 1.1310", "public", [1.0, 14.25]).tolist()
    [nan, 10.0]
    >>> exposure_limit_w_m2("ICNIRP 2020 local", "public", [4.0, 300.0]).round(1).tolist()
    [40.0, 20.0]
    """
    rules = known_rules()
    if rule not in rules:
        raise ValueError(f"rule {rule!r} is not known: use one of {', '.join(rules)}")
    if audience not in ("public", "controlled"):
        raise ValueError(f"audience {audience!r} is not known: use 'public' or 'controlled'")
    frequency = np.asarray(frequency_ghz, dtype=float)
    limit = np.full(frequency.shape, np.nan)
    for row in _limits():
        if (row.rule, row.audience) == (rule, audience):
            # Where two ranges meet, the row that comes first holds.
            free = np.isnan(limit) & (frequency >= row.from_ghz) & (frequency <= row.to_ghz)
            clipped = np.clip(frequency, row.from_ghz, row.to_ghz)
            limit = np.where(free, row.w_m2 * clipped**row.exponent, limit)
    return np.asarray(limit)


@lru_cache(maxsize=1)
def _limits() -> tuple[_Limit, ...]:
    """Return the rows of the file."""
    return tuple(
        _Limit(row["rule"], row["audience"], *(number(row[key]) for key in _Limit._fields[2:]))
        for row in read_rows(Path(__file__).with_name("limits.csv"))
    )
