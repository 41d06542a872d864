"""Which cloud maps are in use: P.840-9's where they are at hand, else P.840-7's.

P.840-9's are looked for where a plan names them, in the user's data folder, where ``add`` puts
them, and in the data of the ``itur`` package, should a newer one carry them. The maps of P.840-7
come with ``itur``. Each edition has a coefficient of its own.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import sys
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.physics.propagation.mapped import cloud_files
from siteplan.physics.propagation.mapped.cloud_files import LEVELS_PCT, CloudFilesError, MapFile
from siteplan.physics.propagation.mapped.map_cache import kept
from siteplan.physics.propagation.mapped.map_files import (
    data_folder,
    expanded,
    home,
    package_version,
)
from siteplan.physics.propagation.mapped.maps import Grid, grid

#: Setting this variable puts the user's data folder elsewhere.
FOLDER_VARIABLE = "SITEPLAN_DATA"
#: Maps that agree less than this with P.840-7's are of something else. Measured: 0.49 to 0.51 as
#: the maps stand, up to 0.32 turned.
_LEAST_LIKENESS = 0.35
#: The file that itur would carry, and that ``add`` writes.
_STORED = "v9_l_{:g}.npz"


class CloudMaps(NamedTuple):
    """The cloud maps of one edition.

    ``place`` is what another process must be told to find the same: a path, '' for P.840-7's,
    None for what the ``itur`` package carries. ``told`` says to people where the maps come from.
    ``fingerprint`` changes with the contents. ``grids`` holds P.840-9's by percentage [%]; it is
    empty for P.840-7's.
    """

    edition: str
    place: str | None
    told: str
    fingerprint: str
    grids: Mapping[float, Grid]

    @property
    def current(self) -> bool:
        """Whether the maps are P.840-9's, and so is the coefficient that belongs to them."""
        return bool(self.grids)

    def grid(self, p_pct: float) -> Grid:
        """Return the map of columnar liquid water [kg/m2] at one percentage level [%]."""
        return self.grids[p_pct] if self.current else grid("cloud_liquid", p_pct)


#: P.840-7's maps, as the ``itur`` package carries them.
OLDER = CloudMaps("P.840-7", "", "of the itur package", "P.840-7", MappingProxyType({}))


def in_use(chosen: str | None = None) -> CloudMaps:
    """Return the cloud maps in use.

    Parameters
    ----------
    chosen : str, optional
        Folder or ZIP of P.840-9's maps; '' for P.840-7's whatever is at hand; None for the first
        of the user's data folder, the ``itur`` package and P.840-7's.

    Raises
    ------
    CloudFilesError
        If the maps that are named or were added cannot be used.

    Examples
    --------
    >>> in_use("").edition, in_use("").current
    ('P.840-7', False)
    """
    if chosen == "":
        return OLDER
    if chosen is not None:
        place = expanded(chosen).absolute()
        return _loaded(place, str(place), place.name)
    if added_folder().is_dir():
        return _loaded(added_folder(), str(added_folder().absolute()), "added for all projects")
    carried = data_folder() / "840"
    if all((carried / _STORED.format(p)).is_file() for p in LEVELS_PCT):
        files = {p: MapFile(carried / _STORED.format(p)) for p in LEVELS_PCT}
        return _of(_stamped(files), None, f"of the itur package {package_version()}")
    return OLDER


def data_root() -> Path:
    """Return the user's data folder of this program."""
    chosen = os.environ.get(FOLDER_VARIABLE)
    if chosen:
        return Path(chosen)
    if sys.platform == "linux":  # as platformdirs would say, without the time it takes to import
        base = Path(os.environ.get("XDG_DATA_HOME", ""))
        return (base if base.is_absolute() else home() / ".local" / "share") / "siteplan"
    from platformdirs import user_data_path

    return user_data_path("siteplan", appauthor=False)


def added_folder() -> Path:
    """Return the folder of the cloud maps that were added for all projects."""
    return data_root() / "cloud-maps"


