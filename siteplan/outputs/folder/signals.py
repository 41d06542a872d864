"""Ctrl-C and SIGTERM wait while files change places."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def undisturbed() -> Iterator[None]:
    """Hold Ctrl-C and SIGTERM back until the block is done; what came in between comes then.

    Only the main thread hears of signals: in another the block is just run.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    held: list[int] = []
    before = {
        number: signal.signal(number, lambda number, _frame: held.append(number))
        for number in (signal.SIGINT, signal.SIGTERM)
    }
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
        if held:
            signal.raise_signal(held[0])
