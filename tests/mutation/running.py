"""Tests run in children of a warm process, several at a time, each in a copy of the tree.

The parent has loaded what is heavy and does not change (numpy, pandas, pytest), but not siteplan;
a child is forked for each run, tells test by test how it goes, and is ended when a test hangs.
"""

from __future__ import annotations

import contextlib
import importlib
import json
import os
import resource
import selectors
import signal
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

from tests.mutation.copies import Copy

#: What tests and siteplan load, and what takes its time.
_HEAVY = (
    *("numpy", "scipy.optimize", "pandas", "pyarrow.parquet", "pyarrow.csv", "shapely", "pyproj"),
    *("geopandas", "pyogrio", "rasterio", "itur", "wmm", "contourpy", "folium", "jinja2", "segno"),
    *("pydantic", "orjson", "openpyxl", "rich.console", "dask", "distributed", "coverage"),
    *("pytest", "hypothesis", "hypothesis.extra.numpy", "skyfield.api", "astropy.coordinates"),
    *("erfa", "icalendar", "gpxpy", "lxml.etree", "pypdf", "zxingcpp"),
)
#: A test hangs that takes so many seconds and so many times as long as without a change.
_PATIENCE_S, _PATIENCE_TIMES = 45.0, 12.0
_MEMORY_BYTES = 8 << 30


@dataclass(frozen=True)
class Job:
    """Work of a child: ``work(copy, send)`` returns its exit code and may send messages."""

    work: Callable[[Copy, Callable[..., None]], int]
    cold: bool = False
    writes_compiled: bool = False


@dataclass
class Result:
    """How a job ended: its exit code, what it sent, whether it hung, and how long it took."""

    code: int
    messages: list[dict[str, Any]]
    hung: bool
    seconds: float

    def last(self, key: str) -> Any:
        """Return the last message's value of a key; None where none came."""
        return next((m[key] for m in reversed(self.messages) if key in m), None)

    def all(self, key: str) -> list[Any]:
        """Return every message's value of a key."""
        return [m[key] for m in self.messages if key in m]


Task = Generator[Job, Result, None]


