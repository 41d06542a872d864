"""The mutation run's changes: each kind is made where it says, and only there."""

from __future__ import annotations

import ast
import random
from pathlib import Path

import pytest

from tests.mutation.changes import drawn, kinds, python, tables
from tests.mutation.changes.change import Change, Place

ROOT = Path(__file__).parent.parent.parent
MODULE = b'''"""A docstring: up and down."""

from __future__ import annotations

import math

__all__ = ["uplink", "first"]
SIDES = ("east", "west")


def uplink(high_deg: float = 3, low_deg: float = 0.5, *, both: bool = True) -> float:
    """Return nothing that is up."""
    rows = [high_deg, low_deg]
    if high_deg < low_deg and not both:
        rows.append(min(high_deg, low_deg))
    total = high_deg - low_deg * -rows[0]
    print("turn left here", math.sin(total), key="east", other="west")
    math.atan2(total, low_deg, strict=True)
    return total


def downlink(values: list[float]) -> str:
    if values[-1] in SIDES[1:]:
        raise ValueError(f"{uplink(values[0]):.1f} to the east")
    return f"{values[0]} is first"
'''
#: Kind, the text that goes, the text that comes, and the line.
EXPECTED = [
    ("comparison", "<", "<=", 14),
    ("comparison", "in", "not in", 23),
    ("arithmetic", "-", "+", 16),
    ("number", "0.5", "0.55", 11),
    ("number", "1", "2", 24),
    ("index", "0", "1", 16),
    ("index", "-1", "0", 23),
    ("index", "1", "0", 23),
    ("boolean", "True", "False", 11),
    ("boolean", "and", "or", 14),
    ("boolean", "not", "", 14),
    ("condition", "high_deg < low_deg and not both", "not (high_deg < low_deg and not both)", 14),
    ("condition", "high_deg < low_deg and not both", "high_deg < low_deg", 14),
    ("string", "left", "", 17),
    ("string", "east", "west", 17),
    ("argument order", "total, low_deg", "low_deg, total", 18),
    ("argument order", "high_deg - low_deg * -rows[0]", "low_deg * -rows[0] - high_deg", 16),
    ("keyword values", '"east", other="west"', '"west", other="east"', 17),
    ("paired function", "min", "max", 15),
    ("paired function", "sin", "cos", 17),
    ("another name", "high_deg", "low_deg", 15),
    ("another name", "total", "rows", 19),
    ("sibling", "uplink", "downlink", 24),
    ("sibling", "east", "west", 8),
    ("sibling", " to the east", " to the west", 24),
    ("dropped", "rows.append(min(high_deg, low_deg))", "pass", 15),
    ("dropped", ', other="west"', "", 17),
    ("dropped", "math.sin(total)", "total", 17),
    ("dropped", ', "west"', "", 8),
    ("minus", "-", "", 16),
]  # fmt: skip


@pytest.fixture(scope="module")
def places() -> list[Place]:
    return python.places(MODULE, python.attribute_names([MODULE]))


def made(place: Place, option: int = 0) -> bytes:
    return Change.at("module.py", place, option).made(MODULE)


@pytest.mark.parametrize(("kind", "before", "after", "line"), EXPECTED)
def test_a_change_of_each_kind(
    places: list[Place], kind: str, before: str, after: str, line: int
) -> None:
    found = [
        Change.at("module.py", place, place.options.index(after.encode()))
        for place in places
        if place.kind == kind
        and MODULE[place.start : place.end] == before.encode()
        and after.encode() in place.options
    ]
    (change,) = [change for change in found if change.line(MODULE) == line]
    source = change.made(MODULE)
    assert source == MODULE[: change.start] + after.encode() + MODULE[change.end :]
    old, new = MODULE.splitlines(), source.splitlines()
    assert [k for k, pair in enumerate(zip(old, new, strict=True), 1) if len({*pair}) > 1] == [line]
    assert change.lines[0] <= line <= change.lines[1]


def test_every_kind_is_tried() -> None:
    assert {kind for kind, *_ in EXPECTED} == set(kinds.KINDS)


