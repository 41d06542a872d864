"""One vocabulary for limits and reserves: the words that were dropped do not come back."""

from __future__ import annotations

import ast
import csv
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import siteplan
from siteplan.fields import GLOSSARY, read_rows
from siteplan.messages import english
from siteplan.network.reference import network_reference

ROOT = Path(siteplan.__file__).parent
#: What a limit comes from, as sentences name it.
SOURCES = re.compile(
    r"\brules?\b|licence|operator|maker|employer|network file|common practice|planning limit"
    r"|\bgiven\b",
    re.IGNORECASE,
)
#: 'limits' of what the direction of the link may be, not of what may be passed.
OTHER = re.compile(r"\blimit(ed|s that direction|ing)\b", re.IGNORECASE)


def in_code(*rooms: str) -> Iterator[tuple[str, str]]:
    """Yield the texts of more than one word in the code of some rooms, but for docstrings."""
    for room in rooms:
        for path in sorted((ROOT / room).rglob("*.py")):
            tree = ast.parse(path.read_text(encoding="utf-8"))
            told = {
                id(node.body[0].value)
                for node in ast.walk(tree)
                if isinstance(node, ast.Module | ast.FunctionDef | ast.ClassDef)
                and isinstance(node.body[0], ast.Expr)
            }
            for node in ast.walk(tree):
                if isinstance(node, ast.Constant) and id(node) not in told:
                    text = node.value if isinstance(node.value, str) else ""
                    yield from [(f"{path.name}:{node.lineno}", text)] if " " in text else []


def in_pages() -> Iterator[tuple[str, str]]:
    """Yield the words of templates, and the texts of more than one word in scripts."""
    for path in sorted((ROOT / "outputs").rglob("*.html")):
        text = re.sub(r"\{%.*?%\}|\{\{.*?\}\}|<[^>]*>", "\n", path.read_text(encoding="utf-8"))
        yield from ((path.name, line) for line in text.splitlines() if line.strip())
    for path in sorted((ROOT / "outputs").rglob("*.js")):
        code = re.sub(r"/\*.*?\*/|^\s*//.*$", "", path.read_text("utf-8"), flags=re.S | re.M)
        for single, back in re.findall(r"'((?:[^'\\\n]|\\.)*)'|`([^`]*)`", code):
            # A text within a gap of another one ends it: what is left of the gap is code.
            text = re.sub(r"\$\{[^}]*(?:\}|$)", "", single + back)
            if " " in text.strip():
                yield path.name, text


def told() -> list[tuple[str, str]]:
    """Return where and what each text is that people read."""
    return [
        *english().items(),
        *(
            (f"{r['name']} {k}", r[k])
            for r in read_rows("fields.csv")
            for k in ("label", "meaning")
        ),
        *((row["name"], row["source"]) for row in read_rows("fields.csv")),
        *((row["code"], row["meaning"]) for row in read_rows("flags.csv")),
        *((row["name"], row["meaning"]) for row in read_rows("columns.csv")),
        *((f"{row.table}.{row.key}", row.meaning) for row in network_reference()),
        *in_code("outputs"),
        *in_pages(),
    ]


def test_texts_are_found_everywhere() -> None:
    found = {where.partition(":")[0] for where, _ in told()}
    assert {"flag.sky_tight", "margin_db meaning", "rules.reserve_db", "words.py", "sheet.html",
            "verdict.js", "shell.html"} <= found  # fmt: skip
    assert len(told()) > 900


@pytest.mark.parametrize("term", GLOSSARY, ids=lambda term: term.word)
def test_words_that_were_dropped_do_not_come_back(term: siteplan.fields.Term) -> None:
    for word in term.instead_of:
        dropped = re.compile(rf"\b{re.escape(word)}\b", re.IGNORECASE)
        assert [(where, text) for where, text in told() if dropped.search(text)] == [], word


def test_a_limit_always_has_its_source() -> None:
    """'More than its limit' leaves the crew to guess whose: a rule's, a maker's, or a guess."""
    named = re.compile(r"\blimits?\b", re.IGNORECASE)
    bare = [
        (where, text)
        for where, text in told()
        if named.search(re.sub(r"\{[^}]*\}", "", OTHER.sub("", text))) and not SOURCES.search(text)
    ]
    assert bare == []


def test_the_glossary_uses_its_own_words() -> None:
    words = [term.word for term in GLOSSARY]
    assert len(set(words)) == len(words)
    dropped = {word for term in GLOSSARY for word in term.instead_of}
    assert not dropped & set(words)
    heads, *_ = csv.reader((ROOT / "fields" / "glossary.csv").read_text("utf-8").splitlines())
    assert heads == ["word", "meaning", "instead_of"]
