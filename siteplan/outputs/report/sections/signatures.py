"""Room for signatures."""

from __future__ import annotations

from siteplan.outputs.report.blocks import Lines, Section, Shown


def signatures(shown: Shown) -> Section:
    """Return lines for those who planned, checked and released the plan."""
    del shown
    return Section("Signatures", [Lines(("Planned by", "Checked by", "Released by"))], "whole")
