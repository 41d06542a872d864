"""Title block: what was planned, and the verdict."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from markupsafe import Markup

from siteplan.outputs.report.blocks import (
    Block,
    Facts,
    Section,
    Shown,
    Words,
    dish,
    listed,
    money,
    sites,
)
from siteplan.outputs.report.blocks import user as name
from siteplan.outputs.report.words import MOUNTS
from siteplan.outputs.shown import amount, share_of_time, target_of
from siteplan.reported import Counted, Report
from siteplan.words import of_month, orbital_position


def title(shown: Shown) -> Section:
    """Return the head of the report: of what, when, for what target, and how it ends."""
    report = shown.report
    blocks: list[Block] = [
        Words(Markup("<b>{}</b>").format(_served(report)), "verdict"),
        *_unserved(report),
        *_also(report),
        *(Words(f"Caution: {caution}") for caution in shown.plan.facts.cautions),
        Facts(_kit(shown)),
        Words(_of_what(shown), "small soft"),
    ]
    return Section("", blocks, "title")


def _served(report: Report) -> str:
    """Return the verdict in a sentence."""
    if report.sites == 1:
        return f"The site is {'' if report.served else 'not '}served as planned."
    if report.served == report.sites:
        return f"All {report.sites} sites are served as planned."
    if not report.served:
        return f"None of the {report.sites} sites is served as planned."
    verb = "is" if report.served == 1 else "are"
    return f"{report.served} of {report.sites} sites {verb} served as planned."


def _unserved(report: Report) -> list[Block]:
    """Return who is not served, the worst first."""
    left = report.sites - report.served
    if not left or report.sites == 1:
        return []
    names = listed([name(who) for who in report.unserved], left - len(report.unserved))
    return [Words(Markup("Not served: {}.").format(names))]


def _also(report: Report) -> list[Block]:
    """Return what else a reader must know at once."""
    told = []
    if report.tight:
        few = amount(report.tight_db, "dB")
        told.append(f"{sites(report.tight)} served with less than {few} left after the reserve.")
    if report.in_doubt:
        told.append(f"{sites(report.in_doubt)} with coordinates to check.")
    if report.left_out:
        told.append(report.left_out)
    return [Words(" ".join(told))] if told else []


def _kit(shown: Shown) -> list[tuple[str, str | Markup]]:
    """Return what is planned by size and kind, and what it costs where that is known."""
    report, bill = shown.report, shown.plan.facts.bill
    units = shown.plan.network.network.units
    antennas = ((c.sites, dish(float(c.name), units)) for c in report.antennas)
    bucs = ((c.sites, amount(float(c.name), "W")) for c in report.bucs)
    verdict = shown.plan.facts.verdict
    there = [verdict.stands(part) if verdict else 0 for part in ("antenna", "buc")]
    stand = [f"; {n} of these standing already" if n else "" for n in there]
    found: list[tuple[str, str | Markup]] = [
        ("Antennas", _listed(antennas) + stand[0]),
        ("Transmitters (BUC)", _listed(bucs) + stand[1]),
        ("Mounts", _mounts(report.mounts)),
    ]
    if bill and bill.priced:
        found.append(("Cost, in the unit of the prices given", _cost(bill.total, bill.partial)))
    return found


def _cost(total: float, partial: float) -> str:
    if not np.isnan(total):
        return money(total)
    return "not known" if np.isnan(partial) else f"{money(partial)} and what has no price"


def _listed(counts: Iterable[tuple[int, str]]) -> str:
    """Return how many of each size."""
    return ", ".join(f"{sites} × {size}" for sites, size in counts) or "none: no site gets kit"


def _mounts(counts: tuple[Counted, ...]) -> str:
    """Return how many of each kind, and how many are to be surveyed."""
    open_ = sum(c.open for c in counts)
    each = ", ".join(f"{c.sites} × {MOUNTS.get(c.name, c.name)}" for c in counts)
    surveyed = f"; {open_} of them to be surveyed" if open_ else ""
    return each + surveyed if each else "none: no site gets kit"


def _of_what(shown: Shown) -> Markup:
    """Return what the plan is of: satellite, target, reserve, date, list."""
    network, facts = shown.plan.network, shown.plan.facts
    position = orbital_position(network.satellite.longitude_deg)
    satellite = network.satellite.name or "satellite"
    told = [
        Markup("Satellite: {} at {}.").format(name(satellite), position),
        f"Target: {target_of(shown.plan)}{_of_what_time(shown)}, in both directions.",
        f"Reserve: {amount(network.rules.reserve_db, 'dB')} beyond the target.",
        f"Date of the plan: {facts.date}.",
    ]
    if facts.rows_read is not None:
        lost = f", {facts.rejected} could not be used" if facts.rejected else ""
        source = Markup("{}: ").format(name(facts.source)) if facts.source else Markup()
        told.append(
            Markup("List of sites: {}{} rows read{}.").format(source, facts.rows_read, lost)
        )
    return Markup(" ").join(told)


def _of_what_time(shown: Shown) -> str:
    """Return what the target is a share of; of a worst month with the average year that it asks."""
    of = of_month(shown.plan.network.network.availability_basis)
    years = shown.plan.columns.get("annual_target_pct")
    if not of or years is None or np.isnan(years).all():
        return of or " of an average year"
    low, high = (round(float(pct(years)), 4) for pct in (np.nanmin, np.nanmax))
    return f"{of} ({share_of_time(low, high)} of an average year)"
