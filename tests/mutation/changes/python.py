"""The places of a Python file that can be changed, and what may stand there instead.

Left alone: docstrings, annotations, decorators, imports, ``__all__``, type aliases, what stands
under ``if TYPE_CHECKING``, asserts, which are there for the type checker, and keywords that guard.
"""

from __future__ import annotations

import ast
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from tests.mutation.changes import literals
from tests.mutation.changes.change import Place
from tests.mutation.changes.kinds import GUARDS, KINDS, Around, Names

_ALIASES = {"NDArray", "Callable", "Literal", "Annotated", "tuple", "dict", "list", "Mapping"}
_ALIASES |= {"Sequence", "TypeVar", "NewType", "cast", "type", "frozenset", "set"}
Scope = ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda


def places(source: bytes, attributes: frozenset[str]) -> list[Place]:
    """Return all places of a file; ``attributes`` are the names that attributes may have."""
    tree = ast.parse(source)
    names = Names(attributes, _codes(tree), frozenset(_stored(tree.body)))
    finder = _Finder(source, names)
    finder.body(tree.body, _At((0, 0), at_import=True, local={}))
    return finder.found


def code_lines(source: bytes) -> int:
    """Return how many lines hold code: no blanks, comments or docstrings."""
    held: set[int] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.stmt) and not _is_text(node):
            held |= set(range(node.lineno, _header(node)[1] + 1))
    return len(held)


def attribute_names(sources: Iterable[bytes]) -> frozenset[str]:
    """Return all names of attributes, fields and functions that the files use."""
    found = set()
    for source in sources:
        for node in ast.walk(ast.parse(source)):
            if isinstance(node, ast.Attribute):
                found.add(node.attr)
            elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
                found.add(node.target.id)
            elif isinstance(node, ast.FunctionDef):
                found.add(node.name)
    return frozenset(found)


@dataclass(frozen=True)
class _At:
    """Where the walk is: the statement's lines, and the names that stand there."""

    lines: tuple[int, int]
    at_import: bool
    local: dict[str, int]


class _Finder:
    """Walks a file's statements and asks each kind what it would change at each node."""

    def __init__(self, source: bytes, names: Names) -> None:
        self.source = source
        self.names = names
        self.found: list[Place] = []
        lengths = [len(line) for line in source.splitlines(keepends=True)]
        self._starts = [0]
        for length in lengths:
            self._starts.append(self._starts[-1] + length)

    def body(self, statements: list[ast.stmt], at: _At) -> None:
        for statement in statements:
            if not _left_alone(statement):
                self._statement(statement, replace(at, lines=_header(statement)))

    def _statement(self, node: ast.stmt, at: _At) -> None:
        self._ask(node, at)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            self._function(node, at)
        elif isinstance(node, ast.ClassDef):
            self.body(node.body, replace(at, local=dict.fromkeys(_stored(node.body), 0)))
        elif isinstance(node, ast.AnnAssign):
            if node.value is not None:
                self._expression(node.value, at)
        elif not (at.at_import and isinstance(node, ast.Assign) and _is_alias(node.value)):
            self._children(node, at)

    def _function(self, node: ast.FunctionDef | ast.AsyncFunctionDef, at: _At) -> None:
        for default in (*node.args.defaults, *node.args.kw_defaults):
            if default is not None:
                self._expression(default, at)
        local = dict.fromkeys((a.arg for a in ast.walk(node.args) if isinstance(a, ast.arg)), 0)
        local |= {name: line for name, line in _stored(node.body).items() if name not in local}
        self.body(node.body, replace(at, at_import=False, local=at.local | local))

    def _children(self, node: ast.AST, at: _At) -> None:
        for _, value in ast.iter_fields(node):
            parts = value if isinstance(value, list) else [value]
            if parts and isinstance(parts[0], ast.stmt):
                self.body(parts, at)
                continue
            for part in parts:
                if isinstance(part, ast.expr):
                    self._expression(part, at)
                elif isinstance(part, ast.match_case | ast.ExceptHandler):
                    self.body(part.body, at)
                elif isinstance(part, ast.keyword) and part.arg in GUARDS:
                    continue
                elif isinstance(part, ast.keyword | ast.comprehension | ast.withitem):
                    self._ask(part, at)
                    self._children(part, at)

    def _expression(self, node: ast.expr, at: _At) -> None:
        if isinstance(node, ast.JoinedStr):
            self._ask(node, at)
            for part in node.values:
                if isinstance(part, ast.FormattedValue) and self._stands_there(part.value):
                    self._expression(part.value, at)
            return
        if isinstance(node, ast.Subscript) and _is_alias(node):
            return
        self._ask(node, at)
        self._children(node, at)

    def _stands_there(self, node: ast.expr) -> bool:
        """Return whether a node's position is true: within f-strings, some versions' are not."""
        start, end = self.span(node)
        try:
            there = ast.parse(self.source[start:end].decode(), mode="eval").body
        except (SyntaxError, ValueError, UnicodeDecodeError):
            return False
        return ast.dump(there) == ast.dump(node)

    def _ask(self, node: ast.AST, at: _At) -> None:
        around = Around(self.source, self.span, self.names, at.local)
        for kind, options in KINDS.items():
            for start, end, texts in options(node, around):
                whole = self.source[start:end]
                told = tuple(dict.fromkeys(text for text in texts if text != whole))
                if told:
                    self.found.append(Place(kind, start, end, told, at.lines, at.at_import))

    def span(self, node: ast.AST) -> tuple[int, int]:
        """Return the bytes where a node begins and ends."""
        start = self._starts[node.lineno - 1] + node.col_offset  # type: ignore[attr-defined]
        end = self._starts[node.end_lineno - 1] + node.end_col_offset  # type: ignore[attr-defined]
        return start, end


