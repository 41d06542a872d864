"""The places of the map's scripts that can be changed, and what may stand there instead."""

from __future__ import annotations

import json
import re
import subprocess
import tempfile
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

from tests.mutation.changes import literals, siblings
from tests.mutation.changes.change import Place
from tests.mutation.changes.kinds import numbers_beside

FOLDER = "siteplan/outputs/map/scripts"
_PACKAGES = "tests/outputs/web"
_READER = Path(__file__).with_name("syntax.mjs")
Node = dict[str, Any]
Told = Iterator[tuple[int, int, Sequence[str]]]

_OPERATORS = {
    **{"<": ("<=", ">="), "<=": ("<", ">"), ">": (">=", "<="), ">=": (">", "<")},
    **{"===": ("!==",), "!==": ("===",), "==": ("!=",), "!=": ("==",)},
    **{"+": ("-",), "-": ("+",), "*": ("/",), "/": ("*",), "%": ("*",), "**": ("*",)},
    **{"&&": ("||",), "||": ("&&",), "??": ("&&",), "&": ("|",), "|": ("&",)},
    **{"+=": ("-=",), "-=": ("+=",), "*=": ("/=",), "/=": ("*=",), "<<": (">>",), ">>": ("<<",)},
}
_COMPARED = {"<", "<=", ">", ">=", "===", "!==", "==", "!="}
_FUNCTIONS = {
    **siblings.FUNCTIONS,
    **{"some": ("every",), "every": ("some",), "push": ("unshift",), "round": ("floor",)},
    **{"startsWith": ("endsWith",), "endsWith": ("startsWith",), "filter": ("map",)},
    **{"indexOf": ("lastIndexOf",), "remove": ("add",), "shift": ("pop",), "pop": ("shift",)},
    **{"parseInt": ("parseFloat",), "asin": ("acos",), "atan2": ("hypot",), "trunc": ("ceil",)},
}
_STATEMENTS = ("ExpressionStatement", "ReturnStatement", "VariableDeclaration", "IfStatement")


def trees(names: Sequence[str], root: Path) -> dict[str, Node]:
    """Return the syntax tree of each script; ``{"error": ...}`` for one that cannot be read.

    Needs node, and ``npm ci --prefix tests/outputs/web``.
    """
    command = ["node", str(_READER), str(root / _PACKAGES)]
    done = subprocess.run(
        command, input="\n".join(names), capture_output=True, text=True, check=True, cwd=root
    )
    found: dict[str, Node] = json.loads(done.stdout)
    return found


def parses(root: Path) -> Callable[[bytes], bool]:
    """Return what tells whether the parser takes a script."""

    def taken(source: bytes) -> bool:
        with tempfile.NamedTemporaryFile(suffix=".js") as file:
            file.write(source)
            file.flush()
            return "error" not in trees([file.name], root)[file.name]

    return taken


def places(source: bytes, tree: Node) -> list[Place]:
    """Return all places of a script, from its syntax tree."""
    script = _Script(source.decode())
    script.read(tree)
    return script.places()


