"""Coverage of a project, end to end: area, grid, contours, files, and what the map shows."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from siteplan.arrays import BoolArray, FloatArray
from siteplan.errors import NetworkError, ProjectError
from siteplan.frozen import frozen
from siteplan.jobs.asked import Wanted, check_workers, inputs_of, output_of
from siteplan.jobs.opened import check_plannable, find, read_sites, told_by_cell
from siteplan.jobs.watch import Watch, unwatched
from siteplan.model import Overlay, Sites
from siteplan.network import Network
from siteplan.results import Coverage, Frame, Grid

if TYPE_CHECKING:
    from siteplan.inputs.project import Project
    from siteplan.outputs.coverage.files import Layer
    from siteplan.outputs.map.backdrop import Behind
    from siteplan.planning.coverage.cover import Spread

#: Spacing of the grid [deg] where nobody gives one, and what it may be.
DEFAULT_STEP_DEG = 0.25
STEP_RANGE_DEG = (0.01, 10.0)


@frozen
class Places:
    """Where the sites stand (n,) [deg], and where that is in doubt: all that coverage wants."""

    lat: FloatArray
    lon: FloatArray
    doubted: BoolArray


@frozen
class Laid:
    """A grid laid over an area, and what contours and points are cut to (None: nothing)."""

    grid: Grid
    within: Any


@frozen
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


@frozen
class Written:
    """What ``siteplan coverage`` wrote, for the screen."""

    covered: Covered
    folder: Path
    points: int
    names: tuple[str, ...]


def wanted(project: Project, network: Network, step_deg: float | None = None) -> Wanted | None:
    """Return what a plan is asked for, else what network.toml wants; None for nothing.

    Raises
    ------
    NetworkError
        If the step is out of range.
    """
    step = step_deg if step_deg is not None else network.coverage.step_deg
    return None if step is None else _wanted(project, network, step)


def _wanted(
    project: Project,
    network: Network,
    step_deg: float,
    area: str | Path | None = None,
    land_only: bool = False,
) -> Wanted:
    """Return what is wanted; the area in network.toml is looked for in the project's folder."""
    table = network.coverage
    low, high = STEP_RANGE_DEG
    if not low <= step_deg <= high:
        raise NetworkError(
            f"a step of {step_deg:g} deg is out of range.",
            where="coverage step",
            fix=f"Use {low:g} to {high:g} deg, such as {DEFAULT_STEP_DEG:g}.",
        )
    named = project.folder / table.area if table.area else None
    where = Path(area) if area is not None else named
    return Wanted(step_deg, where, land_only or table.land_only)


def lay(places: Places | Sites, asked: Wanted) -> Laid:
    """Return the grid over a project's area; what cannot be covered raises here.

    Parameters
    ----------
    places : Places or Sites
        Whose extent is the area where no file gives one, without those in doubt far from the rest.
    asked : Wanted
        Spacing, area, cut.

    Raises
    ------
    ProjectError
        If the area's file cannot be used, or nothing is left of the area.
    NetworkError
        If the grid would be too large.
    """
    from siteplan.outputs.coverage.files import nodes_within
    from siteplan.planning.coverage.grid import make_grid

    area = _area(asked)
    frame = _around(places) if area is None else _frame(area)
    grid = make_grid(frame, asked.step_deg)
    within = _within(area, grid.frame, land_only=asked.land_only)
    empty = Coverage(grid, {}, {}, {}, 0.0, "")
    if not nodes_within(empty, within).any():
        raise ProjectError(
            f"no point of a grid of {asked.step_deg:g} deg lies in the area.",
            where="coverage",
            fix="Use a smaller step, or a larger area.",
        )
    return Laid(grid, within)


def _around(places: Places | Sites) -> Frame:
    """Return the frame of an area around sites; a doubted one far from the others is left out."""
    from siteplan.outputs.map.extent import extent, far_off
    from siteplan.planning.coverage.grid import around

    near = ~far_off(places.lat, places.lon, places.doubted)
    return around(extent(places.lat[near], places.lon[near]))


def work_out(
    laid: Laid,
    network: Network,
    *,
    spread: Spread | None = None,
    watch: Watch = unwatched,
) -> Covered:
    """Return the coverage of a grid.

    Parameters
    ----------
    laid : Laid
        From `lay`.
    network : Network
        Checked network file.
    spread : callable, optional
        Works the grid's chunks out on other processors.
    watch : callable
        Given the number of points, returns what is told the number done.

    Raises
    ------
    NetworkError
        If the network cannot be used.
    """
    from siteplan.outputs.coverage.files import layers
    from siteplan.planning.coverage.cover import cover, one_by_one

    rows, columns = laid.grid.shape
    coverage = cover(
        laid.grid, network, spread=spread or one_by_one, progress=watch(rows * columns)
    )
    return Covered(coverage, layers(coverage, laid.within), laid.within)


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

    if covered is None:
        return Behind(overlays=overlays)
    from siteplan.planning.coverage.relief import relief_heights

    heights = relief_heights(covered.coverage.grid)
    return Behind(covered.coverage, covered.layers, heights, overlays)


def read_overlays(project: Project, network: Network) -> tuple[Overlay, ...]:
    """Return the project's own map layers, and the contours of the satellite's beams.

    Raises
    ------
    ProjectError
        If a file is missing or cannot be read.
    """
    from siteplan.planning.beams.drawn import drawn

    beams = drawn(network)
    if not network.overlays and not project.overlays:
        return beams
    from siteplan.inputs import overlays

    own = overlays.read_overlays(project.folder, network.overlays, project.overlays)
    return (*own, *beams)


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


def coverage_project(
    folder: str | Path,
    output: str | Path | None = None,
    *,
    step_deg: float | None = None,
    area: str | Path | None = None,
    land_only: bool = False,
    workers: int | None = None,
    scheduler: str | None = None,
    watch: Watch = unwatched,
) -> Written:
    """Work out the coverage of a project folder and write it.

    Parameters
    ----------
    folder : path
        The project: sites.* and network.toml.
    output : path, optional
        Where the files go, else ``output/NAME`` under the current folder; what else is there
        stays.
    step_deg : float, optional
        Spacing of the grid [deg], else the network file's, else 0.25.
    area : path, optional
        A file of polygons, else the network file's, else the sites' extent with a margin.
    land_only : bool
        Whether to cut to land.
    workers, scheduler : int, str, optional
        Dask workers on this machine, or the address of a dask scheduler, to spread the grid on.
    watch : callable
        Given the number of points, returns what is told the number done.

    Raises
    ------
    SiteplanError
        If project, area or network cannot be used, or the files cannot be written.
    """
    from siteplan.jobs.parts.cluster import spread_over
    from siteplan.outputs.coverage.files import OUTPUT_NAMES
    from siteplan.outputs.folder.apart import apart
    from siteplan.outputs.folder.claim import claimed

    check_workers(workers, scheduler)
    target = output_of(folder, output)
    project, network = find(folder)
    step = step_deg if step_deg is not None else network.coverage.step_deg
    step = DEFAULT_STEP_DEG if step is None else step
    asked = _wanted(project, network, step, area, land_only)
    apart(target, project.folder, inputs_of(project, network, asked))
    with claimed(target) as claim:
        site_list = read_sites(project.sites_path, network.sites.crs)
        with told_by_cell(project):
            check_plannable(site_list, network)
        laid = lay(site_list.sites, asked)
        with spread_over(workers, scheduler) as spread:
            covered = work_out(laid, network, spread=spread, watch=watch)
        with claim.staged(OUTPUT_NAMES) as new:
            points, names = write(covered, new)
    return Written(covered, target, points, names)
