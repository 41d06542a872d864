"""Make the map's basemap from Natural Earth's land and borders.

Run once by a maintainer, never by a user of siteplan::

    npm pack world-atlas@2.0.2
    python -m siteplan.basemap.make world-atlas-2.0.2.tgz

The source is the 1:50m admin 0 boundaries of Natural Earth 4.1.0 (public domain) as the npm
package world-atlas 2.0.2 carries them, in TopoJSON. Arcs are simplified one by one before any
ring is built, so that neighbours go on sharing a border to the last point.

The result, ``basemap.json``, is drawn by ``outputs/map/scripts/backdrop/basemap.js``:

``step_deg``
    the grid of the coordinates [degree];
``arcs``
    lines as texts: whole steps of longitude and latitude, each less the one before, coded
    like the encoded polyline format (zigzag, five bits a character from ``?`` on).
    Longitudes run on past 180 instead of jumping, so no segment crosses the world;
``land``
    rings as lists of arcs (``~k``: arc k backwards), to fill by the even-odd rule;
``coast`` and ``border``
    arcs to stroke: those of one country only, and those that two countries share.
"""

from __future__ import annotations

import json
import sys
import tarfile
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

#: Grid of the coordinates [degree], some 1.1 km of latitude.
STEP_DEG = 0.01
#: How far simplifying may move a line [degree].
TOLERANCE_DEG = 0.008
#: A ring inside this distance of the pole [degree] is the seam of the source's polar cap.
_POLE_SEAM_DEG = 0.01
_MEMBER = "package/countries-50m.json"
_TARGET = Path(__file__).with_name("basemap.json")

Line = NDArray[np.float64]
Steps = NDArray[np.int64]


def read_topology(tarball: Path, name: str = _MEMBER) -> dict[str, Any]:
    """Return the TopoJSON of the countries inside the npm ``tarball``."""
    with tarfile.open(tarball) as archive:
        member = archive.extractfile(name)
        if member is None:
            raise SystemExit(f"{tarball}: {name} is not a file. Give world-atlas 2.0.2.")
        topology: dict[str, Any] = json.load(member)
    return topology


def arcs_of(topology: dict[str, Any]) -> list[Line]:
    """Return the arcs as (n, 2) longitudes and latitudes [degree], longitudes unwrapped."""
    scale = np.asarray(topology["transform"]["scale"])
    origin = np.asarray(topology["transform"]["translate"])
    lines = (np.cumsum(np.asarray(arc), axis=0) * scale + origin for arc in topology["arcs"])
    return [_unwrapped(line) for line in lines]


def _unwrapped(line: Line) -> Line:
    return np.column_stack([np.unwrap(line[:, 0], period=360.0), line[:, 1]])


def simplified(line: Line, *, tolerance_deg: float = TOLERANCE_DEG) -> Steps:
    """Return ``line`` (n, 2) [degree] simplified, in whole steps (m, 2), its ends kept.

    Ramer, Douglas and Peucker's algorithm as GEOS has it.
    """
    import shapely

    kept = shapely.get_coordinates(
        shapely.simplify(shapely.LineString(line), tolerance_deg, preserve_topology=False)
    )
    if _is_closed(line) and len(kept) < 4:
        kept = line
    steps: Steps = np.rint(kept / STEP_DEG).astype(np.int64)
    moves = np.any(np.diff(steps, axis=0) != 0, axis=1)
    thinned: Steps = steps[np.concatenate([[True], moves])]
    return thinned


def _is_closed(line: Line) -> bool:
    return bool(np.all(line[0] == line[-1]))


def rings_of(geometry: dict[str, Any]) -> Iterator[list[int]]:
    """Yield the rings (lists of arcs) of a Polygon or MultiPolygon."""
    polygons = geometry["arcs"] if geometry["type"] == "MultiPolygon" else [geometry["arcs"]]
    for polygon in polygons:
        yield from polygon


def arc_index(arc: int) -> int:
    """Return the number of an arc that may run backwards."""
    return arc if arc >= 0 else ~arc


def shared_arcs(topology: dict[str, Any]) -> tuple[list[int], list[int]]:
    """Return the arcs of one country only (coast) and of two countries (border)."""
    users: Counter[int] = Counter()
    for country in topology["objects"]["countries"]["geometries"]:
        users.update({arc_index(arc) for ring in rings_of(country) for arc in ring})
    coast = sorted(arc for arc, n in users.items() if n == 1)
    border = sorted(arc for arc, n in users.items() if n > 1)
    return coast, border


