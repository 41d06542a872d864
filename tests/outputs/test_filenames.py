"""File names: safe on every system, one each, and the same whatever else is in the list."""

from __future__ import annotations

import re

from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.outputs.filenames import LONGEST, safe_names

#: Device names that Windows keeps (Microsoft, "Naming Files, Paths, and Namespaces").
DEVICES = {"con", "prn", "aux", "nul", *(f"{d}{k}" for d in ("com", "lpt") for k in range(1, 10))}
NASTY = [
    *("..", "../../etc/passwd", "CON", "aux.1", ".hidden", "a/b", "a\\b", "A", "a", "", "x" * 300),
    *("مثال", "name with space", "index", "q?*:<>|", "tab\there", "é", "e\u0301", "\ud800"),
]


def check(texts: list[str]) -> None:
    names = safe_names(texts)
    assert len({name.casefold() for name in names}) == len(texts)
    for name in names:
        assert re.fullmatch(r"[A-Za-z0-9_][A-Za-z0-9._-]*", name), name
        assert len(name) <= LONGEST + 10
        assert name.casefold().split(".")[0] not in DEVICES
        assert name.casefold() != "index"
        assert not name.endswith(".")


def test_nasty_names_are_safe_and_apart() -> None:
    check(NASTY)


def test_plain_names_stay() -> None:
    assert safe_names(["RC001", "FS-01", "a.b_c"]) == ["RC001", "FS-01", "a.b_c"]


def test_a_name_does_not_depend_on_the_selection() -> None:
    everything = dict(zip(NASTY, safe_names(NASTY), strict=True))
    for text in set(NASTY) - {"A", "a"}:
        assert safe_names([text]) == [everything[text]]


@settings(deadline=None, max_examples=60)
@given(st.lists(st.text(max_size=100), unique=True, max_size=20))
def test_any_names(texts: list[str]) -> None:
    check(texts)
