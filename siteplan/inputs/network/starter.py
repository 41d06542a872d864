"""A project to begin with: five invented sites and a network file that explains every key."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import get_args

from siteplan.errors import OutputError
from siteplan.network import DEFAULT_ANTENNAS_M, DEFAULT_BUCS_W, Network
from siteplan.network.costs import MountName
from siteplan.network.reference import KeyRow, is_list_table, key_rows, table_types, toml_text

_SITES = """\
site_id,name,lat,lon,structure,wall_facing_deg,group
A01,Harbour office,38.7069,-9.1355,flat_roof,,coast
A02,Hill school,38.7966,-9.3885,wall,200,coast
A03,River store,39.2362,-8.6850,ground,,inland
A04,Plain depot,38.5714,-7.9135,pitched_roof,,inland
A05,Upland mast,40.3218,-7.6130,ground,,upland
"""

_HEAD = """\
# The network that the sites in sites.csv belong to. Only [satellite] longitude_deg is needed:
# every line that starts with '#' shows a key with its default. Remove the '#' to change it.
# Names, places and figures of this starter are invented; replace them with yours.
"""

#: What the starter gives: (table, key) and the value in TOML.
_GIVEN = {
    ("network", "name"): '"Starter network"',
    ("satellite", "longitude_deg"): "-8.0",
    ("hub", "lat"): "40.42",
    ("hub", "lon"): "-3.70",
}
#: Lists of which the starter has none: it shows the keys of one entry.
_NONE_GIVEN = ("overlays", "neighbours", "masks", "beams", "contours", "applications")


def write_starter(folder: Path) -> None:
    """Write sites.csv and network.toml of a starter project into a new folder.

    Raises
    ------
    OutputError
        If the folder holds anything already, or cannot be made.
    """
    with new_folder(folder):
        (folder / "sites.csv").write_text(_SITES, encoding="utf-8")
        (folder / "network.toml").write_text(starter_network(), encoding="utf-8")


@contextmanager
def new_folder(folder: Path) -> Iterator[None]:
    """Make a folder for a project, to be filled inside.

    Raises
    ------
    OutputError
        If the folder holds anything already, or cannot be made or filled.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if any(folder.iterdir()):
            raise OutputError(
                "the folder is not empty; nothing was written.",
                where=str(folder),
                fix="Name a new folder.",
            )
        yield
    except OSError as error:
        raise OutputError(
            f"cannot make the project: {error.strerror}.",
            where=str(folder),
            fix="Name another folder.",
        ) from None


def starter_sites() -> list[dict[str, str]]:
    """Return the rows of the starter's sites by heading."""
    return list(csv.DictReader(_SITES.splitlines()))


def starter_network() -> str:
    """Return a network.toml in which every key stands with its default, unit and meaning."""
    blocks = [_HEAD]
    for table in table_types():
        if is_list_table(table):
            blocks.append(_catalogue(table))
        else:
            lines = [_line(row) for row in key_rows(table)]
            blocks.append("\n".join([f"[{table}]", *lines]) + "\n")
    return "\n".join(blocks)


def _line(row: KeyRow) -> str:
    """Return one key with its value, unit and meaning; a default stands behind a '#'."""
    given = _GIVEN.get((row.table, row.key))
    setting = f"{row.key} = {given}" if given else f"# {row.key} = {row.default or '...'}"
    unit = f" [{row.unit}]" if row.unit else ""
    return f"{setting:<40} # {row.meaning}{unit}"


def _catalogue(table: str) -> str:
    """Return the entries of a list table, each with its keys."""
    first, *others = key_rows(table)
    if table in _NONE_GIVEN:
        return "\n".join([f"# [[{table}]]", *map(_line, key_rows(table))]) + "\n"
    if table == "cables":
        return _cables(list(key_rows(table)))
    if table == "mounts":
        return _mounts(first, others)
    sizes = DEFAULT_ANTENNAS_M if table == "antennas" else DEFAULT_BUCS_W
    entries = [
        "\n".join(
            [f"[[{table}]]", f"{f'{first.key} = {size}':<40} # {first.meaning} [{first.unit}]"]
            + ([_line(row) for row in others] if k == 0 else [])
        )
        for k, size in enumerate(sizes)
    ]
    return "\n\n".join(entries) + "\n"


def _mounts(kind: KeyRow, others: list[KeyRow]) -> str:
    """Return an entry for each kind of mount, all behind a '#'."""
    entries = []
    for name in get_args(MountName):
        line = f"# {kind.key} = {toml_text(name)}"
        head = ["# [[mounts]]", f"{line:<40} # {kind.meaning}"]
        entries.append("\n".join([*head, *map(_line, others)]))
    return "\n\n".join(entries) + "\n"


def _cables(rows: list[KeyRow]) -> str:
    """Return the default classes of cable, all behind a '#', each with all its keys."""
    entries = []
    for cable in Network.model_fields["cables"].get_default(call_default_factory=True):
        values = [(r.key, getattr(cable, r.key)) for r in rows]
        lines = [f"# {k} = {'...' if v is None else toml_text(v)}" for k, v in values]
        meant = [f"{line:<40} # {r.meaning}" for line, r in zip(lines, rows, strict=True)]
        entries.append("\n".join(["# [[cables]]", *meant]))
    return "\n\n".join(entries) + "\n"