def warm_up() -> None:
    """Import what is heavy; what is not installed is left out."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    sys.dont_write_bytecode = True
    for name in _HEAVY:
        with contextlib.suppress(ImportError):
            importlib.import_module(name)
    loaded = [name for name in sys.modules if name.partition(".")[0] == "siteplan"]
    if loaded:
        raise RuntimeError(f"siteplan is loaded already: {loaded[0]}")
    if threading.active_count() > 1:
        raise RuntimeError("threads run already: a fork of this process would hang")


class Child:
    """A forked child and the pipe that it tells its progress through."""

    def __init__(self, job: Job, copy: Copy) -> None:
        copy.clean()
        self._maps = copy.maps_seen()
        self._copy = copy
        reading, writing = os.pipe()
        self._start = self._moved = time.monotonic()
        self._limit_s = _PATIENCE_S * 3  # collecting
        self._text = b""
        self._messages: list[dict[str, Any]] = []
        self.pid = os.fork()
        if self.pid == 0:
            os.close(reading)
            _be_child(job, copy, writing)
        os.close(writing)
        os.set_blocking(reading, False)
        self.pipe = reading

    def read(self) -> bool:
        """Take in what came through the pipe; return whether the child is at its end."""
        try:
            text = os.read(self.pipe, 1 << 20)
        except BlockingIOError:
            return False
        self._text += text
        *whole, self._text = self._text.split(b"\n")
        for line in whole:
            message = json.loads(line)
            self._messages.append(message)
            self._moved = time.monotonic()
            if "seconds" in message:
                self._limit_s = _PATIENCE_S + _PATIENCE_TIMES * message["seconds"]
        return not text

    def hangs(self) -> bool:
        """Return whether nothing moved for too long; other work on the machine is allowed for."""
        crowd = max(1.0, os.getloadavg()[0] / (os.cpu_count() or 1))
        return time.monotonic() - self._moved > self._limit_s * crowd

    def end(self, *, hung: bool = False) -> Result:
        """End the child and what it started; return how it went."""
        if not hung:
            _, status = os.waitpid(self.pid, 0)
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.pid, signal.SIGKILL)
        if hung:
            _, status = os.waitpid(self.pid, 0)
        os.close(self.pipe)
        if self._copy.maps_seen() != self._maps:
            self._copy.restore_maps()
        code = os.waitstatus_to_exitcode(status)
        return Result(code, self._messages, hung, time.monotonic() - self._start)


def _be_child(job: Job, copy: Copy, pipe: int) -> NoReturn:
    """Do a job in a forked child, and leave."""
    code = 70
    try:
        os.setsid()
        _settle(job, copy)

        def send(**message: Any) -> None:
            os.write(pipe, json.dumps(message).encode() + b"\n")

        code = job.work(copy, send)
    except BaseException:
        import traceback

        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


def _settle(job: Job, copy: Copy) -> None:
    """Make the copy this process's tree: its folder, its modules, its caches, its output."""
    log = os.open(copy.log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(log, 1)
    os.dup2(log, 2)
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    resource.setrlimit(resource.RLIMIT_DATA, (_MEMORY_BYTES, _MEMORY_BYTES))
    here = str(Path(__file__).parent.parent.parent)
    os.chdir(copy.root)
    sys.path[:] = [str(copy.root), *(p for p in sys.path if p and Path(p).resolve() != Path(here))]
    for name in [n for n in sys.modules if n.partition(".")[0] == "tests"]:
        del sys.modules[name]
    importlib.invalidate_caches()
    sys.dont_write_bytecode = not job.writes_compiled
    maps = copy.scratch / "maps" if job.cold else copy.maps
    scratch = str(copy.scratch)
    os.environ |= {"PYTHONPATH": str(copy.root), "SITEPLAN_CACHE": str(maps), "CI": "1"}
    os.environ |= {"TMPDIR": scratch, "PYTHONDONTWRITEBYTECODE": "1"}
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"  # no test needs one
    tempfile.tempdir = None


def carry_out(tasks: Sequence[Callable[[Copy], Task]], copies: Sequence[Copy]) -> None:
    """Carry out tasks, each in one of the copies until it is done."""
    waiting = iter(tasks)
    free = list(copies)
    running: dict[int, tuple[Child, Task, Copy]] = {}
    with selectors.DefaultSelector() as selector:
        try:
            while True:
                for copy in free:
                    begin = next(waiting, None)
                    if begin is not None:
                        _advance(begin(copy), None, copy, running, selector)
                free = []
                if not running:
                    return
                for pid, result in list(_ended(running, selector)):
                    child, task, copy = running.pop(pid)
                    if not _advance(task, result, copy, running, selector):
                        free.append(copy)
        finally:
            for child, task, _ in running.values():
                child.end(hung=True)
                task.close()


def _advance(
    task: Task,
    result: Result | None,
    copy: Copy,
    running: dict[int, tuple[Child, Task, Copy]],
    selector: selectors.BaseSelector,
) -> bool:
    """Hand a task the result of its job and start the next; return whether there is one."""
    try:
        job = next(task) if result is None else task.send(result)
    except StopIteration:
        return False
    child = Child(job, copy)
    running[child.pid] = (child, task, copy)
    selector.register(child.pipe, selectors.EVENT_READ, child)
    return True


def _ended(
    running: dict[int, tuple[Child, Task, Copy]], selector: selectors.BaseSelector
) -> Iterator[tuple[int, Result]]:
    """Wait a little; yield the children that came to their end or hang."""
    done = {key.data.pid for key, _ in selector.select(timeout=2.0) if key.data.read()}
    for pid, (child, _, _) in running.items():
        hung = pid not in done and child.hangs()
        if pid in done or hung:
            selector.unregister(child.pipe)
            yield pid, child.end(hung=hung)
