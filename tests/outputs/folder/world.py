"""A small output with files of siteplan's and of the user's, and what must never be lost of it."""

from __future__ import annotations

import os
import shutil
import stat
from collections.abc import Iterable
from pathlib import Path

from siteplan.outputs.folder.claim import claimed

TAKES = frozenset({"a.txt", "blank.csv", "maps", "gone.txt"})
#: What a run of each name writes.
NAMES = ("a.txt", "blank.csv", "maps/one.html", "maps/two.html")
#: The user's files, by path; ``blank.csv`` was siteplan's, and was filled in.
USERS = {
    "notes.txt": "my notes",
    "photos/roof/north.txt": "a photo",
    "maps/drawn over.txt": "in a folder of siteplan's",
    "asbuilt/asbuilt.csv": "as built",
    "selected/sheets/B.html": "a sheet",
    "nested.kept.txt": "a name like those of kept files",
    "blank.csv": "filled in",
}


def write(output: Path, text: str, *, names: Iterable[str] = NAMES, part: str = "") -> None:
    """Write an output as a command does: every file holds the text and its name."""
    with claimed(output, part=part) as claim, claim.staged(TAKES) as new:
        for name in names:
            (new / name).parent.mkdir(exist_ok=True)
            (new / name).write_text(f"{text} {name}")


def make(output: Path, *, text: str = "one") -> None:
    """Make an output that a run wrote, and into which a user put files of all kinds."""
    write(output, text, names=(*NAMES, "gone.txt"))
    for name, content in USERS.items():
        (output / name).parent.mkdir(parents=True, exist_ok=True)
        (output / name).write_text(content)
    os.utime(output / "notes.txt", (1_000_000_000, 1_000_000_000))
    (output / "notes.txt").chmod(0o640)
    (output / "empty").mkdir()
    (output / "to notes").symlink_to("notes.txt")
    (output / "to photos").symlink_to("photos")
    (output / "to nowhere").symlink_to("not there")
    (output / "photos" / "roof").chmod(0o550)


def hidden(output: Path) -> list[str]:
    """Names of what runs left beside an output, but for the lock."""
    place = Path(os.path.realpath(output))
    found = (path.name for path in place.parent.iterdir() if path.name.startswith(".siteplan-"))
    return sorted(name for name in found if not name.startswith(".siteplan-lock-"))


def places(output: Path) -> list[Path]:
    """Return where a file may stand after a kill: in place, or in the hidden folder."""
    place = Path(os.path.realpath(output))
    return [p for p in (place, place.parent / f".siteplan-last-{place.name}") if p.is_dir()]


def is_whole(folder: Path, text: str) -> bool:
    """Return whether all that a run wrote is there; a file that was changed is the user's."""
    return all(
        (folder / name).is_file()
        and (folder / name).read_text() in (f"{text} {name}", _users(name))
        for name in NAMES
    )


def _users(name: str) -> str:
    return USERS.get(name, "")


def users_lost(folders: Iterable[Path]) -> list[str]:
    """Return the user's files that stand in none of some folders, whatever they are called now."""
    folders = list(folders)
    lost = [
        name
        for name, content in USERS.items()
        if not any(_holds(folder / found, content) for folder in folders for found in _names(name))
    ]
    links = ("to notes", "to photos", "to nowhere")
    lost += [name for name in links if not any((f / name).is_symlink() for f in folders)]
    return lost + ([] if any((folder / "empty").is_dir() for folder in folders) else ["empty"])


def _names(name: str) -> tuple[str, ...]:
    path = Path(name)
    return name, str(path.with_name(f"{path.stem}.kept{path.suffix}"))


def _holds(path: Path, content: str) -> bool:
    return path.is_file() and path.read_text() == content


def check_as_it_was(output: Path) -> None:
    """Mode and times of the user's files are kept, links are links, kept files are told apart."""
    assert users_lost([output]) == []
    assert (output / "notes.txt").stat().st_mtime == 1_000_000_000
    assert stat.S_IMODE((output / "notes.txt").stat().st_mode) == 0o640
    assert stat.S_IMODE((output / "photos" / "roof").stat().st_mode) == 0o550
    assert str((output / "to notes").readlink()) == "notes.txt"
    assert str((output / "to nowhere").readlink()) == "not there"
    assert (output / "to photos").is_symlink()


def fresh(folder: Path) -> None:
    """Empty a folder, read-only folders in it too."""
    for path, folders, _ in os.walk(folder):
        for name in folders:
            if not (Path(path) / name).is_symlink():
                (Path(path) / name).chmod(0o700)
    for entry in list(folder.iterdir()):
        shutil.rmtree(entry) if entry.is_dir() and not entry.is_symlink() else entry.unlink()
