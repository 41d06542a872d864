"""Which tests execute which lines.

A line's tests are those that execute it themselves and those that use a fixture which does. Caches
(``functools``) of the package and of the tests are emptied before each test and fixture, so that
not only the first one counts; a test that compares by identity may fail of it, which the check
without a change, later, does not. Tests that start processes are marked: what those do is unseen.
"""

from __future__ import annotations

import functools
import hashlib
import os
import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

#: Stands for the prepared maps among the files that tests open.
MAPS = "the prepared maps"
#: Changes when what is recorded does: no older record is taken up.
FORMAT = 1


@dataclass
class Record:
    """Tests by number, and by file and line those that execute it; "" is what import executes."""

    seconds: dict[str, float] = field(default_factory=dict)
    starting: set[str] = field(default_factory=set)
    lines: dict[str, dict[int, set[str]]] = field(default_factory=dict)
    opened: dict[str, set[str]] = field(default_factory=dict)

    def merge(self, other: dict[str, Any]) -> None:
        """Take in what another process recorded."""
        names = other["tests"]
        self.seconds |= other["seconds"]
        self.starting |= set(other["starting"])
        for path, lines in other["lines"].items():
            mine = self.lines.setdefault(path, {})
            for line, tests in lines.items():
                mine.setdefault(int(line), set()).update(names[k] for k in tests)
        for path, tests in other["opened"].items():
            self.opened.setdefault(path, set()).update(names[k] for k in tests)

    def as_json(self) -> dict[str, Any]:
        """Return what :meth:`merge` takes."""
        names = sorted({"", *self.seconds})
        number = {name: k for k, name in enumerate(names)}

        def numbers(tests: set[str]) -> list[int]:
            return sorted(number[t] for t in tests if t in number)

        lines = {p: {n: numbers(t) for n, t in of.items()} for p, of in self.lines.items()}
        opened = {path: numbers(tests) for path, tests in self.opened.items()}
        return {"tests": names, "seconds": self.seconds, "lines": lines,
                "starting": sorted(self.starting), "opened": opened}  # fmt: skip

    def leave_out(self, test: str) -> None:
        """Forget a test."""
        self.seconds.pop(test, None)
        self.starting.discard(test)
        for tests in (
            *self.opened.values(),
            *(t for of in self.lines.values() for t in of.values()),
        ):
            tests.discard(test)

    def touching(self, path: str) -> set[str]:
        """Return the tests that execute any line of a file, or open it."""
        found = set().union(*self.lines.get(path, {}).values()) | self.opened.get(path, set())
        return found - {""}

    def executing(self, path: str, lines: tuple[int, int]) -> set[str]:
        """Return the tests that execute one of the lines; "" among them if import does."""
        known = self.lines.get(path, {})
        return set().union(*(known.get(n, set()) for n in range(lines[0], lines[1] + 1)))


def checksum(root: Path, paths: Iterable[str]) -> str:
    """Return a checksum of files, of their names, and of what records them."""
    found = hashlib.sha256(f"{FORMAT} {sys.version}".encode())
    for path in sorted(paths):
        found.update(path.encode() + b"\0" + (root / path).read_bytes())
    return found.hexdigest()[:16]


class Recorder:
    """A pytest plugin that records; started before siteplan is imported."""

    def __init__(self, root: Path, send: Callable[..., None]) -> None:
        import coverage

        self.root = root
        self.send = send
        self.record = Record()
        self.context = ""
        self._uses: dict[str, set[str]] = {}
        self._coverage = coverage.Coverage(data_file=None, source=[str(root / "siteplan")],
                                           branch=False, config_file=False)  # fmt: skip
        self._coverage.start()
        sys.addaudithook(self._hear)
        self._watch_starts()

    def _watch_starts(self) -> None:
        from multiprocessing.process import BaseProcess

        start, note = BaseProcess.start, self._note_start

        def noted(self: BaseProcess) -> None:
            note()
            start(self)

        BaseProcess.start = noted  # type: ignore[method-assign]

    def _note_start(self) -> None:
        self.record.starting.add(self.context)

    def _hear(self, event: str, arguments: tuple[Any, ...]) -> None:
        if event in ("subprocess.Popen", "os.posix_spawn", "os.fork"):
            self._note_start()
        elif event == "open" and isinstance(arguments[0], str):
            path = arguments[0]
            if path.endswith(".npy") and "maps-" in path:
                self.record.opened.setdefault(MAPS, set()).add(self.context)
            elif path.startswith(f"{self.root}/siteplan/") and not path.endswith((".py", ".pyc")):
                name = path.removeprefix(f"{self.root}/")
                self.record.opened.setdefault(name, set()).add(self.context)

    def _switch(self, context: str) -> None:
        if context:
            for cache in _caches(self.root):
                cache.cache_clear()
        self.context = context
        self._coverage.switch_context(context)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self.send(started=item.nodeid, seconds=60.0)
        self._switch(item.nodeid)
        start = _spent_s()
        try:
            return (yield)
        finally:
            self.record.seconds[item.nodeid] = round(_spent_s() - start, 4)
            self._uses[item.nodeid] = set(_fixtures(item))
            self._switch("")

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Iterator[Any]:
        if fixturedef.scope == "function":
            return (yield)
        before = self.context
        self._switch(_fixture_name(fixturedef))
        try:
            return (yield)
        finally:
            self._switch(before)

    def finish(self) -> Record:
        """Return what was recorded: each fixture's lines now those of the tests that use it."""
        self._coverage.stop()
        data = self._coverage.get_data()
        lines = {
            Path(path).relative_to(self.root).as_posix(): data.contexts_by_lineno(path)
            for path in data.measured_files()
        }
        users: dict[str, set[str]] = {"": {""}}
        for test, used in self._uses.items():
            for context in (test, *used):
                users.setdefault(context, set()).add(test)

        def tests(contexts: Any) -> set[str]:
            return set().union(*(users.get(context, set()) for context in contexts))

        record = self.record
        record.lines = {p: {n: tests(c) for n, c in of.items()} for p, of in lines.items()}
        record.opened = {path: tests(contexts) for path, contexts in record.opened.items()}
        record.starting = tests(record.starting) - {""}
        return record


def _spent_s() -> float:
    """Return the processor time of this process and its children; others' work does not count."""
    spent = os.times()
    return spent.user + spent.system + spent.children_user + spent.children_system


def _fixtures(item: pytest.Item) -> Iterator[str]:
    """Yield the fixtures that a test uses, directly or through others."""
    known = item._fixtureinfo.name2fixturedefs  # type: ignore[attr-defined]
    for name in item.fixturenames:  # type: ignore[attr-defined]
        for definition in known.get(name, ()):
            yield _fixture_name(definition)


def _fixture_name(definition: Any) -> str:
    return f"fixture {definition.baseid}::{definition.argname}"


def _caches(root: Path) -> list[Any]:
    """Return the caches of functions in modules of the tree."""
    cached = type(functools.lru_cache(lambda: None))
    here = str(root)
    modules = [
        m for m in list(sys.modules.values()) if (getattr(m, "__file__", "") or "").startswith(here)
    ]
    return [v for m in modules for v in list(vars(m).values()) if isinstance(v, cached)]
