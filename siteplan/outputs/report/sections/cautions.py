"""What the figures are not, and the trade's usual cautions."""

from __future__ import annotations

from siteplan.outputs.report.blocks import Listed, Section, Shown, Text
from siteplan.words import CAVEAT

#: Common practice, no source.
ALWAYS = (
    "Margins and availabilities are predictions for an average year: single years differ, and so"
    " do single sites.",
    f"Every figure of wind, ballast, load and exposure is {CAVEAT}. It approves no roof, wall or"
    " ground.",
    "This report is no licence and no leave to transmit: the licence and the operator's access"
    " test decide.",
    "Work on dishes can hurt: radio waves, height, power lines, lightning, lifting, wind, roofs."
    " Local codes, the maker's data and licensed practice come first; the crew's sheets repeat it.",
)


def cautions(shown: Shown) -> Section:
    """Return the usual cautions, and what the plan does not do: where it is signed."""
    limits = [limit for limit in shown.report.limits if CAVEAT not in limit]
    items: list[Text] = [*ALWAYS, *limits]
    return Section("Cautions", [Listed(items, "small")], "whole above")
