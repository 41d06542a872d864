"""What each kind of change would do at a node: where, and what may stand there instead."""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from tests.mutation.changes import literals, siblings

Span = Callable[[ast.AST], tuple[int, int]]
Told = Iterator[tuple[int, int, list[bytes]]]


class Names(NamedTuple):
    """Names of a file that may stand for one another."""

    attributes: frozenset[str]
    codes: tuple[str, ...]
    module: frozenset[str]


class Around(NamedTuple):
    """What a kind knows of a node's surroundings; ``local``: name and line where it is bound."""

    source: bytes
    span: Span
    names: Names
    local: dict[str, int]

    def text(self, node: ast.AST) -> bytes:
        start, end = self.span(node)
        return self.source[start:end]

    def gap(self, left: ast.AST, right: ast.AST) -> tuple[int, int]:
        return self.span(left)[1], self.span(right)[0]

    def known(self, name: str, line: int) -> bool:
        return self.local.get(name, line + 1) <= line or (
            name in self.names.module and name not in self.local
        )


#: Keywords that guard against what does not happen here: a change of them changes nothing.
GUARDS = frozenset(("encoding", "strict"))
_COMPARED: dict[type[ast.cmpop], tuple[bytes, list[bytes]]] = {
    ast.Lt: (b"<", [b"<=", b">="]),
    ast.LtE: (b"<=", [b"<", b">"]),
    ast.Gt: (b">", [b">=", b"<="]),
    ast.GtE: (b">=", [b">", b"<"]),
    ast.Eq: (b"==", [b"!="]),
    ast.NotEq: (b"!=", [b"=="]),
    ast.In: (b"in", [b"not in"]),
    ast.NotIn: (b"not in", [b"in"]),
    ast.Is: (b"is", [b"is not"]),
    ast.IsNot: (b"is not", [b"is"]),
}
_WORKED: dict[type[ast.operator], tuple[bytes, list[bytes]]] = {
    ast.Add: (b"+", [b"-"]),
    ast.Sub: (b"-", [b"+"]),
    ast.Mult: (b"*", [b"/"]),
    ast.Div: (b"/", [b"*"]),
    ast.FloorDiv: (b"//", [b"/", b"*"]),
    ast.Mod: (b"%", [b"//"]),
    ast.Pow: (b"**", [b"*"]),
    ast.BitAnd: (b"&", [b"|"]),
    ast.BitOr: (b"|", [b"&"]),
    ast.BitXor: (b"^", [b"|"]),
    ast.LShift: (b"<<", [b">>"]),
    ast.RShift: (b">>", [b"<<"]),
}


def _operator(around: Around, left: ast.AST, right: ast.AST, sign: bytes) -> tuple[int, int]:
    """Return where an operator stands between its operands; an empty range where unsure."""
    start, end = around.gap(left, right)
    gap = around.source[start:end]
    at = -1 if b"#" in gap else gap.find(sign)
    return (start + at, start + at + len(sign)) if at >= 0 else (0, 0)


def comparison(node: ast.AST, around: Around) -> Told:
    """``<`` becomes ``<=`` or ``>=``, ``in`` becomes ``not in``."""
    if isinstance(node, ast.Compare):
        for op, (left, right) in zip(
            node.ops, pairwise([node.left, *node.comparators]), strict=True
        ):
            sign, others = _COMPARED[type(op)]
            start, end = _operator(around, left, right, sign)
            if end:
                yield start, end, others


def arithmetic(node: ast.AST, around: Around) -> Told:
    """``+`` becomes ``-``, ``*`` becomes ``/``, ``&`` becomes ``|``."""
    if isinstance(node, ast.BinOp) and type(node.op) in _WORKED:
        sign, others = _WORKED[type(node.op)]
        start, end = _operator(around, node.left, node.right, sign)
        if end and not any(map(_is_text, (node.left, node.right))):
            yield start, end, others
    elif isinstance(node, ast.AugAssign) and type(node.op) in _WORKED:
        sign, others = _WORKED[type(node.op)]
        start, end = _operator(around, node.target, node.value, sign + b"=")
        if end and not _is_text(node.value):
            yield start, end - 1, others


def _is_text(node: ast.AST) -> bool:
    return isinstance(node, ast.JoinedStr) or (
        isinstance(node, ast.Constant) and isinstance(node.value, str)
    )


def number(node: ast.AST, around: Around) -> Told:
    """A number a tenth larger or smaller; a whole one by one; a tiny one a thousandfold."""
    value = node.value if isinstance(node, ast.Constant) else None
    if isinstance(value, int | float) and not isinstance(value, bool):
        yield *around.span(node), [repr(other).encode() for other in numbers_beside(value)]
    elif isinstance(node, ast.JoinedStr):
        yield from _within(node, around, literals.decimals)


