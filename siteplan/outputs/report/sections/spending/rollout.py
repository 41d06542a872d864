"""Roll-out: how sites, lease and costs grow month by month, and what is first too small."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

from markupsafe import Markup

from siteplan.answers.rollout import RolloutPeriod, RolloutPlan
from siteplan.outputs.report.blocks import (
    Figures,
    Section,
    Shown,
    Table,
    Text,
    Words,
    money,
    sites,
    user,
)
from siteplan.outputs.report.growing import growing
from siteplan.outputs.shown import DASH, amount

#: Periods that are listed; of more, every so many, and always the last.
MOST_PERIODS = 16


def rollout(shown: Shown) -> Section | None:
    """Return when the sites are built; nothing where that is not told of."""
    found = shown.plan.facts.rollout
    if found is None or not found.periods:
        return None
    return Section(
        "Roll-out",
        [
            Words(_told(found)),
            Figures(list(_figures(found.periods)), "charts"),
            _periods(found),
            Words(" ".join(found.notes), "small"),
        ],
    )


_CHARTS: dict[str, Callable[[RolloutPeriod], float]] = {
    "Sites that work": lambda of: float(of.live),
    "Leased, MHz": lambda of: float(of.leased_mhz),
    "Spent so far": lambda of: float(of.cumulative),
}


def _figures(periods: Sequence[RolloutPeriod]) -> Iterator[tuple[Markup, Text]]:
    """Yield the drawings of what grows, those of what is not known left out."""
    ends = periods[0].period, periods[-1].period
    for title, value in _CHARTS.items():
        values = [value(of) for of in periods]
        if not all(math.isnan(v) for v in values):
            yield Markup(growing(values, title, ends)), title


def _told(found: RolloutPlan) -> Markup:
    """Return how long it takes, and what is first too small."""
    built = sum(of.built for of in found.periods)
    what = "month" if found.by_month else "wave"
    what += "" if len(found.periods) == 1 else "s"
    told = Markup("{} are built in {} {}, from {} to {}.").format(
        sites(built).capitalize(), len(found.periods), what,
        user(found.periods[0].period), user(found.periods[-1].period),
    )  # fmt: skip
    when, text = found.first_overflow
    if when:
        return told + Markup(" First too small, in {}: {}").format(user(when), text)
    return told + " Nothing that is planned is too small on the way."


def _shown(periods: Sequence[RolloutPeriod]) -> list[RolloutPeriod]:
    """Return the periods that are listed."""
    every = math.ceil(len(periods) / MOST_PERIODS)
    last = len(periods) - 1
    return [of for k, of in enumerate(periods) if k == last or k % every == 0]


def _periods(found: RolloutPlan) -> Table:
    """Return a row a period."""
    spent = any(not math.isnan(of.capex) for of in found.periods)
    runs = any(not math.isnan(of.running) for of in found.periods)
    heads = ("Month" if found.by_month else "Wave", "Built", "Working", "Outbound carriers",
             "Inbound carriers", "Leased", *(("To build",) if spent else ()),
             *(("To run",) if runs else ()), *(("Spent so far",) if spent else ()))  # fmt: skip
    rows = [_row(of, spent=spent, runs=runs) for of in _shown(found.periods)]
    return Table(heads, rows, frozenset(range(1, len(heads))), "small")


def _row(of: RolloutPeriod, *, spent: bool, runs: bool) -> tuple[Text, ...]:
    counts = (of.built, of.live, of.outbound_carriers, of.inbound_carriers)
    costs = [of.capex] * spent + [of.running] * runs + [of.cumulative] * spent
    return (
        user(of.period),
        *map(str, counts),
        amount(of.leased_mhz, "MHz"),
        *(DASH if math.isnan(cost) else money(cost) for cost in costs),
    )
