"""Coverage: what a site anywhere in an area would see, worked out on a grid of points.

Each point is taken for a site of which only the place is known, with the reference kit: the
catalogue's middle antenna and its largest BUC. The figures are those that a plan gives to a
site with that kit installed.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from siteplan.errors import NetworkError
from siteplan.fields import FIELDS
from siteplan.network import Network
from siteplan.physics.angles.geometry import look_angles
from siteplan.physics.propagation.climate import site_climate, topographic_altitude_m
from siteplan.planning.kit.pick import (
    INSTALLED,
    REQUIRED_RANGE_M,
    Catalogue,
    Kit,
    pair_margin_db,
    required_antenna_m,
)
from siteplan.planning.link.budget import Dish, Links, Weather, links, weather, with_scintillation
from siteplan.planning.plan import CHUNK_SITES
from siteplan.planning.setting import Setting, setting
from siteplan.results import Band, Coverage, Frame, Grid
from siteplan.words import class_labels, percent

FloatArray = NDArray[np.float64]
Columns = dict[str, FloatArray]

#: The quantities that coverage gives, in the order in which they are shown.
QUANTITIES = (
    "required_antenna_m",
    "elevation_deg",
    "rain_rate_mm_h",
    "uplink_attenuation_db",
    "downlink_attenuation_db",
)
#: What ``columns_at`` gives beside the result fields: surfaces to draw contours through.
_SURFACES = MappingProxyType(
    {"elevation_deg": "geometric_elevation_deg", "required_antenna_m": "antenna_surface_m"}
)
#: How many nodes a grid may have.
MOST_NODES = 4_000_000
#: More catalogue sizes than this are thinned before they become contours.
MOST_SIZES = 8
#: The part of the values that round levels are laid through [%]: the ends are left open.
_CORE_PCT = (2.0, 98.0)
#: Steps of round levels: these times powers of ten.
_ROUND = (1, 2, 5, 10, 20, 50, 100)
#: The area goes this far beyond the sites: a share of their extent, but at least [deg].
_MARGIN_SHARE, _LEAST_MARGIN_DEG = 0.1, 0.5
#: Nodes across the longer side of the relief's height model; P.1511's own step is 1/12 deg.
_RELIEF_NODES, _RELIEF_STEP_DEG = 640, 1 / 24
#: Maps in Mercator end near this latitude [deg].
_RELIEF_LIMIT_DEG = 85.0


def around(extent: Frame) -> Frame:
    """Return the frame [deg] of an area around sites: their extent and a margin."""
    south, west, north, east = extent
    high = max(_MARGIN_SHARE * (north - south), _LEAST_MARGIN_DEG)
    wide = min(max(_MARGIN_SHARE * (east - west), _LEAST_MARGIN_DEG), (360 - (east - west)) / 2)
    return max(south - high, -90.0), west - wide, min(north + high, 90.0), east + wide


def make_grid(frame: Frame, step_deg: float) -> Grid:
    """Return the grid that covers a frame, its nodes on whole multiples of the step.

    Parameters
    ----------
    frame : Frame
        South, west, north, east [deg]; at most a whole turn wide.
    step_deg : float
        Spacing [deg], above 0.

    Returns
    -------
    Grid
        At least two nodes each way, none beyond the poles. A frame of a whole turn ends on the
        meridian on which it began.

    Raises
    ------
    NetworkError
        If the grid would have more than ``MOST_NODES`` nodes.
    """
    south, west, north, east = frame
    rows = _multiples(south, north, step_deg)
    rows = rows[np.abs(rows * step_deg) <= 90 + 1e-9]
    cols = _multiples(west, min(east, west + 360), step_deg)
    turn = round(360 / step_deg)
    if math.isclose(turn * step_deg, 360):
        cols = cols[: turn + 1]
    nodes = len(rows) * len(cols)
    if nodes > MOST_NODES:
        coarser = math.ceil(105 * step_deg * math.sqrt(nodes / MOST_NODES)) / 100
        raise NetworkError(
            f"a step of {step_deg:g} deg makes {nodes:,} points, more than {MOST_NODES:,}.",
            where="coverage step",
            fix=f"Use {coarser:g} deg or more, or a smaller area.",
        )
    return Grid(np.round(rows * step_deg, 9), np.round(cols * step_deg, 9), step_deg)


def _multiples(low: float, high: float, step: float) -> NDArray[np.int64]:
    """Return the whole multiples of a step from the last at or below ``low`` to past ``high``."""
    first = math.floor(low / step + 1e-9)
    last = max(math.ceil(high / step - 1e-9), first + 1)
    return np.arange(first, last + 1)


def columns_at(lat: FloatArray, lon: FloatArray, shared: Setting) -> Columns:
    """Return the coverage quantities at points.

    Parameters
    ----------
    lat, lon : (n,) arrays
        Latitude and longitude [deg], any turn.
    shared : Setting
        What all points share.

    Returns
    -------
    dict of str to (n,) array
        Result fields as a plan gives them to a site with the reference kit, and the surfaces
        that contours are drawn through. Points do not depend on one another, so that the
        function can be mapped over any partition of them.
    """
    network, n = shared.network, len(lat)
    altitude_m = topographic_altitude_m(lat, lon)
    angles = look_angles(lat, lon, altitude_m, network.satellite.longitude_deg)
    climate = site_climate(lat, lon, altitude_m / 1000)
    link = links(network, angles, climate, shared.hub)
    at = weather(link, np.full(n, 100 - network.network.availability_pct))
    kit = reference_kit(shared.kinds, n)
    up = with_scintillation(link.site.up, at.up, at.factor, kit.dish)
    down = with_scintillation(link.site.down, at.down, at.factor, kit.dish)
    required = required_antenna_m(link, kit, at)
    return {
        "altitude_m": altitude_m,
        "elevation_deg": angles.elevation_deg,
        "rain_rate_mm_h": climate.rain_rate_mm_h,
        "uplink_attenuation_db": up.total,
        "downlink_attenuation_db": down.total,
        "required_antenna_m": required,
        "geometric_elevation_deg": angles.geometric_elevation_deg,
        "antenna_surface_m": _antenna_surface_m(required, link, kit, at),
    }


def reference_kit(kinds: Catalogue, n: int) -> Kit:
    """Return the kit that points (n,) are judged with: the middle antenna, the largest BUC."""
    middle = (len(kinds.diameter_m) - 1) // 2
    dish_m, buc_w = kinds.diameter_m[middle], kinds.buc_w[-1]
    return Kit(
        antenna_m=np.full(n, dish_m),
        buc_w=np.full(n, buc_w),
        source=np.full(n, INSTALLED, dtype=object),
        dish_m=np.full(n, dish_m),
        efficiency=np.full(n, kinds.efficiency[middle]),
        offset_deg=np.full(n, kinds.offset_deg[middle]),
        tried_w=np.full(n, buc_w),
        buc_dbw=np.full(n, kinds.buc_dbw[-1]),
    )


def _antenna_surface_m(required: FloatArray, link: Links, kit: Kit, at: Weather) -> FloatArray:
    """Return the required diameter (n,) [m], at the end of its range where it passes it.

    NaN is left below the horizon only: a diameter beyond the range is a blank in the plan, but
    the contours must know on which side of it the point lies.
    """
    smallest, largest = REQUIRED_RANGE_M
    margin = pair_margin_db(link, Dish(largest, kit.efficiency), kit.buc_dbw, at)
    end = np.where(margin >= link.network.rules.reserve_db, smallest, largest)
    return np.where(np.isnan(required) & ~np.isnan(margin), end, required)


#: Points (k,) of a grid: latitude and longitude [deg].
Piece = tuple[FloatArray, FloatArray]
#: Works out pieces of a grid, here or on other processors, and yields them in their order.
Spread = Callable[[Network, Sequence[Piece]], Iterable[Columns]]


def piece_columns(network: Network, piece: Piece) -> Columns:
    """Return the coverage quantities of one piece of a grid: the step that is spread."""
    # Rays that graze the horizon have fades of thousands of dB, whose powers overflow.
    with np.errstate(over="ignore"):
        return columns_at(*piece, setting(network))


def one_by_one(network: Network, pieces: Sequence[Piece]) -> Iterable[Columns]:
    """Yield the columns of the pieces, worked out in this process."""
    return (piece_columns(network, piece) for piece in pieces)


def cover(
    grid: Grid,
    network: Network,
    *,
    spread: Spread = one_by_one,
    progress: Callable[[int], None] = lambda done: None,
) -> Coverage:
    """Return the coverage of a grid, chunk by chunk.

    Parameters
    ----------
    grid : Grid
        The points.
    network : Network
        Checked network file.
    spread : callable
        Works the chunks out: in this process, or on others.
    progress : callable
        Told the number of points worked out after each chunk.

    Raises
    ------
    NetworkError
        If a MODCOD is unknown or the hub does not see the satellite.
    """
    shared = setting(network)
    lat, lon = grid.points
    starts = range(0, len(lat), CHUNK_SITES)
    chunks = [slice(start, min(start + CHUNK_SITES, len(lat))) for start in starts]
    pieces = []
    found = spread(network, [(lat[chunk], lon[chunk]) for chunk in chunks])
    for chunk, columns in zip(chunks, found, strict=True):
        pieces.append(columns)
        progress(chunk.stop)
    whole = {k: np.concatenate([p[k] for p in pieces]).reshape(grid.shape) for k in pieces[0]}
    columns = {name: values for name, values in whole.items() if name in FIELDS}
    surfaces = {name: whole[_SURFACES.get(name, name)] for name in QUANTITIES}
    bands = _bands(columns, surfaces["elevation_deg"], shared)
    return Coverage(grid, columns, surfaces, bands, shared.floor_deg, _note(shared))


def _note(shared: Setting) -> str:
    kit, network = reference_kit(shared.kinds, 1), shared.network
    return (
        f"As a site with {kit.tried_w[0]:g} W would see it, at"
        f" {percent(network.network.availability_pct)} and {network.rules.reserve_db:g} dB of"
        f" reserve; attenuation behind {kit.dish_m[0]:g} m."
    )


def _bands(
    columns: Mapping[str, FloatArray], surface_deg: FloatArray, shared: Setting
) -> dict[str, tuple[Band, ...]]:
    """Return the classes of each quantity; those of the diameter are the catalogue's sizes."""
    served = columns["elevation_deg"] >= shared.floor_deg
    found = {"required_antenna_m": antenna_bands(shared.kinds.diameter_m)}
    for name in QUANTITIES[1:]:
        values = columns[name]
        known = values[served] if served.any() else values[np.isfinite(values)]
        levels = nice_levels(known)
        if name == "elevation_deg":
            lowest = float(np.min(surface_deg))
            found[name] = elevation_bands(levels, shared.floor_deg, lowest)
        else:
            found[name] = level_bands(levels, FIELDS[name].unit)
    return found


