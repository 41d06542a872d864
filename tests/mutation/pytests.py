"""What a child does with pytest: chosen tests in a chosen order, or all of them recorded."""

from __future__ import annotations

import json
import os
import traceback
from collections.abc import Callable, Sequence
from typing import Any

import pytest

from tests.mutation.copies import Copy
from tests.mutation.lines import Recorder

Send = Callable[..., None]
#: ``--tb=line`` saves the time of long reports.
_OPTIONS = ("-q", "--tb=line", "-p", "no:cacheprovider")


class Plain:
    """Tests without what only people want.

    Hypothesis looks for no smaller example, and keeps none. The prepared maps are those of the
    copy, wherever a conftest puts those of a run of its own: they would be prepared each time.
    """

    def __init__(self) -> None:
        self._maps = os.environ["SITEPLAN_CACHE"]

    def pytest_sessionstart(self) -> None:
        os.environ["SITEPLAN_CACHE"] = self._maps

    def pytest_collectstart(self) -> None:
        from hypothesis import HealthCheck, Phase, settings

        current = settings.get_current_profile_name()
        if not current.startswith("mutation-"):
            name = f"mutation-{current}"
            settings.register_profile(
                name,
                settings.get_profile(current),
                phases=(Phase.explicit, Phase.generate),
                suppress_health_check=list(HealthCheck),
                database=None,
            )
            settings.load_profile(name)


class Told:
    """A pytest plugin that tells how each test goes; ``seconds`` is what it may take."""

    def __init__(self, send: Send, seconds: dict[str, float] | None = None) -> None:
        self.send = send
        self.seconds = seconds or {}
        self.failures = 0
        self.ended = False

    def pytest_sessionfinish(self) -> None:
        self.ended = True

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        self.send(started=nodeid, seconds=self.seconds.get(nodeid, 5.0))

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self._tell(report)

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.failed:
            self._tell(report)

    def _tell(self, report: Any) -> None:
        self.failures += 1
        self.send(failed=report.nodeid, why=_last_line(report))


class Chosen(Told):
    """Runs chosen tests in their order.

    ``seconds`` are the chosen tests, each with the time it takes without a change. A test that is
    new because a change gave its parameters another name runs with the others of its function.
    """

    def __init__(self, seconds: dict[str, float], known: frozenset[str], send: Send) -> None:
        super().__init__(send, seconds)
        self.known = known

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        rank = {name: k for k, name in enumerate(self.seconds)}
        functions = {name.partition("[")[0]: k for name, k in reversed(rank.items())}

        def place(item: pytest.Item) -> int | None:
            if item.nodeid in rank or item.nodeid in self.known:
                return rank.get(item.nodeid)
            return functions.get(item.nodeid.partition("[")[0])

        placed = [(k, item) for item in items if (k := place(item)) is not None]
        items[:] = [item for _, item in sorted(placed, key=lambda pair: pair[0])]


def _last_line(report: Any) -> str:
    text = str(report.longrepr).strip().splitlines()
    return text[-1][:200] if text else ""


def run_chosen(
    seconds: dict[str, float], known: frozenset[str], *, stop: bool = True
) -> Callable[[Copy, Send], int]:
    """Return work that runs chosen tests, and stops at the first that fails."""

    def work(copy: Copy, send: Send) -> int:
        files = dict.fromkeys(name.partition("::")[0] for name in seconds)
        chosen = Chosen(seconds, known, send)
        arguments = [*_OPTIONS, *(["-x"] if stop else []), *_placed(copy), *files]
        return _main(arguments, chosen)

    return work


def run_browser(folders: Sequence[str]) -> Callable[[Copy, Send], int]:
    """Return work that runs the tests below folders that open a browser."""

    def work(copy: Copy, send: Send) -> int:
        arguments = [*_OPTIONS, "-x", *_placed(copy, "browser"), *folders]
        return _main(arguments, Told(send))

    return work


def record(files: Sequence[str]) -> Callable[[Copy, Send], int]:
    """Return work that runs all tests of files and records which lines they execute."""

    def work(copy: Copy, send: Send) -> int:
        recorder = Recorder(copy.root, send)
        arguments = [*_OPTIONS, *_placed(copy), *files]
        code = _main(arguments, recorder)
        found = recorder.finish().as_json()
        (copy.folder / "record.json").write_text(json.dumps(found), encoding="utf-8")
        return 0 if code in (0, 1, 5) else code

    return work


def _main(arguments: Sequence[str], plugin: object) -> int:
    """Return how pytest ends; what goes wrong only after the last test is no test's failure."""
    try:
        return int(pytest.main(list(arguments), plugins=[Plain(), plugin]))
    except Exception as fault:  # a file left open, found when all is done
        if not isinstance(plugin, Told) or plugin.ended:
            traceback.print_exception(fault)
            return int(getattr(plugin, "failures", 0) > 0)
        raise


def _placed(copy: Copy, mark: str = "not browser") -> list[str]:
    """Return the options that keep pytest within a copy, and to tests of a mark."""
    return ["--rootdir", str(copy.root), "-c", str(copy.root / "pyproject.toml"), "-m", mark]
