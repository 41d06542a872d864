"""Cost over the years: totals, against terrestrial lines, and the sites that stand out."""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.answers.costs import CostCase, LifeCosts
from siteplan.outputs.report.blocks import (
    Block,
    Section,
    Shown,
    Table,
    Text,
    Words,
    money,
    sites,
    user,
)
from siteplan.outputs.shown import DASH, amount, fixed

UNIT = "All in the unit of the prices given."
#: What a month leaves out, by the key that nobody gave.
_PARTS = {
    "lease_mhz_month": "the lease",
    "recurring_site_month": "running a site",
    "spectrum_fee_site_year": "licences",
    "power_kwh": "power",
}

#: Sites that are named at either end.
MOST = 3


def cost(shown: Shown) -> Section | None:
    """Return costs over the years; nothing where no price beyond kit is given."""
    found = shown.plan.facts.costs
    if found is None:
        return None
    blocks: list[Block] = [Words(_told(found)), *_months(found), *_lines(found)]
    blocks += [Words(_by_cost(found))] if not math.isnan(found.own_mhz) else []
    if found.dearest:
        blocks.append(_cases("Dearest over the years", found.dearest[:MOST]))
    if found.cheapest and found.sites > len(found.dearest):
        blocks.append(_cases("Cheapest over the years", found.cheapest[:MOST]))
    if found.by_line:
        blocks.append(_cases("Cheapest by line, against the satellite", found.by_line))
    return Section("Cost over the years", blocks)


def _told(found: LifeCosts) -> str:
    """Return what all sites cost, and how that is summed."""
    terms = f"{found.years} years at a discount of {amount(found.discount_pct, '%')}"
    if not found.known:
        return f"What a site costs over {terms} is not known of any: prices are missing. {UNIT}"
    left = found.sites - found.known
    more = f" Of {sites(left)} it is not known: a price is missing." if left else ""
    return (
        f"{sites(found.known).capitalize()} cost {money(found.life_cost)} over {terms}:"
        f" {money(found.capex)} at the start and {money(found.monthly_cost)} a month, each month"
        f" paid at its end (a unit a month comes to {fixed(found.factor, 4)}).{more} {UNIT}"
    )


def _months(found: LifeCosts) -> list[Block]:
    """Return what a month holds, and what it leaves out."""
    told = []
    if "lease_mhz_month" not in found.unpriced:
        lease, mhz = money(found.lease_month), amount(found.leased_mhz, "MHz")
        told.append(f"The lease of {mhz} is {lease} a month; each site's part goes by its load.")
    if left := [_PARTS[key] for key in found.unpriced]:
        told.append(f"A month leaves out what has no price: {', '.join(left)}.")
    return [Words(" ".join(told), "small")] if told else []


def _lines(found: LifeCosts) -> list[Block]:
    """Return for how many sites a terrestrial line would be cheaper."""
    if not found.lined:
        return []
    by_satellite = found.lined - found.line_cheaper
    return [
        Words(
            f"Of {sites(found.lined)} with the cost of a line, {by_satellite} are cheaper by"
            f" satellite, by {money(found.satellite_saves)} in all, and {found.line_cheaper} by"
            f" line, by {money(found.line_saves)}."
        )
    ]


def _by_cost(found: LifeCosts) -> str:
    """Return what the pairs were picked by, beside the lease of all."""
    own, all_ = (amount(round(mhz, 3), "MHz") for mhz in (found.own_mhz, found.leased_mhz))
    return (
        f"Kit was picked by cost: for each site as if it leased its own bandwidth, {own} in all."
        f" The lease, worked out once for all, is {all_}: whole carriers, rounded up."
    )


def _cases(heading: str, cases: Sequence[CostCase]) -> Table:
    """Return sites that stand out."""
    lined = any(not math.isnan(case.line_life_cost) for case in cases)
    heads = (heading, "At the start", "A month", "Over the years")
    more = ("Line over the years", "Cheaper by", "Breaks even in") if lined else ()
    rows = [_case(case, lined=lined) for case in cases]
    return Table((*heads, *more), rows, frozenset(range(1, len(heads) + len(more))), "small")


def _case(of: CostCase, *, lined: bool) -> tuple[Text, ...]:
    months = of.breakeven_months
    breaks = DASH if math.isnan(months) else f"{fixed(months, 0)} months"
    row: tuple[Text, ...] = (
        user(of.name.strip() or of.site_id),
        *(_or_dash(x) for x in (of.capex, of.monthly_cost, of.life_cost)),
    )
    return (*row, _or_dash(of.line_life_cost), _or_dash(of.cheaper_by), breaks) if lined else row


def _or_dash(cost: float) -> str:
    return DASH if math.isnan(cost) else money(cost)
