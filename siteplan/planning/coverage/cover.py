"""Coverage: what a site anywhere in an area would see, worked out on a grid of points.

Each point is taken for a site of which only the place is known, with the reference kit: the
catalogue's middle antenna and its largest BUC. The figures are those that a plan gives to a
site with that kit installed, but for attenuation: it is that of the whole outage of the target,
while a plan gives it at the site's share.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.fields import FIELDS
from siteplan.messages import english
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.beams.assign import candidates
from siteplan.planning.beams.settings import by_pass, settings
from siteplan.planning.coverage.bands import (
    antenna_bands,
    elevation_bands,
    level_bands,
    nice_levels,
)
from siteplan.planning.kit.catalogue import Catalogue
from siteplan.planning.kit.fit import REQUIRED_RANGE_M, required_antenna_m
from siteplan.planning.kit.pick import INSTALLED
from siteplan.planning.link.ends import Kit, Links
from siteplan.planning.link.outage import margin_db
from siteplan.planning.link.ways import both
from siteplan.planning.plan import CHUNK_SITES, see
from siteplan.planning.setting import Setting, with_cloud_maps
from siteplan.results import Band, Coverage, Grid
from siteplan.words import of_month, percent

Columns = dict[str, FloatArray]

#: The quantities that coverage gives, in the order in which they are shown.
QUANTITIES = (
    "required_antenna_m",
    "elevation_deg",
    "rain_rate_mm_h",
    "uplink_attenuation_db",
    "downlink_attenuation_db",
)
#: What ``piece_at`` gives beside the result fields: surfaces to draw contours through.
_SURFACES = MappingProxyType(
    {"elevation_deg": "geometric_elevation_deg", "required_antenna_m": "antenna_surface_m"}
)


def piece_at(lat: FloatArray, lon: FloatArray, shared: Setting) -> Columns:
    """Return the coverage quantities at points (n,) [deg], of a network with one beam."""
    return piece_of(Sites.at(lat, lon), shared)


def piece_of(sites: Sites, shared: Setting) -> Columns:
    """Return the coverage quantities at points, as sites that name their beams.

    The plan's own steps for sites of which only the place is known, with the reference kit.

    Parameters
    ----------
    sites : Sites
        Points of which only the place is known.
    shared : Setting
        What all points share.

    Returns
    -------
    dict of str to (n,) array
        Result fields as a plan gives them to a site with the reference kit, and the surfaces
        that contours are drawn through. Points do not depend on one another, so that the
        function can be mapped over any partition of them.
    """
    at, link, p_pct, _ = see(sites, shared)
    kit = reference_kit(shared.kinds, len(sites))
    ways = both(link, kit)
    margins = margin_db(ways[0], p_pct), margin_db(ways[1], p_pct)
    required = required_antenna_m(link, kit, np.minimum(*margins), p_pct)
    return {
        "altitude_m": at.altitude_m,
        "elevation_deg": at.elevation_deg,
        "rain_rate_mm_h": at.rain_rate_mm_h,
        # What the sky takes there at the target, whatever part of it this kit and this hub leave
        # the site: where power control swallows the fade that is next to nothing, far up the curve.
        "uplink_attenuation_db": ways[1].sky(p_pct).total,
        "downlink_attenuation_db": ways[0].sky(p_pct).total,
        "required_antenna_m": required,
        "geometric_elevation_deg": at.angles.geometric_elevation_deg,
        "antenna_surface_m": _antenna_surface_m(required, link),
    }


def best_at(
    lat: FloatArray, lon: FloatArray, network: Network, passes: Sequence[Setting]
) -> Columns:
    """Return the coverage quantities at points, each in the beam that asks for the least dish.

    Among equals in the first of the file; a point in no beam has what needs none.
    """
    sites = Sites.at(lat, lon)
    if not network.beams:
        return piece_of(sites, passes[0])
    names = np.array([*(beam.name for beam in network.beams), ""], dtype=object)
    could = candidates(sites, network, passes[0].footprints)
    could = np.column_stack([could, ~could.any(axis=1)])
    rows, which = np.nonzero(could)
    tried = replace(sites.take(rows), beam=names[which])
    found: Columns = {}
    for shared, at in by_pass(passes, tried.beam):
        for name, values in piece_of(tried.take(at), shared).items():
            found.setdefault(name, np.full(len(rows), np.nan))[at] = values
    dish = found["antenna_surface_m"]
    order = np.lexsort((which, np.where(np.isnan(dish), np.inf, dish), rows))
    first = order[np.flatnonzero(np.diff(rows[order], prepend=-1))]
    return {name: values[first] for name, values in found.items()}


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
        pattern=np.full(n, kinds.pattern[middle]),
        xpi_db=np.full(n, kinds.xpi_db[middle]),
    )


def _antenna_surface_m(required: FloatArray, link: Links) -> FloatArray:
    """Return the required diameter (n,) [m], at the end of its range where it passes it.

    NaN is left below the horizon only: a diameter beyond the range is a blank in the plan, but
    the contours must know on which side of it the point lies.
    """
    seen = ~np.isnan(link.site.downlink_loss_db)
    return np.where(np.isnan(required) & seen, REQUIRED_RANGE_M[1], required)


#: Points (k,) of a grid: latitude and longitude [deg].
Piece = tuple[FloatArray, FloatArray]
#: Works out pieces of a grid, here or on other processors, and yields them in their order.
Spread = Callable[[Network, Sequence[Piece]], Iterable[Columns]]


def piece_columns(network: Network, piece: Piece) -> Columns:
    """Return the coverage quantities of one piece of a grid: the step that is spread."""
    # Rays that graze the horizon have fades of thousands of dB, whose powers overflow.
    with np.errstate(over="ignore"):
        return best_at(*piece, network, settings(network))


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
    passes = settings(network)
    shared = passes[0]
    named = with_cloud_maps(network, shared.clouds.place)
    lat, lon = grid.points
    starts = range(0, len(lat), CHUNK_SITES)
    chunks = [slice(start, min(start + CHUNK_SITES, len(lat))) for start in starts]
    pieces = []
    found = spread(named, [(lat[chunk], lon[chunk]) for chunk in chunks])
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
    return english().one(
        "coverage.note",
        buc_w=kit.tried_w[0],
        availability=percent(network.usual_target_pct)
        + of_month(network.network.availability_basis),
        reserve_db=network.rules.reserve_db,
        antenna_m=kit.dish_m[0],
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