def antenna_bands(diameter_m: Iterable[float]) -> tuple[Band, ...]:
    """Return the classes between the catalogue's diameters [m], rising.

    The last is beyond the catalogue. Of many sizes some are left out, never the largest.
    """
    sizes = [float(d) for d in diameter_m]
    if len(sizes) > MOST_SIZES:
        kept = np.linspace(0, len(sizes) - 1, MOST_SIZES).round().astype(int)
        sizes = [sizes[k] for k in kept]
    lows = [-math.inf, *sizes[:-1]]
    first, *others = (Band(low, high, f"{high:g} m") for low, high in zip(lows, sizes, strict=True))
    first = Band(first.low, first.high, f"{first.label} will do")
    return first, *others, Band(sizes[-1], math.inf, f"more than {sizes[-1]:g} m", care=True)


def elevation_bands(
    levels: Iterable[float], floor_deg: float, lowest_deg: float
) -> tuple[Band, ...]:
    """Return the classes of elevation [deg], rising.

    The floor is a level where the area's lowest elevation is under it; what is below the
    horizon is a class of its own.
    """
    special = [level for level in (0.0, float(floor_deg)) if lowest_deg < level]
    classes = level_bands(sorted({*special, *(v for v in levels if v > 0)}), "°")
    if lowest_deg >= 0:
        return classes
    below, *others = classes
    return Band(below.low, below.high, "below the horizon", care=True), *others


