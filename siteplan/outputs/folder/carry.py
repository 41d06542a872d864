"""The user's own files, brought into another folder: linked where that goes, else copied."""

from __future__ import annotations

import os
import shutil
import stat
from collections.abc import Callable, Collection, Iterable
from contextlib import suppress
from pathlib import Path

from siteplan.frozen import frozen
from siteplan.outputs.folder.record import HALF, NAME, Record, digest, read, walked

#: What a data base that is open keeps beside its file; without it the file may not be whole.
_SIDES = ("-wal", "-shm", "-journal")


@frozen
class Item:
    """Something to carry over: its path in the old folder, and the one in the new."""

    rel: str
    to: str
    is_folder: bool = False


def survey(folder: Path, new: Path, mine: Record) -> list[Item]:
    """Return what of a folder is carried into the new one, each folder before what is in it.

    Left out is what an earlier run wrote, nobody changed since, and the new run answers for.
    Where the new run took the name of a file that was changed, or is the user's, that file is
    kept beside, under a name of its own.

    Parameters
    ----------
    folder, new : Path
        The output as it stands, and the one that was written.
    mine : Record
        Of the new one.
    """
    last = read(folder)
    entries = list(walked(folder))
    places = _Places(folder, new, known=bool(last.files))
    used = in_use(rel for rel, _ in entries)
    items = []
    for rel, entry in entries:
        if entry.is_dir(follow_symlinks=False):
            items.append(Item(rel, places.of_folder(rel), True))
        elif rel in used or not mine.replaces(rel) or not last.wrote(Path(entry.path), rel):
            to = places.of_file(rel)
            items += [Item(rel, to)] if to else []
    return _needed(items, last)


class _Places:
    """Where in the new folder what was in the old one goes."""

    def __init__(self, folder: Path, new: Path, *, known: bool) -> None:
        self.folder, self.new, self.known = folder, new, known
        self.to: dict[str, str] = {"": ""}

    def of_folder(self, rel: str) -> str:
        """Return where a folder goes: into the one of its name, if a run is known to share it."""
        wanted = self._wanted(rel)
        at = self.new / wanted
        foreign = not self.known and "/" not in rel
        clashes = os.path.lexists(at) and (foreign or not at.is_dir())
        return self._set(rel, self._free(wanted) if clashes else wanted)

    def of_file(self, rel: str) -> str:
        """Return where a file goes; '' where the new one is the same."""
        main, wanted = beside(rel), self._wanted(rel)
        if self.to.get(main, main) != main:
            return self._set(rel, self.to[main] + rel.removeprefix(main))
        if not os.path.lexists(self.new / wanted):
            return self._set(rel, wanted)
        if seen(self.folder / rel, self.new / wanted):
            return ""
        return self._set(rel, self._free(wanted))

    def _wanted(self, rel: str) -> str:
        above, _, name = rel.rpartition("/")
        return f"{self.to[above]}/{name}" if above else name

    def _free(self, wanted: str) -> str:
        return free(wanted, (self.new, self.folder), self.to.values())

    def _set(self, rel: str, to: str) -> str:
        self.to[rel] = to
        return to


def _needed(items: list[Item], last: Record) -> list[Item]:
    """Return the items without the folders of siteplan's own that nothing is carried in."""
    needed: set[str] = set()
    for item in items:
        if not item.is_folder or item.rel not in last.folders:
            parts = item.rel.split("/")
            needed |= {"/".join(parts[:k]) for k in range(1, len(parts) + 1)}
    return [item for item in items if item.rel in needed]


def joined(mine: Record, last: Record, items: list[Item], folder: Path) -> Record:
    """Return the record of the new folder: what was written now, and earlier by other commands."""
    stays = [i for i in items if not i.is_folder and i.rel == i.to and not mine.replaces(i.rel)]
    files = {i.rel: last.files[i.rel] for i in stays if last.wrote(folder / i.rel, i.rel)}
    above = {i.rel for i in items if i.is_folder} & last.folders
    kept = {i.to: i.rel for i in items if i.to != i.rel}
    return Record(mine.takes, files | mine.files, mine.folders | above, kept)


def carry(items: list[Item], folder: Path, new: Path) -> None:
    """Bring the items of a folder into the new one, folders with mode and times."""
    made = []
    for item in items:
        source, at = folder / item.rel, new / item.to
        if not item.is_folder:
            bring(source, at, new / HALF)
        elif not at.is_dir():
            at.mkdir()
            made.append((source, at))
    for source, at in reversed(made):
        _like(source, at)


