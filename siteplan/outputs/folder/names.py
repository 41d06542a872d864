"""Where an output really stands, and what the hidden things beside it are called."""

from __future__ import annotations

import hashlib
import os
import re
from pathlib import Path
from typing import Literal

#: In the making, the last good one while it is replaced, and the file that a run locks.
Kind = Literal["next", "last", "lock"]
_LONGEST = 200  # bytes; a file's name has 255, and the hidden ones are longer than the output's

_HIDDEN = re.compile(r"\.siteplan-(?:next|last)-(?![0-9a-f]{64}$)(.+)", re.DOTALL)


def real(folder: Path) -> Path:
    """Return where a folder really stands, links followed; it need not be there."""
    return Path(os.path.realpath(folder))


def hidden(folder: Path, kind: Kind) -> Path:
    """Return what stands beside a folder (a real place) for its runs.

    The name is the folder's with a fixed word before it, so that no two folders share one,
    whatever the names begin with or hold.
    """
    name = folder.name
    if len(os.fsencode(name)) > _LONGEST:
        name = hashlib.sha256(os.fsencode(name)).hexdigest()
    return folder.parent / f".siteplan-{kind}-{name}"


def hidden_in(folder: Path) -> list[Path]:
    """Return the outputs directly in a folder that a run left something of behind.

    Not those of very long names: only their own commands know them.
    """
    with os.scandir(folder) as entries:
        found = [_HIDDEN.fullmatch(entry.name) for entry in entries]
    return sorted({folder / match[1] for match in found if match})


def earlier(folder: Path) -> list[Path]:
    """Return what runs of earlier versions left beside a folder, the last good ones first."""
    form = re.compile(rf"\.siteplan-(old|new)-{re.escape(folder.name)}-\d+")
    if not folder.parent.is_dir():
        return []
    with os.scandir(folder.parent) as entries:
        found = [entry.name for entry in entries if form.fullmatch(entry.name)]
    return [folder.parent / name for name in sorted(found, reverse=True)]
