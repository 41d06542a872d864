"""The ITU-R maps, decompressed once and memory-mapped afterwards.

The maps come compressed: inflating them takes longer than planning a site. They are kept as .npy
files in the user's cache folder, under a name that holds the version of the package that carries
the maps and a checksum of the code that prepares them: other code has a folder of its own, and what
a fault in it left behind is never read again. Beside each file stands what it was made from and how
it must look: ``map_check`` says what of it is tried at each opening, and what once a day. What was
made from something else is made anew; so is what is damaged, and that is told as a warning of the
log ``siteplan``, which goes to standard error. A new folder takes those along that a month has
passed over. A cache that cannot be written is done without.
``SITEPLAN_NO_CACHE=1`` turns it off.
"""

from __future__ import annotations

import contextlib
import errno
import io
import logging
import os
import sys
import threading
import time
import zipfile
import zlib
from collections.abc import Callable, Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.physics.propagation.mapped.map_check import (
    DamagedError,
    all_good,
    look,
    note_of,
    read_note,
)
from siteplan.physics.propagation.mapped.map_files import (
    data_folder,
    home,
    load_array,
    package_version,
)

Array = NDArray[Any]

#: The modules that prepare the maps, or that these call, from the folder of propagation: a test
#: holds the list.
PREPARING = (
    *("climate", "mapped/cloud_files", "mapped/cloud_maps"),
    *("mapped/map_cache", "mapped/map_check", "mapped/map_files", "mapped/maps"),
)
#: Setting this variable to anything but 0 turns the cache off.
OFF_VARIABLE = "SITEPLAN_NO_CACHE"
#: Setting this variable puts the cache elsewhere.
FOLDER_VARIABLE = "SITEPLAN_CACHE"

_LOG = logging.getLogger("siteplan")
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
    """Return a checksum of the source of the ``PREPARING`` modules in a folder of propagation."""
    value = 0
    for name in PREPARING:
        value = zlib.crc32((folder / f"{name}.py").read_bytes(), value)
    return value


@lru_cache(maxsize=1)
def _version() -> str:
    return f"maps-itur-{package_version()}-{code_checksum(Path(__file__).parent.parent):08x}"


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
    damaged = False
    try:
        good = _open(path, checksum)
        if good is not None:
            return good
    except DamagedError:
        damaged = True
    values = np.ascontiguousarray(make())
    replaced = _written(path, values, checksum)
    if damaged:
        _tell(path, replaced=replaced)
    return values


def _tell(path: Path, *, replaced: bool) -> None:
    """Tell of a damaged map, and what became of it."""
    after = "replaced" if replaced else "not replaced, as it cannot be written"
    _LOG.warning(
        "siteplan: the kept map %s was damaged. It was made anew and %s; the results are good."
        " Should this come again, have the disk checked.",
        path,
        after,
    )


def _source_checksum(source: str) -> int:
    """Return the checksum that the compressed source carries of its contents."""
    with zipfile.ZipFile(data_folder() / f"{source}.npz") as archive:
        return archive.infolist()[0].CRC


def _open(path: Path, checksum: int) -> Array | None:
    """Return the memory-mapped file, or None where it is missing or made from something else.

    Raises
    ------
    DamagedError
        If it is not what was written.
    """
    beside = path.with_suffix(".json")
    try:
        note = read_note(beside)
        if note.source != checksum:
            return None
        after = look(path, note)
        values = np.asarray(np.load(path, mmap_mode="r"))
    except OSError as error:
        if error.errno == errno.EIO:  # the disk gives it back no more
            raise DamagedError(str(path)) from None
        return None
    except (ValueError, EOFError):
        raise DamagedError(str(path)) from None
    if after != note:
        with contextlib.suppress(OSError):
            _put(beside, after.text().encode())
    return values


def _written(path: Path, values: Array, checksum: int) -> bool:
    """Write a map and its note, the note last; return whether that could be done."""
    file = io.BytesIO()
    np.save(file, values)
    try:
        if not path.parent.exists():
            path.parent.mkdir(parents=True, exist_ok=True)
            _drop_outdated(path.parent)
        _put(path, file.getbuffer())
        note = note_of(file.getbuffer(), path, checksum)
        _put(path.with_suffix(".json"), note.text().encode())
    except OSError:
        return False
    return True


def _put(path: Path, content: bytes | memoryview) -> None:
    """Write a file so that it appears whole, whoever else writes it at the same time."""
    part = path.with_name(f".{path.name}.{os.getpid()}-{threading.get_ident()}")
    try:
        part.write_bytes(content)
        part.replace(path)
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
            good = all_good(path, read_note(path.with_suffix(".json")))
        except (OSError, DamagedError):
            good = False
        if not good:
            bad.append(path)
            path.unlink()
            path.with_suffix(".json").unlink(missing_ok=True)
    return bad


def clear() -> int:
    """Remove the cache of every version; return the number of maps removed."""
    return sum(_remove(folder) for folder in list(cache_root().glob("maps-*")))
