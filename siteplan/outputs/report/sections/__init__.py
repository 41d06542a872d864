"""The sections of the report, in their order: each is one function, and this list is the order.

A section that has nothing to say returns None.
"""

from __future__ import annotations

from collections.abc import Callable

from siteplan.outputs.report.blocks import Section, Shown
from siteplan.outputs.report.sections.assumed import assumed
from siteplan.outputs.report.sections.bill import bill
from siteplan.outputs.report.sections.capacity import capacity
from siteplan.outputs.report.sections.cautions import cautions
from siteplan.outputs.report.sections.certainty import certainty
from siteplan.outputs.report.sections.hub import hub
from siteplan.outputs.report.sections.kinds import kinds
from siteplan.outputs.report.sections.methods import methods
from siteplan.outputs.report.sections.pictured import pictured
from siteplan.outputs.report.sections.risks import risks
from siteplan.outputs.report.sections.served import served
from siteplan.outputs.report.sections.signatures import signatures
from siteplan.outputs.report.sections.spending.cost import cost
from siteplan.outputs.report.sections.spending.rollout import rollout
from siteplan.outputs.report.sections.spread import spread
from siteplan.outputs.report.sections.takes import takes
from siteplan.outputs.report.sections.title import title

SECTIONS: tuple[Callable[[Shown], Section | None], ...] = (
    title,
    pictured,
    served,
    bill,
    spread,
    kinds,
    hub,
    capacity,
    cost,
    rollout,
    takes,
    certainty,
    risks,
    assumed,
    methods,
    cautions,
    signatures,
)