def ring_line(ring: list[int], arcs: list[Line]) -> Line:
    """Return the (n, 2) points of a ring, its longitudes running on without a jump."""
    return _unwrapped(np.vstack([arcs[a] if a >= 0 else arcs[~a][::-1] for a in ring]))


def circles_pole(line: Line) -> bool:
    """Whether a ring goes once around the world."""
    return bool(abs(line[-1, 0] - line[0, 0]) > 180)


def pole_seam(line: Line) -> bool:
    """Whether a ring is but the seam of the source's polar cap."""
    return bool(np.all(np.abs(line[:, 1]) > 90 - _POLE_SEAM_DEG))


def closing_arc(line: Line) -> Line:
    """Return the arc that closes a ring around the south pole: down, along it and up again."""
    last, first = line[-1], line[0]
    return np.array([last, [last[0], -90.0], [first[0], -90.0], first])


def worth_keeping(ring: list[int], arcs: list[Steps]) -> bool:
    """Whether a ring still has an inside after simplifying."""
    return len(ring) > 1 or len(np.unique(arcs[arc_index(ring[0])], axis=0)) >= 3


def land_rings(topology: dict[str, Any], lines: list[Line], arcs: list[Steps]) -> list[list[int]]:
    """Return the rings of all land; appends to ``arcs`` what closes Antarctica at the pole."""
    rings = []
    for ring in rings_of(topology["objects"]["land"]["geometries"][0]):
        line = ring_line(ring, lines)
        if pole_seam(line):
            continue
        if circles_pole(line):
            arcs.append(np.rint(closing_arc(line) / STEP_DEG).astype(np.int64))
            rings.append([*ring, len(arcs) - 1])
        elif worth_keeping(ring, arcs):
            rings.append(list(ring))
    return rings


def encoded(steps: Steps) -> str:
    """Return whole steps (n, 2) as text: differences, zigzag, five bits a character.

    The encoded polyline algorithm format, with longitude first.
    """
    deltas = np.diff(steps, axis=0, prepend=np.zeros((1, 2), dtype=np.int64)).ravel()
    return "".join(_coded(int(n)) for n in np.where(deltas < 0, ~(deltas << 1), deltas << 1))


def _coded(number: int) -> str:
    out = []
    while number >= 0x20:
        out.append(chr((0x20 | (number & 0x1F)) + 63))
        number >>= 5
    out.append(chr(number + 63))
    return "".join(out)


def renumbered(arcs: Iterable[int], where: dict[int, int]) -> list[int]:
    """Return arcs, backwards ones as ``~k``, in the numbers of the basemap."""
    return [where[a] if a >= 0 else ~where[~a] for a in arcs]


def basemap(topology: dict[str, Any]) -> dict[str, Any]:
    """Return what ``basemap.json`` holds: see the head of this module."""
    lines = arcs_of(topology)
    arcs = [simplified(line) for line in lines]
    coast, border = shared_arcs(topology)
    rings = land_rings(topology, lines, arcs)
    where = kept_arcs(rings, border)
    used = {arc_index(a) for ring in rings for a in ring}
    return {
        "step_deg": STEP_DEG,
        "arcs": [encoded(arcs[a]) for a in where],
        "land": [renumbered(ring, where) for ring in rings],
        "coast": renumbered((a for a in coast if a in used), where),
        "border": renumbered(border, where),
    }


def kept_arcs(rings: list[list[int]], border: list[int]) -> dict[int, int]:
    """Return the number in the basemap of each arc that it keeps."""
    used = {arc_index(a) for ring in rings for a in ring}
    return {arc: k for k, arc in enumerate(sorted(used | set(border)))}


def main(arguments: list[str]) -> None:
    """Convert the tarball named on the command line."""
    if len(arguments) != 1:
        raise SystemExit("usage: python -m siteplan.basemap.make world-atlas-2.0.2.tgz")
    made = basemap(read_topology(Path(arguments[0])))
    text = json.dumps(made, separators=(",", ":")) + "\n"
    _TARGET.write_text(text, encoding="ascii", newline="\n")
    print(f"{_TARGET.name}: {len(made['arcs'])} arcs, {len(made['land'])} rings, {len(text)} bytes")


if __name__ == "__main__":
    main(sys.argv[1:])
