"""A project read and checked: sites, network, surroundings, rejects; and what is refused."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, TextArray
from siteplan.errors import NetworkError, ProjectError, SiteplanError, SitesError
from siteplan.frozen import frozen
from siteplan.jobs.around import read_surroundings
from siteplan.model import ColumnRead, Reject, SiteList, Sites, Surroundings
from siteplan.network import Network

if TYPE_CHECKING:
    from siteplan.inputs.project import Project

#: What mends a name in ``[sheets] columns`` that looks like no column.
_HEADING = "Write its heading as the table has it; what the plan reads stands on the sheet already."


#: How errors begin that name a key of the network.
_FILE = "network.toml"


@contextmanager
def told_by_cell(project: Project) -> Iterator[None]:
    """Let errors that name a key of network.toml name the cell of the project's workbook instead.

    Raises
    ------
    SiteplanError
        As what is done inside raises it.
    """
    try:
        yield
    except SiteplanError as error:
        if project.workbook is None or not error.where.startswith(_FILE):
            raise
        from siteplan.inputs.workbook.network import gathered

        key = error.where.removeprefix(_FILE).strip(", ")
        cell = gathered(project.workbook).cell_of(key)
        where = f"{project.workbook.name}, {cell} ({key})"
        raise type(error)(error.what, where=where, fix=error.fix) from None


@frozen
class Opened:
    """A project, read and checked; ``rejects`` are those of the sites and of the obstructions.

    ``read`` are the sites before the network ruled out any of their values.
    """

    project: Project
    site_list: SiteList
    network: Network
    around: Surroundings
    rejects: tuple[Reject, ...]
    read: Sites

    def check(self) -> None:
        """Raise where nothing can be planned.

        Raises
        ------
        SiteplanError
            No site, no MODCOD, no hub, no satellite in sight, or terrain of elsewhere.
        """
        with told_by_cell(self.project):
            check_plannable(self.site_list, self.network)
        self.check_around()

    def check_around(self) -> None:
        """Raise where the terrain cannot be read or covers none of the project's sites."""
        sites = self.site_list.sites
        check_terrain(self.around, sites.lat, sites.lon)


def read_sites(sites: Any, crs: str | None = None) -> SiteList:
    """Return checked sites from a path or from a table in memory.

    ``crs`` is the reference system of eastings and northings in it, as `[sites]` of network.toml
    gives it.

    Raises
    ------
    SitesError
        If the table cannot be used at all.

    Examples
    --------
    >>> found = read_sites([(-3.10, -60.02), (95.0, 10.0)])
    >>> len(found.sites), [(reject.row, reject.key) for reject in found.rejects]
    (1, [(3, 'lat')])
    """
    from siteplan.inputs.sites import read as reader

    if isinstance(sites, SiteList):
        return sites
    if isinstance(sites, str | Path):
        return reader.read_sites(Path(sites), crs or "")
    return reader.sites_from_frame(sites, crs=crs or "")


def read_network(network: Network | dict[str, Any] | str | Path) -> Network:
    """Return a checked network from a path, a mapping or a ready ``Network``.

    A path is that of a network.toml, or of a workbook that holds a project.

    The cloud maps and the files of patterns, contours and areas that a file names are looked for
    from its folder, else from the current one. A ready ``Network`` stays as it is.

    Raises
    ------
    NetworkError
        If a key is unknown, missing or out of range, or a file that it names cannot be used.

    Examples
    --------
    >>> network = read_network({"satellite": {"longitude_deg": -61}})
    >>> network.satellite.longitude_deg, network.outbound.downlink_ghz
    (-61.0, 11.95)
    """
    from siteplan.inputs.network import read as network_file

    if isinstance(network, Network):
        return network
    if isinstance(network, str | Path):
        folder = Path(network).parent
        return _with_files(_placed(_from_file(Path(network)), folder), folder)
    return _with_files(network_file.network_from_mapping(network), Path())


