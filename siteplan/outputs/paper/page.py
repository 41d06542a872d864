"""A page to print, from a template: the same head and style for sheets, index, acceptance list.

Texts of users reach a page through templates only, which escape them; a template's values that
are ``Markup`` are ours.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from markupsafe import Markup

from siteplan.outputs.assets import asset
from siteplan.outputs.policy import PLACE, under_policy

#: Stands in the page's template where the body goes; no text of users comes near it.
_BODY = "<!-- body -->"


def on_page(title: str, template: str, found: Mapping[str, Any], *, style: str = "") -> str:
    """Return a whole page from a template.

    Parameters
    ----------
    title : str
        Title of the page.
    template : str
        Name of the template: its path under ``siteplan/outputs``.
    found : mapping
        What the template shows.
    style : str
        Rules of this page alone, behind those that all pages share.
    """
    return head(title, style) + rendered(template, found) + tail()


def rendered(template: str, found: Mapping[str, Any]) -> str:
    """Return a template filled in, without a page around it."""
    text: str = _environment().get_template(template).render(found)
    return text


def head(title: str, style: str = "") -> str:
    """Return what stands before a page's body, for pages that are written piece by piece."""
    return _page(title, style).partition(_BODY)[0]


def tail() -> str:
    """Return what stands behind a page's body."""
    return _page("").partition(_BODY)[2]


def _page(title: str, style: str = "") -> str:
    rules = Markup(asset("paper/page.css") + style)
    found = {"title": title, "style": rules, "body": Markup(_BODY), "policy": PLACE}
    return under_policy(rendered("paper/page.html", found))


@cache
def _environment() -> Any:
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    return Environment(
        autoescape=True,
        undefined=StrictUndefined,
        loader=FunctionLoader(asset),
        trim_blocks=True,
        lstrip_blocks=True,
    )
