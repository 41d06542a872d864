"""Reading what comes in a zip archive: KMZ (OGC KML 2.3), a shapefile, or any one table."""

from __future__ import annotations

import tempfile
import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path, PurePosixPath

from siteplan.errors import SitesError
from siteplan.inputs.faults import told_plainly
from siteplan.inputs.files.kml import read_kml
from siteplan.inputs.files.rawtable import Table

#: More than this is no list of sites, unpacked [bytes].
_MOST_BYTES = 2 << 30


def read_kmz(path: Path) -> Table:
    """Read the KML file in a KMZ file: doc.kml, else the only one.

    Raises
    ------
    SitesError
        No zip archive, no KML file in it or several, or as `read_kml`.
    """
    return _read(path, (".kml",), lambda suffix: read_kml, first="doc.kml")


def read_zip(path: Path, readers: dict[str, Callable[[Path], Table]]) -> Table:
    """Read the only table of sites in a zip archive, a shapefile with the files beside it.

    Parameters
    ----------
    path : Path
    readers : dict
        What reads a kind of file, by its suffix.

    Raises
    ------
    SitesError
        No zip archive, no table in it or several, or as its reader.
    """
    return _read(path, tuple(readers), lambda suffix: readers[suffix])


def _read(
    path: Path,
    suffixes: tuple[str, ...],
    reader: Callable[[str], Callable[[Path], Table]],
    *,
    first: str = "",
) -> Table:
    with (
        told_plainly("zip", path),
        zipfile.ZipFile(path) as archive,
        tempfile.TemporaryDirectory(prefix="siteplan-") as folder,
    ):
        members = [m for m in archive.infolist() if _is_file(m) and _is_seen(m.filename)]
        name = _only(path, members, suffixes, first)
        stem = PurePosixPath(name).with_suffix("")
        beside = [m for m in members if PurePosixPath(m.filename).with_suffix("") == stem]
        if sum(member.file_size for member in beside) > _MOST_BYTES:
            raise SitesError(
                "it unpacks to more than 2 GiB.", where=path.name, fix="Unpack it, and take a part."
            )
        for member in beside:
            # By its last name alone: a member cannot leave the folder.
            found = Path(folder) / f"sites{PurePosixPath(member.filename).suffix.lower()}"
            found.write_bytes(archive.read(member))
        suffix = PurePosixPath(name).suffix.lower()
        table = _called(path, name, lambda: reader(suffix)(Path(folder) / f"sites{suffix}"))
    return replace(table, source=path.name)


def _called(path: Path, name: str, read: Callable[[], Table]) -> Table:
    """Return what is read, a refusal told of the archive and the file in it."""
    try:
        return read()
    except SitesError as error:
        inside = PurePosixPath(name).name
        raise SitesError(error.what, where=f"{path.name}, {inside}", fix=error.fix) from None


def _is_file(member: zipfile.ZipInfo) -> bool:
    """Whether a member has a name, and one of a file: of none the library cannot tell."""
    return bool(member.filename) and not member.is_dir()


def _is_seen(name: str) -> bool:
    """Whether a member is none that a system has put there unseen."""
    parts = PurePosixPath(name).parts or (".",)
    return "__MACOSX" not in parts and not parts[-1].startswith((".", "~"))


def _only(path: Path, members: list[zipfile.ZipInfo], suffixes: tuple[str, ...], first: str) -> str:
    """Return the only member of a kind, or the one that comes first by its name."""
    names = [m.filename for m in members if m.filename.lower().endswith(suffixes)]
    chosen = [name for name in names if PurePosixPath(name).name.lower() == first] or names
    if len(chosen) == 1:
        return chosen[0]
    kinds = ", ".join(suffixes)
    if not chosen:
        what, fix = f"there is no table of sites in it ({kinds}).", "Pack one file of these kinds."
    else:
        told = ", ".join(PurePosixPath(name).name for name in chosen[:10])
        what = f"there are {len(chosen)} tables in it: {told}."
        fix = "Unpack it, and keep the one with the sites."
    raise SitesError(what, where=path.name, fix=fix)
