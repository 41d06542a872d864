"""Grades, single years, the worst month, long outages: what the report says of them."""

from __future__ import annotations

import math
from collections.abc import Iterator

from markupsafe import Markup

from siteplan.outputs.report.blocks import Block, Table, Text, Words, sites, user
from siteplan.outputs.shown import DASH, amount
from siteplan.reported import Sure, SureSite

#: What stands under the table.
_READING = (
    "A year's chance is that of exceeding the target's outage in any one year, of the weaker"
    " direction alone. Outages by the sky over the site; those of the hub's rain come on top."
    " All of these are planning figures; a dash: not known, the site's notes say why."
)
#: Chances are told no nearer to none, or to certain [%].
_LEAST_PCT = 0.1


def years(of: Sure) -> list[Block]:
    """Return grades and what would raise them, then the sites that a bad year hits first."""
    told = (_grades(of), _chances(of), _years(of))
    blocks: list[Block] = [Words(" ".join(lines)) for lines in told]
    if of.worst:
        table = _without_dashes(_heads(), [_row(site) for site in of.worst])
        blocks += [table, Words(_READING, "small")]
    return blocks


def _without_dashes(heads: tuple[str, ...], rows: list[tuple[Text, ...]]) -> Table:
    """Return the table without columns that say nothing of any site."""
    kept = [k for k in range(len(heads)) if any(row[k] != DASH for row in rows)]
    return Table(
        tuple(heads[k] for k in kept),
        [tuple(row[k] for k in kept) for row in rows],
        frozenset(range(1, len(kept))),
        "small",
    )


def _grades(of: Sure) -> Iterator[str]:
    """Yield how many sites have which grade, and what would raise it."""
    each = ", ".join(f"{sites(count)} with grade {letter}" for letter, count in of.letters)
    yield f"A grade tells how sure a site's figures are, A the surest: {each}."
    for letter, todo, count in of.todo:
        first, rest = todo[:1].lower(), todo[1:].replace(": ", ", ", 1)
        yield f"What raises {sites(count)} with grade {letter}: {first}{rest}"


def _chances(of: Sure) -> Iterator[str]:
    """Yield at how many sites the margin is there with which chance."""
    each = ", ".join(f"{words} at {sites(count)}" for words, count in of.chances if count)
    if each:
        yield f"Chance that the margin is there, if figures are as far off as usual: {each}."


def _years(of: Sure) -> Iterator[str]:
    """Yield what single years and the worst month may bring, at the median site with kit."""
    if not math.isnan(of.median_risk_pct):
        yield (
            f"At the median site with kit a single year exceeds the outage of the target with a"
            f" chance of {_chance(of.median_risk_pct)} (years lie"
            f" {amount(100 * of.climate_ratio, '%')} apart by climate alone)."
        )
    if of.unknown_risk:
        yield f"At {sites(of.unknown_risk)} it is not known."
    if not math.isnan(of.median_month_pct):
        month = amount(of.median_month_pct, "%", 3)
        yield f"Availability achieved in the worst month of a year: {month} at the median site."
    if of.basis == "worst_month":
        yield "Targets are those of the worst month."


def _heads() -> tuple[str, ...]:
    return (
        *("Site", "Grade", "Margin there", "Achieved", "Bad year", "Worst month"),
        *("Over 10 s a year", "Over 10 min a year"),
    )


def _row(of: SureSite) -> tuple[Text, ...]:
    """Return one site."""
    who = Markup("<b>{}</b> {}").format(user(of.site_id, 24), user(of.name))
    return (
        *(
            who,
            of.grade,
            _chance(of.margin_pct),
            _number(of.achieved_pct, "%", 3),
            _chance(of.risk_pct),
        ),
        _number(of.month_pct, "%", 3),
        *(_number(count, "", 1) for count in (of.short_outages, of.long_outages)),
    )


def _chance(pct: float) -> str:
    """Return a chance to a tenth of a per cent: none is told as certain, or as none at all.

    >>> _chance(99.98), _chance(0.01), _chance(85.12)
    ('over 99.9 %', 'under 0.1 %', '85.1 %')
    """
    if pct < _LEAST_PCT:
        return f"under {amount(_LEAST_PCT, '%')}"
    most = 100 - _LEAST_PCT
    return f"over {amount(most, '%')}" if pct > most else _number(pct, "%", 1)


def _number(value: float, unit: str, decimals: int) -> str:
    return DASH if math.isnan(value) else amount(value, unit, decimals)
