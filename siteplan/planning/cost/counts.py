"""How much of everything sites take: counts that add up, so that parts of a plan do too."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import FloatArray, IntArray
from siteplan.planning.cost.parts import OPEN, Part, coded, parts
from siteplan.prices import Key
from siteplan.results import Plan

#: Costs are told by group up to so many groups: more are ids under another name.
MOST_GROUPS = 1000


@dataclass
class Quantity:
    """How much of a kind is still to be ordered or done, and how much of that is open.

    ``open_`` is NaN for what rests on no mount.
    """

    amount: float = 0.0
    open_: float = np.nan

    def add(self, amount: float, open_: float) -> None:
        """Add the amount of other sites."""
        self.amount += amount
        if not np.isnan(open_):
            self.open_ = open_ + (0.0 if np.isnan(self.open_) else self.open_)


@dataclass
class Counts:
    """What sites take; all amounts are whole numbers, so that sums do not hang on their order.

    ``sites`` have kit, ``unserved`` have none. ``kinds`` are amounts by part and kind,
    ``groups`` the sites with and without kit and the amounts of each group (None: more than
    `MOST_GROUPS`). ``cores`` tells what each class of cable must be made of.
    """

    sites: int = 0
    unserved: int = 0
    kinds: dict[Key, Quantity] = field(default_factory=dict)
    groups: dict[str, Counts] | None = field(default_factory=dict)
    cores: dict[str, str] = field(default_factory=dict)

    def add(self, other: Counts) -> None:
        """Add what other sites take."""
        self.sites += other.sites
        self.unserved += other.unserved
        self.cores |= other.cores
        for key, found in other.kinds.items():
            self.kinds.setdefault(key, Quantity()).add(found.amount, found.open_)
        if self.groups is None or other.groups is None:
            self.groups = None
            return
        for name, group in other.groups.items():
            self.groups.setdefault(name, Counts()).add(group)
        if len(self.groups) > MOST_GROUPS:
            self.groups = None

    def to_json(self) -> dict[str, Any]:
        """Return the counts as plain data."""
        kinds = [
            [*key, q.amount, None if np.isnan(q.open_) else q.open_]
            for key, q in self.kinds.items()
        ]
        groups = (
            None
            if self.groups is None
            else [[name, group.to_json()] for name, group in self.groups.items()]
        )
        return {
            **{"sites": self.sites, "unserved": self.unserved, "kinds": kinds},
            **{"groups": groups, "cores": self.cores},
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Counts:
        """Return counts from what ``to_json`` gave, perhaps by way of a file."""
        kinds = {
            (part, kind): Quantity(amount, np.nan if open_ is None else open_)
            for part, kind, amount, open_ in data["kinds"]
        }
        groups = data["groups"]
        grouped = None if groups is None else {name: cls.from_json(g) for name, g in groups}
        return cls(data["sites"], data["unserved"], kinds, grouped, dict(data["cores"]))


def counts(plan: Plan, *, by_group: bool) -> Counts:
    """Return what the sites of a plan take; with ``by_group`` of each group too."""
    columns = plan.columns
    listed = parts(columns)
    served = ~np.isnan(listed[0].quantity)
    found = Counts(int(served.sum()), int((~served).sum()), cores=_cores(columns))
    everyone = np.zeros(len(plan), dtype=np.intp)
    found.kinds = _kinds(listed, everyone, 1)[0]
    if by_group:
        found.groups = _groups(columns["group"].tolist(), listed, served)
    return found


def by_class(listed: tuple[Part, ...], classes: IntArray, count: int) -> list[dict[Key, Quantity]]:
    """Return the amounts by part and kind of each of ``count`` classes that sites (n,) are in."""
    return _kinds(listed, classes, count)


def _groups(names: list[str], listed: tuple[Part, ...], served: Any) -> dict[str, Counts] | None:
    """Return the counts of each group of sites (n,); None where there are too many."""
    groups, codes = coded(names)
    if len(groups) > MOST_GROUPS:
        return None
    kinds = _kinds(listed, codes, len(groups))
    having, every = (
        np.bincount(codes, weights=w, minlength=len(groups)).astype(int).tolist()
        for w in (served.astype(float), np.ones(len(codes)))
    )
    return {
        name: Counts(having[k], every[k] - having[k], kinds[k]) for k, name in enumerate(groups)
    }


def _kinds(listed: tuple[Part, ...], groups: IntArray, count: int) -> list[dict[Key, Quantity]]:
    """Return the amounts by part and kind of each of ``count`` groups that sites (n,) are in."""
    found: list[dict[Key, Quantity]] = [{} for _ in range(count)]
    for part in listed:
        kinds, codes = part.kinds
        cells = groups * len(kinds) + codes
        size = count * len(kinds)
        amounts = _sums(part.quantity, cells, size)
        opens = np.full(size, np.nan) if part.open_ is None else _sums(part.open_, cells, size)
        for cell in np.flatnonzero(amounts).tolist():
            group, kind = divmod(cell, len(kinds))
            quantity = found[group].setdefault((part.name, kinds[kind]), Quantity())
            quantity.add(float(amounts[cell]), float(opens[cell]))
    return found


def _sums(values: FloatArray, cells: IntArray, size: int) -> FloatArray:
    return np.asarray(np.bincount(cells, weights=np.nan_to_num(values), minlength=size))


def _cores(columns: Mapping[str, NDArray[Any]]) -> dict[str, str]:
    """Return what each class of cable must be made of, where it is told."""
    pairs = zip(columns["cable_class"].tolist(), columns["cable_core"].tolist(), strict=True)
    return {kind: core for kind, core in dict.fromkeys(pairs) if kind not in ("", OPEN) and core}
