"""Progress: bars for long work, on the error stream."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from siteplan.outputs.console.terminal import console

#: Plans of fewer sites show no progress bar: they are done before it is drawn.
PROGRESS_FROM_SITES = 20_000
#: Sheets take longer: they show a bar from so many.
SHEETS_PROGRESS_FROM = 400


@contextmanager
def progress(*, quiet: bool) -> Iterator[Callable[..., Callable[[int], None]]]:
    """Yield what ``plan_project`` calls with a number and a label: a bar for long work."""
    from contextlib import ExitStack

    with ExitStack() as open_bars:
        shared: list[Any] = []

        def watch(total: int, label: str = "Planning") -> Callable[[int], None]:
            least = SHEETS_PROGRESS_FROM if label == "Sheets" else PROGRESS_FROM_SITES
            if quiet or total < least:
                return lambda done: None
            if not shared:
                shared.append(open_bars.enter_context(_bars()))
            task = shared[0].add_task(label, total=total)
            return lambda done: shared[0].update(task, completed=done)

        yield watch


def _bars() -> Any:
    """Return the bars that long work moves, on the error stream and gone at the end."""
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn

    columns = ("{task.description}", BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    return Progress(*columns, console=console(error=True), transient=True)