def test_what_is_left_alone(places: list[Place]) -> None:
    untouched = (1, 3, 5, 7, 12)  # docstrings, imports, __all__
    lines = {MODULE.count(b"\n", 0, place.start) + 1 for place in places}
    assert not lines & set(untouched)
    changed = {(place.start, place.end) for place in places}
    for annotation in (
        b", strict=True",
        b"high_deg: float",
        b"-> float",
        b"list[float]",
        b"-> str",
    ):
        start = MODULE.index(annotation)
        assert not [a for a, b in changed if start <= a and b <= start + len(annotation)]


def test_the_order_of_what_asks_for_none_is_left_alone(places: list[Place]) -> None:
    start = MODULE.index(b"high_deg, low_deg))")
    assert not [p for p in places if p.kind == "argument order" and p.start == start]


def test_every_change_parses_and_tells() -> None:
    before = ast.dump(ast.parse(MODULE))
    source = drawn.python_source(MODULE, frozenset())
    changes = drawn.draw("module.py", source, 40, random.Random(3))
    assert len(changes) > 25
    for change in changes:
        assert ast.dump(ast.parse(change.made(MODULE))) != before
    assert len({change.kind for change in changes}) > 8


def test_import_time_and_run_time(places: list[Place]) -> None:
    at_import = {MODULE.count(b"\n", 0, p.start) + 1 for p in places if p.at_import}
    assert at_import == {8, 11}


def test_code_lines_hold_no_docstrings() -> None:
    assert python.code_lines(MODULE) == 16


def test_each_file_gets_its_share() -> None:
    lines = {f"{k}.py": n for k, n in enumerate((100, 3, 50, 7, 240, 100))}
    for seed in range(20):
        given = drawn.quotas(lines, 50, random.Random(seed))
        assert sum(given.values()) == 50
        assert all(abs(given[path] - n / 10) < 1 for path, n in lines.items())


def test_the_same_seed_draws_the_same() -> None:
    source = drawn.python_source(MODULE, frozenset())
    one, two, other = (drawn.draw("a.py", source, 8, random.Random(s)) for s in (1, 1, 2))
    assert one == two != other


TABLE = b"""key,unit,sentence
far,deg,"Turn {turn_deg:.1f} deg to the left, {far_m:.0f} m on."
near,m,"Lift, 12.5 m up"
"""


def test_cells_of_a_table() -> None:
    changes = {
        (place.kind, Change.at("t.csv", place, k).made(TABLE))
        for place in tables.table_places(TABLE)
        for k in range(len(place.options))
    }
    assert ("table number", TABLE.replace(b"12.5", b"13.75")) in changes
    assert ("table sibling", TABLE.replace(b"the left", b"the right")) in changes
    assert ("table gap", TABLE.replace(b"{turn_deg", b"{far_m")) in changes
    assert ("table word", TABLE.replace(b"near,m", b"near,deg")) in changes
    for _, source in changes:
        assert source.startswith(b"key,unit,sentence\nfar,")
        assert source.splitlines()[2].startswith(b"near,")


TEMPLATE = b"<p id='up'>{{ s.lat }} up{% if s.lon %} {{ s.lon }}{% endif %} {{ a }}{{ b }}</p>\n"


def test_names_of_a_template() -> None:
    changes = {
        (place.kind, Change.at("t.html", place, k).made(TEMPLATE))
        for place in tables.template_places(TEMPLATE)
        for k in range(len(place.options))
    }
    assert changes == {
        ("template name", TEMPLATE.replace(b"s.lat", b"s.lon")),
        ("template name", TEMPLATE.replace(b"if s.lon", b"if s.lat")),
        ("template name", TEMPLATE.replace(b"{{ s.lon", b"{{ s.lat")),
        ("template name", TEMPLATE.replace(b"{{ a }}", b"{{ b }}")),
        ("template name", TEMPLATE.replace(b"{{ b }}", b"{{ a }}")),
        ("template word", TEMPLATE.replace(b"}} up", b"}} down")),
    }


def test_the_package_can_be_changed_throughout() -> None:
    sources = drawn.read_sources(ROOT, "siteplan/physics/radio")
    paths = {Path(path).suffix for path in sources}
    assert paths == {".py", ".csv"}
    for path, source in sources.items():
        for change in drawn.draw(path, source, 3, random.Random(5)):
            assert source.valid(change.made(source.contents)), change
