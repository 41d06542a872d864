"""Who is built when: wave by wave, in the order of the visits, so many sites a week."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Iterator, Mapping
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, IntArray, TextArray
from siteplan.frozen import frozen
from siteplan.network import Rollout
from siteplan.planning.assembly import given
from siteplan.planning.rounds import rounds

#: The column of the sites table that tells waves.
COLUMN: Final = "wave"
#: Days of a month where no start is told, of 365.25 / 12.
MONTH_DAYS: Final = 30.4375
#: The visits of so many sites are put in order: it takes about as long as planning them.
VISITED_UP_TO: Final = 100_000


def has_waves(extra: Mapping[str, NDArray[Any]]) -> bool:
    """Whether the user's columns tell waves."""
    return any(name.strip().casefold() == COLUMN for name in extra)


def wave_column(extra: Mapping[str, NDArray[Any]], n: int) -> TextArray:
    """Return the wave of each site (n,) as the user's columns tell it; '' for none.

    >>> wave_column({"Wave": np.array([1.0, np.nan])}, 2).tolist()
    ['1', '']
    """
    found = next((v for name, v in extra.items() if name.strip().casefold() == COLUMN), None)
    if found is None:
        return np.full(n, "", dtype=object)
    return np.array([_text(value) for value in found.tolist()], dtype=object)


def _text(value: Any) -> str:
    """Return a cell as a wave's name: a whole number without decimals, nothing for no value."""
    if value is None or value != value:  # noqa: PLR0124
        return ""
    return f"{value:g}" if isinstance(value, float) else str(value).strip()


def natural(name: str) -> tuple[Any, ...]:
    """Return what orders waves by name: numbers in a name by size; no name last.

    >>> sorted(["10", "2", "", "b 3", "b 12"], key=natural)
    ['2', '10', 'b 3', 'b 12', '']
    """
    pieces = re.split(r"(\d+)", name.casefold())
    return (not name, *((1, "", int(p)) if p.isdigit() else (2, p, 0) for p in pieces if p))


@frozen(eq=False)
class Sequence:
    """The sites to build in their order (k,): which, in which wave and week, where in their round.

    ``week`` is 0 where no weeks are told, ``position`` where visits were not put in order.
    """

    sites: IntArray
    wave: TextArray
    week: IntArray
    round: TextArray
    position: IntArray


def to_build(columns: Mapping[str, NDArray[Any]]) -> tuple[BoolArray, BoolArray]:
    """Return the sites (n,) that are to be built, and those of which the whole station stands."""
    kit = given(columns)["kit"]
    stands = ~np.isnan(columns["fixed_antenna_m"]) & ~np.isnan(columns["fixed_buc_w"])
    return kit & ~stands, kit & stands


def sequence(columns: Mapping[str, NDArray[Any]], wave: TextArray, told: Rollout) -> Sequence:
    """Return the order in which sites (n,) are built.

    Wave by wave, each in rounds by group; of more than `VISITED_UP_TO` sites to build, each in the
    order of the list. Each wave begins a week of its own; without waves a week is one.

    Parameters
    ----------
    columns : mapping of arrays (n,)
        Result fields.
    wave : (n,) array of str
        As `wave_column`; without any name all sites are one wave, cut into weeks.
    told : Rollout
    """
    build = np.flatnonzero(to_build(columns)[0])
    visited = len(build) <= VISITED_UP_TO
    found: list[tuple[IntArray, str, str]] = []
    for name, rows in _by_wave(build, wave):
        found += _visits(columns, name, rows) if visited else [(rows, name, "")]
    sites = _joined([rows for rows, _, _ in found])
    names = _texts([(name, len(rows)) for rows, name, _ in found])
    week = _weeks(names, told.sites_per_week)
    if not any(names.tolist()) and told.sites_per_week:
        names = np.array([str(k) for k in week.tolist()], dtype=object)
    places = _joined([np.arange(len(rows)) + 1 for rows, _, _ in found])
    return Sequence(
        sites,
        names,
        week,
        _texts([(of, len(rows)) for rows, _, of in found]),
        places if visited else np.zeros_like(places),
    )


def _by_wave(build: IntArray, wave: TextArray) -> Iterator[tuple[str, IntArray]]:
    """Yield each wave's name with its sites to build, waves in their order."""
    found: dict[str, list[int]] = {}
    for i, name in zip(build.tolist(), wave[build].tolist(), strict=True):
        found.setdefault(name, []).append(i)
    for name in sorted(found, key=natural):
        yield name, np.array(found[name], dtype=np.intp)


def _visits(
    columns: Mapping[str, NDArray[Any]], name: str, rows: IntArray
) -> Iterator[tuple[IntArray, str, str]]:
    """Yield the rounds of a wave: its sites in their order, its name and the round's."""
    group, lat, lon = (columns[key][rows] for key in ("group", "lat", "lon"))
    for stop in rounds(group, lat, lon):
        yield rows[stop.sites], name, f"{stop.group or 'all'} {stop.part}"


def _joined(pieces: list[IntArray]) -> IntArray:
    return np.concatenate([np.zeros(0, dtype=np.intp), *pieces])


def _texts(runs: list[tuple[str, int]]) -> TextArray:
    return np.array([text for text, count in runs for _ in range(count)], dtype=object)


def _weeks(wave: TextArray, per_week: int | None) -> IntArray:
    """Return the week of each site (k,) in order, 0 where none are told; a wave begins one."""
    found, week, left, last = [], 0, 0, None
    for name in wave.tolist():
        if left == 0 or name != last:
            week, left = week + 1, per_week or 1
        found.append(week if per_week else 0)
        left, last = left - 1, name
    return np.array(found, dtype=np.intp)


def week_date(week: int, told: Rollout) -> str:
    """Return the first day of a week (ISO); empty where no start or no week is told."""
    if told.start is None or not week:
        return ""
    return (told.start + dt.timedelta(weeks=week - 1)).isoformat()


def month_of(week: int, told: Rollout) -> int:
    """Return the month that a week begins in, counted from that of the first week, from 0."""
    if told.start is None:
        return math.floor((week - 1) * 7 / MONTH_DAYS)
    day = told.start + dt.timedelta(weeks=week - 1)
    return 12 * (day.year - told.start.year) + day.month - told.start.month


def month_name(month: int, told: Rollout) -> str:
    """Return what a month is called: the year and the month, else which one it is."""
    if told.start is None:
        return f"month {month + 1}"
    years, rest = divmod(told.start.month - 1 + month, 12)
    return f"{told.start.year + years}-{rest + 1:02d}"
