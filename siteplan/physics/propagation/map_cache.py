"""The ITU-R maps, decompressed once and memory-mapped afterwards.

The maps come compressed: inflating them takes longer than planning a site. They are kept as .npy
files in the user's cache folder, under a name that holds the version of the package that carries
the maps and a checksum of the code that prepares them: other code has a folder of its own, and what
a fault in it left behind is never read again. Beside each file stands what it was made from and how
it must look: the checksum of the source, its size, a checksum of a sample of its blocks (tried each
time) and one of the whole (tried by ``verify``). What does not match is made anew. A new folder
takes those along that a month has passed over. A cache that cannot be written is done without.
``SITEPLAN_NO_CACHE=1`` turns it off.
"""

from __future__ import annotations

import contextlib
import json
import os
import sys
import time
import zipfile
import zlib
from collections.abc import Callable, Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.physics.propagation.map_files import data_folder, home, load_array, package_version

Array = NDArray[Any]

#: The modules beside this one that prepare the maps, or that these call: a test holds the list.
PREPARING = ("climate", "cloud_files", "cloud_maps", "map_cache", "map_files", "maps")
#: Setting this variable to anything but 0 turns the cache off.
OFF_VARIABLE = "SITEPLAN_NO_CACHE"
#: Setting this variable puts the cache elsewhere.
FOLDER_VARIABLE = "SITEPLAN_CACHE"

_BLOCK = 4096
_BLOCKS = 16
#: Folders of other versions go when none of their files is younger than this.
_KEPT_S = 30 * 86_400


def enabled() -> bool:
    """Return whether the cache is in use."""
    return os.environ.get(OFF_VARIABLE, "0") in ("", "0")


def cache_root() -> Path:
    """Return the folder that holds all versions of the cache."""
    chosen = os.environ.get(FOLDER_VARIABLE)
    if chosen:
        return Path(chosen)
    if sys.platform == "linux":  # as platformdirs would say, without the time it takes to import
        base = os.environ.get("XDG_CACHE_HOME", "")
        return (Path(base) if Path(base).is_absolute() else home() / ".cache") / "siteplan"
    from platformdirs import user_cache_path

    return user_cache_path("siteplan", appauthor=False)


def code_checksum(folder: Path) -> int:
    """Return a checksum of the source of the ``PREPARING`` modules in a folder."""
    value = 0
    for name in PREPARING:
        value = zlib.crc32((folder / f"{name}.py").read_bytes(), value)
    return value


@lru_cache(maxsize=1)
def _version() -> str:
    return f"maps-itur-{package_version()}-{code_checksum(Path(__file__).parent):08x}"


def cache_folder() -> Path:
    """Return the folder of this version's files."""
    return cache_root() / _version()


def stored(name: str, source: str, make: Callable[[Array], Array]) -> Array:
    """Return a prepared map: from the cache if it is good, else made and kept.

    Parameters
    ----------
    name : str
        Name of the prepared map, a file name without ending.
    source : str
        Map file that it is made from, for example ``"837/v7_r001"``.
    make : callable
        Prepares the map from the source's array.

    Returns
    -------
    array
        Read-only if it comes from the cache.
    """
    return kept(name, _source_checksum(source), lambda: make(load_array(source)))


def kept(name: str, checksum: int, make: Callable[[], Array]) -> Array:
    """Return a map: from the cache if it is good, else made and kept.

    Parameters
    ----------
    name : str
        Name of the map, a file name without ending.
    checksum : int
        Of what it is made from: another one makes it anew.
    make : callable
        Makes it.

    Returns
    -------
    array
        Read-only if it comes from the cache.
    """
    if not enabled():
        return make()
    path = cache_folder() / f"{name}.npy"
    good = _open(path, checksum)
    if good is not None:
        return good
    values = np.ascontiguousarray(make())
    with contextlib.suppress(OSError):
        _write(path, values, checksum)
    return values


def _source_checksum(source: str) -> int:
    """Return the checksum that the compressed source carries of its contents."""
    with zipfile.ZipFile(data_folder() / f"{source}.npz") as archive:
        return archive.infolist()[0].CRC


def _open(path: Path, checksum: int) -> Array | None:
    """Return the memory-mapped file, or None where it is missing, stale or damaged."""
    try:
        note = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
        good = (
            note["source"] == checksum
            and note["size"] == path.stat().st_size
            and note["sample"] == _sample(path)
        )
        return np.asarray(np.load(path, mmap_mode="r")) if good else None
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _sample(path: Path) -> int:
    """Return a checksum over blocks spread evenly from the first to the last."""
    size = path.stat().st_size
    value = 0
    with path.open("rb") as file:
        for start in np.linspace(0, max(size - _BLOCK, 0), _BLOCKS).astype(int).tolist():
            file.seek(start)
            value = zlib.crc32(file.read(_BLOCK), value)
    return value


def _whole(path: Path) -> int:
    """Return a checksum over the whole file."""
    value = 0
    with path.open("rb") as file:
        while block := file.read(1 << 20):
            value = zlib.crc32(block, value)
    return value


def _write(path: Path, values: Array, checksum: int) -> None:
    """Write a map and its note; each appears whole, the note last."""
    if not path.parent.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        _drop_outdated(path.parent)
    part = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        with part.open("wb") as file:
            np.save(file, values)
        note = {
            "source": checksum,
            "size": part.stat().st_size,
            "sample": _sample(part),
            "whole": _whole(part),
        }
        part.replace(path)
        part.write_text(json.dumps(note), encoding="utf-8")
        part.replace(path.with_suffix(".json"))
    finally:
        part.unlink(missing_ok=True)


def _drop_outdated(current: Path) -> None:
    """Remove the folders of other versions that nothing was written to for a month."""
    for folder in current.parent.glob("maps-*"):
        with contextlib.suppress(OSError):
            youngest = max((f.stat().st_mtime for f in folder.iterdir()), default=0.0)
            if folder != current and time.time() - youngest > _KEPT_S:
                _remove(folder)


def _remove(folder: Path) -> int:
    """Remove a version's files and its folder; return the number of maps removed."""
    count = 0
    for path in [*folder.glob("*.npy"), *folder.glob("*.json")]:
        path.unlink(missing_ok=True)
        count += path.suffix == ".npy"
    with contextlib.suppress(OSError):
        folder.rmdir()
    return count


def files() -> Iterator[Path]:
    """Yield the maps in the cache of every version."""
    yield from sorted(cache_root().glob("maps-*/*.npy"))


def verify() -> list[Path]:
    """Return the maps whose contents do not match their checksum, and remove them."""
    bad = []
    for path in files():
        try:
            note = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
            good = note["whole"] == _whole(path)
        except (OSError, ValueError, KeyError, TypeError):
            good = False
        if not good:
            bad.append(path)
            path.unlink()
            path.with_suffix(".json").unlink(missing_ok=True)
    return bad


def clear() -> int:
    """Remove the cache of every version; return the number of maps removed."""
    return sum(_remove(folder) for folder in list(cache_root().glob("maps-*")))
