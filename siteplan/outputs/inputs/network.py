"""``inputs/network.toml``: the network as it was read, so that reading it gives the same again.

Only keys that were given stand in it, with all their digits; what a default filled stays out.
What came from files (patterns, contours, service areas) is written beside it from what was read,
and named from there, whatever the files were called and wherever they lay.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Mapping
from pathlib import Path, PureWindowsPath
from typing import Any, TypeVar

from pydantic import BaseModel

from siteplan.network import Antenna, Beam, Contours, Hub, Network, PatternGains
from siteplan.network.reference import is_inner, is_list_table
from siteplan.outputs.escaping import for_utf8

#: The network's file, and the folder of what it names, in ``inputs/``.
NETWORK_NAME, FILES_NAME = "network.toml", "files"
#: The column of the values in a file of contours, and of a service area's shape.
VALUE = "value"
_HEAD = """\
# The network that this plan was made from, as it was read: what was given, and no default.
# Patterns, contours and service areas stand in the folder files; what is only drawn on the map
# (overlays, the area of coverage) is named and not kept.
"""
_OWN_CLOUDS = """\
# [methods] cloud_maps named maps of the user's own: edition and fingerprint are in methods.json.
"""
_CONTROLS = re.compile('["\\\\\x00-\x1f\x7f]')
_Dish = TypeVar("_Dish", Antenna, Hub)
_BARE = re.compile(r"[A-Za-z0-9_-]+")


def write_network(network: Network, folder: Path) -> None:
    """Write a network and what it took from files into a folder that exists.

    Parameters
    ----------
    network : Network
        As it was read: with the rows of the files that it names.
    folder : Path
        Where ``network.toml`` goes, and ``files/`` where there is any.
    """
    named, files = with_own_files(network)
    if files:
        (folder / FILES_NAME).mkdir()
    for name, content in files.items():
        (folder / name).write_bytes(content)
    text = for_utf8(network_text(without_places(named)))
    (folder / NETWORK_NAME).write_text(text, encoding="utf-8", newline="\n")


# --- what came from files -------------------------------------------------------------------


def with_own_files(network: Network) -> tuple[Network, dict[str, bytes]]:
    """Return a network that names files of ours, and what is in each by its name."""
    files: dict[str, bytes] = {}
    antennas = tuple(_dish(a, f"pattern_{k}", files) for k, a in enumerate(network.antennas, 1))
    hub = _dish(network.hub, "pattern_hub", files)
    contours = tuple(_contours(of, k, files) for k, of in enumerate(network.contours, 1))
    beams = tuple(_beam(beam, k, files) for k, beam in enumerate(network.beams, 1))
    made = {"antennas": antennas, "hub": hub, "contours": contours, "beams": beams}
    changed = {name: value for name, value in made.items() if value is not getattr(network, name)
               and value != getattr(network, name)}  # fmt: skip
    return network.model_copy(update=changed), files


def _dish(of: _Dish, called: str, files: dict[str, bytes]) -> _Dish:
    if of.pattern_gains is None:
        return of
    name = f"{FILES_NAME}/{called}.csv"
    files[name] = _pattern(of.pattern_gains).encode()
    return of.model_copy(update={"pattern_file": name})


def _pattern(gains: PatternGains) -> str:
    """Return a pattern's rows as CSV; a side without gains stays blank."""
    blank = ("",) * len(gains.angle_deg)
    sides = [blank if side is None else side for side in (gains.rx_gain_dbi, gains.tx_gain_dbi)]
    rows = zip(gains.angle_deg, *sides, strict=True)
    lines = [",".join("" if v == "" else repr(v) for v in row) for row in rows]
    return "\n".join(["angle_deg,rx_gain_dbi,tx_gain_dbi", *lines, ""])


def _contours(of: Contours, number: int, files: dict[str, bytes]) -> Contours:
    if of.lines is None:
        return of
    name = f"{FILES_NAME}/contours_{number}.geojson"
    files[name] = _collection(
        ({"type": "LineString", "coordinates": list(zip(line.lon, line.lat, strict=True))},
         line.value)
        for line in of.lines
    )  # fmt: skip
    return of.model_copy(update={"file": name, "attribute": VALUE})


