"""The dictionary and the code hold one another: flags, columns, fields, methods."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import pytest

import siteplan
from siteplan.fields import COLUMNS, FIELDS, FLAGS, METHODS, Method
from siteplan.inputs import headings, obstructions, returned
from siteplan.inputs.sites.optional import NUMBER_RULES
from siteplan.messages import english
from siteplan.model import Sites
from siteplan.outputs.lists.returned import HEADINGS

ROOT = Path(siteplan.__file__).parent
#: An edition: P.618-14, EN 302 307-1, EN 1991-1-4, ASCE 7-16.
EDITION = re.compile(r"\bP\.\d+-\d+|\b\d{3} \d{3}-\d|\b1991-1-4|\bASCE 7-\d+")
#: What raises a flag in a step of the plan; reading notes it by a key of the catalogue.
RAISE = {"Raised", "flag"}
NOTE = re.compile(r"note\.(\w+)\.\w+")


def trees(*rooms: str) -> Iterator[ast.Module]:
    for room in rooms:
        for path in (ROOT / room).rglob("*.py"):
            yield ast.parse(path.read_text(encoding="utf-8"))


def raised_by_name() -> set[str]:
    """Return the codes that calls in planning and inputs raise."""
    nodes = [node for tree in trees("planning", "inputs") for node in ast.walk(tree)]
    texts = [str(node.value) for node in nodes if isinstance(node, ast.Constant)]
    return {match[1] for text in texts if (match := NOTE.fullmatch(text))} | {
        call.args[0].value
        for call in nodes
        if isinstance(call, ast.Call)
        and getattr(call.func, "id", getattr(call.func, "attr", "")) in RAISE
        and call.args
        and isinstance(call.args[0], ast.Constant)
    }


def test_every_flag_that_is_raised_is_in_the_dictionary() -> None:
    told = {key.split(".")[1] for key in english() if key.startswith(("flag.", "once."))}
    assert {"blocked", "small_p"} <= told
    assert {"coordinate_doubt", "input_mended"} <= raised_by_name()
    assert (told | raised_by_name()) <= set(FLAGS)


def test_every_flag_of_the_dictionary_is_raised() -> None:
    assert set(FLAGS) == raised_by_name()


def test_reader_and_dictionary_have_the_same_columns_of_sites() -> None:
    assert tuple(headings.SYNONYMS) == tuple(COLUMNS["sites"])
    taken = {*Sites.__dataclass_fields__} - {"source_row", "extra", "notes"}
    assert set(COLUMNS["sites"]) == taken


def test_readers_take_their_ranges_from_the_dictionary() -> None:
    for table, rules in (
        ("sites", NUMBER_RULES),
        ("obstructions", obstructions._RULES),
        ("returned", returned._RULES),
    ):
        numbers = {n for n, c in COLUMNS[table].items() if c.kind == "number"} - {"lat", "lon"}
        assert {rule.key for rule in rules} == numbers
        for rule in rules:
            column = COLUMNS[table][rule.key]
            assert (rule.low, rule.high, rule.unit) == (column.lowest, column.highest, column.unit)
            assert rule.strict == (column.refuses == "row")
            assert rule.severe == (column.refuses in ("row", "unread"))


def test_every_heading_of_the_blank_is_read_back_but_the_name() -> None:
    assert set(HEADINGS) - set(returned.COLUMNS) == {"name"}
    assert HEADINGS[:4] == ("site_id", "name", "lat", "lon")
    assert HEADINGS[-1] == "remarks"


def test_synonyms_of_obstructions_are_of_known_columns() -> None:
    assert set(obstructions._SYNONYMS) <= set(COLUMNS["obstructions"])
    assert tuple(obstructions.COLUMNS) == tuple(COLUMNS["obstructions"])


@pytest.mark.parametrize("method", METHODS.values(), ids=METHODS)
def test_a_module_names_the_editions_of_its_method(method: Method) -> None:
    docstring = import_module(method.module).__doc__ or ""
    for edition in EDITION.findall(method.edition):
        assert edition in docstring, f"{method.module} does not name {edition}"


def test_editions_in_the_docstrings_of_physics_are_in_the_dictionary() -> None:
    known = {e for method in METHODS.values() for e in EDITION.findall(method.edition)}
    assert {"P.618-14", "302 307-1", "1991-1-4", "ASCE 7-16"} <= known
    for tree in trees("physics"):
        docstring = ast.get_docstring(tree) or ""
        assert set(EDITION.findall(docstring)) <= known, docstring.partition("\n")[0]


def test_sources_of_fields_name_no_edition_that_no_method_follows() -> None:
    known = {e for method in METHODS.values() for e in EDITION.findall(method.edition)}
    for field in FIELDS.values():
        assert set(EDITION.findall(field.source)) <= known, field.name
