"""Private copies of the tree, one a worker, so that no change ever touches the checkout."""

from __future__ import annotations

import compileall
import os
import py_compile
import shutil
from dataclasses import dataclass
from pathlib import Path

#: Not of the tree, but tests need it: what npm installed.
_LINKED = "tests/outputs/web/node_modules"


@dataclass(frozen=True)
class Copy:
    """A copy of the tree in a folder of its own, with a cache of maps and room for tests' files."""

    folder: Path

    @property
    def root(self) -> Path:
        return self.folder / "tree"

    @property
    def maps(self) -> Path:
        return self.folder / "maps"

    @property
    def scratch(self) -> Path:
        return self.folder / "scratch"

    @property
    def log(self) -> Path:
        return self.folder / "log.txt"

    def make(self, tree: Path, paths: list[str]) -> None:
        """Copy files of the tree, and compile the package.

        The compiled files hold their source's checksum: a change is never hidden by one of them.
        """
        for path in paths:
            (self.root / path).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(tree / path, self.root / path)
        if (tree / _LINKED).is_dir():
            (self.root / _LINKED).symlink_to((tree / _LINKED).resolve())
        checked = py_compile.PycInvalidationMode.CHECKED_HASH
        compileall.compile_dir(self.root / "siteplan", quiet=1, invalidation_mode=checked)
        self.maps.mkdir()
        self.scratch.mkdir()

    def clean(self) -> None:
        """Remove what a run of tests left."""
        shutil.rmtree(self.scratch, ignore_errors=True)
        self.scratch.mkdir(exist_ok=True)
        for left in (self.root / "output").iterdir():
            if left.name != "README.md":
                shutil.rmtree(left) if left.is_dir() else left.unlink()

    def share(self, others: list[Copy]) -> None:
        """Take over tests that were compiled, and maps that were prepared, in other copies."""
        for other in others:
            compiled = (*other.root.glob("tests/**/__pycache__/*.pyc"), *other.maps.rglob("*"))
            for path in compiled:
                mine = self.folder / path.relative_to(other.folder)
                if path.is_file() and not mine.exists():
                    mine.parent.mkdir(parents=True, exist_ok=True)
                    shutil.copy2(path, mine)

    def maps_seen(self) -> dict[str, tuple[int, int]]:
        """Return names, sizes and times of the prepared maps."""
        return {
            path.as_posix(): (path.stat().st_size, path.stat().st_mtime_ns)
            for path in self.maps.rglob("*")
            if path.is_file()
        }

    def keep_maps(self) -> None:
        """Set the prepared maps aside, as they are without a change."""
        shutil.rmtree(self.folder / "kept", ignore_errors=True)
        shutil.copytree(self.maps, self.folder / "kept", copy_function=os.link)

    def restore_maps(self) -> None:
        """Put the prepared maps back, once they are set aside."""
        if not (self.folder / "kept").is_dir():
            return
        shutil.rmtree(self.maps)
        shutil.copytree(self.folder / "kept", self.maps, copy_function=os.link)