def bring(source: Path, at: Path, half: Path) -> None:
    """Make a file, link or special file stand at another place too, the same in all it holds."""
    kind = os.lstat(source).st_mode
    if stat.S_ISLNK(kind):
        at.symlink_to(source.readlink())
        _like(source, at)
        return
    try:
        os.link(source, at)
    except OSError:
        if not stat.S_ISREG(kind):
            raise
        half.unlink(missing_ok=True)
        shutil.copy2(source, half)
        _like(source, half)
        half.rename(at)


def seen(one: Path, other: Path) -> bool:
    """Return whether what stands at a place stands, the same in all it holds, at another too."""
    if not (os.path.lexists(one) and os.path.lexists(other)):
        return False
    first, second = os.lstat(one), os.lstat(other)
    if os.path.samestat(first, second):
        return True
    kind = stat.S_IFMT(first.st_mode)
    if kind != stat.S_IFMT(second.st_mode):
        return False
    if kind == stat.S_IFLNK:
        return one.readlink() == other.readlink()
    if kind == stat.S_IFREG:
        return first.st_size == second.st_size and digest(one) == digest(other)
    return kind == stat.S_IFDIR


def free(wanted: str, folders: tuple[Path, ...], taken: Collection[str] = ()) -> str:
    """Return a name for a file that is kept beside the one that took its name."""
    above, slash, name = wanted.rpartition("/")
    stem, suffix = Path(name).stem, Path(name).suffix
    for number in range(1, 10**6):
        again = f"-{number}" if number > 1 else ""
        found = f"{above}{slash}{stem}.kept{again}{suffix}"
        if found not in taken and not any(os.path.lexists(f / found) for f in folders):
            return found
    raise AssertionError("a folder of a million kept files")


def in_use(paths: Iterable[str]) -> set[str]:
    """Return the files beside which an open data base keeps something."""
    return {main for path in paths if (main := beside(path))}


def beside(rel: str) -> str:
    """Return the data base that a file belongs to, '' for none."""
    return next((rel.removesuffix(end) for end in _SIDES if rel.endswith(end)), "")


def _like(source: Path, at: Path) -> None:
    """Give a copy the mode, times and owner of what it was made from, as far as one may."""
    shutil.copystat(source, at, follow_symlinks=False)
    found = os.lstat(source)
    if hasattr(os, "chown") and (found.st_uid, found.st_gid) != (os.geteuid(), os.getegid()):
        with suppress(OSError):
            os.chown(at, found.st_uid, found.st_gid, follow_symlinks=False)


class Emptied:
    """A hidden folder that is emptied file by file: what is nowhere else goes where it belongs."""

    def __init__(
        self,
        hidden: Path,
        folder: Path,
        *,
        to: Callable[[str], str],
        ours: Callable[[Path, str], bool],
    ) -> None:
        self.hidden, self.folder = hidden, folder
        self.to, self.ours = to, ours
        #: Where files were put that were in the hidden folder alone.
        self.returned: list[str] = []

    def run(self) -> None:
        """Remove all that is siteplan's or is seen outside, put the rest there, then the folder."""
        own = read(self.hidden)
        for rel, entry in reversed(list(walked(self.hidden))):
            path = Path(entry.path)
            if entry.is_dir(follow_symlinks=False):
                self._folder(path, rel, own)
                continue
            if not self.ours(path, rel) and not seen(path, self.folder / self.to(rel)):
                self._give(path, self.to(rel))
            _remove(path, path.unlink)
        for name in (HALF, NAME):
            (self.hidden / name).unlink(missing_ok=True)
        self.hidden.rmdir()

    def _give(self, path: Path, rel: str) -> None:
        """Put a file into the folder, under another name where its own is taken."""
        above = self.folder
        for part in Path(rel).parent.parts:
            above /= part
            if os.path.lexists(above) and not above.is_dir():
                above = above.with_name(free(above.name, (above.parent,)))
            above.mkdir(parents=True, exist_ok=True)
        at = above / Path(rel).name
        if os.path.lexists(at):
            at = above / free(at.name, (above,))
        bring(path, at, self.folder / HALF)
        self.returned.append(at.relative_to(self.folder).as_posix())

    def _folder(self, path: Path, rel: str, own: Record) -> None:
        """Remove a folder that was emptied; an empty one of the user's stands outside before."""
        at = self.folder / self.to(rel)
        if rel not in own.folders and not os.path.lexists(at):
            at.mkdir(parents=True)
            _like(path, at)
        _remove(path, path.rmdir)


def _remove(path: Path, remove: Callable[[], None]) -> None:
    """Remove something from a hidden folder, read-only folders too."""
    try:
        remove()
    except PermissionError:
        path.parent.chmod(stat.S_IMODE(os.lstat(path.parent).st_mode) | stat.S_IRWXU)
        remove()
