"""What the last run wrote into an output: so that what a user changed there is the user's."""

from __future__ import annotations

import hashlib
import json
import os
import stat
from collections.abc import Iterable, Iterator
from dataclasses import field
from pathlib import Path
from typing import Any

from siteplan.frozen import frozen

#: The record's name in the output, and that of a file that is being copied or written there.
NAME, HALF = ".siteplan.json", ".siteplan-half"
_LARGE = 1 << 20  # bytes


@frozen
class Record:
    """What a run wrote, and what it found.

    ``takes`` are the names at the top of the folder that the run answers for: what stood there
    of an earlier run is replaced. ``files`` holds size, time [ns] and SHA-256 of each file that
    siteplan wrote, by its path in the folder; ``folders`` those that these stand in. ``kept``
    says where a user's file went whose name the run took: new path, old path.
    """

    takes: frozenset[str] = frozenset()
    files: dict[str, tuple[int, int, str]] = field(default_factory=dict)
    folders: frozenset[str] = frozenset()
    kept: dict[str, str] = field(default_factory=dict)

    def wrote(self, path: Path, rel: str) -> bool:
        """Return whether a file is as siteplan wrote it.

        What is in it counts: one that was copied has another time, and one that was changed may
        have the same. Of a large one size and time are enough where both are as they were.
        """
        known = self.files.get(rel)
        if known is None:
            return False
        found = os.lstat(path)
        if not stat.S_ISREG(found.st_mode) or found.st_size != known[0]:
            return False
        as_it_was = found.st_size > _LARGE and found.st_mtime_ns == known[1]
        return as_it_was or digest(path) == known[2]

    def replaces(self, rel: str) -> bool:
        """Return whether the run answers for a path, so that an earlier run's file goes."""
        return rel.split("/", 1)[0] in self.takes


def read(folder: Path) -> Record:
    """Return the record in a folder, an empty one where there is none that can be read."""
    try:
        found: dict[str, Any] = json.loads((folder / NAME).read_text(encoding="utf-8"))
        return Record(
            frozenset(map(str, found["takes"])),
            {str(k): (int(s), int(t), str(h)) for k, (s, t, h) in found["files"].items()},
            frozenset(map(str, found["folders"])),
            {str(k): str(v) for k, v in found["kept"].items()},
        )
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return Record()


def of(folder: Path, takes: Iterable[str]) -> Record:
    """Return the record of a folder that holds what a run wrote and nothing else."""
    files: dict[str, tuple[int, int, str]] = {}
    folders = set()
    for rel, entry in walked(folder):
        if entry.is_dir(follow_symlinks=False):
            folders.add(rel)
        else:
            found = entry.stat(follow_symlinks=False)
            files[rel] = (found.st_size, found.st_mtime_ns, digest(Path(entry.path)))
    tops = {rel.split("/", 1)[0] for rel in (*files, *folders)}
    return Record(frozenset(takes) | tops, files, frozenset(folders))


def write(record: Record, folder: Path) -> None:
    """Write a record into a folder: all of it or none."""
    content = {
        "about": "What siteplan wrote here. What is not in this list, or was changed, is kept.",
        "takes": sorted(record.takes),
        "files": record.files,
        "folders": sorted(record.folders),
        "kept": record.kept,
    }
    half = folder / HALF
    half.write_text(json.dumps(content, indent=0), encoding="utf-8")
    half.replace(folder / NAME)


def walked(folder: Path, below: str = "") -> Iterator[tuple[str, os.DirEntry[str]]]:
    """Yield everything in a folder but its record, each folder before what is in it.

    Links are not followed. Paths are told from the folder on, with slashes.
    """
    with os.scandir(folder / below) as found:
        entries = sorted(found, key=lambda entry: entry.name)
    for entry in entries:
        rel = f"{below}/{entry.name}" if below else entry.name
        if rel in (NAME, HALF):
            continue
        yield rel, entry
        if entry.is_dir(follow_symlinks=False):
            yield from walked(folder, rel)


def digest(path: Path) -> str:
    """Return the SHA-256 of a file."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
