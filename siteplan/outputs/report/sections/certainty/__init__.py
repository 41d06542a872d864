"""How sure the plan is: grades, bad years and the worst month, a block of the section a file."""

from __future__ import annotations

from siteplan.outputs.report.blocks import Section, Shown
from siteplan.outputs.report.sections.certainty.steps import steps
from siteplan.outputs.report.sections.certainty.years import years


def certainty(shown: Shown) -> Section | None:
    """Return how sure the plan is; nothing where that was not worked out."""
    of = shown.report.sure
    return None if of is None else Section("How sure", [*years(of), *steps(shown.plan)])
