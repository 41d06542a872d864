"""The map picture and its legend."""

from __future__ import annotations

from markupsafe import Markup

from siteplan.outputs.report import marks
from siteplan.outputs.report.blocks import Figures, Section, Shown
from siteplan.outputs.report.picture import picture
from siteplan.outputs.svg import drawing


def pictured(shown: Shown) -> Section:
    """Return the map picture, and under it what the marks mean with their counts."""
    found = picture(shown.report, shown.plan.network)
    caption = _legend(shown) + Markup(" ").join(found.notes)
    return Section("Where the sites are", [Figures([(Markup(found.svg), caption)], "map")])


def _legend(shown: Shown) -> Markup:
    """Return mark, meaning and count of each class that has sites."""
    report = shown.report
    styles = marks.styles(len(report.classes))
    told = Markup()
    for k, (each, style) in enumerate(zip(report.classes, styles, strict=True)):
        if each.sites:
            sample = Markup(drawing(16, 16, each.name, [marks.mark((8, 8), k, style)]))
            words = each.name if k == 0 else f"margin at the target {each.name}"
            told += Markup('<span class="key">{} {}: <b>{}</b></span> ').format(
                sample, words, each.sites
            )
    return told
