"""Whether a kept map is still what was written: its size, its time, blocks of it, all of it.

Reading every byte of all maps takes as long as planning a few hundred sites. So the whole of a file
is tried where its time has changed, and once a day; at every other opening its size, its time, and
blocks at fixed places, or the whole of a small file.
"""

from __future__ import annotations

import dataclasses
import io
import json
import os
import time
import zlib
from pathlib import Path
from typing import IO

from siteplan.frozen import frozen

#: So many blocks of so many bytes are tried at every opening; smaller files are tried whole.
BLOCKS, BLOCK = 64, 65_536
#: How long a look at the whole file holds. [s]
WHOLE_EVERY_S = 86_400.0
_READ = 1 << 20


class DamagedError(ValueError):
    """A kept map, or the note beside it, is not what was written."""


@frozen
class Note:
    """What stands beside a kept map.

    ``source`` is the checksum of what it was made from, ``size`` [bytes] and ``time_ns`` (when it
    was last written) are the file's, ``blocks`` and ``whole`` its checksums, ``seen_s`` is when
    the whole was last tried [s since 1970].
    """

    source: int
    size: int
    time_ns: int
    blocks: int
    whole: int
    seen_s: float

    def text(self) -> str:
        """Return the note as JSON."""
        return json.dumps(dataclasses.asdict(self))


def note_of(content: memoryview, path: Path, source: int) -> Note:
    """Return the note of a file to which ``content`` was just written.

    The checksums are those of the bytes in memory: what the disk makes of them is tried later.
    """
    seen = io.BytesIO(content)
    size = len(content)
    return Note(
        source, size, path.stat().st_mtime_ns, _blocks(seen, size), _whole(seen), time.time()
    )


def read_note(path: Path) -> Note:
    """Return the note in a file.

    Raises
    ------
    DamagedError
        If it is not one.
    OSError
        If there is none, or it cannot be read.
    """
    try:
        return Note(**json.loads(path.read_bytes()))
    except (ValueError, TypeError, RecursionError):
        raise DamagedError(str(path)) from None


def look(path: Path, note: Note) -> Note:
    """Return the note as it is after a look at the file: another one where all of it was tried.

    Raises
    ------
    DamagedError
        If the file is not what the note says.
    OSError
        If it is not there, or cannot be read.
    """
    with path.open("rb", buffering=0) as file:
        state = os.fstat(file.fileno())
        if state.st_size != note.size:
            raise DamagedError(str(path))
        if state.st_mtime_ns == note.time_ns and _seen_today(note):
            good, after = _blocks(file, note.size) == note.blocks, note
        else:
            good = _whole(file) == note.whole
            after = dataclasses.replace(note, time_ns=state.st_mtime_ns, seen_s=time.time())
    if not good:
        raise DamagedError(str(path))
    return after


def all_good(path: Path, note: Note) -> bool:
    """Return whether every byte of a file is what the note says."""
    with path.open("rb") as file:
        return _whole(file) == note.whole


def _seen_today(note: Note) -> bool:
    """Return whether the whole was tried within a day; a clock that was set back says no."""
    try:
        return 0 <= time.time() - note.seen_s < WHOLE_EVERY_S
    except TypeError:
        return False


def places(size: int) -> list[int]:
    """Return where the blocks of a file of ``size`` bytes begin: the first, the last, between.

    Examples
    --------
    >>> places(100_000), len(places(40_000_000)), places(40_000_000)[-1] + BLOCK
    ([0, 65536], 64, 40000000)
    """
    if size <= BLOCKS * BLOCK:
        return list(range(0, size, BLOCK))
    return [k * (size - BLOCK) // (BLOCKS - 1) for k in range(BLOCKS)]


def _blocks(file: IO[bytes], size: int) -> int:
    """Return a checksum over the blocks at the fixed places."""
    value = 0
    for start in places(size):
        file.seek(start)
        value = zlib.crc32(file.read(BLOCK), value)
    return value


def _whole(file: IO[bytes]) -> int:
    """Return a checksum over the whole file."""
    value = 0
    file.seek(0)
    while block := file.read(_READ):
        value = zlib.crc32(block, value)
    return value
