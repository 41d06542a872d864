"""The rules of the outputs: texts, times and escaping in one place each; rooms know few others."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from siteplan import outputs

ROOT = Path(outputs.__file__).parent
FILES = {str(path.relative_to(ROOT).as_posix()): path for path in ROOT.rglob("*.py")}

#: Files that may turn numbers and moments into text, and why.
MAKERS = {
    "shown.py": "the place for values",
    "times.py": "the place for moments",
    "units.py": "what stands in brackets behind a value",
    "svg.py": "coordinates of drawings are no values that a person reads",
}
#: Single expressions elsewhere that look like such text, and why they are none.
REASONS = {
    ("map/classing.py", ".6g"): "rounds a bound of a class to six digits; it becomes a number",
    ("console/site.py", "<{}"): "pads a label",
    ("console/coverage.py", ","): "a count of points",
}
#: Units as they stand right behind a value.
UNIT = re.compile(
    r"°| ?(?:%|dB\w*|deg|degrees|m|km|mm|W|kg|N|Nm|Pa|A|V|K|GHz|MHz|min|UTC|(?:m|mm|W)/\w+)"
    r"(?![\w/])"
)
#: Calls that make a text of a moment, or move one to a zone.
TIME_CALLS = {"isoformat", "strftime", "astimezone", "ZoneInfo", "utcoffset"}

#: What each room may import of the others; the modules beside the rooms are everybody's.
NEIGHBOURS = {
    "asbuilt": {"map", "paper", "tables"},  # writes a list, a table and a map
    "budget": {"paper"},
    "capacity": {"paper"},
    "compare": {"paper", "report", "sheets"},  # blocks of the report, parts of a sheet
    "console": {"differences"},  # says what changed as its page does
    "coverage": set(),
    "differences": {"paper"},
    "folder": set(),
    "inputs": {"tables"},  # joins the sites of parts as tables are joined
    "lists": set(),
    "map": {"coverage"},  # draws its contours behind the sites
    "operations": {"paper", "tables"},  # a page to print, and the rejects
    "paper": set(),
    "regulation": {"tables"},  # its figures are those of the plan's own table
    "report": {"map", "paper"},  # marks sites as the map does
    "rollout": set(),
    "sheets": {"paper"},
    "tables": set(),
    "workbook": set(),
}


def spec_of(value: ast.FormattedValue) -> str:
    """Return a replacement field's format as text; nested fields as ``{}``."""
    if value.format_spec is None:
        return ""
    assert isinstance(value.format_spec, ast.JoinedStr)
    return "".join(
        str(part.value) if isinstance(part, ast.Constant) else "{}"
        for part in value.format_spec.values
    )


def offences(source: str) -> Iterator[tuple[int, str]]:
    """Yield line and text of what turns a number or a moment into text."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.JoinedStr):
            yield from _of_text(node)
        if isinstance(node, ast.Call):
            called = node.func
            name = called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")
            if name in TIME_CALLS or (name == "format" and isinstance(called, ast.Name)):
                yield node.lineno, name
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mod):
            left = node.left
            if isinstance(left, ast.Constant) and isinstance(left.value, str):
                yield node.lineno, "%"


def _of_text(node: ast.JoinedStr) -> Iterator[tuple[int, str]]:
    for value, after in zip(node.values, [*node.values[1:], None], strict=True):
        if not isinstance(value, ast.FormattedValue):
            continue
        if spec := spec_of(value):
            yield node.lineno, spec
        behind = after.value if isinstance(after, ast.Constant) else ""
        if isinstance(behind, str) and (unit := UNIT.match(behind)):
            yield node.lineno, unit[0].strip()


@pytest.mark.parametrize("name", sorted(set(FILES) - set(MAKERS)))
def test_texts_of_values_are_made_in_one_place(name: str) -> None:
    found = set(offences(FILES[name].read_text(encoding="utf-8")))
    left = {(line, text) for line, text in found if (name, text) not in REASONS}
    assert not left, f"{name}: ask shown.py or times.py for a text of a value"


@pytest.mark.parametrize(("name", "text"), sorted(REASONS))
def test_every_reason_is_still_needed(name: str, text: str) -> None:
    assert text in {found for _, found in offences(FILES[name].read_text(encoding="utf-8"))}


@pytest.mark.parametrize(
    ("source", "text"),
    [
        ('f"{x:.1f}"', ".1f"),
        ('f"{x:.{n}f}"', ".{}f"),
        ('f"{x} dB of margin"', "dB"),
        ('f"{x}° true"', "°"),
        ('f"at {x} m."', "m"),
        ('f"{moment:%H:%M}"', "%H:%M"),
        ("moment.isoformat()", "isoformat"),
        ("format(x, '.1f')", "format"),
        ("'%.1f' % x", "%"),
    ],
)
def test_the_rule_sees_what_it_refuses(source: str, text: str) -> None:
    assert text in {found for _, found in offences(source)}


@pytest.mark.parametrize("source", ['f"{x} more sites"', 'f"{n} metals"', 'f"{a}, {b}"', "n % 7"])
def test_the_rule_lets_words_pass(source: str) -> None:
    assert list(offences(source)) == []


@pytest.mark.parametrize("template", sorted(p.name for p in ROOT.rglob("*.html")))
def test_templates_put_no_unit_behind_a_value(template: str) -> None:
    (path,) = ROOT.rglob(template)
    text = path.read_text(encoding="utf-8")
    behind = [text[found.end() :][:12] for found in re.finditer(r"\}\}", text)]
    assert [words for words in behind if UNIT.match(words)] == []
    assert not re.search(r"\|\s*(round|format)\b", text)


def imported(path: Path) -> set[str]:
    """Return the modules that a file imports, late imports too."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return found


def test_escaping_is_in_one_place() -> None:
    makers = {"html", "xml.sax.saxutils", "urllib.parse"}
    found = {name for name, path in FILES.items() if imported(path) & makers}
    assert found == {"escaping.py"}


#: Files that may use the csv module's writer beside ``escaping.py``, and why.
CSV_WRITERS = {
    "tables/with_ids.py": "a copy of the user's own list, read back by its own reader",
}


def test_rows_of_csv_are_written_in_one_place() -> None:
    found = {name for name, path in FILES.items() if "csv.writer(" in path.read_text("utf-8")}
    assert found - set(CSV_WRITERS) == {"escaping.py"}


@pytest.mark.parametrize("name", sorted(FILES))
def test_rooms_know_few_others(name: str) -> None:
    here = name.split("/", maxsplit=1)[0] if "/" in name else ""
    rooms = {
        m.split(".")[2] for m in imported(FILES[name]) if m.startswith("siteplan.outputs.")
    } & set(NEIGHBOURS)
    assert rooms <= ({here} | NEIGHBOURS[here] if here else set()), name


def test_every_room_is_in_the_list() -> None:
    assert set(NEIGHBOURS) == {name.split("/")[0] for name in FILES if "/" in name}
