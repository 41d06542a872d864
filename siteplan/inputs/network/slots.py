"""The network as it would be with another satellite: its position, and what is told of it."""

from __future__ import annotations

from pathlib import Path
from typing import Any, NamedTuple

from siteplan.errors import NetworkError
from siteplan.inputs.network.areas import with_areas
from siteplan.inputs.network.contours import with_contours
from siteplan.inputs.network.read import network_data, network_from_mapping
from siteplan.inputs.network.slot_remarks import remarks
from siteplan.inputs.satellites import LEVEL_KEYS, Satellite
from siteplan.network import Network
from siteplan.network.spectrum.neighbours import is_same

#: Tables of a satellite's own file.
OWN_TABLES = ("beams", "contours", "neighbours")
_CONTOURS = {"eirp_contours": "down", "g_t_contours": "up"}


class Moved(NamedTuple):
    """A network with another satellite, and what was taken for it, in sentences."""

    network: Network
    remarks: tuple[str, ...]


def network_at(network: Network, of: Satellite, folder: Path) -> Moved:
    """Return a network with another satellite.

    What is not told of the satellite is as in the network. What tells levels or a service area of
    it stands in the place of the network's beams and contours: those are another satellite's. The
    files that it names are looked for from ``folder``.

    Raises
    ------
    NetworkError
        If a file cannot be used, or the figures do not go with the network's.
    """
    tables = {table: getattr(network, table) for table in network.model_fields_set}
    tables["satellite"] = _stands(network, of)
    tables["neighbours"] = _neighbours(network, of)
    own = _beams(of) | _own_file(of, folder)
    tables |= _levels(network, of) | own
    tables = {name: table for name, table in tables.items() if table or name not in OWN_TABLES}
    moved = network_from_mapping(tables, where=of.where or of.name)
    left = len(network.neighbours) - len(_neighbours(network, of))
    return Moved(_with_files(moved, of, folder), tuple(remarks(network, of, own, left)))


def _stands(network: Network, of: Satellite) -> dict[str, Any]:
    """Return the keys of ``[satellite]``: the satellite's own, the rest as they are."""
    ours = network.satellite.neighbours_deg if of.neighbours_deg is None else of.neighbours_deg
    beside = [at for at in ours if not is_same(at, of.longitude_deg)]
    own = {"name": of.name, "longitude_deg": of.longitude_deg, "neighbours_deg": beside}
    keys = {**_given(network.satellite), **own}
    return keys if beside else {key: keys[key] for key in keys if key != "neighbours_deg"}


def _with_files(network: Network, of: Satellite, folder: Path) -> Network:
    """Return a network with what the satellite's own files of areas and contours hold.

    Raises
    ------
    NetworkError
        If one is missing or cannot be used.
    """
    if not of.files:
        return network
    try:
        return with_areas(with_contours(network, folder), folder)
    except NetworkError as error:
        where = error.where.removeprefix("network.toml, ")
        fix = error.fix.replace("the project's folder", "the folder of the satellites' file")
        what = error.what.replace("in the project", "there")
        raise NetworkError(what, where=f"{of.where}, {where}", fix=fix) from None


def _given(table: Any) -> dict[str, Any]:
    """Return the keys that are given in a table."""
    return {key: getattr(table, key) for key in table.model_fields_set}


def _tells_levels(of: Satellite) -> bool:
    """Whether anything is told of where the satellite gives what."""
    return bool(of.levels or of.files)


def _levels(network: Network, of: Satellite) -> dict[str, Any]:
    """Return the carriers' tables with the satellite's figures; one direction's own comes first."""
    found: dict[str, Any] = {}
    for key in sorted(of.levels, key=lambda key: len(LEVEL_KEYS[key][1]), reverse=True):
        level, ways = LEVEL_KEYS[key]
        for way in ways:
            keys = found.setdefault(way, _given(getattr(network, way)))
            keys[level] = of.levels[key]
    return found


def _beams(of: Satellite) -> dict[str, Any]:
    """Return the tables of beams and contours that a row stands for, none where it tells levels."""
    if not _tells_levels(of):
        return {}
    name = of.name[:60]
    area = {"beams": [{"name": name, "area": of.files["area"]}]} if "area" in of.files else {}
    beam = {"beam": name} if area else {}
    contours = [
        {"direction": way, "file": of.files[key], "attribute": of.attribute, **beam}
        for key, way in _CONTOURS.items()
        if key in of.files
    ]
    return {"beams": [], "contours": contours, **area}


def _own_file(of: Satellite, folder: Path) -> dict[str, Any]:
    """Return the tables of the file of beams that a satellite names.

    Raises
    ------
    NetworkError
        If it cannot be read, or holds other tables.
    """
    if "beams" not in of.files:
        return {}
    path = folder / Path(of.files["beams"]).expanduser()
    try:
        found = network_data(path)
    except NetworkError as error:
        fix = error.fix or "Check its name; it is looked for from the satellites' file."
        raise NetworkError(error.what, where=f"{of.where}, beams: {path.name}", fix=fix) from None
    for table in found:
        if table not in OWN_TABLES:
            raise NetworkError(
                f"[{table}] is no table of a satellite's beams.",
                where=f"{of.where}, beams: {path.name}",
                fix=f"Keep {', '.join(f'[[{t}]]' for t in OWN_TABLES)} in it.",
            )
    return found


def _neighbours(network: Network, of: Satellite) -> list[Any]:
    """Return the neighbours with levels that stand beside the satellite too.

    Not one at its own position, which it takes, and of those that the row names only these.
    """
    named = of.neighbours_deg
    return [
        each
        for each in network.neighbours
        if not is_same(each.longitude_deg, of.longitude_deg)
        and (named is None or any(is_same(each.longitude_deg, at) for at in named))
    ]
