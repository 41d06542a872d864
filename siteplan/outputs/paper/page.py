"""A page to print, from a template: the same head and style for sheets, index, acceptance list.

Texts of users reach a page through templates only, which escape them; a template's values that
are ``Markup`` are ours.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from markupsafe import Markup

from siteplan.outputs.assets import asset
from siteplan.outputs.escaping import for_html
from siteplan.outputs.policy import PLACE, under_policy

#: Stands in the page's template where the body goes; no text of users comes near it.
_BODY = "<!-- body -->"
#: Stands for the title in the page that all titles share.
_TITLE = "<!-- title -->"
#: What letter paper, 279.4 mm high, changes in the style.
_LETTER = (
    ("size: A4;", "size: letter;"),
    ("min-height: 277mm", "min-height: 259mm"),
    (
        "densest { font-size: 6.9pt; line-height: 1.13; }",
        "densest { font-size: 6.6pt; line-height: 1.12; }",
    ),
)


def on_page(
    title: str, template: str, found: Mapping[str, Any], *, style: str = "", letter: bool = False
) -> str:
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
    letter : bool
        Letter paper instead of A4.
    """
    return head(title, style, letter=letter) + rendered(template, found) + tail()


def rendered(template: str, found: Mapping[str, Any]) -> str:
    """Return a template filled in, without a page around it."""
    text: str = _environment().get_template(template).render(found)
    return text


def head(title: str, style: str = "", *, letter: bool = False) -> str:
    """Return what stands before a page's body, for pages that are written piece by piece.

    ``style`` are rules of this page alone; ``letter`` takes letter paper instead of A4.
    """
    before, after = _around(style, letter)[0].split(_TITLE)
    return before + for_html(title) + after


def tail() -> str:
    """Return what stands behind a page's body."""
    return _around("", False)[1]


@cache
def _around(own: str, letter: bool) -> tuple[str, str]:
    """Return what stands before and behind a body, once for all pages: they differ in the title."""
    style = asset("paper/page.css") + own
    for a4, other in _LETTER if letter else ():
        style = style.replace(a4, other)
    found = {
        "title": Markup(_TITLE),
        "style": Markup(style),
        "body": Markup(_BODY),
        "policy": PLACE,
    }
    before, _, after = under_policy(rendered("paper/page.html", found)).partition(_BODY)
    return before, after


def keep_compiled(cache: Path) -> None:
    """Keep templates compiled in a folder of ``cache`` from now on, and take those kept there."""
    from siteplan.outputs.paper.compiled import Kept

    _environment().bytecode_cache = Kept(cache, repr(_OPTIONS))


#: What templates are compiled with.
_OPTIONS: Mapping[str, Any] = {"autoescape": True, "trim_blocks": True, "lstrip_blocks": True}


@cache
def _environment() -> Any:
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    return Environment(undefined=StrictUndefined, loader=FunctionLoader(asset), **_OPTIONS)
