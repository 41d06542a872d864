"""A project: a folder with one table of sites and network.toml, or a workbook with all of it."""

from __future__ import annotations

from pathlib import Path

from siteplan.errors import ProjectError
from siteplan.frozen import frozen
from siteplan.inputs.faults import told_plainly
from siteplan.inputs.kinds import NEAR_MISSES, OVERLAY_SUFFIXES, SUFFIXES, kind_of
from siteplan.inputs.workbook import BOOK_NAMES, is_book


@frozen
class Project:
    """Where the parts of a project are.

    ``obstructions_path`` is obstructions.csv, ``terrain_path`` terrain.tif, ``overlays`` the
    map layers in the folder ``overlays``; None or empty where there are none. ``workbook`` is a
    workbook that holds all but terrain and layers: then the other paths are its own.
    """

    folder: Path
    name: str
    sites_path: Path
    network_path: Path
    obstructions_path: Path | None = None
    terrain_path: Path | None = None
    overlays: tuple[Path, ...] = ()
    workbook: Path | None = None


def root_and_name(path: Path | str) -> tuple[Path, str]:
    """Return the folder of a project that is given by its folder or its workbook, and its name.

    A workbook is named as its folder where it is called project.xlsx, else by its own name.
    """
    given = Path(path)
    if is_book(given) and not given.is_dir():
        own = "" if given.name.lower() in BOOK_NAMES else given.stem
        return given.parent, own or given.resolve().parent.name or "project"
    return given, given.resolve().name or "project"


def find_project(folder: Path | str) -> Project:
    """Find the parts of a project.

    Parameters
    ----------
    folder : Path or str
        Or a workbook that holds a project. File names may be in any capitals.

    Returns
    -------
    Project
        Named as the folder.

    Raises
    ------
    ProjectError
        No folder, no or several tables of sites, no network.toml; or a workbook and these too.
    """
    root, name = root_and_name(folder)
    book = Path(folder) if root != Path(folder) else None
    files = _files(Path(folder) if book is not None and not book.is_file() else root)
    chosen = book is not None and book.name.lower() not in BOOK_NAMES
    book = book or _optional(root, files, BOOK_NAMES)
    if book is not None and not chosen:
        _refuse_both(root, files, book)
    return Project(
        folder=root,
        name=name,
        sites_path=book or _sites_path(root, files),
        network_path=book or _network_path(root, files),
        obstructions_path=_obstructions_path(root, files, book),
        terrain_path=_optional(root, files, ("terrain.tif", "terrain.tiff")),
        overlays=_overlays(root),
        workbook=book,
    )


def _refuse_both(root: Path, files: list[Path], book: Path) -> None:
    """Raise where the same is given by the workbook and by files beside it."""
    beside = [p.name for p in files if p.stem.lower() == "sites" and kind_of(p)]
    beside += [p.name for p in files if p.name.lower() == "network.toml"]
    if beside:
        raise ProjectError(
            f"there is {book.name}, and also {' and '.join(beside)}.",
            where=str(root),
            fix=f"Keep either: the workbook holds sites and network. Else move {book.name} away.",
        )


def _obstructions_path(root: Path, files: list[Path], book: Path | None) -> Path | None:
    """Return where the obstructions are: in a file, or on a sheet of the workbook that has rows."""
    found = _optional(root, files, ("obstructions.csv",))
    if book is None:
        return found
    from siteplan.inputs.workbook.obstructions import has_obstructions

    filled = has_obstructions(book)
    if filled and found is not None:
        raise ProjectError(
            f"there is {found.name}, and {book.name} has a sheet of obstructions with rows.",
            where=str(root),
            fix="Keep either: empty the sheet, or move the file away.",
        )
    return book if filled else found


def _files(root: Path) -> list[Path]:
    """Return the files of a folder in order, without those that programs leave behind."""
    with told_plainly("folder", root):
        is_file, is_folder = root.is_file(), root.is_dir()
    if is_file:
        raise ProjectError(
            "a project is a folder or a workbook, and this is another file.",
            where=str(root),
            fix=f"Give its folder: {root.parent}",
        )
    if not is_folder:
        raise ProjectError(
            "there is no such folder.",
            where=str(root),
            fix="Check the path, or make a project with 'siteplan new'.",
        )
    with told_plainly("folder", root):
        found = [path for path in sorted(root.iterdir()) if path.is_file()]
    return [path for path in found if path.name[:1] not in (".", "~")]


def _sites_path(root: Path, files: list[Path]) -> Path:
    named = [path for path in files if path.stem.lower() == "sites"]
    found = [path for path in named if kind_of(path)]
    if len(found) > 1:
        raise ProjectError(
            f"there are {len(found)} tables of sites: {', '.join(p.name for p in found)}.",
            where=str(root),
            fix="Keep one, and rename or move the others.",
        )
    if not found:
        raise ProjectError(
            "there is no table of sites.", where=str(root), fix=_sites_fix(named, files)
        )
    return found[0]


def _sites_fix(named: list[Path], files: list[Path]) -> str:
    """Return what to do about a missing table, from what is there instead."""
    for path in named:
        near = NEAR_MISSES.get(path.suffix.lower())
        if near and near.instead:
            return f"Save {path.name} as sites{near.instead}."
    tables = [p for p in files if kind_of(p) and p.stem != "obstructions"]
    if len(tables) == 1:
        return f"Rename {tables[0].name} to sites{tables[0].suffix.lower()}?"
    return f"Put one of {', '.join('sites' + suffix for suffix in SUFFIXES)} there."


def _network_path(root: Path, files: list[Path]) -> Path:
    path = _optional(root, files, ("network.toml",))
    if path is not None:
        return path
    others = [p.name for p in files if p.suffix.lower() == ".toml"]
    fix = f"Rename {others[0]} to network.toml?" if len(others) == 1 else ""
    fix = fix or "Make one with two lines: [satellite] and longitude_deg = 13.0 (yours)."
    raise ProjectError("there is no network.toml.", where=str(root), fix=fix)


def _optional(root: Path, files: list[Path], names: tuple[str, ...]) -> Path | None:
    """Return the one file called one of ``names`` in any capitals, None for no file."""
    found = [path for path in files if path.name.lower() in names]
    if len(found) > 1:
        raise ProjectError(
            f"there are several of {names[0]}: {', '.join(p.name for p in found)}.",
            where=str(root),
            fix="Keep one.",
        )
    return found[0] if found else None


def _overlays(root: Path) -> tuple[Path, ...]:
    folder = root / "overlays"
    if not folder.is_dir():
        return ()
    with told_plainly("folder", folder):
        found = sorted(folder.iterdir())
    return tuple(path for path in found if path.suffix.lower() in OVERLAY_SUFFIXES)
