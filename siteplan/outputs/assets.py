"""Files that outputs are made from, beside the code that uses them."""

from __future__ import annotations

from functools import cache
from importlib import resources


@cache
def asset(name: str) -> str:
    """Return the text of one file under ``siteplan/outputs``, such as ``map/shell.html``."""
    return resources.files("siteplan.outputs").joinpath(*name.split("/")).read_text("utf-8")