def _left_alone(node: ast.stmt) -> bool:
    if isinstance(node, ast.Import | ast.ImportFrom | ast.Assert | ast.Global | ast.Nonlocal):
        return True
    if isinstance(node, ast.If):
        return "TYPE_CHECKING" in ast.dump(node.test) or "__main__" in ast.dump(node.test)
    if isinstance(node, ast.Assign):
        return any(isinstance(t, ast.Name) and t.id == "__all__" for t in node.targets)
    return _is_text(node)


def _is_text(node: ast.stmt) -> bool:
    """Return whether a statement is a docstring."""
    is_constant = isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    return is_constant and isinstance(node.value.value, str)  # type: ignore[attr-defined]


def _is_alias(node: ast.expr) -> bool:
    """Return whether an expression stands for a type."""
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.BitOr):
        return _is_alias(node.left) or _is_alias(node.right)
    if isinstance(node, ast.Call):
        return isinstance(node.func, ast.Name) and node.func.id in ("TypeVar", "NewType")
    base = node.value if isinstance(node, ast.Subscript) else None
    name = base.attr if isinstance(base, ast.Attribute) else getattr(base, "id", "")
    return name in _ALIASES


def _header(node: ast.stmt) -> tuple[int, int]:
    """Return the lines of a statement; of one with a body, those before it."""
    body = getattr(node, "body", None)
    if body:
        return node.lineno, max(node.lineno, body[0].lineno - 1)
    return node.lineno, node.end_lineno or node.lineno


def _codes(tree: ast.Module) -> tuple[str, ...]:
    """Return the names in quotes of a file, each once, as they come."""
    texts = (n.value for n in ast.walk(tree) if isinstance(n, ast.Constant))
    return tuple(dict.fromkeys(str(text) for text in texts if literals.is_code(text)))


def _stored(body: list[ast.stmt]) -> dict[str, int]:
    """Return the names that statements bind, and the first line of each; not in functions."""
    found: dict[str, int] = {}
    for node in _outside_functions(body):
        name = None
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            name = node.id
        elif isinstance(node, ast.FunctionDef | ast.ClassDef):
            name = node.name
        elif isinstance(node, ast.alias):
            name = node.asname or node.name
        if name is not None:
            line = getattr(node, "lineno", 0)
            found[name] = min(found.get(name, line), line)
    return found


def _outside_functions(nodes: Iterable[ast.AST]) -> Iterator[ast.AST]:
    closed = (*Scope.__args__, ast.ClassDef, ast.comprehension)
    for node in nodes:
        yield node
        if not isinstance(node, closed):
            yield from _outside_functions(ast.iter_child_nodes(node))
