"""The link budget of one site of a plan: its place, kit and split taken from the plan's results."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.answers import Budget, BudgetWay
from siteplan.arrays import FloatArray
from siteplan.messages import english
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.kit import pick
from siteplan.planning.kit.catalogue import installed, nearest
from siteplan.planning.link import outage
from siteplan.planning.link.lines.budget import budget_ways
from siteplan.planning.link.lines.parts import Remote
from siteplan.planning.plan import see
from siteplan.planning.setting import setting
from siteplan.results import Plan


def site_budget(plan: Plan, index: int) -> Budget:
    """Return the link budget of the site at ``index``, with the pair that its margins hold for.

    Raises
    ------
    NetworkError
        As `siteplan.planning.setting.setting`.
    MapsError
        If the cloud maps of the user's own cannot be used.
    """
    shared = setting(plan.network)
    site = _site(plan, index)
    seen = see(site, shared)
    if not seen.at.seen[0]:
        below = -float(seen.at.angles.geometric_elevation_deg[0])
        words = english().one("budget.note.below_horizon", depression_deg=below)
        return _budget(plan, index, (), (words,))
    sizing = pick.size(seen.link, shared.kinds, installed(site), seen.p_pct, np.ones(1, dtype=bool))
    margins = sizing.outbound_margin_db, sizing.inbound_margin_db
    split = outage.shares(sizing.ways, margins, seen.p_pct, inbound_limits=sizing.inbound_limits)
    ways = budget_ways(
        sizing.ways,
        split,
        (float(margins[0][0]), float(margins[1][0])),
        remote=_remote(plan, index, sizing),
        own=frozenset(_own(plan, index)),
        clouds=shared.clouds,
    )
    return _budget(plan, index, ways, ())


def _budget(plan: Plan, index: int, ways: tuple[BudgetWay, ...], notes: tuple[str, ...]) -> Budget:
    c = plan.columns
    tried = bool(np.isnan(c["antenna_m"][index]) or np.isnan(c["buc_w"][index]))
    return Budget(
        site_id=str(c["site_id"][index]),
        name=str(c["name"][index]),
        network=plan.facts.name,
        date=plan.facts.date,
        availability_target_pct=float(c["availability_target_pct"][index]),
        antenna_m=float(c["tried_antenna_m"][index]),
        buc_w=float(c["tried_buc_w"][index]),
        tried=tried,
        margin_db=float(c["margin_db"][index]),
        ways=ways,
        notes=notes,
    )


def _site(plan: Plan, index: int) -> Sites:
    """Return one site of a plan as it was planned, the pair of its margins as if installed."""
    c = {name: values[[index]] for name, values in plan.columns.items()}
    return Sites.at(
        c["lat"],
        c["lon"],
        site_id=c["site_id"],
        altitude_m=c["altitude_m"],
        availability_pct=c["availability_target_pct"],
        fixed_antenna_m=c["tried_antenna_m"],
        fixed_buc_w=c["tried_buc_w"],
        fixed_efficiency=_where_own(c, "fixed_antenna_m", "fixed_efficiency"),
        fixed_buc_backoff_db=_where_own(c, "fixed_buc_w", "fixed_buc_backoff_db"),
    )


def _where_own(c: Mapping[str, NDArray[Any]], stands: str, figure: str) -> FloatArray:
    """Return a figure of installed kit, where such kit stands."""
    return np.where(np.isnan(c[stands]), np.nan, c[figure])


def _remote(plan: Plan, index: int, sizing: pick.Sizing) -> Remote:
    """Return the kit of a budget, and the entries of the lists whose figures it has."""
    kit, network = sizing.kit, plan.network
    antenna, buc = _entries(network, float(kit.dish_m[0]), float(kit.tried_w[0]))
    return Remote(
        dish_m=float(kit.dish_m[0]),
        efficiency=float(kit.efficiency[0]),
        buc_w=float(kit.tried_w[0]),
        buc_dbw=float(kit.buc_dbw[0]),
        antenna=antenna,
        buc=buc,
        own_antenna=not np.isnan(plan.columns["fixed_antenna_m"][index]),
        own_buc=not np.isnan(plan.columns["fixed_buc_w"][index]),
    )


def _entries(network: Network, dish_m: float, buc_w: float) -> tuple[str, str]:
    """Return the antenna and the BUC of the network nearest in size, such as ``antennas.1``."""
    sizes = np.array([a.diameter_m for a in network.antennas])
    powers = np.array([b.rated_w for b in network.bucs])
    k = int(nearest(sizes, np.array([dish_m]))[0]), int(nearest(powers, np.array([buc_w]))[0])
    return f"antennas.{k[0] + 1}", f"bucs.{k[1] + 1}"


def _own(plan: Plan, index: int) -> Iterator[str]:
    """Yield the keys of the catalogue whose place figures of the site's own kit take."""
    c = {name: values[index] for name, values in plan.columns.items()}
    antenna, buc = _entries(plan.network, float(c["tried_antenna_m"]), float(c["tried_buc_w"]))
    if not np.isnan(c["fixed_antenna_m"]):
        yield f"{antenna}.diameter_m"
        if not np.isnan(c["fixed_efficiency"]):
            yield from (f"{antenna}.efficiency", f"{antenna}.gain_dbi")
    if not np.isnan(c["fixed_buc_w"]):
        yield f"{buc}.rated_w"
        if not np.isnan(c["fixed_buc_backoff_db"]):
            yield f"{buc}.backoff_db"
