"""Link budgets of sites of a plan: place, kit and target are taken from the plan's results."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from siteplan.answers.budget import Budget, BudgetWay
from siteplan.arrays import IntArray
from siteplan.messages import english
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.as_planned import Fields, planned_sites
from siteplan.planning.beams.settings import by_pass, settings
from siteplan.planning.kit.catalogue import candidates, installed, nearest
from siteplan.planning.link import outage, ways
from siteplan.planning.link.lines.budget import Judged, budget_ways
from siteplan.planning.link.lines.parts import Remote
from siteplan.planning.plan import Seen, see
from siteplan.planning.setting import Setting
from siteplan.results import Plan


def site_budgets(plan: Plan, index: IntArray) -> list[Budget]:
    """Return the link budgets of the sites at ``index`` (k,), with the pairs of their margins.

    Raises
    ------
    NetworkError
        As `siteplan.planning.setting.setting`.
    MapsError
        If the cloud maps of the user's own cannot be used.
    """
    columns = {name: values[index] for name, values in plan.columns.items()}
    sites = planned_sites(columns)
    found: dict[int, Budget] = {}
    for shared, rows in by_pass(settings(plan.network), sites.beam):
        some = {name: values[rows] for name, values in columns.items()}
        told = _pass_budgets(plan, sites.take(rows), some, shared)
        found |= zip(rows.tolist(), told, strict=True)
    return [found[k] for k in range(len(sites))]


def _pass_budgets(plan: Plan, sites: Sites, columns: Fields, shared: Setting) -> list[Budget]:
    """Return the budgets of sites whose beams share a setting."""
    seen = see(sites, shared)
    judged = _judged(sites, seen, shared)
    paths = shared.hub_sky.paths
    below_deg = -seen.at.angles.geometric_elevation_deg
    found = []
    for k in range(len(sites)):
        site = {name: values[k] for name, values in columns.items()}
        if seen.at.seen[k] and seen.reached[k]:
            remote, own = _remote(site, judged, k), frozenset(_own(site, shared.network))
            lines = budget_ways(judged.take(k), remote=remote, own=own, paths=paths)
            found.append(_budget(plan, site, lines))
        else:
            told = english().one("budget.note.below_horizon", depression_deg=float(below_deg[k]))
            if seen.at.seen[k]:
                told = english().one("budget.note.outside_beam")
            found.append(_budget(plan, site, (), (told,)))
    return found


def _judged(sites: Sites, seen: Seen, shared: Setting) -> Judged:
    """Return both directions of sites with their pairs, and how their outage is split."""
    link, p_pct = seen.link, seen.p_pct
    tries = candidates(shared.kinds, installed(sites))
    dish, buc_dbw = tries.dishes[0], tries.dbw[0]
    out, back = ways.outbound(link, dish), ways.inbound(link, dish, buc_dbw)
    margins = outage.margin_db(out, p_pct), outage.margin_db(back, p_pct)
    limits = np.round(margins[1], 6) < np.round(margins[0], 6)
    split = outage.shares((out, back), margins, p_pct, inbound_limits=limits)
    return Judged((out, back), split, margins, np.broadcast_to(buc_dbw, len(link)))


def _budget(
    plan: Plan, site: Fields, found: tuple[BudgetWay, ...], notes: tuple[str, ...] = ()
) -> Budget:
    """Return the budget of a site from its lines, or without any."""
    return Budget(
        site_id=str(site["site_id"]),
        name=str(site["name"]),
        network=plan.facts.name,
        date=plan.facts.date,
        availability_target_pct=float(site["availability_target_pct"]),
        availability_basis=plan.network.network.availability_basis,
        antenna_m=float(site["tried_antenna_m"]),
        buc_w=float(site["tried_buc_w"]),
        tried=bool(np.isnan(site["antenna_m"]) or np.isnan(site["buc_w"])),
        margin_db=float(site["margin_db"]),
        ways=found,
        notes=notes,
    )


def _remote(site: Fields, judged: Judged, k: int) -> Remote:
    """Return the kit of a site's budget, and the entries of the lists whose figures it has."""
    out = judged.ways[0]
    antenna, buc = _entries(site, out.link.network)
    efficiency = np.broadcast_to(out.dish.efficiency, len(out.link))
    return Remote(
        dish_m=float(site["tried_antenna_m"]),
        efficiency=float(efficiency[k]),
        buc_w=float(site["tried_buc_w"]),
        buc_dbw=float(judged.buc_dbw[k]),
        antenna=antenna,
        buc=buc,
        own_antenna=not np.isnan(site["fixed_antenna_m"]),
        own_buc=not np.isnan(site["fixed_buc_w"]),
    )


def _entries(site: Fields, network: Network) -> tuple[str, str]:
    """Return the antenna and the BUC of the network nearest in size, such as ``antennas.1``."""
    sizes = np.array([a.diameter_m for a in network.antennas])
    powers = np.array([b.rated_w for b in network.bucs])
    antenna = int(nearest(sizes, np.array([site["tried_antenna_m"]]))[0])
    buc = int(nearest(powers, np.array([site["tried_buc_w"]]))[0])
    return f"antennas.{antenna + 1}", f"bucs.{buc + 1}"


def _own(site: Fields, network: Network) -> Iterator[str]:
    """Yield the keys of the catalogue whose place figures of the site's own kit take."""
    antenna, buc = _entries(site, network)
    if not np.isnan(site["fixed_antenna_m"]):
        yield f"{antenna}.diameter_m"
        if not np.isnan(site["fixed_efficiency"]):
            yield from (f"{antenna}.efficiency", f"{antenna}.gain_dbi")
    if not np.isnan(site["fixed_buc_w"]):
        yield f"{buc}.rated_w"
        if not np.isnan(site["fixed_buc_backoff_db"]):
            yield f"{buc}.backoff_db"