def add(place: Path) -> Path:
    """Check the maps of a folder or ZIP and keep them for all projects; return where.

    Maps that were added before are replaced, once all of the new ones were found good.

    Raises
    ------
    CloudFilesError
        If the maps cannot be used or not be written.
    """
    found = cloud_files.find(expanded(place))
    values = {p: _upright(p, file) for p, file in found.items()}
    folder = added_folder()
    new, old = (folder.with_name(f".{folder.name}-{word}-{os.getpid()}") for word in ("new", "old"))
    try:
        new.mkdir(parents=True)
        for p, array in values.items():
            np.savez_compressed(new / _STORED.format(p), array)
        if folder.exists():
            folder.replace(old)
        new.replace(folder)
    except OSError as error:
        raise CloudFilesError(
            f"the maps cannot be written ({error.strerror}).",
            where=str(folder),
            fix=f"Check its permissions, or set {FOLDER_VARIABLE} to another folder.",
        ) from None
    finally:
        shutil.rmtree(new, ignore_errors=True)
        shutil.rmtree(old, ignore_errors=True)
    return folder


#: A map's percentage [%] and file, with the size and time by which a change of it shows.
_Stamped = tuple[tuple[float, MapFile, int, int], ...]


def _loaded(place: Path, told_others: str, told: str) -> CloudMaps:
    return _of(_stamped(cloud_files.find(place)), told_others, told)


def _stamped(files: Mapping[float, MapFile]) -> _Stamped:
    stats = {file.path: file.path.stat() for file in files.values()}
    return tuple(
        (p, file, stats[file.path].st_size, stats[file.path].st_mtime_ns)
        for p, file in files.items()
    )


@lru_cache(maxsize=4)
def _of(files: _Stamped, place: str | None, told: str) -> CloudMaps:
    """Return P.840-9's maps from their files, looked at again only when these have changed."""
    sums = [file.checksum() for _, file, _, _ in files]
    grids = {
        p: Grid(_kept(p, file, crc), 90.0, -0.25, 0.0, 0.25)
        for (p, file, _, _), crc in zip(files, sums, strict=True)
    }
    fingerprint = hashlib.sha256(repr(sums).encode()).hexdigest()[:16]
    return CloudMaps("P.840-9", place, told, fingerprint, MappingProxyType(grids))


def _kept(p_pct: float, file: MapFile, checksum: int) -> FloatArray:
    """Return a map from the cache, or checked and kept there."""
    name = f"cloud-{p_pct:g}-{checksum:08x}"
    return kept(name, checksum, lambda: _upright(p_pct, file))


def _upright(p_pct: float, file: MapFile) -> FloatArray:
    """Return a map's values with the rows from 90 N and the columns from 0 E.

    A grid that runs from the south, or from 180 W, has the same shape: read the wrong way it would
    give the clouds of elsewhere. So the way is taken that agrees best with P.840-7's map.

    Raises
    ------
    CloudFilesError
        If it agrees with it no way.
    """
    values = cloud_files.read(file)
    # Every ninth node of 0.25 degree stands on every second of 1.125 degree.
    known = np.asarray(grid("cloud_liquid", p_pct).values)[::2, ::2].ravel()
    from_greenwich = np.concatenate((values[:, 720:-1], values[:, :721]), axis=1)
    ways = (values, values[::-1], from_greenwich, from_greenwich[::-1])
    likeness = [_likeness(way[::9, ::9].ravel(), known) for way in ways]
    best = int(np.argmax(likeness))
    if likeness[best] < _LEAST_LIKENESS:
        raise CloudFilesError(
            "its values are no cloud liquid water: they agree with the older map in no way.",
            where=file.name,
            fix="Take the file anew from the supplement of ITU-R P.840-9.",
        )
    return np.ascontiguousarray(ways[best])


def _likeness(values: FloatArray, known: FloatArray) -> float:
    """Return the correlation of two maps (n,), 0 for one that is the same everywhere."""
    a, b = values - values.mean(), known - known.mean()
    size = float(np.sqrt((a @ a) * (b @ b)))
    return float(a @ b) / size if size > 0 else 0.0
