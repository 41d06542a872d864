"""The map's scripts, ES modules that name what they need, joined into one script for the page.

Modules inside a page cannot import one another without ``data:`` or ``blob:`` addresses, which
the page's policy forbids. So they are joined here: depth first by their imports, each in a
function of its own that takes what it imports and returns what it exports. Two forms are joined,
each from the first column on, the import also over several lines:

- ``import { el, byId as find } from '../base/core.js';``
- ``export`` before ``function NAME``, ``async function NAME``, ``const NAME`` or ``class NAME``
"""

from __future__ import annotations

import posixpath
import re
from importlib.resources.abc import Traversable

from siteplan.frozen import frozen

_FORMS = (
    "import { a, b as c } from './file.js'; and export before function, async function, const "
    "or class can be joined, from the first column on"
)
_IMPORT = re.compile(r"^import \{([^{}]+)\} from '(\.\.?/[\w./]+\.js)';$", re.MULTILINE)
_EXPORT = re.compile(
    r"^export (?=(?:async function|function|const|class) ([A-Za-z_$][\w$]*))", re.MULTILINE
)
#: An import while the page runs, and ``import.meta``: they may stand anywhere in a line.
_INNER = re.compile(r"\bimport\s*[(.]")
_WORD = re.compile(r"(?:import|export)\b")
_NAMES = re.compile(r"([\w$]+)(?: as ([\w$]+))?")


@frozen
class Import:
    """What a script takes from another one: pairs of its name there and its name here."""

    line: int
    path: str
    names: tuple[tuple[str, str], ...]


@frozen
class Module:
    """One script: its path below the folder, what it imports and exports, and its text.

    ``body`` is the text without the imports and without the word ``export``.
    """

    path: str
    imports: tuple[Import, ...]
    exports: tuple[str, ...]
    body: str


def join(folder: Traversable, entry: str) -> str:
    """Return an expression in JavaScript whose value holds the exports of ``entry``.

    Parameters
    ----------
    folder : Traversable
        Folder of the scripts.
    entry : str
        Path of the first script inside the folder, such as ``main.js``.

    Raises
    ------
    ValueError
        As :func:`modules` does.
    """
    parts = "\n".join(_wrapped(module) for module in modules(folder, entry))
    return f"(function () {{\n'use strict';\n{parts}\nreturn {_variable(entry)};\n}}())"


def modules(folder: Traversable, entry: str) -> tuple[Module, ...]:
    """Return ``entry`` and every script that it needs, each behind those that it imports.

    Raises
    ------
    ValueError
        If a script holds another form of import or export than the two of this module's head,
        imports a file that is not there or a name that the file does not export, or if scripts
        import one another in a circle; the message names file and line.
    """
    done: dict[str, Module] = {}
    _visit(folder, entry, done, ())
    return tuple(done.values())


def _visit(folder: Traversable, path: str, done: dict[str, Module], trail: tuple[str, ...]) -> None:
    """Read a script behind those that it imports; ``trail``: who asked for whom."""
    module = _parsed(path, folder.joinpath(path).read_text("utf-8"))
    here = (*trail, path)
    for asked in module.imports:
        if asked.path in here:
            circle = " -> ".join((*here[here.index(asked.path) :], asked.path))
            raise _refused(path, asked.line, f"scripts import one another in a circle: {circle}")
        if asked.path.startswith("../") or not folder.joinpath(asked.path).is_file():
            raise _refused(path, asked.line, f"there is no script {asked.path}")
        if asked.path not in done:
            _visit(folder, asked.path, done, here)
        for name, _ in asked.names:
            if name not in done[asked.path].exports:
                raise _refused(path, asked.line, f"{asked.path} does not export {name}")
    done[path] = module


def _parsed(path: str, text: str) -> Module:
    """Return a script taken apart; refuse whatever cannot be joined."""
    imports: list[Import] = []
    exports: list[str] = []
    pieces, done = [], 0
    for at in _hits(text):
        if found := _IMPORT.match(text, at):
            imports.append(_import(path, _line(text, at), found))
        elif found := _EXPORT.match(text, at):
            exports.append(found[1])
        elif _is_statement(text, at):
            said = text[text.rfind("\n", 0, at) + 1 :].partition("\n")[0].strip()
            raise _refused(path, _line(text, at), f"{said!r} cannot be joined: only {_FORMS}")
        if found:
            pieces.append(text[done:at])
            done = found.end()
    body = "".join([*pieces, text[done:]])
    return Module(path, tuple(imports), tuple(exports), body.strip())


def _hits(text: str) -> list[int]:
    """Where 'import' or 'export' stands (finding texts is ten times faster than a pattern)."""
    found = []
    for word in ("import", "export"):
        at = text.find(word)
        while at >= 0:
            found.append(at)
            at = text.find(word, at + 1)
    return sorted(found)


def _is_statement(text: str, at: int) -> bool:
    """Whether the word at ``at`` begins its line, or is an import within one."""
    begins = not text[text.rfind("\n", 0, at) + 1 : at].strip()
    return bool((begins and _WORD.match(text, at)) or _INNER.match(text, at))


def _import(path: str, line: int, found: re.Match[str]) -> Import:
    target = posixpath.normpath(posixpath.join(posixpath.dirname(path), found[2]))
    names = [_NAMES.fullmatch(name.strip()) for name in found[1].rstrip(", \n").split(",")]
    pairs = [(name[1], name[2] or name[1]) for name in names if name]
    if len(pairs) < len(names):
        raise _refused(path, line, f"{found[1].strip()!r} cannot be joined: only {_FORMS}")
    return Import(line, target, tuple(pairs))


def _wrapped(module: Module) -> str:
    """Return a script as a function that is called at once, and the name of what it returns.

    What it imports comes as arguments: a second name of the same spelling in the script is an
    error in the joined script as it is in a module.
    """
    takes = ", ".join(_pattern(asked) for asked in module.imports)
    given = ", ".join(_variable(asked.path) for asked in module.imports)
    gives = ", ".join(module.exports)
    return (
        f"const {_variable(module.path)} = (function ({takes}) {{\n{module.body}\n"
        f"return {{ {gives} }};\n}}({given}));"
    )


def _pattern(asked: Import) -> str:
    """Return the parameter that takes the imported names out of a script's exports."""
    names = ", ".join(name if name == here else f"{name}: {here}" for name, here in asked.names)
    return f"{{ {names} }}"


def _variable(path: str) -> str:
    """Return the name that holds a script's exports: ``base$core`` of ``base/core.js``."""
    return path.removesuffix(".js").replace("/", "$").replace(".", "_")


def _line(text: str, at: int) -> int:
    return text.count("\n", 0, at) + 1


def _refused(path: str, line: int, what: str) -> ValueError:
    return ValueError(f"{path}, line {line}: {what}.")
