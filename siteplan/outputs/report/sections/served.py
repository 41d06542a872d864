"""Which sites are not served or tight, why, and what would serve them."""

from __future__ import annotations

import math
from collections.abc import Mapping

from markupsafe import Markup

from siteplan.answers import Remedy
from siteplan.messages import english
from siteplan.outputs.report.blocks import Block, Section, Shown, Table, Text, Words, sites, user
from siteplan.outputs.shown import DASH, amount, stated
from siteplan.outputs.taking import besides
from siteplan.reported import Case, Report
from siteplan.words import beside

TRIED = "Tried: the margin of the nearest antenna and transmitter, which are not planned."
_NONE = "Every site is served as planned, none of them with a tight margin."


def served(shown: Shown) -> Section:
    """Return the worst sites by name with the reason, then counts by reason."""
    report = shown.report
    heading = "Sites that are not served, or only just"
    if not report.cases:
        return Section(heading, [Words(_NONE)])
    remedies = first_remedies(shown.plan.facts.remedies)
    blocks: list[Block] = [*_counts(report)]
    if any(case.tried for case in report.cases):
        blocks.append(Words(TRIED, "small"))
    heads: tuple[str, ...] = ("Site", "Verdict", "Margin after reserve", "Why")
    heads += ("What would serve it",) if remedies else ()
    rows = [_row(case, remedies) for case in report.cases]
    blocks.append(Table(heads, rows, frozenset({2}), "cases small"))
    blocks += _rest(report)
    return Section(heading, blocks)


def first_remedies(remedies: tuple[Remedy, ...]) -> Mapping[str, Remedy]:
    """Return for each site the first change that serves it, else the first that is told."""
    found: dict[str, Remedy] = {}
    for remedy in remedies:
        before = found.get(remedy.site_id)
        if before is None or (remedy.served and not before.served):
            found[remedy.site_id] = remedy
    return found


def _row(case: Case, remedies: Mapping[str, Remedy]) -> tuple[Text, ...]:
    """Return one site."""
    after = case.margin_after_reserve_db
    margin = DASH if math.isnan(after) else stated(beside(after, 0.0, 1), "dB")
    who = Markup("<b>{}</b> {}").format(user(case.site_id, 24), user(case.name))
    if case.group:
        who += Markup(' <span class="soft">({})</span>').format(user(case.group, 24))
    verdict = "tight" if case.served else Markup("<b>not served</b>")
    if case.doubted:
        verdict = Markup("<b>coordinates to check</b>")
    held = f"{margin} (tried)" if case.tried and margin != DASH else margin
    # What would serve it has a column of its own: of the reason the first sentence is enough.
    why = case.reason.removeprefix(f"{english()['no_fit.doubted']} ")
    reason = f"{why.split('. ')[0].rstrip('.')}." if remedies else case.reason
    row: tuple[Text, ...] = (who, verdict, held, reason)
    return (*row, _told(remedies.get(case.site_id))) if remedies else row


def _told(remedy: Remedy | None) -> str:
    """Return what a change buys."""
    if remedy is None:
        return "not worked out for this site"
    if math.isnan(remedy.buys_db):
        return remedy.change
    gain = f"{remedy.change}: {amount(remedy.buys_db, 'dB', 1)} more"
    found = gain if remedy.served else f"{gain}, not enough alone"
    return "; ".join((found, *besides(remedy)))


def _counts(report: Report) -> list[Block]:
    """Return how many sites are not served for which reason."""
    if not report.reasons:
        return [Words("Every site is served as planned; those below have a tight margin.")]
    each = "; ".join(f"{reason.name}: {reason.sites}" for reason in report.reasons)
    return [Words(f"Not served: {sites(report.sites - report.served)}. {each}.")]


def _rest(report: Report) -> list[Block]:
    """Return where the others stand, where the list holds not all."""
    left = report.sites - report.served + report.tight - len(report.cases)
    if left <= 0:
        return []
    return [Words(f"The worst {len(report.cases)} are listed; {left} more stand in"
                  f" {report.table}, each with its reason.")]  # fmt: skip
