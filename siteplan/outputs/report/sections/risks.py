"""Risks, the worst first, with what to do, and room for who does it and by when."""

from __future__ import annotations

from markupsafe import Markup

from siteplan.outputs.report.blocks import Section, Shown, Table, Text, Words, listed, sites, user
from siteplan.outputs.report.words import SEVERITIES
from siteplan.reported import Risk


def risks(shown: Shown) -> Section:
    """Return the risks as a table with an empty column."""
    heading, found = "Risks, and what to do", shown.report.risks
    if not found:
        return Section(heading, [Words("The plan found none.")])
    heads = ("Level", "Risk", "Sites", "What to do", "Who, and by when")
    rows = [_row(risk) for risk in found]
    words = "Stop: do not go ahead as planned. Decide: settle before going. Know: keep in mind."
    return Section(heading, [Words(words, "small"), Table(heads, rows, css="small risks")])


def _row(risk: Risk) -> tuple[Text, ...]:
    """Return one risk."""
    word = SEVERITIES[risk.severity]
    severity = Markup("<b>{}</b>").format(word) if risk.severity == "stop" else word
    return severity, risk.what, _where(risk), risk.todo, ""


def _where(risk: Risk) -> Text:
    """Return how many sites, and the first of them by name."""
    if not risk.sites:
        return "whole network"
    if not risk.examples:
        return str(risk.sites)
    more = risk.sites - len(risk.examples)
    names = listed([user(who) for who in risk.examples], more)
    return Markup("<b>{}</b>: {}").format(sites(risk.sites), names)
