"""What all sites cost over the years: sums that add up, and the sites that stand out."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from siteplan.answers.capacity import Capacity
from siteplan.answers.costs import CostCase, LifeCosts
from siteplan.arrays import FloatArray
from siteplan.network import Network
from siteplan.planning.assembly import given, with_step
from siteplan.planning.cost.annuity import factor
from siteplan.planning.cost.life import BASIS, FIELDS, lives
from siteplan.planning.step import Columns
from siteplan.results import Plan

#: So many of the sites that stand out are named.
NAMED: Final = 5
#: Sums are of whole millionths, so that they do not hang on the order of the sites.
_PER_UNIT: Final = 1e6
#: What numbers of 64 bits surely hold.
_MOST: Final = 2.0**62
#: Keys of a month that a cost leaves out where nobody gives them.
MONTHLY: Final = ("lease_mhz_month", "recurring_site_month", "spectrum_fee_site_year", "power_kwh")


@dataclass
class Spent:
    """Sums over sites by field, how many have it, and the cases that stand out; parts add up."""

    sites: int = 0
    sums: dict[str, int] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)
    dearest: list[CostCase] = field(default_factory=list)
    cheapest: list[CostCase] = field(default_factory=list)
    by_line: list[CostCase] = field(default_factory=list)

    def add(self, columns: Mapping[str, NDArray[Any]]) -> None:
        """Add sites (n,) with their costs."""
        self.sites += int(given(columns)["kit"].sum())
        for name in (*FIELDS, "own_mhz"):
            if name in columns:
                self._add(name, columns[name])
        if "cheaper_by" in columns:
            saves = columns["cheaper_by"]
            self._add("line_saves", np.where(saves < 0, -saves, np.nan))
            self._add("satellite_saves", np.where(saves >= 0, saves, np.nan))
            cases = [*self.by_line, *_cases(columns, saves, saves < 0)]
            self.by_line = sorted(cases, key=lambda case: case.cheaper_by)[:NAMED]
        if "life_cost" in columns:
            life = columns["life_cost"]
            known = ~np.isnan(life)
            cases = [*self.dearest, *_cases(columns, -life, known)]
            self.dearest = sorted(cases, key=lambda case: -case.life_cost)[:NAMED]
            cases = [*self.cheapest, *_cases(columns, life, known)]
            self.cheapest = sorted(cases, key=lambda case: case.life_cost)[:NAMED]

    def _add(self, name: str, values: FloatArray) -> None:
        known = values[~np.isnan(values)]
        each = np.rint(known * _PER_UNIT)
        fits = float(np.abs(each).sum()) < _MOST
        whole = int(each.astype(np.int64).sum()) if fits else sum(map(int, each.tolist()))
        self.sums[name] = self.sums.get(name, 0) + whole
        self.counts[name] = self.counts.get(name, 0) + len(known)

    def of(self, name: str) -> float:
        """Return the sum of a field; NaN where no site has it."""
        return self.sums[name] / _PER_UNIT if self.counts.get(name) else math.nan


def _cases(
    columns: Mapping[str, NDArray[Any]], order: FloatArray, here: NDArray[np.bool_]
) -> list[CostCase]:
    """Return the first few sites ``here`` (n,) by rising ``order`` (n,)."""
    rows = np.flatnonzero(here)
    first = rows[np.argsort(order[rows], kind="stable")[:NAMED]]
    none = np.full(len(here), np.nan)
    names = [name for name in CostCase.__dataclass_fields__ if name not in ("site_id", "name")]
    return [
        CostCase(
            str(columns["site_id"][i]),
            str(columns["name"][i]),
            **{name: float(columns.get(name, none)[i]) for name in names},
        )
        for i in first.tolist()
    ]


def with_lives(
    columns: Mapping[str, NDArray[Any]], base: FloatArray, network: Network, capacity: Capacity
) -> Columns:
    """Return result fields (n,) with what the sites cost over the years, by the lease of all."""
    bare = {name: values for name, values in columns.items() if name not in FIELDS}
    return with_step(bare, lives(base, bare, network, capacity))


def life_costs(of: Spent, network: Network, capacity: Capacity) -> LifeCosts:
    """Return what all sites cost over the years, from their sums."""
    costs, years = network.costs, network.traffic.years
    return LifeCosts(
        years=years,
        discount_pct=costs.discount_pct,
        factor=factor(costs.discount_pct, years),
        sites=of.sites,
        known=of.counts.get("life_cost", 0),
        capex=of.of("capex"),
        monthly_cost=of.of("monthly_cost"),
        life_cost=of.of("life_cost"),
        lined=of.counts.get("cheaper_by", 0),
        line_cheaper=of.counts.get("line_saves", 0),
        line_saves=of.sums.get("line_saves", 0) / _PER_UNIT,
        satellite_saves=of.sums.get("satellite_saves", 0) / _PER_UNIT,
        lease_month=(costs.lease_mhz_month or 0.0) * capacity.leased_mhz,
        leased_mhz=capacity.leased_mhz,
        own_mhz=of.of("own_mhz"),
        unpriced=tuple(key for key in MONTHLY if getattr(costs, key) is None),
        dearest=tuple(of.dearest),
        cheapest=tuple(of.cheapest),
        by_line=tuple(of.by_line),
    )


def costed(plan: Plan) -> Plan:
    """Return a plan whose sites tell what they cost over the years, where that is asked for.

    Its facts hold the capacity of all sites; a plan without the table `BASIS` is left as it is.
    """
    capacity = plan.facts.capacity
    if BASIS not in plan.tables or capacity is None:
        return plan
    columns = with_lives(plan.columns, plan.tables[BASIS], plan.network, capacity)
    spent = Spent()
    spent.add(columns)
    facts = replace(plan.facts, costs=life_costs(spent, plan.network, capacity))
    return replace(plan, columns=columns, facts=facts)


def without_lives(plan: Plan) -> Plan:
    """Return a plan of some of a network's sites without what they cost over the years.

    Hub and lease are shared by all sites: what some cost cannot be told from those alone.
    """
    columns = {name: values for name, values in plan.columns.items() if name not in FIELDS}
    facts = replace(plan.facts, costs=None)
    return replace(plan, columns=MappingProxyType(columns), facts=facts)


def life_figures(found: LifeCosts | None) -> dict[str, Any]:
    """Return ``life_cost`` as a summary has it; nothing where it was not asked for."""
    if found is None:
        return {}
    sums = ("capex", "monthly_cost", "life_cost", "line_saves", "satellite_saves", "lease_month")
    told = {name: round(getattr(found, name), 2) for name in sums}
    counts = {name: getattr(found, name) for name in ("sites", "known", "lined", "line_cheaper")}
    more = {
        "years": found.years,
        "discount_pct": found.discount_pct,
        "factor": round(found.factor, 6),
        "own_mhz": round(found.own_mhz, 6),
        "leased_mhz": found.leased_mhz,
        "not_priced": list(found.unpriced),
    }
    known = {k: v for k, v in (told | counts | more).items() if v == v}  # noqa: PLR0124
    return {"life_cost": known}