class _Script:
    """A script's text and what its names and texts are; offsets count as the parser does."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.names: set[str] = set()
        self.properties: set[str] = set()
        self.codes: list[str] = []
        self._nodes: list[tuple[Node, tuple[int, int]]] = []
        wide = text.encode("utf-16-le")
        self._chars = None if len(wide) == 2 * len(text) else wide

    def read(self, tree: Node) -> None:
        self._walk(tree, (0, 0))
        for node, _ in self._nodes:
            if node["type"] == "Identifier":
                self.names.add(node["name"])
            elif node["type"] == "MemberExpression" and not node["computed"]:
                self.properties.add(node["property"]["name"])
            elif node["type"] == "Literal" and literals.is_code(node["value"]):
                self.codes.append(node["value"])
        self.codes = list(dict.fromkeys(self.codes))

    def _walk(self, node: Node, lines: tuple[int, int]) -> None:
        if node["type"] in ("ImportDeclaration", "ExportAllDeclaration"):
            return
        start, end = self.span(node)
        if node["type"] in _STATEMENTS:
            lines = (self._line(start), self._line(end))
        self._nodes.append((node, lines or (self._line(start),) * 2))
        for key, value in node.items():
            alone = node["type"] == "Property" and node["shorthand"] and key == "key"
            for child in value if isinstance(value, list) else [value]:
                if isinstance(child, dict) and "type" in child and not alone:
                    self._walk(child, lines)

    def _line(self, at: int) -> int:
        return self.text.count("\n", 0, at) + 1

    def span(self, node: Node) -> tuple[int, int]:
        """Return where a node stands, in characters."""
        start, end = node["range"]
        if self._chars is None:
            return start, end
        first = len(self._chars[: 2 * start].decode("utf-16-le"))
        return first, first + len(self._chars[2 * start : 2 * end].decode("utf-16-le"))

    def part(self, node: Node) -> str:
        start, end = self.span(node)
        return self.text[start:end]

    def places(self) -> list[Place]:
        found = []
        for node, lines in self._nodes:
            for kind, options in KINDS.items():
                for start, end, texts in options(node, self):
                    told = [t.encode() for t in texts if t != self.text[start:end]]
                    if told:
                        first = len(self.text[:start].encode())
                        last = first + len(self.text[start:end].encode())
                        found.append(Place(kind, first, last, tuple(dict.fromkeys(told)), lines))
        return found

    def operator(self, left: Node, right: Node, sign: str) -> tuple[int, int]:
        """Return where an operator stands; (0, 0) where it is not sure."""
        start, end = self.span(left)[1], self.span(right)[0]
        at = self.text[start:end].find(sign)
        return (start + at, start + at + len(sign)) if at >= 0 else (0, 0)


def _operators(node: Node, script: _Script, wanted: Callable[[str], bool]) -> Told:
    if node["type"] not in ("BinaryExpression", "LogicalExpression", "AssignmentExpression"):
        return
    sign = node["operator"]
    if sign in _OPERATORS and wanted(sign):
        texts = [node[side]["type"] == "TemplateLiteral" or isinstance(node[side].get("value"), str)
                 for side in ("left", "right")]  # fmt: skip
        start, end = script.operator(node["left"], node["right"], sign)
        if end and not (any(texts) and sign == "+"):
            yield start, end, _OPERATORS[sign]


def comparison(node: Node, script: _Script) -> Told:
    """``<`` becomes ``<=`` or ``>=``, ``===`` becomes ``!==``."""
    yield from _operators(node, script, lambda sign: sign in _COMPARED)


def arithmetic(node: Node, script: _Script) -> Told:
    """``+`` becomes ``-``, ``&&`` becomes ``||``, ``++`` becomes ``--``."""
    yield from _operators(node, script, lambda sign: sign not in _COMPARED)
    if node["type"] == "UpdateExpression":
        start, end = script.span(node)
        at = start if node["prefix"] else end - 2
        yield at, at + 2, ["--" if node["operator"] == "++" else "++"]


def number(node: Node, script: _Script) -> Told:
    """A number a tenth larger or smaller; a whole one by one."""
    if node["type"] == "Literal" and type(node["value"]) in (int, float):
        yield *script.span(node), [repr(n) for n in numbers_beside(node["value"])]


def boolean(node: Node, script: _Script) -> Told:
    """True and false; not and a sign dropped."""
    start, end = script.span(node)
    if node["type"] == "Literal" and isinstance(node["value"], bool):
        yield start, end, ["false" if node["value"] else "true"]
    elif node["type"] == "UnaryExpression" and node["operator"] in ("!", "-"):
        yield start, start + 1, [""]


def condition(node: Node, script: _Script) -> Told:
    """A condition turned into its contrary."""
    test = node.get("test")
    if isinstance(test, dict) and node["type"] != "ForStatement":
        yield *script.span(test), [f"!({script.part(test)})"]


def string(node: Node, script: _Script) -> Told:
    """A text with a word less, a name in quotes for another one of the same file."""
    start, end = script.span(node)
    if node["type"] == "Literal" and isinstance(node["value"], str):
        swaps: dict[tuple[int, int], list[str]] = {}
        for first, last, text in literals.other_texts(script.text[start:end], script.codes):
            swaps.setdefault((start + first, start + last), []).append(text)
        yield from ((*where, texts) for where, texts in swaps.items())
    elif node["type"] == "TemplateElement":
        for word in re.finditer(r"[A-Za-z][\w-]*", script.text[start:end].strip("`")):
            at = script.text.index(word[0], start)
            yield at, at + len(word[0]), [""]


def argument_order(node: Node, script: _Script) -> Told:
    """Two arguments in a row, two values of an object, or two operands, swapped."""
    row: list[Node] = []
    if node["type"] in ("CallExpression", "NewExpression"):
        called = node["callee"].get("property", {}).get("name")
        row = [] if called in siblings.UNORDERED else node["arguments"]
    elif node["type"] == "ObjectExpression":
        row = [p["value"] for p in node["properties"] if p["type"] == "Property"
               and not p["shorthand"] and not p.get("method")]  # fmt: skip
    elif node["type"] == "ArrayExpression":
        row = [element for element in node["elements"] if element]
    elif node["type"] == "BinaryExpression" and node["operator"] in ("-", "/"):
        row = [node["left"], node["right"]]
    for left, right in pairwise(row):
        (start, a), (b, end) = script.span(left), script.span(right)
        if "SpreadElement" not in (left["type"], right["type"]):
            yield start, end, [script.part(right) + script.text[a:b] + script.part(left)]


def paired_function(node: Node, script: _Script) -> Told:
    """``min`` becomes ``max``, ``sin`` becomes ``cos``, ``some`` becomes ``every``."""
    if node["type"] == "MemberExpression" and not node["computed"]:
        name = node["property"].get("name", "")
        if name in _FUNCTIONS:
            yield *script.span(node["property"]), _FUNCTIONS[name]


def index(node: Node, script: _Script) -> Told:
    """An index one beside."""
    if node["type"] == "MemberExpression" and node["computed"]:
        inner = node["property"]
        if inner["type"] == "Literal" and type(inner["value"]) is int:
            yield *script.span(inner), [str(inner["value"] + 1)]
        else:
            _, end = script.span(inner)
            yield end, end, [" + 1"]


def sibling(node: Node, script: _Script) -> Told:
    """A name, a property or a word taken from its sibling."""
    start, end = script.span(node)
    if node["type"] == "Identifier":
        known = script.names | script.properties
        yield start, end, [o for o in siblings.of_name(node["name"]) if o in known]
    elif node["type"] == "Literal" and literals.is_code(node["value"]):
        known = script.properties | set(script.codes)
        yield start + 1, end - 1, [o for o in siblings.of_name(node["value"]) if o in known]
    elif node["type"] == "Literal" and isinstance(node["value"], str):
        for first, last, text in literals.sibling_swaps(script.text[start:end]):
            yield start + first, start + last, [text]
    elif node["type"] == "TemplateElement":
        yield start, end, list(siblings.of_text(script.text[start:end]))


def dropped(node: Node, script: _Script) -> Told:
    """A statement left out, or what ends a function or a loop early."""
    start, end = script.span(node)
    goes = {
        "ExpressionStatement": "directive" not in node,
        "ContinueStatement": True,
        "BreakStatement": True,
        "ReturnStatement": node.get("argument") is None,
    }
    if goes.get(node["type"]):
        yield start, end, [";"]


#: Every kind by the name that the report gives it.
KINDS: dict[str, Callable[[Node, _Script], Told]] = {
    "comparison": comparison,
    "arithmetic": arithmetic,
    "number": number,
    "boolean": boolean,
    "condition": condition,
    "string": string,
    "argument order": argument_order,
    "paired function": paired_function,
    "index": index,
    "sibling": sibling,
    "dropped": dropped,
}
