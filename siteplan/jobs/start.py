"""What a planner begins with: a starter project that plans without edits, or one as a workbook."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Any

from siteplan.errors import ProjectError

if TYPE_CHECKING:
    from siteplan.inputs.project import Project
    from siteplan.network import Network
    from siteplan.outputs.workbook.project import Rows

#: How the workbook of a project is called.
WORKBOOK_NAME = "project.xlsx"


def new_project(
    folder: str | Path, *, workbook: bool = False, source: str | Path | None = None
) -> Path:
    """Make a starter project that plans without edits, and return its folder.

    Parameters
    ----------
    folder : path
        A new or empty folder.
    workbook : bool
        Whether it is one workbook, in place of sites.csv and network.toml.
    source : path, optional
        A project to make the workbook from: it plans to the same rows. Its terrain and the map
        layers and files that its network names come along where they lie in its folder; comments
        of network.toml do not.

    Raises
    ------
    OutputError
        If the folder exists and holds anything, or cannot be made.
    SiteplanError
        If the source cannot be used.
    """
    from siteplan.inputs.network.starter import new_folder, write_starter
    from siteplan.outputs.folder.signals import undisturbed

    target = Path(folder)
    if source is not None and not workbook:
        raise ProjectError(
            "a project can be made from another one as a workbook alone.", fix="Add --workbook."
        )
    if not workbook:
        with undisturbed():  # two small files: both or none
            write_starter(target)
        return target
    from siteplan.outputs.workbook.project import write_project

    beside: list[tuple[Path, Path]] = []
    if source is None:
        parts = _starter_parts()
    else:
        parts, beside = _parts_of(Path(source))
    with undisturbed(), new_folder(target):
        write_project(target / WORKBOOK_NAME, *parts)
        for path, name in beside:
            _copy(path, target / name)
    return target


def _starter_parts() -> tuple[Rows, dict[str, Any], Rows]:
    """Return the starter's sites, tables of the network, and obstructions."""
    import tomllib

    from siteplan.inputs.network.starter import starter_network, starter_sites
    from siteplan.outputs.workbook.project import Rows, empty_rows

    headings = empty_rows("sites").headings
    sites = [[site.get(heading, "") for heading in headings] for site in starter_sites()]
    rows = Rows(headings, list(enumerate(sites, 2)))
    return rows, tomllib.loads(starter_network()), empty_rows("obstructions")


def _parts_of(source: Path) -> tuple[tuple[Rows, dict[str, Any], Rows], list[tuple[Path, Path]]]:
    """Return the same of a project as it is written, and the files that must lie beside it."""
    from siteplan.inputs.files.tables import read_table
    from siteplan.jobs.opened import find
    from siteplan.outputs.workbook.project import empty_rows

    project, network = find(source)
    sites = _rows(read_table(project.sites_path))
    around = empty_rows("obstructions")
    if project.obstructions_path is not None:
        from siteplan.inputs.obstructions import given_obstructions

        around = _rows(given_obstructions(project.obstructions_path))
    return (sites, _tables(project), around), _beside(project, network)


def _tables(project: Project) -> dict[str, Any]:
    """Return the tables of a project's network as they are given."""
    if project.workbook is not None:
        from siteplan.inputs.workbook.network import gathered

        return gathered(project.workbook).mapping
    from siteplan.inputs.network.read import network_data

    return network_data(project.network_path)


def _rows(table: Any) -> Rows:
    """Return a table's cells by the rows that they stand in, positions of points as columns."""
    from siteplan.outputs.workbook.project import Rows

    if table.rejects:
        raise ProjectError(
            f"{len(table.rejects)} rows of it cannot be read as they are, and would be lost: the"
            f" first is row {table.rejects[0].row} ({table.rejects[0].reason}).",
            where=table.source,
            fix="Mend them first; 'siteplan check' lists them all.",
        )
    columns = dict(table.columns)
    if table.lat is not None and table.lon is not None:
        columns = {"lat": table.lat, "lon": table.lon, **columns}
    cells = zip(*(values.tolist() for values in columns.values()), strict=True)
    return Rows(tuple(columns), list(zip(table.row.tolist(), cells, strict=True)))


def _beside(project: Project, network: Network) -> list[tuple[Path, Path]]:
    """Return files of a project that stay files, and their places in its folder."""
    root = project.folder.resolve()
    named = [*(o.file for o in network.overlays), network.coverage.area]
    named += [*network.pattern_files.values(), *network.contour_files.values()]
    named += network.area_files.values()
    found = [*project.overlays, *([project.terrain_path] if project.terrain_path else [])]
    found += [project.folder / Path(name).expanduser() for name in named if name]
    maps = network.methods.cloud_maps
    found += [Path(maps)] if maps else []
    inside = [path.resolve() for path in found if path.resolve().is_relative_to(root)]
    return [(path, path.relative_to(root)) for path in dict.fromkeys(inside)]


def _copy(path: Path, target: Path) -> None:
    """Copy a file with those that belong to it by its name (a shapefile's), or a folder."""
    target.parent.mkdir(parents=True, exist_ok=True)
    if path.is_dir():
        shutil.copytree(path, target, dirs_exist_ok=True)
        return
    for part in path.parent.glob(f"{path.stem}.*"):
        if part.is_file() and part.name not in ("sites.csv", "network.toml"):
            shutil.copyfile(part, target.with_name(part.name))
