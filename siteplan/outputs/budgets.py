"""A link budget as people read it: columns, figures, signs and how to read them.

Console, page and CSV ask here; each shows the same figures.
"""

from __future__ import annotations

import math

from siteplan.answers.budget import Budget, BudgetLine, BudgetWay
from siteplan.outputs.shown import DASH, amount, fixed, share_of_time, stated
from siteplan.words import of_month

#: How each sign of a line is printed.
SIGNS = {"+": "+", "-": "\u2212", "=": "=", "sum": "\u03a3", "": ""}
#: What each sign means, for files that machines read.
DOES = {"+": "add", "-": "subtract", "=": "comes to", "sum": "power sum", "": "summed as power"}
#: Decimals of a figure by its unit; two of the others.
_DECIMALS = {"K": 1}
#: Shares of time under the method's least are told by it [%].
_LEAST_PCT = 0.001
#: How a budget is read, in sentences.
READING = (
    "Read a part from top to bottom: + adds, \u2212 takes away, = is what the lines above come to.",
    "The line \u03a3 alone is no sum of decibels: it is the power sum of the three lines before it,"
    " whose noises and interference add up as powers.",
    "Clear sky: gas only. Site faded: the site's sky is as bad as it is for no more than the share"
    " of an average year told, the hub's clear. Hub faded: the other way round.",
    "The margin of a direction is the smaller of its two faded columns', the site's margin that"
    " of the weaker direction.",
    "Given: somebody gave the figure. Assumed: nobody did, so put yours in. In part assumed:"
    " worked out of such figures. Sums are worked out before rounding.",
)


def title(of: Budget) -> str:
    """Return what stands over a budget."""
    return f"Link budget of {' '.join(filter(None, (of.site_id, of.name)))}"


def pair(of: Budget) -> str:
    """Return the pair that a budget holds for; one that was tried is told as such."""
    if math.isnan(of.antenna_m):
        return ""
    kit = f"{amount(of.antenna_m, 'm')} and {amount(of.buc_w, 'W')}"
    return f"With {kit}, tried and not planned" if of.tried else f"With {kit}, as planned"


def under_title(of: Budget) -> str:
    """Return what the budget holds for, in a line: pair, target, margin."""
    share = share_of_time(of.availability_target_pct)
    target = f"target {share}{of_month(of.availability_basis)}"
    margin = (
        "" if math.isnan(of.margin_db) else f"margin {stated(_figure(of.margin_db, 'dB'), 'dB')}"
    )
    return ", ".join(filter(None, (pair(of), target, margin)))


def way_title(way: BudgetWay) -> str:
    """Return the heading of a direction."""
    ends = {"outbound": "hub to site", "inbound": "site to hub"}[way.direction]
    return f"{way.direction.capitalize()}, {ends}"


#: The headings of the three columns.
COLUMNS = ("Clear sky", "Site faded", "Hub faded")


def shares(way: BudgetWay) -> tuple[str, str, str]:
    """Return the share of time of each column's fade; nothing in clear sky."""
    return "", _share(way.site_pct), _share(way.hub_pct) if way.hub_counted else "not counted"


def figures(line: BudgetLine) -> tuple[str, str, str]:
    """Return the three figures of a line as texts without their unit, a dash for none."""
    clear, site, hub = (_figure(value, line.unit) for value in line.values)
    return clear, site, hub


def _figure(value: float, unit: str) -> str:
    if math.isnan(value):
        return DASH
    text = fixed(value, _DECIMALS.get(unit, 2))
    text = text.removeprefix("-") if float(text) == 0 else text
    return text.replace("-", SIGNS["-"])


def _share(p_pct: float) -> str:
    """Return a share of time of a column; under the method's least, that."""
    if p_pct < _LEAST_PCT:
        return f"under {amount(_LEAST_PCT, '%')}"
    return amount(round(p_pct, 4), "%")
