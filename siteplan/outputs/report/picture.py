"""The map picture of the report, drawn as SVG from the package's own basemap."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.network import Network
from siteplan.outputs.report import ground, marks
from siteplan.outputs.report.blocks import sites
from siteplan.outputs.report.projection import Window, distance_km, window
from siteplan.outputs.shown import amount, given
from siteplan.outputs.svg import Point, box, clipped, drawing, line, on_ring, text
from siteplan.reported import Places, Report
from siteplan.words import quoted

#: The paper of the picture [units]: as wide as the page.
WIDTH, HEIGHT = 700.0, 392.0
#: The hub is in the picture where that makes it at most so many times as wide or high.
_HUB_WITHIN = 1.9
#: A place in doubt is in it where that makes it at most so many times as wide or high.
_DOUBT_WITHIN = 1.5
#: Cells of a grid leave more paper around their middles.
_GRID_SHARE = 0.88
#: Characters of a name in the picture.
_NAME_LENGTH = 26
#: Half of what a mark takes of the paper, across and up.
_MARK = (5.0, 5.0)
#: Left, top, right, bottom of what is taken on the paper.
_Box = tuple[float, float, float, float]
#: Width of a letter, and how far from its place a text stands, by its kind.
_LETTERS = {"small": (5.4, 9.0), "strong": (6.9, 13.0)}
#: How far off a place its name may stand where it has no room beside it [units].
_AWAY = (24.0, 38.0, 54.0, 72.0)
_ROUND_KM = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000)


@dataclass
class Picture:
    """The drawing, and what has to be said beside it in words."""

    svg: str
    notes: list[str] = field(default_factory=list)


def picture(report: Report, network: Network) -> Picture:
    """Return the picture of a network: land, graticule, sites by class, hub, scale bar."""
    places = report.places
    view, inside = _view(places, network)
    found = Picture("")
    parts = [box((0, 0), WIDTH, HEIGHT, "sea"), ground.land(view), ground.strokes(view)]
    parts.append(ground.graticule(view))
    points = view.at(places.lat, places.lon)
    taken = [(WIDTH - 16 - _bar(view)[1], HEIGHT - 34, WIDTH, HEIGHT)]
    hub = _hub(view, places, network, found, taken)
    parts += _cells(view, places, points) if places.step_deg else _sites(places, points, taken)
    parts += [*hub, _scale_bar(view, network.network.units)]
    found.notes += _outside(places, inside, report)
    frame = box((0.6, 0.6), WIDTH - 1.2, HEIGHT - 1.2, "frame")
    words = f"Map of {report.sites} sites: {report.served} served as planned"
    found.svg = drawing(WIDTH, HEIGHT, words, [clipped(WIDTH, HEIGHT, parts), frame])
    return found


# --- what is in it --------------------------------------------------------------------------


def _view(places: Places, network: Network) -> tuple[Window, FloatArray]:
    """Return the window, and which places are in it (n,)."""
    sure = ~places.doubt if (~places.doubt).any() else np.ones(len(places.lat), dtype=bool)
    share = _GRID_SHARE if places.step_deg else 1.0
    view = window(places.lat[sure], places.lon[sure], WIDTH, HEIGHT, share=share)
    if not sure.all():
        wider = window(places.lat, places.lon, WIDTH, HEIGHT, share=share)
        if wider.flat == view.flat and view.scale <= wider.scale * _DOUBT_WITHIN:
            view, sure = wider, np.ones(len(places.lat), dtype=bool)
    for hub in network.hub_places:
        lat, lon = np.append(places.lat[sure], hub[0]), np.append(places.lon[sure], hub[1])
        wider = window(lat, lon, WIDTH, HEIGHT, share=share)
        if wider.flat == view.flat and view.scale <= wider.scale * _HUB_WITHIN:
            view = wider
    return view, np.asarray(view.inside(view.at(places.lat, places.lon)))


def _outside(places: Places, inside: FloatArray, report: Report) -> list[str]:
    """Return what the picture does not show or marks, in words."""
    outside = ~inside.astype(bool)
    far, shown = int(places.counts[outside].sum()), int(places.counts.sum())
    notes = []
    if far:
        why = "; the coordinates are in doubt" if places.doubt[outside].all() else ""
        notes.append(f"{sites(far)} outside the picture{why}.")
    if (places.doubt & ~outside).any():
        notes.append("With a question mark: coordinates to check.")
    if shown < report.sites:
        left = sites(report.sites - shown)
        notes.append(f"{left} whose coordinates are in doubt are in no cell.")
    if places.step_deg:
        notes.append("A cell tells how many sites lie in it; at its foot are their classes.")
    return notes


def _hub(
    view: Window, places: Places, network: Network, found: Picture, taken: list[_Box]
) -> list[str]:
    """Return the mark of each hub, or an arrow to where it lies, with words."""
    placed = network.hub_places
    if not placed:
        found.notes.append("The hub's place is not given, so it is not in the picture.")
    return [
        mark
        for hub in placed
        for mark in _one_hub((view, places), hub, _hub_name(network, hub), found, taken)
    ]


def _hub_name(network: Network, place: tuple[float, float]) -> str:
    """Return what a hub is called: of several places by the first beam that is served from it."""
    if len(network.hub_places) == 1:
        return "Hub"
    hubs = {beam.name: network.of_beam(beam.name).hub for beam in network.beams}
    here = [name for name, hub in hubs.items() if (hub.lat, hub.lon) == place]
    more = f" and {len(here) - 1} more" if len(here) > 1 else ""
    return f"Hub of {quoted(here[0].strip(), _NAME_LENGTH)}{more}"


def _one_hub(
    on: tuple[Window, Places],
    hub: tuple[float, float],
    name: str,
    found: Picture,
    taken: list[_Box],
) -> list[str]:
    view, places = on
    at = view.at(np.array([hub[0]]), np.array([hub[1]]))
    x, y = at[0].tolist()
    if view.inside(at)[0]:
        taken.append(_around((x, y), 9, 9))
        return [marks.hub((x, y)), _name((x, y), name, taken, "strong")]
    middle = (WIDTH / 2, HEIGHT / 2)
    edge = _edge(middle, (x, y))
    km = distance_km((float(np.mean(places.lat)), view.lon), hub)
    away = f", {amount(round(km, -1), 'km', 0)} away"
    taken.append(_around(edge, 12, 12))
    found.notes.append(f"{name}{away}: it is not in the picture.")
    return [marks.direction(edge, marks.bearing(middle, (x, y))),
            _name(edge, _cut(name, _NAME_LENGTH - len(away)) + away, taken, "strong")]  # fmt: skip


def _edge(middle: Point, there: Point) -> Point:
    """Return where the way to a point leaves the picture, a little inside its frame."""
    dx, dy = there[0] - middle[0], there[1] - middle[1]
    share = min((WIDTH / 2 - 17) / max(abs(dx), 1e-9), (HEIGHT / 2 - 17) / max(abs(dy), 1e-9), 1.0)
    return middle[0] + dx * share, middle[1] + dy * share


# --- sites ----------------------------------------------------------------------------------


def _sites(places: Places, points: FloatArray, taken: list[_Box]) -> list[str]:
    """Return a mark for each site, those not served on top, and names where there is room."""
    kinds = places.counts.argmax(axis=1)
    styles = marks.styles(places.counts.shape[1])
    size = 1.0 if len(points) <= 300 else 0.75
    order = np.lexsort((np.arange(len(points)), -kinds)).tolist()
    at = [(x, y) for x, y in points.tolist()]
    drawn = [
        marks.mark(at[i], int(kinds[i]), styles[kinds[i]], size)
        + (text((at[i][0], at[i][1] - 8), "?", "strong") if places.doubt[i] else "")
        for i in order
    ]
    taken += [_around(p, *_MARK) for p in at] if len(at) <= 300 else []
    for i in reversed(order):
        if places.names[i]:
            drawn.append(_name(at[i], places.names[i], taken))
    return drawn


def _around(at: Point, across: float, up: float) -> _Box:
    return at[0] - across, at[1] - up, at[0] + across, at[1] + up


def _name(at: Point, name: str, taken: list[_Box], css: str = "small") -> str:
    """Return a name beside its site where it hides nothing, else further off with a line to it.

    Nothing where there is no room there either.
    """
    short = _cut(name, _NAME_LENGTH)
    each, off = _LETTERS[css]
    wide = sum(2 * each if unicodedata.east_asian_width(c) in "WF" else each for c in short)
    x, y = at
    near = [(x + off, y + 3.5), (x - off - wide, y + 3.5)]
    near += [(x - wide * share, base) for base in (y - off, y + off + 7)
             for share in (0.5, 0.1, 0.9)]  # fmt: skip
    for k, (left, base) in enumerate([*near, *_far(at, wide)]):
        room = (left, base - 9, left + wide, base + 2)
        if left < 2 or room[2] > WIDTH - 2 or room[1] < 2 or room[3] > HEIGHT - 2:
            continue
        if any(_meet(room, other) for other in taken):
            continue
        taken.append(room)
        led = "" if k < len(near) else line(at, _nearest(at, room), "grid")
        return led + text((left + wide / 2, base), short, css)
    return ""


def _far(at: Point, wide: float) -> Iterator[Point]:
    """Yield left ends and baselines of words further and further off a place, all around it."""
    for away in _AWAY:
        for turn in range(0, 360, 30):
            x, y = on_ring(at, away, turn)
            yield x - (wide if 180 < turn < 360 else wide / 2 if turn in (0, 180) else 0), y + 3.5


def _nearest(at: Point, room: _Box) -> Point:
    """Return the point of a box that is nearest to a place."""
    return min(max(at[0], room[0]), room[2]), min(max(at[1], room[1]), room[3])


def _cut(name: str, most: int) -> str:
    return name if len(name) <= most else name[: most - 1] + "…"


def _meet(a: _Box, b: _Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _cells(view: Window, places: Places, points: FloatArray) -> list[str]:
    """Return the cells of a grid, each with its count and the shares of its classes."""
    side = min(np.radians(places.step_deg) * view.scale * 0.92, 46.0)
    drawn = []
    for at, counts in zip(points.tolist(), places.counts.tolist(), strict=True):
        total = sum(counts)
        drawn.append(marks.cell((at[0], at[1]), side, [n / total for n in counts]))
        css = "strong" if side >= 30 else "tiny"
        drawn.append(text((at[0], at[1] + side * 0.12), str(total), css))
    return drawn


def _bar(view: Window) -> tuple[float, float]:
    """Return a round length [km] for the scale bar, and how long it is on paper [units]."""
    km = max((r for r in _ROUND_KM if r <= view.km(WIDTH / 4)), default=_ROUND_KM[0])
    return km, km / view.km(1.0)


def _scale_bar(view: Window, units: str) -> str:
    """Return a bar of a round length, its length beside it."""
    km, long = _bar(view)
    x, y = WIDTH - 16 - long, HEIGHT - 14
    words = given(km, "km", units=units) + (" at the equator" if view.flat else "")
    ends = [line((a, y - 4), (a, y + 4), "thick") for a in (x, x + long)]
    return "".join([line((x, y), (x + long, y), "thick"), *ends,
                    text((x + long, y - 7), words, "small", anchor="end")])  # fmt: skip
