"""What a command prints on its way, and how it ends: streams nobody reads, signals."""

from __future__ import annotations

import logging
import os
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, NoReturn, TextIO, cast

from siteplan.errors import TERMINATED


class _Unread:
    """A stream that goes on into nothing once nobody reads it any more (``| head``)."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)

    def write(self, text: str) -> int:
        """Write a text, or drop it."""
        try:
            return self._stream.write(text)
        except BrokenPipeError:
            self._drop()
            return len(text)

    def flush(self) -> None:
        """Write what waits, or drop it."""
        try:
            self._stream.flush()
        except BrokenPipeError:
            self._drop()

    def end(self) -> None:
        """Write what waits a last time; where that fails (a full disk) it was told before."""
        try:
            self.flush()
        except (OSError, ValueError):
            with suppress(OSError, ValueError):
                self._drop()

    def _drop(self) -> None:
        """Lead the stream into nothing: what waits in it would be tried again at the end."""
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, self._stream.fileno())
        os.close(nothing)


@contextmanager
def unread_is_no_fault() -> Iterator[None]:
    """Let a command end as it would have where nobody reads what it prints to the end."""
    before = sys.stdout, sys.stderr
    # A process may be started with either of them closed.
    with Path(os.devnull).open("w", encoding="utf-8") as nothing:
        out, error = (_Unread(stream or nothing) for stream in before)
        sys.stdout, sys.stderr = cast(TextIO, out), cast(TextIO, error)
        try:
            yield
        finally:
            out.end()
            error.end()
            sys.stdout, sys.stderr = before


class _Screen(logging.Handler):
    """Prints what is told on the way, such as files put back, with the command's name."""

    def emit(self, record: logging.LogRecord) -> None:
        """Print one message, whatever standard error is just then."""
        print(f"siteplan: {record.getMessage()}", file=sys.stderr)


@contextmanager
def told_on_the_screen() -> Iterator[None]:
    """Print what the package logs while a command runs; from Python it is the caller's to do."""
    log, screen = logging.getLogger("siteplan"), _Screen()
    log.addHandler(screen)
    try:
        yield
    finally:
        log.removeHandler(screen)


@contextmanager
def tidy_when_terminated() -> Iterator[None]:
    """Let SIGTERM end the command as an exception does, so that nothing half-made is left."""

    def stop(_signal: int, _frame: object) -> NoReturn:
        raise SystemExit(TERMINATED)

    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGTERM, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)