def numbers_beside(value: float) -> list[float]:
    """Return numbers that might stand where another should."""
    if isinstance(value, int):
        return [value + 1, value - 1] if value > 0 else [value + 1]
    if 0 < abs(value) < 1e-4:
        return [value * 1000]
    return [float(f"{value * 1.1:.6g}"), float(f"{value * 0.9:.6g}")] if value else [1.0]


def index(node: ast.AST, around: Around) -> Told:
    """An index, or an end of a slice, one beside."""
    if not isinstance(node, ast.Subscript):
        return
    parts = node.slice.elts if isinstance(node.slice, ast.Tuple) else [node.slice]
    for part in parts:
        ends = [part.lower, part.upper] if isinstance(part, ast.Slice) else [part]
        for end in ends:
            value = _whole(end)
            if end is not None and value is not None:
                yield *around.span(end), [str(value + 1).encode(), str(value - 1).encode()]


def _whole(node: ast.AST | None) -> int | None:
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        value = _whole(node.operand)
        return None if value is None else -value
    return node.value if isinstance(node, ast.Constant) and type(node.value) is int else None


def boolean(node: ast.AST, around: Around) -> Told:
    """True and False, and and or, not and ``~`` dropped."""
    if isinstance(node, ast.Constant) and isinstance(node.value, bool):
        yield *around.span(node), [repr(not node.value).encode()]
    elif isinstance(node, ast.BoolOp):
        sign, other = (b"and", b"or") if isinstance(node.op, ast.And) else (b"or", b"and")
        for left, right in pairwise(node.values):
            start, end = _operator(around, left, right, sign)
            if end:
                yield start, end, [other]
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.Invert):
        start, _ = around.span(node)
        yield start, start + (1 if isinstance(node.op, ast.Invert) else 3), [b""]


def condition(node: ast.AST, around: Around) -> Told:
    """A condition turned into its contrary, or one of its parts left out."""
    tests: Sequence[ast.expr] = ()
    if isinstance(node, ast.If | ast.While | ast.IfExp):
        tests = [node.test]
    elif isinstance(node, ast.comprehension):
        tests = node.ifs
    for test in tests:
        yield *around.span(test), [b"not (" + around.text(test) + b")"]
    if isinstance(node, ast.BoolOp) and len(node.values) == 2:
        yield *around.span(node), [around.text(value) for value in node.values]


def string(node: ast.AST, around: Around) -> Told:
    """A text with a word less, a name in quotes for another one of the same file."""
    if _is_text(node):
        codes = list(around.names.codes)
        yield from _within(node, around, lambda segment: literals.other_texts(segment, codes))


def _within(node: ast.AST, around: Around, swaps: Callable[[str], Iterator[literals.Swap]]) -> Told:
    """Yield swaps within a literal; only of plain letters, so that bytes are characters."""
    start, _ = around.span(node)
    segment = around.text(node)
    if segment.isascii():
        found: dict[tuple[int, int], list[bytes]] = {}
        for first, last, text in swaps(segment.decode()):
            found.setdefault((start + first, start + last), []).append(text.encode())
        yield from ((*where, texts) for where, texts in found.items())


def argument_order(node: ast.AST, around: Around) -> Told:
    """Two arguments in a row, or the operands of a difference or a quotient, swapped."""
    pairs: list[tuple[ast.expr, ast.expr]] = []
    if isinstance(node, ast.Call) and _called(node) not in {"isinstance", *siblings.UNORDERED}:
        pairs = list(pairwise(node.args))
    elif isinstance(node, ast.BinOp) and isinstance(node.op, ast.Sub | ast.Div | ast.Pow):
        pairs = [(node.left, node.right)]
    yield from _swapped(pairs, around)


def _called(node: ast.Call) -> str:
    """Return the name of what is called; empty where it has none."""
    return str(getattr(node.func, "id", getattr(node.func, "attr", "")))


def keyword_values(node: ast.AST, around: Around) -> Told:
    """The values of two keywords, or of two keys of a dictionary, swapped."""
    if isinstance(node, ast.Call):
        yield from _swapped(
            list(pairwise(k.value for k in node.keywords if k.arg not in {None, *GUARDS})), around
        )
    elif isinstance(node, ast.Dict):
        yield from _swapped(list(pairwise(node.values)), around)


def _swapped(pairs: list[tuple[ast.expr, ast.expr]], around: Around) -> Told:
    for left, right in pairs:
        if isinstance(left, ast.Starred) or isinstance(right, ast.Starred):
            continue
        gap = around.source[slice(*around.gap(left, right))]
        start, end = around.span(left)[0], around.span(right)[1]
        yield start, end, [around.text(right) + gap + around.text(left)]