def _with_files(network: Network, folder: Path) -> Network:
    """Return a network that holds what the files that it names hold: patterns, contours, areas."""
    from siteplan.inputs.network.areas import with_areas
    from siteplan.inputs.network.contours import with_contours
    from siteplan.inputs.network.patterns import with_patterns

    return with_areas(with_contours(with_patterns(network, folder), folder), folder)


def _from_file(path: Path) -> Network:
    """Return the network of a network.toml, or of a project's workbook."""
    from siteplan.inputs.workbook import is_book

    if is_book(path):
        from siteplan.inputs.workbook.network import network_of_book

        return network_of_book(path)
    from siteplan.inputs.network.read import read_network as of_toml

    return of_toml(path)


def _placed(network: Network, folder: Path) -> Network:
    """Return a network with the full path of the cloud maps that it names."""
    from siteplan.physics.propagation.mapped.map_files import expanded
    from siteplan.planning.setting import with_cloud_maps

    named = network.methods.cloud_maps
    if not named:
        return network
    return with_cloud_maps(network, str((folder / expanded(named)).absolute()))


def find(folder: str | Path) -> tuple[Project, Network]:
    """Return where a project's files are, and its network, checked; no site is read.

    Raises
    ------
    SiteplanError
        If a file is missing or the network cannot be used.
    """
    from siteplan.inputs.project import find_project

    project = find_project(Path(folder))
    with told_by_cell(project):
        network = read_network(project.network_path)
        check_files(project, network)
    return project, network


def read_project(folder: str | Path) -> tuple[Project, SiteList, Network]:
    """Return a project folder's parts, read and checked.

    Raises
    ------
    SiteplanError
        If a file is missing or cannot be used.
    """
    project, network = find(folder)
    return project, read_sites(project.sites_path, network.sites.crs), network


def open_project(folder: str | Path) -> Opened:
    """Return a project with all that lies around its sites, and all rejects.

    Raises
    ------
    SiteplanError
        If a file is missing or cannot be used.
    """
    return opened(*find(folder))


def opened(project: Project, network: Network) -> Opened:
    """Return a project that was found with its sites and what lies around them."""
    site_list = read_sites(project.sites_path, network.sites.crs)
    read = site_list.sites
    columns = _as_used(site_list.columns, network)
    site_list = replace(site_list, sites=_judged(read, network), columns=columns)
    around, more = read_surroundings(project, known_ids(site_list), network)
    return Opened(project, site_list, network, around, site_list.rejects + more, read)


def _judged(sites: Sites, network: Network) -> Sites:
    """Return sites without what network.toml rules out, each with a note."""
    from siteplan.planning.beams.levels import with_known_beams
    from siteplan.planning.site.loads import with_design_winds

    return with_known_beams(with_design_winds(sites, network), network)


def _as_used(columns: tuple[ColumnRead, ...], network: Network) -> tuple[ColumnRead, ...]:
    """Return how columns were understood: one called beam is carried where no beam is named."""
    if any(network.beam_names):
        return columns
    return tuple(
        replace(c, taken_as="free") if c.taken_as == "beam" and c.filled else c for c in columns
    )


def known_ids(site_list: SiteList) -> TextArray:
    """Return the ids that obstructions may name: obstacles of rejected sites are passed over."""
    refused = np.array([reject.site_id for reject in site_list.rejects], dtype=object)
    return np.concatenate([site_list.sites.site_id, refused])


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