def _beam(beam: Beam, number: int, files: dict[str, bytes]) -> Beam:
    if beam.area_wkt is None:
        return beam
    import shapely

    name = f"{FILES_NAME}/area_{number}.geojson"
    parts = shapely.get_parts([shapely.from_wkt(beam.area_wkt)])
    files[name] = _collection((shapely.geometry.mapping(part), number) for part in parts)
    return beam.model_copy(update={"area": name})


def _collection(shapes: Any) -> bytes:
    """Return pairs of geometry and value as GeoJSON; numbers keep all their digits."""
    import orjson

    features = [
        {"type": "Feature", "properties": {VALUE: value}, "geometry": dict(geometry)}
        for geometry, value in shapes
    ]
    return orjson.dumps({"type": "FeatureCollection", "features": features})


# --- what tells of this machine -------------------------------------------------------------


def without_places(network: Network) -> Network:
    """Return a network that names no place on this machine.

    Cloud maps of the user's own are left out, but for the empty text that asks for the older ones;
    files that are only drawn go by their names alone where they lie outside the project.
    """
    changed: dict[str, Any] = {}
    if network.methods.cloud_maps:
        given = network.methods.model_dump(exclude_unset=True, exclude={"cloud_maps"})
        changed["methods"] = type(network.methods).model_validate(given)
    if network.coverage.area is not None:
        area = _inside(network.coverage.area)
        changed["coverage"] = network.coverage.model_copy(update={"area": area})
    if network.overlays:
        changed["overlays"] = tuple(
            of.model_copy(update={"file": _inside(of.file)}) for of in network.overlays
        )
    return network.model_copy(update=changed)


def _inside(name: str) -> str:
    """Return the name of a file: from the project's folder, or alone where it lies elsewhere."""
    path = PureWindowsPath(name)  # takes both kinds of slashes, and drives
    outside = path.anchor or ".." in path.parts or name.startswith("~")
    return path.name or "file" if outside else name


# --- TOML -----------------------------------------------------------------------------------


def network_text(network: Network) -> str:
    """Return the keys that a network was given, as TOML that reads back to the same values."""
    blocks = [_HEAD]
    if "methods" in network.model_fields_set and not network.methods.model_fields_set:
        blocks.append(_OWN_CLOUDS)
    for table in type(network).model_fields:
        if table in network.model_fields_set:
            blocks += _tables(table, getattr(network, table))
    return "\n".join(blocks)


def _tables(table: str, value: Any) -> Iterator[str]:
    """Yield the lines of a table, or of each entry of a list."""
    entries = value if is_list_table(table) else (value,)
    head = f"[[{table}]]" if is_list_table(table) else f"[{table}]"
    for entry in entries:
        lines = [f"{key} = {_value(v)}" for key, v in given_keys(table, entry).items()]
        yield "\n".join([head, *lines, ""])


def given_keys(table: str, of: BaseModel) -> dict[str, Any]:
    """Return the keys that one table was given, in order, with their values."""
    return {
        key: getattr(of, key)
        for key in type(of).model_fields
        if key in of.model_fields_set and getattr(of, key) is not None and not is_inner(table, key)
    }


def _value(value: Any) -> str:
    """Return a value as TOML, no digit and no letter lost."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, dt.date):
        return str(value)
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(_value, value))}]"
    if isinstance(value, BaseModel):
        value = {k: v for k in type(value).model_fields if k in value.model_fields_set
                 and (v := getattr(value, k)) is not None}  # fmt: skip
    if isinstance(value, Mapping):
        pairs = ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items())
        return f"{{ {pairs} }}" if pairs else "{}"
    return _text(str(value))


def _key(name: str) -> str:
    return name if _BARE.fullmatch(name) else _text(name)


def _text(text: str) -> str:
    """Return a text as a basic string of TOML 1.0."""
    return f'"{_CONTROLS.sub(lambda m: _escape(m[0]), text)}"'


def _escape(mark: str) -> str:
    if mark in '"\\':
        return f"\\{mark}"
    return "\\u" + hex(ord(mark))[2:].zfill(4)
