"""The front door: every name that Python code and the command line take from siteplan.

Each of them is also there as ``siteplan.NAME``.

Plan
    ``plan`` plans sites in memory, ``plan_sites`` those that were read, ``plan_project`` a
    folder with all its outputs (an ``Outcome``), ``plan_one`` a place without any file.
Read
    ``read_sites``, ``read_network``, ``read_project``, and ``check_project`` (a ``Checked``) for
    what was understood, rejected, mended or doubted; ``write_notes`` and ``write_ids`` write its
    notes and a copy of the list with ids; ``check_plannable`` raises where nothing can be planned.
More of a project
    ``coverage_project`` (a ``Written``), ``sheets_project``, ``asbuilt_outputs``, and its halves
    ``asbuilt_project`` and ``write_asbuilt``; ``compare_satellites`` (a ``SlotOutcome``).
Two plans
    ``compare_outputs`` tells what lies between the outputs of two plans (``Differences``), change
    by change with its cause, and writes it; ``compare_plans`` only tells.
The network at work
    ``availability_project`` compares a log of outages with the plan,
    ``availability_outputs`` writes it too.
One site's link
    ``budget`` gives the link budget of a site of a plan line by line (a ``Budget``),
    ``budget_project`` that of a site of a folder; ``write_budget`` writes it.
Begin
    ``new_project``, ``map_cache_state``, ``map_editions``, ``add_cloud_maps``.
What comes in
    ``Network``, ``Sites``, ``SiteList``, ``Obstructions``, ``Surroundings``, ``Reject``, ``Note``,
    ``Assumption``.
What comes out
    ``Plan``, ``Facts``, ``Coverage``, ``AsBuilt``, ``OutageStatistics``.
Errors
    ``SiteplanError``, and under it ``ProjectError``, ``SitesError``, ``NetworkError``,
    ``MapsError``, ``OutputError``, ``ClusterError``.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from siteplan.answers.budget import Budget
    from siteplan.answers.differences import Differences
    from siteplan.errors import (
        ClusterError,
        MapsError,
        NetworkError,
        OutputError,
        ProjectError,
        SiteplanError,
        SitesError,
    )
    from siteplan.jobs.asbuilt import asbuilt_outputs, asbuilt_project, write_asbuilt
    from siteplan.jobs.budget import budget, budget_project, write_budget
    from siteplan.jobs.check.ids import write_ids
    from siteplan.jobs.check.project import Checked, check_project, write_notes
    from siteplan.jobs.compare.plans import compare_outputs, compare_plans
    from siteplan.jobs.compare.slots import SlotOutcome, compare_satellites
    from siteplan.jobs.coverage import Written, coverage_project
    from siteplan.jobs.maps import add_cloud_maps, map_cache_state, map_editions
    from siteplan.jobs.opened import check_plannable, read_network, read_project, read_sites
    from siteplan.jobs.operations.availability import availability_outputs, availability_project
    from siteplan.jobs.plan import Outcome, plan, plan_project, plan_sites
    from siteplan.jobs.sheets import sheets_project
    from siteplan.jobs.site import plan_one
    from siteplan.jobs.start import new_project
    from siteplan.model import Assumption, Note, Obstructions, Reject, SiteList, Sites, Surroundings
    from siteplan.network import Network
    from siteplan.results import AsBuilt, Coverage, Facts, OutageStatistics, Plan

__all__ = [
    "AsBuilt",
    "Assumption",
    "Budget",
    "Checked",
    "ClusterError",
    "Coverage",
    "Differences",
    "Facts",
    "MapsError",
    "Network",
    "NetworkError",
    "Note",
    "Obstructions",
    "OutageStatistics",
    "Outcome",
    "OutputError",
    "Plan",
    "ProjectError",
    "Reject",
    "SiteList",
    "SiteplanError",
    "Sites",
    "SitesError",
    "SlotOutcome",
    "Surroundings",
    "Written",
    "add_cloud_maps",
    "asbuilt_outputs",
    "asbuilt_project",
    "availability_outputs",
    "availability_project",
    "budget",
    "budget_project",
    "check_plannable",
    "check_project",
    "compare_outputs",
    "compare_plans",
    "compare_satellites",
    "coverage_project",
    "map_cache_state",
    "map_editions",
    "new_project",
    "plan",
    "plan_one",
    "plan_project",
    "plan_sites",
    "read_network",
    "read_project",
    "read_sites",
    "sheets_project",
    "write_asbuilt",
    "write_budget",
    "write_ids",
    "write_notes",
]

#: Where each name comes from: a room is imported when one of its names is first used.
_ROOMS = {
    "siteplan.answers.budget": "Budget",
    "siteplan.answers.differences": "Differences",
    "siteplan.errors": "ClusterError MapsError NetworkError OutputError ProjectError"
    " SiteplanError SitesError",
    "siteplan.jobs.asbuilt": "asbuilt_outputs asbuilt_project write_asbuilt",
    "siteplan.jobs.budget": "budget budget_project write_budget",
    "siteplan.jobs.compare.plans": "compare_outputs compare_plans",
    "siteplan.jobs.check.project": "Checked check_project write_notes",
    "siteplan.jobs.compare.slots": "SlotOutcome compare_satellites",
    "siteplan.jobs.coverage": "Written coverage_project",
    "siteplan.jobs.check.ids": "write_ids",
    "siteplan.jobs.maps": "add_cloud_maps map_cache_state map_editions",
    "siteplan.jobs.operations.availability": "availability_outputs availability_project",
    "siteplan.jobs.opened": "check_plannable read_network read_project read_sites",
    "siteplan.jobs.plan": "Outcome plan plan_project plan_sites",
    "siteplan.jobs.sheets": "sheets_project",
    "siteplan.jobs.site": "plan_one",
    "siteplan.jobs.start": "new_project",
    "siteplan.model": "Assumption Note Obstructions Reject SiteList Sites Surroundings",
    "siteplan.network": "Network",
    "siteplan.results": "AsBuilt Coverage Facts OutageStatistics Plan",
}
_WHERE = {name: room for room, names in _ROOMS.items() for name in names.split()}


def __getattr__(name: str) -> Any:
    """Import a name when it is first used: a command needs a few rooms, not all of them."""
    if name not in _WHERE:
        raise AttributeError(f"module 'siteplan.api' has no attribute {name!r}")
    found = getattr(importlib.import_module(_WHERE[name]), name)
    globals()[name] = found
    return found
