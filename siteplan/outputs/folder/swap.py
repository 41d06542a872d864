"""A folder takes another's place; what was begun and not ended is put back.

The order binds, since a run may be killed between any two steps:

1. ``next``, hidden beside the output, holds what the run wrote, and a record of it.
2. The user's own files are linked or copied into it.
3. The output becomes ``last``, hidden beside it, and ``next`` becomes the output.
4. ``last`` is emptied file by file: each is siteplan's own, unchanged, or is seen in the output.

So `put_right` knows from what is there how far a run came. ``last`` without an output: between
the two names of step 3. ``last`` beside an output: in step 4, unless ``next`` is there too: then
somebody else made the output. ``next`` alone: before step 3.
"""

from __future__ import annotations

import os
import shutil
import stat
from pathlib import Path

from siteplan.outputs.folder.carry import Emptied, Item, carry, in_use, joined, survey
from siteplan.outputs.folder.faults import few, tell
from siteplan.outputs.folder.names import earlier, hidden
from siteplan.outputs.folder.record import NAME, Record, read, walked, write


def swap(new: Path, folder: Path, mine: Record, shown: Path) -> None:
    """Put a new folder in the place of an output, with the user's own files.

    Parameters
    ----------
    new, folder : Path
        The hidden folder beside the output, and the output; it need not be there.
    mine : Record
        What was written into the new one.
    shown : Path
        The output as the user calls it.

    Raises
    ------
    OSError
        If it cannot be done; the output is as it was.
    """
    if not os.path.lexists(folder):
        write(mine, new)
        new.rename(folder)
        return
    items = survey(folder, new, mine)
    write(joined(mine, read(folder), items, folder), new)
    carry(items, folder, new)
    shutil.copymode(folder, new)
    last = hidden(folder, "last")
    folder.rename(last)
    try:
        new.rename(folder)
    except OSError:
        last.rename(folder)
        raise
    _tell_kept(items, folder, shown)
    try:
        _discard(last, folder, shown)
    except OSError as error:
        reason = f"{error.strerror}: {error.filename}"
        tell(shown, f"the last outputs could not be removed from {last} ({reason}).")


def put_right(folder: Path, shown: Path) -> None:
    """Put back what a run that ended half-way left beside an output, and say so.

    Raises
    ------
    OSError
        If that cannot be done; nothing is lost.
    """
    last, new = hidden(folder, "last"), hidden(folder, "next")
    if os.path.lexists(last):
        if not os.path.lexists(folder):
            last.rename(folder)
            tell(shown, "put back the last good outputs: a run was stopped while it replaced them.")
        else:
            _discard(last, folder, shown, all_of_it=os.path.lexists(new))
            tell(shown, "tidied up after a run that was stopped; nothing of yours is lost.")
    if os.path.lexists(new):
        _sweep(new, folder, shown)
        tell(shown, "removed what a run that was stopped had left half-made.")
    for other in earlier(folder):
        _put_right_earlier(other, folder, shown)


def _put_right_earlier(other: Path, folder: Path, shown: Path) -> None:
    """Put back what a run of an earlier version left; its half-made outputs held nothing else."""
    if other.name.startswith(".siteplan-new-"):
        shutil.rmtree(other)
    elif not os.path.lexists(folder):
        other.rename(folder)
        tell(shown, "put back the last good outputs: a run was stopped while it replaced them.")
    else:
        _discard(other, folder, shown, all_of_it=True)


def sweep(new: Path, folder: Path, shown: Path) -> None:
    """Remove what a run that failed had begun, as far as that goes."""
    if not os.path.lexists(new) or os.path.lexists(hidden(folder, "last")):
        return
    try:
        _sweep(new, folder, shown)
    except OSError as error:
        tell(shown, f"{new} could not be removed ({error.strerror}); the next run tries again.")


def _sweep(new: Path, folder: Path, shown: Path) -> None:
    """Empty what was in the making; before its record is written nothing of the user's is there."""
    if not (new / NAME).is_file():
        shutil.rmtree(new)
        return
    own = read(new)
    emptied = Emptied(new, folder, to=lambda rel: own.kept.get(rel, rel), ours=own.wrote)
    emptied.run()
    _tell_returned(emptied, shown)


def _discard(last: Path, folder: Path, shown: Path, *, all_of_it: bool = False) -> None:
    """Empty what was replaced; with ``all_of_it`` siteplan's files count as the user's."""
    now, old = Record() if all_of_it else read(folder), read(last)
    to = {source: at for at, source in now.kept.items()}
    used = in_use(rel for rel, _ in walked(last))

    def ours(path: Path, rel: str) -> bool:
        return rel not in used and now.replaces(rel) and old.wrote(path, rel)

    emptied = Emptied(last, folder, to=lambda rel: to.get(rel, rel), ours=ours)
    emptied.run()
    _tell_returned(emptied, shown)


def _tell_returned(emptied: Emptied, shown: Path) -> None:
    if emptied.returned:
        tell(shown, f"put back {few(sorted(emptied.returned))}.")


def _tell_kept(items: list[Item], folder: Path, shown: Path) -> None:
    """Tell of files whose names were taken, and of what is neither file, folder nor link."""
    moved = [f"{item.rel} as {item.to}" for item in items if item.rel != item.to]
    if moved:
        tell(shown, f"kept what siteplan had not written, or was changed since: {few(moved)}.")
    odd = [item.to for item in items if not item.is_folder and _special(folder / item.to)]
    if odd:
        tell(shown, f"kept what is neither file, folder nor link: {few(odd)}.")


def _special(path: Path) -> bool:
    try:
        kind = os.lstat(path).st_mode
    except OSError:
        return False
    return not (stat.S_ISREG(kind) or stat.S_ISLNK(kind))