def level_bands(levels: Iterable[float], unit: str) -> tuple[Band, ...]:
    """Return the classes between rising levels, open at both ends."""
    rising = list(levels)
    ends = itertools.pairwise((-math.inf, *rising, math.inf))
    labels = class_labels(rising, unit)
    return tuple(Band(low, high, label) for (low, high), label in zip(ends, labels, strict=True))


def nice_levels(values: FloatArray, *, most: int = 7) -> list[float]:
    """Return round levels through the core of ``values`` (any shape), at most ``most``.

    Steps are 1, 2 or 5 times a power of ten, the finest that keeps to that. Empty where the
    values are all the same, or NaN.
    """
    finite = values[np.isfinite(values)]
    if finite.size == 0:
        return []
    low, high = (float(v) for v in np.percentile(finite, _CORE_PCT))
    if high - low <= 1e-9 * max(abs(low), abs(high)):
        return []
    power = 10.0 ** (math.floor(math.log10(high - low)) - 1)
    for step in (m * power for m in _ROUND):
        first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
        if last - first < most:
            return [float(f"{k * step:.6g}") for k in range(first, last + 1)]
    return []


def relief_heights(grid: Grid) -> tuple[FloatArray, FloatArray, FloatArray] | None:
    """Return a height model of a grid's frame for shading; None beyond 85 degrees of latitude.

    Returns
    -------
    height_m : (r, c) array
        Heights [m], ITU-R P.1511-2, north to south and west to east.
    lat, lon : (r,), (c,) arrays
        Places [deg]; latitudes in even steps of Web Mercator, which the map is drawn in.
    """
    south, west, north, east = grid.frame
    if south >= _RELIEF_LIMIT_DEG or north <= -_RELIEF_LIMIT_DEG:
        return None
    low, high = (
        _mercator(min(max(v, -_RELIEF_LIMIT_DEG), _RELIEF_LIMIT_DEG)) for v in (south, north)
    )
    wide = math.radians(east - west)
    step = max(max(wide, high - low) / _RELIEF_NODES, math.radians(_RELIEF_STEP_DEG))
    rows, cols = (max(int(side / step), 2) for side in (high - low, wide))
    # Each value stands for a pixel and lies in its middle.
    down = high - (np.arange(rows) + 0.5) * (high - low) / rows
    lat = np.degrees(np.arctan(np.sinh(down)))
    lon = west + (np.arange(cols) + 0.5) * (east - west) / cols
    lat2, lon2 = np.meshgrid(lat, lon, indexing="ij")
    height = topographic_altitude_m(lat2.ravel(), lon2.ravel()).reshape(rows, cols)
    return height, lat, lon


def _mercator(lat_deg: float) -> float:
    return math.asinh(math.tan(math.radians(lat_deg)))
