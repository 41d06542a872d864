"""An output, held by one run: what was left is put back first, outputs appear at the end."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from siteplan.errors import OutputError
from siteplan.frozen import frozen
from siteplan.outputs.folder import lock
from siteplan.outputs.folder.faults import told
from siteplan.outputs.folder.names import hidden, hidden_in, real
from siteplan.outputs.folder.record import of, walked
from siteplan.outputs.folder.signals import undisturbed
from siteplan.outputs.folder.swap import put_right, swap, sweep


@frozen
class Claim:
    """An output that this run alone writes: as the user calls it, and where it stands."""

    shown: Path
    place: Path

    @contextmanager
    def staged(self, takes: Iterable[str]) -> Iterator[Path]:
        """Yield an empty folder to write into; it takes the output's place at the end.

        Parameters
        ----------
        takes : iterable of str
            Names at the top of the folder that the run answers for: what an earlier run wrote
            there is replaced, or gone. All else stays, the user's files above all.

        Raises
        ------
        OutputError
            If the outputs cannot be written; the last good ones are as they were.
        """
        new = hidden(self.place, "next")
        try:
            with told(self.shown):
                new.mkdir()
                yield new
                mine = of(new, takes)
                with undisturbed():
                    swap(new, self.place, mine, self.shown)
        finally:
            with undisturbed():
                sweep(new, self.place, self.shown)


@contextmanager
def claimed(output: Path, *, part: str = "") -> Iterator[Claim]:
    """Hold an output for this run alone, and put back first what a run that died left.

    Parameters
    ----------
    output : Path
        The output folder; it need not be there. A link stays one: where it leads is replaced.
    part : str
        The folder in it that is to be replaced, where it is not all of it.

    Raises
    ------
    OutputError
        If another run holds it, or it cannot be replaced: a file, the root of a disk, a folder
        with another disk in it, or one that cannot be read.
    """
    shown = output / part if part else output
    base, place = real(output), real(shown)
    with ExitStack() as stack:
        with told(output):
            _check(place, shown)
            base.parent.mkdir(parents=True, exist_ok=True)
            _check_above(base, output)
            stack.enter_context(lock.held(hidden(base, "lock"), output))
            with undisturbed():
                _put_all_right(base, place, output, shown)
            _check_within(place, shown)
            place.parent.mkdir(parents=True, exist_ok=True)
        yield Claim(shown, place)


def put_back(output: Path, *, part: str = "") -> None:
    """Put back what a run that died left of an output, if any did.

    Raises
    ------
    OutputError
        If a run is at work there, or it cannot be done.
    """
    base, place = real(output), real(output / part if part else output)
    if any(_left(folder) for folder in (base, place)):
        with claimed(output, part=part):
            return


def _left(folder: Path) -> bool:
    return any(os.path.lexists(hidden(folder, kind)) for kind in ("next", "last"))


def _put_all_right(base: Path, place: Path, output: Path, shown: Path) -> None:
    """Put back the output, outputs in it, and the part of it that is to be replaced."""
    put_right(base, output)
    if base.is_dir():
        for inner in hidden_in(base):
            lock.check_free(hidden(inner, "lock"), output / inner.name)
            put_right(inner, output / inner.name)
    if place != base:
        put_right(place, shown)


def _check(place: Path, shown: Path) -> None:
    """Raise where something stands that no folder can replace."""
    if os.path.lexists(place) and not place.is_dir():
        link = place.is_symlink()
        raise OutputError(
            f"{'a link that leads to itself' if link else 'a file'} has that name.",
            where=str(shown),
            fix="Move it away, or choose another folder with --output.",
        )
    if os.path.ismount(place):
        raise OutputError(
            "that is the root of a disk or of a mounted folder, which cannot be replaced.",
            where=str(shown),
            fix=f"Choose a folder in it: --output {shown / 'plan'}",
        )


def _check_above(base: Path, output: Path) -> None:
    """Raise where a run is at work on an output that holds this one."""
    for folder in base.parents:
        lock.check_free(hidden(folder, "lock"), output)


def _check_within(place: Path, shown: Path) -> None:
    """Raise where the folder holds what cannot be carried over, before any work is done."""
    if not place.is_dir():
        return
    disk = place.stat().st_dev
    for rel, entry in walked(place):
        if entry.name.startswith(".siteplan-lock-"):
            lock.check_free(Path(entry.path), shown)
        if entry.is_dir(follow_symlinks=False) and os.lstat(entry.path).st_dev != disk:
            raise OutputError(
                f"{rel} in it is another disk or a mounted folder.",
                where=str(shown),
                fix="Take it out of there, or choose another folder with --output.",
            )
