"""What a plan is asked for: the outputs, and where it is worked out. Refused before any work."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from dataclasses import field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from siteplan.errors import ClusterError, OutputError
from siteplan.frozen import frozen
from siteplan.jobs.watch import Watch, unwatched
from siteplan.network import Network

if TYPE_CHECKING:
    from siteplan.inputs.project import Project

#: Kinds of tables that a plan can be written as.
TABLE_KINDS = ("parquet", "csv", "gpkg", "geojson")
#: What is written where nobody says: of a plan as a whole, and of one in parts.
WHOLE_KINDS, PARTS_KINDS = ("csv", "gpkg", "geojson"), ("parquet",)
#: Tables of more rows than this are planned in parts.
IN_PARTS_FROM_ROWS = 100_000
#: The options of the map that are handed on to its writer.
MAP_OPTIONS = frozenset({"title", "tiles", "plain"})
#: Where a scheduler listens: a protocol, perhaps, then host and port.
_ADDRESS = re.compile(r"([a-z]+://)?[^\s:/]+:\d{1,5}|[a-z]+://\S+")


@frozen
class Asked:
    """The options of a plan.

    ``sheets`` None: up to a number of sites. ``tables`` None: what is usual for a plan as a
    whole, or in parts. ``workbook`` None: where the project is one. ``workers`` and ``scheduler``
    None: as the number of rows has it. ``sensitivity`` and ``monitoring`` ask for theirs of any
    number of sites.
    """

    map: bool = True
    sheets: bool | None = None
    tables: tuple[str, ...] | None = None
    map_options: Mapping[str, Any] = field(default_factory=dict)
    workers: int | None = None
    scheduler: str | None = None
    report: bool = True
    workbook: bool | None = None
    all_fields: bool = False
    sensitivity: bool = False
    monitoring: bool = False

    def check(self) -> None:
        """Raise where an option cannot be honoured, whatever the project.

        Raises
        ------
        OutputError
            A kind of table or an address of tiles that cannot be used.
        ClusterError
            Workers or a scheduler that cannot be.
        """
        unknown = set(self.map_options) - MAP_OPTIONS
        if unknown:
            raise OutputError(
                f"the map has no option {sorted(unknown)[0]!r}.",
                where="map_options",
                fix=f"Choose of {', '.join(sorted(MAP_OPTIONS))}.",
            )
        if self.map:
            from siteplan.outputs.map.page import images

            images(self.map_options.get("tiles", ""))
        _check_tables(self.tables)
        check_workers(self.workers, self.scheduler)

    def in_parts(self, rows: int) -> bool:
        """Return whether a table of about so many rows is planned in parts."""
        asked = self.workers is not None or self.scheduler is not None
        return asked or rows >= IN_PARTS_FROM_ROWS


def kinds_of(tables: Sequence[str] | str | None) -> tuple[str, ...] | None:
    """Return kinds of tables as they were asked for, one text with commas or several."""
    if tables is None:
        return None
    given = tables.split(",") if isinstance(tables, str) else tables
    return tuple(dict.fromkeys(kind.strip() for kind in given if kind.strip()))


def _check_tables(tables: tuple[str, ...] | None) -> None:
    unknown = [kind for kind in tables or () if kind not in TABLE_KINDS]
    if unknown or tables == ():
        raise OutputError(
            f"{', '.join(unknown) or 'nothing'} is no kind of table.",
            where="--tables",
            fix=f"Choose of {', '.join(TABLE_KINDS[:-1])} and {TABLE_KINDS[-1]}.",
        )


def check_workers(workers: int | None, scheduler: str | None) -> None:
    """Raise where work cannot be spread as asked.

    Raises
    ------
    ClusterError
        Fewer than no workers, workers and a scheduler, or an address that is none.
    """
    if workers is not None and scheduler is not None:
        raise ClusterError(
            "workers on this machine and a cluster are both asked for.",
            where="--workers, --scheduler",
            fix="Choose one of them.",
        )
    if workers is not None and workers < 0:
        raise ClusterError(
            f"there cannot be {workers} workers.",
            where="--workers",
            fix="Give 1 or more, or 0 for this process alone.",
        )
    if scheduler is not None and not _ADDRESS.fullmatch(scheduler):
        raise ClusterError(
            f"{scheduler!r} is no address of a scheduler.",
            where="--scheduler",
            fix="Give one such as tcp://10.0.0.5:8786.",
        )


@frozen
class Wanted:
    """What coverage is asked for: spacing [deg], a file with the area, and whether to cut.

    ``area`` None stands for the sites' extent with a margin; ``land_only`` cuts to land.
    """

    step_deg: float
    area: Path | None = None
    land_only: bool = False


@frozen
class Job:
    """A plan to make: the project and its network, what is asked for, and where it goes."""

    project: Project
    network: Network
    asked: Asked
    folder: Path
    covering: Wanted | None = None
    today: dt.date | None = None
    watch: Watch = unwatched

    @property
    def name(self) -> str:
        """The plan's name: the network's, else the folder's."""
        return self.network.network.name or self.project.name


def output_of(folder: str | Path, output: str | Path | None, *, part: str = "") -> Path:
    """Return a project's output folder, with what a run that was killed left there put back.

    Parameters
    ----------
    folder : path
        The project.
    output : path, optional
        What was asked for, else ``output/NAME`` under the current folder.
    part : str
        The folder in it that is to be replaced, where it is not all of it.

    Raises
    ------
    OutputError
        If it is the project's own folder, or one that holds it; if a run is at work there.
    """
    from siteplan.inputs.project import root_and_name
    from siteplan.outputs.folder.apart import apart
    from siteplan.outputs.folder.claim import put_back

    root, name = root_and_name(folder)
    target = Path(output) if output is not None else Path("output") / name
    apart(target, root, part=part)
    put_back(target, part=part)
    return target


def inputs_of(
    project: Project, network: Network, covering: Wanted | None = None
) -> tuple[Path, ...]:
    """Return the files that a run of a project reads."""
    named = [o.file for o in network.overlays] + [*network.pattern_files.values()]
    named += [*network.contour_files.values(), *network.area_files.values()]
    named += [name for name in (network.coverage.area, network.methods.cloud_maps) if name]
    found = (
        project.sites_path,
        project.network_path,
        project.obstructions_path,
        project.terrain_path,
        *project.overlays,
        *(project.folder / Path(name).expanduser() for name in named),
        covering.area if covering else None,
    )
    return tuple(path for path in found if path is not None)
