"""The methods that were followed, with their editions."""

from __future__ import annotations

from markupsafe import Markup

from siteplan.outputs.report.blocks import Listed, Section, Shown, Text


def methods(shown: Shown) -> Section:
    """Return each method with its edition."""
    items: list[Text] = [
        Markup("<b>{}</b>: {}").format(key[:1].upper() + key[1:], edition)
        for key, edition in shown.report.methods.items()
    ]
    return Section("Methods", [Listed(items, "two small")])
