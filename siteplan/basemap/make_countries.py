"""Make the list of countries and of small islands that stands beside the basemap.

Run by a maintainer, after :mod:`siteplan.basemap.make` and with the same tarball::

    python -m siteplan.basemap.make_countries world-atlas-2.0.2.tgz

The result, ``countries.json``, is read by :mod:`siteplan.basemap.places`:

``countries``
    each country: its rings as lists of arcs of ``basemap.json`` (``~k``: arc k backwards), to fill
    by the even-odd rule;
``names``
    the names of the countries, in the same order, as the source has them;
``islets``
    islands of the source's finer map (1:10m) that the basemap has not: longitude, latitude,
    radius (in steps of the basemap) and the number of the country in the list (-1: none), four
    numbers an island, as a text coded like the arcs.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from siteplan.basemap.make import (
    STEP_DEG,
    Line,
    arcs_of,
    circles_pole,
    encoded,
    kept_arcs,
    land_rings,
    pole_seam,
    read_topology,
    renumbered,
    ring_line,
    rings_of,
    shared_arcs,
    simplified,
    worth_keeping,
)

_FINER = "package/countries-10m.json"
_TARGET = Path(__file__).with_name("countries.json")
#: An island nearer to the basemap's land than this [deg] is a part of its coast.
_OFF_DEG = 0.02


def features(topology: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the countries of a TopoJSON."""
    found: list[dict[str, Any]] = topology["objects"]["countries"]["geometries"]
    return found


def countries(topology: dict[str, Any]) -> tuple[list[list[list[int]]], list[Line]]:
    """Return the rings of each country in the basemap's arcs, and the rings of all land [deg]."""
    lines = arcs_of(topology)
    arcs = [simplified(line) for line in lines]
    given = len(arcs)
    land = land_rings(topology, lines, arcs)
    where = kept_arcs(land, shared_arcs(topology)[1])
    # Antarctica is closed along the pole, in the list of countries as in that of land.
    polar = next(ring for ring in land if max(ring) >= given)
    found = []
    for country in features(topology):
        rings = []
        for ring in rings_of(country):
            line = ring_line(ring, lines)
            if circles_pole(line):
                rings = [renumbered(polar, where)]
            elif not pole_seam(line) and worth_keeping(ring, arcs):
                rings.append(renumbered(ring, where))
        found.append(rings)
    placed = [steps.astype(np.float64) * STEP_DEG for steps in arcs]
    return found, [ring_line(ring, placed) for ring in land]


def islets(
    finer: dict[str, Any], coarse: dict[str, Any], land: list[Line]
) -> Iterator[tuple[int, int, int, int]]:
    """Yield longitude, latitude, radius [steps] and country of islands that ``land`` has not."""
    import shapely

    numbers = {c["properties"]["name"]: k for k, c in enumerate(features(coarse))}
    turned = [np.add(ring, (turn, 0)) for ring in land for turn in (-360, 0, 360)]
    tree = shapely.STRtree([shapely.make_valid(shapely.Polygon(ring)) for ring in turned])
    lines = arcs_of(finer)
    for country in features(finer):
        number = numbers.get(country["properties"]["name"], -1)
        for ring in rings_of(country):
            line = ring_line(ring, lines)
            if len(line) < 4 or circles_pole(line) or pole_seam(line):
                continue
            island = shapely.Polygon(line)
            if not len(tree.query(island, predicate="dwithin", distance=_OFF_DEG)):
                yield (*_round(line), number)


def _round(line: Line) -> tuple[int, int, int]:
    """Return centre and radius [steps] of a circle around a small ring, its radius in latitude."""
    low, high = line.min(axis=0), line.max(axis=0)
    lon, lat = (low + high) / 2
    across = (high - low) * (np.cos(np.radians(lat)), 1)
    radius = float(np.hypot(*across)) / 2
    return round(lon / STEP_DEG), round(lat / STEP_DEG), int(np.ceil(radius / STEP_DEG))


def main(arguments: list[str]) -> None:
    """Convert the tarball named on the command line."""
    if len(arguments) != 1:
        raise SystemExit("usage: python -m siteplan.basemap.make_countries world-atlas-2.0.2.tgz")
    tarball = Path(arguments[0])
    coarse, finer = read_topology(tarball), read_topology(tarball, _FINER)
    rings, land = countries(coarse)
    islands = np.array(sorted(islets(finer, coarse, land)), dtype=np.int64)
    names = [country["properties"]["name"] for country in features(coarse)]
    made = {"countries": rings, "names": names, "islets": encoded(islands.reshape(-1, 2))}
    text = json.dumps(made, separators=(",", ":")) + "\n"
    _TARGET.write_text(text, encoding="ascii", newline="\n")
    print(f"{_TARGET.name}: {len(rings)} countries, {len(islands)} islets, {len(text)} bytes")


if __name__ == "__main__":
    main(sys.argv[1:])
