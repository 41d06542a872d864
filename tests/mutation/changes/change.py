"""A change to one file: which bytes go, what stands in their place, and of what kind it is."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple


class Place(NamedTuple):
    """A place that can be changed, and what may stand there instead.

    ``lines`` are those of the statement around it, counted from 1: tests that execute one of them
    may notice. ``at_import`` says that it is executed when the module is imported.
    """

    kind: str
    start: int
    end: int
    options: tuple[bytes, ...]
    lines: tuple[int, int]
    at_import: bool = False


@dataclass(frozen=True)
class Change:
    """One option of one place of a file; ``path`` is relative to the repository's root."""

    path: str
    kind: str
    start: int
    end: int
    text: bytes
    lines: tuple[int, int]
    at_import: bool

    @classmethod
    def at(cls, path: str, place: Place, option: int) -> Change:
        """Return the change of a place to one of its options."""
        kind, start, end, options, lines, at_import = place
        return cls(path, kind, start, end, options[option], lines, at_import)

    def made(self, source: bytes) -> bytes:
        """Return a file's contents with the change."""
        return source[: self.start] + self.text + source[self.end :]

    def line(self, source: bytes) -> int:
        """Return the number of the line where the change begins."""
        return source.count(b"\n", 0, self.start) + 1

    def before_and_after(self, source: bytes) -> tuple[str, str]:
        """Return the lines that the change touches, before and after, each as one line."""
        first = source.rfind(b"\n", 0, self.start) + 1
        last = source.find(b"\n", self.end)
        last = len(source) if last < 0 else last
        before = source[first:last]
        after = source[first : self.start] + self.text + source[self.end : last]
        return _one_line(before), _one_line(after)

    def write(self, root: Path) -> bytes:
        """Make the change in a copy of the tree; return what the file held before."""
        path = root / self.path
        source = path.read_bytes()
        path.write_bytes(self.made(source))
        return source


def _one_line(text: bytes) -> str:
    return " ".join(text.decode().split())