@dataclass
class Found:
    """What a table of sites holds, read as a whole or chunk by chunk.

    ``seen`` says whether the satellite stands above the horizon of any site. ``names`` are the
    ids, those of rejected rows too, where they are ``named``.
    """

    network: Network
    source: str = ""
    rows: int = 0
    sites: int = 0
    seen: bool = False
    named: bool = False
    rejects: list[Reject] = field(default_factory=list)
    columns: set[str] = field(default_factory=set)
    _lat: list[FloatArray] = field(default_factory=list)
    _lon: list[FloatArray] = field(default_factory=list)
    _doubted: list[BoolArray] = field(default_factory=list)
    _names: list[TextArray] = field(default_factory=list)

    def add(self, chunk: SiteList) -> None:
        """Count a chunk's sites and rejects."""
        from siteplan.planning.applications.carried import check_known
        from siteplan.planning.place import any_site_sees

        check_known(chunk.sites, self.network, chunk.source)
        self.source = chunk.source
        self.rows += chunk.rows_read
        self.sites += len(chunk.sites)
        self.rejects.extend(chunk.rejects)
        self.columns.update(chunk.sites.extra)
        self._lat.append(chunk.sites.lat)
        self._lon.append(chunk.sites.lon)
        self._doubted.append(chunk.sites.doubted)
        if self.named:
            self._names.append(known_ids(chunk))
        self.seen = self.seen or (len(chunk.sites) > 0 and any_site_sees(chunk.sites, self.network))

    @property
    def lat(self) -> FloatArray:
        """Latitudes of all sites (n,). [deg]"""
        return np.concatenate(self._lat)

    @property
    def lon(self) -> FloatArray:
        """Longitudes of all sites (n,). [deg]"""
        return np.concatenate(self._lon)

    @property
    def doubted(self) -> BoolArray:
        """Where (n,) coordinates are to be checked."""
        return np.concatenate(self._doubted)

    @property
    def names(self) -> TextArray:
        """Ids of all sites, and those of rejected rows."""
        return np.concatenate(self._names)

    def check(self) -> None:
        """Raise where nothing can be planned.

        Raises
        ------
        SitesError
            No site is left.
        NetworkError
            As `siteplan.planning.setting.setting`, or no site sees the satellite.
        """
        from siteplan.planning.beams.settings import settings

        if not self.sites:
            raise SitesError(
                f"no site is left: {len(self.rejects)} of {self.rows} rows rejected.",
                where=self.source,
                fix=_first_reject(self.rejects),
            )
        settings(self.network)
        self._check_columns()
        if not self.seen:
            raise NetworkError(
                f"the satellite at {self.network.satellite.longitude_deg:g} deg is below the"
                f" horizon of every one of the {self.sites} sites.",
                where="network.toml, [satellite] longitude_deg",
                fix="East is positive, west negative: check the sign, and the signs of the sites.",
            )

    def _check_columns(self) -> None:
        """Raise where a column that the sheets are to carry is none of the user's."""
        for name in self.network.sheets.columns:
            if name not in self.columns:
                import difflib

                near = difflib.get_close_matches(name, sorted(self.columns), n=3, cutoff=0.5)
                raise NetworkError(
                    f"{name!r} is no column of yours in {self.source}.",
                    where="network.toml, [sheets] columns",
                    fix=f"Is it {' or '.join(near)}?" if near else _HEADING,
                )


def check_plannable(site_list: SiteList, network: Network) -> None:
    """Raise where nothing can be planned: no site, no MODCOD, no hub, no satellite in sight.

    Raises
    ------
    SitesError, NetworkError
        With the file and the key, and what to do.
    """
    found = Found(network)
    found.add(site_list)
    found.check()


def check_terrain(around: Surroundings, lat: FloatArray, lon: FloatArray) -> None:
    """Raise where the terrain cannot be read, or covers none of a project's sites (n,) [deg].

    All sites of the project count: some of them, or a part, may well lie outside.

    Raises
    ------
    ProjectError
        With the area that the file covers.
    """
    if around.terrain_path is not None:
        from siteplan.planning.site.terrain import check_covers

        check_covers(around.terrain_path, lat, lon)


def _first_reject(rejects: list[Reject]) -> str:
    """Return the first reject as the hint, where there is one."""
    if not rejects:
        return "Add rows with lat and lon."
    first = rejects[0]
    return f"The first: row {first.row}, {first.key} = {first.value!r}: {first.advice}"
