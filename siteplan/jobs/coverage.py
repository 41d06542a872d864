"""Coverage of a project, end to end: area, grid, contours, files, and what the map shows.

Here inputs, planning and outputs meet, as in ``siteplan.api``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from siteplan.errors import NetworkError, ProjectError
from siteplan.model import Overlay, Sites
from siteplan.network import Network
from siteplan.results import Coverage

if TYPE_CHECKING:
    from siteplan.inputs.project import Project
    from siteplan.outputs.coverage.files import Layer
    from siteplan.outputs.map.backdrop import Behind
    from siteplan.planning.coverage.cover import Spread

Progress = Callable[[int], None]
Watch = Callable[[int], Progress]

#: Spacing of the grid [deg] where nobody gives one, and what it may be.
DEFAULT_STEP_DEG = 0.25
STEP_RANGE_DEG = (0.01, 10.0)


@dataclass(frozen=True)
class Wanted:
    """What coverage is asked for: spacing [deg], a file with the area, and whether to cut.

    ``area`` None stands for the sites' extent with a margin; ``land_only`` cuts to land.
    """

    step_deg: float
    area: Path | None = None
    land_only: bool = False


@dataclass(frozen=True)
class Covered:
    """Coverage worked out: the grid, the contours, and what both were cut to (None: nothing)."""

    coverage: Coverage
    layers: tuple[Layer, ...]
    within: Any

    @property
    def shares(self) -> dict[str, list[tuple[str, float]]]:
        """Label and share of the ground [%] of each class, by quantity."""
        from siteplan.outputs.coverage.contours import ground_area

        found = {}
        for layer in self.layers:
            areas = [(band.label, ground_area(shape)) for band, shape in layer.bands]
            total = sum(area for _, area in areas)
            found[layer.field.name] = [(label, 100 * area / total) for label, area in areas]
        return found


@dataclass(frozen=True)
class Written:
    """What ``siteplan coverage`` wrote, for the screen."""

    covered: Covered
    folder: Path
    points: int
    names: tuple[str, ...]


def wanted(
    project: Project,
    network: Network,
    *,
    step_deg: float | None = None,
    area: str | Path | None = None,
    land_only: bool = False,
) -> Wanted | None:
    """Return what is asked for on the command line, else in network.toml; None for nothing.

    The area in network.toml is looked for in the project's folder.

    Raises
    ------
    NetworkError
        If the step is out of range.
    """
    table = network.coverage
    step = step_deg if step_deg is not None else table.step_deg
    if step is None:
        return None
    low, high = STEP_RANGE_DEG
    if not low <= step <= high:
        raise NetworkError(
            f"a step of {step:g} deg is out of range.",
            where="coverage step",
            fix=f"Use {low:g} to {high:g} deg, such as {DEFAULT_STEP_DEG:g}.",
        )
    named = project.folder / table.area if table.area else None
    return Wanted(step, Path(area) if area is not None else named, land_only or table.land_only)


def work_out(
    sites: Sites,
    network: Network,
    asked: Wanted,
    *,
    spread: Spread | None = None,
    watch: Watch = lambda total: lambda done: None,
) -> Covered:
    """Return the coverage of a project's area.

    Parameters
    ----------
    sites : Sites
        Whose extent is the area where no file gives one.
    network : Network
        Checked network file.
    asked : Wanted
        Spacing, area, cut.
    spread : callable, optional
        Works the grid's chunks out on other processors.
    watch : callable
        Given the number of points, returns what is told the number done.

    Raises
    ------
    ProjectError
        If the area's file cannot be used, or nothing is left of the area.
    NetworkError
        If the grid would be too large, or the network cannot be used.
    """
    from siteplan.outputs.coverage.files import layers, nodes_within
    from siteplan.outputs.map.extent import extent
    from siteplan.planning.coverage.cover import cover, one_by_one
    from siteplan.planning.coverage.grid import around, make_grid

    area = _area(asked)
    frame = around(extent(sites.lat, sites.lon)) if area is None else _frame(area)
    grid = make_grid(frame, asked.step_deg)
    within = _within(area, grid.frame, land_only=asked.land_only)
    coverage = cover(
        grid, network, spread=spread or one_by_one, progress=watch(grid.shape[0] * grid.shape[1])
    )
    if not nodes_within(coverage, within).any():
        raise ProjectError(
            f"no point of a grid of {asked.step_deg:g} deg lies in the area.",
            where="coverage",
            fix="Use a smaller step, or a larger area.",
        )
    return Covered(coverage, layers(coverage, within), within)


def _area(asked: Wanted) -> Any:
    from siteplan.inputs.area import read_area

    return None if asked.area is None else read_area(asked.area)


def _frame(area: Any) -> tuple[float, float, float, float]:
    west, south, east, north = (float(v) for v in area.bounds)
    return south, west, north, east


def _within(area: Any, frame: tuple[float, float, float, float], *, land_only: bool) -> Any:
    """Return what contours and points are cut to."""
    from siteplan.outputs.coverage.contours import cut
    from siteplan.outputs.coverage.land import land

    if not land_only:
        return area
    return land(frame) if area is None else cut(area, land(frame))


def behind(covered: Covered | None, overlays: tuple[Overlay, ...]) -> Behind:
    """Return what the map draws behind the sites."""
    from siteplan.outputs.map.backdrop import Behind
    from siteplan.planning.coverage.relief import relief_heights

    if covered is None:
        return Behind(overlays=overlays)
    heights = relief_heights(covered.coverage.grid)
    return Behind(covered.coverage, covered.layers, heights, overlays)


def check_files(project: Project, network: Network) -> None:
    """Raise where a file that network.toml names for the map is not there.

    Raises
    ------
    ProjectError
        With the table and the file; before anything is planned.
    """
    named = [(f"[[overlays]] no. {k} file", o.file) for k, o in enumerate(network.overlays, 1)]
    if network.coverage.area:
        named.append(("[coverage] area", network.coverage.area))
    for key, file in named:
        if not (project.folder / file).is_file():
            raise ProjectError(
                f"there is no file {file!r} in the project.",
                where=f"network.toml, {key}",
                fix="Check its name; it is looked for from the project's folder.",
            )


def read_overlays(project: Project, network: Network) -> tuple[Overlay, ...]:
    """Return the project's own map layers.

    Raises
    ------
    ProjectError
        If a file is missing or cannot be read.
    """
    from siteplan.inputs import overlays

    if not network.overlays and not project.overlays:
        return ()
    return overlays.read_overlays(project.folder, network.overlays, project.overlays)


def write(covered: Covered, folder: Path) -> tuple[int, tuple[str, ...]]:
    """Write contours and grid into a folder that exists.

    Returns
    -------
    int
        How many points of the grid were written.
    tuple of str
        Names of the files; the GeoTIFF only where rasterio is installed.
    """
    from siteplan.outputs.coverage import files

    files.write_geojson(covered.layers, folder / files.CONTOURS_NAME)
    points = files.write_gpkg(covered.coverage, folder / files.GRID_NAME, covered.within)
    raster = files.write_tif(covered.coverage, folder / files.RASTER_NAME)
    return points, (files.CONTOURS_NAME, files.GRID_NAME, *([files.RASTER_NAME] * raster))
