"""The link budget of one site, line by line: of a plan, or of a project's folder."""

from __future__ import annotations

from siteplan.answers import Budget
from siteplan.jobs.sheets import refuse_unknown
from siteplan.results import Plan


def budget(plan: Plan, site_id: str) -> Budget:
    """Return the link budget of one site of a plan, line by line.

    Parameters
    ----------
    plan : Plan
        As ``plan_sites``, ``plan_one`` and the outcome of ``plan_project`` give it.
    site_id : str
        Which of its sites.

    Returns
    -------
    Budget
        Both directions, both hops, in clear sky and at the target; of the pair that is planned,
        installed, or was tried. Without directions where the satellite is below the horizon.

    Raises
    ------
    ProjectError
        If the plan has no such site; near ids are named.

    Examples
    --------
    >>> plan = plan_one("3 06 S", "60 01 W", satellite="61W")
    >>> found = budget(plan, "S0001")
    >>> [way.direction for way in found.ways], found.ways[1].parts[0].lines[0].label
    (['outbound', 'inbound'], 'BUC, rated power')
    """
    from siteplan.planning.site_budget import site_budget

    ids = [str(name) for name in plan.columns["site_id"]]
    refuse_unknown("site", [site_id], ids, plan.facts.source)
    return site_budget(plan, ids.index(site_id))