def paired_function(node: ast.AST, around: Around) -> Told:
    """``min`` becomes ``max``, ``sin`` becomes ``cos``, ``ge`` becomes ``gt``."""
    name = start = None
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
        name, start = node.func.id, around.span(node.func)[0]
    elif isinstance(node, ast.Attribute):
        name, start = node.attr, around.span(node)[1] - len(node.attr.encode())
    elif isinstance(node, ast.keyword) and node.arg in ("ge", "gt", "le", "lt"):
        name, start = node.arg, around.span(node)[0]
    if name is not None and start is not None and name in siblings.FUNCTIONS:
        yield start, start + len(name), [other.encode() for other in siblings.FUNCTIONS[name]]


def another_name(node: ast.AST, around: Around) -> Told:
    """A name for another one in scope of the same unit; the name returned for any other one."""
    returned = isinstance(node, ast.Return) and isinstance(node.value, ast.Name)
    name = node.value if returned else node  # type: ignore[attr-defined]
    if not isinstance(name, ast.Name) or not isinstance(name.ctx, ast.Load):
        return
    if name.id not in around.local or name.id in ("self", "cls"):
        return
    unit = "" if returned else name.id.rpartition("_")[2]
    others = [
        other.encode()
        for other, line in around.local.items()
        if other not in (name.id, "self", "cls", "_")
        and line < name.lineno
        and (returned or ("_" in name.id and other.rpartition("_")[2] == unit))
    ]
    if others:
        yield *around.span(name), others


def sibling(node: ast.AST, around: Around) -> Told:
    """A name, an attribute or a word taken from its sibling: up for down, east for west."""
    if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
        others = [o for o in siblings.of_name(node.id) if around.known(o, node.lineno)]
        yield *around.span(node), [other.encode() for other in others]
    elif isinstance(node, ast.Attribute):
        others = [o for o in siblings.of_name(node.attr) if o in around.names.attributes]
        end = around.span(node)[1]
        yield end - len(node.attr.encode()), end, [other.encode() for other in others]
    elif isinstance(node, ast.Constant) and literals.is_code(node.value):
        known = around.names.attributes | set(around.names.codes)
        others = [o for o in siblings.of_name(str(node.value)) if o in known]
        start, end = around.span(node)
        if end - start == len(str(node.value)) + 2:
            yield start + 1, end - 1, [other.encode() for other in others]
    elif _is_text(node):
        yield from _within(node, around, literals.sibling_swaps)


_MADE_PLAIN = {"asarray", "ascontiguousarray", "float", "tuple", "list", "cast", "float64", "int"}
_MADE_PLAIN |= {"len", "range", "iter", "dict", "set", "frozenset", "super", "str", "print"}


def dropped(node: ast.AST, around: Around) -> Told:
    """A statement, a call around its one argument, a keyword or a member left out."""
    if _can_go(node):
        yield *around.span(node), [b"pass"]
    elif isinstance(node, ast.Call):
        name = _called(node)
        if len(node.args) == 1 and not node.keywords and name not in _MADE_PLAIN:
            yield *around.span(node), [around.text(node.args[0])]
        some = [keyword for keyword in node.keywords if keyword.arg not in GUARDS]
        yield from _without([*node.args, *node.keywords], some, around)
    elif isinstance(node, ast.List | ast.Tuple | ast.Set) and not isinstance(
        getattr(node, "ctx", None), ast.Store
    ):
        yield from _without(node.elts, node.elts, around)


def _can_go(node: ast.AST) -> bool:
    if isinstance(node, ast.Expr):
        return isinstance(node.value, ast.Call | ast.Yield | ast.YieldFrom)
    if isinstance(node, ast.Assign):
        return isinstance(node.targets[0], ast.Attribute | ast.Subscript)
    return isinstance(node, ast.AugAssign | ast.Raise | ast.Continue | ast.Break)


def _without(row: Sequence[ast.AST], some: Sequence[ast.AST], around: Around) -> Told:
    """Yield each of ``some`` members of a row left out, with the comma before it."""
    for left, right in pairwise(row):
        if right in some:
            yield around.span(left)[1], around.span(right)[1], [b""]


def minus(node: ast.AST, around: Around) -> Told:
    """A sign left out."""
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        start, _ = around.span(node)
        yield start, start + 1, [b""]


#: Every kind by the name that the report gives it.
KINDS: dict[str, Callable[[ast.AST, Around], Told]] = {
    "comparison": comparison,
    "arithmetic": arithmetic,
    "number": number,
    "index": index,
    "boolean": boolean,
    "condition": condition,
    "string": string,
    "argument order": argument_order,
    "keyword values": keyword_values,
    "paired function": paired_function,
    "another name": another_name,
    "sibling": sibling,
    "dropped": dropped,
    "minus": minus,
}
