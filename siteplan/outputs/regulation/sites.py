"""sites.csv of the licence: one row a site that transmits, and the hub's.

The figures are those of the plan's own table, so that the two never differ; densities in 40 kHz
are those in 4 kHz and what the bandwidth adds. Countries near a site are a note for coordination:
they decide nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from siteplan.answers.licence import Licence
from siteplan.arrays import FloatArray
from siteplan.basemap.borders import NEAR_KM, Near, countries_near
from siteplan.outputs.regulation.rows import cell, decimals_of, write_table
from siteplan.outputs.shown import amount, dms
from siteplan.results import Plan

if TYPE_CHECKING:
    import pyarrow as pa

#: Columns of the plan's table that stand in this one.
_TAKEN = (
    *("site_id", "name", "lat", "lon", "altitude_m", "dish_height_m", "antenna_m", "buc_w"),
    *("azimuth_true_deg", "elevation_deg", "tx_power_w", "allowed_feed_w"),
    *("feed_density_dbw_4khz", "eirp_density_dbw_4khz"),
    *("horizon_density_dbw", "horizon_density_khz", "emission"),
    *("off_axis_margin_db", "off_axis_mask", "off_axis_angle_deg"),
)
HEADINGS = (
    *("kind", "site_id", "name", "lat_dms", "lon_dms", "lat", "lon", "altitude_m"),
    *("dish_height_m", "antenna_m", "buc_w", "azimuth_true_deg", "elevation_deg"),
    *("tx_power_w", "allowed_feed_w", "feed_density_dbw_4khz", "feed_density_dbw_40khz"),
    *("eirp_density_dbw_4khz", "eirp_density_dbw_40khz"),
    *("horizon_density_dbw", "horizon_density_khz", "emission"),
    *("off_axis_margin_db", "off_axis_mask", "off_axis_angle_deg"),
    "countries_within_100_km",
)
assert NEAR_KM == 100  # as the heading says

Columns = Mapping[str, NDArray[Any]]


def write_sites(licence: Licence, plan: Plan, path: Path) -> None:
    """Write the sites of a plan that transmit as CSV, the hub first."""
    from siteplan.outputs.tables.files import rounded

    write_table(path, HEADINGS, _rows(licence, [rounded(plan)]))


def join_sites(licence: Licence, parts: Sequence[Path], path: Path) -> None:
    """Write the same from the tables of parts, in bounded memory."""
    from siteplan.outputs.tables.parquet import batches, schema_of

    found = batches(parts, schema_of(parts))
    write_table(path, HEADINGS, _rows(licence, map(_columns, found)))


def _columns(batch: pa.RecordBatch) -> dict[str, NDArray[Any]]:
    """Return the columns of a batch that stand in this table: NaN and '' for null."""
    import pyarrow as pa

    found = {}
    named = ("beam",) if "beam" in batch.schema.names else ()
    for name in (*_TAKEN, *named):
        column = batch.column(name)
        if pa.types.is_floating(column.type):
            found[name] = column.to_numpy(zero_copy_only=False)
        elif decimals_of(name) is None:
            texts = ["" if v is None else v for v in column.to_pylist()]
            found[name] = np.array(texts, dtype=object)
        else:
            numbers = [np.nan if v is None else float(v) for v in column.to_pylist()]
            found[name] = np.array(numbers, dtype=float)
    return found


def _rows(licence: Licence, pieces: Iterable[Columns]) -> Iterator[list[str]]:
    """Yield the hubs' rows, then those of each piece of the plan."""
    every = (licence, *licence.others)
    for k, one in enumerate(every, 1):
        yield _hub_row(one, "hub" if len(every) == 1 else f"hub {k}")
    for piece in pieces:
        here = np.flatnonzero(~np.isnan(piece["off_axis_margin_db"].astype(float)))
        if here.size:
            columns = {name: piece[name][here] for name in _TAKEN}
            beam = piece["beam"][here] if len(every) > 1 else None
            yield from _site_rows(columns, _to_40khz_db(every, beam))


def _to_40khz_db(every: Sequence[Licence], beam: NDArray[Any] | None) -> float | FloatArray:
    """Return what a density in 40 kHz is over that in 4 kHz [dB], for sites (n,) in beams."""
    if beam is None:
        return every[0].to_40khz_db
    of = {name: one.to_40khz_db for one in every for name in one.beams}
    return np.array([of.get(name, np.nan) for name in beam.tolist()])


def _site_rows(
    columns: dict[str, NDArray[Any]], to_40khz_db: float | FloatArray
) -> Iterator[list[str]]:
    """Yield the rows of sites (n,) that transmit."""
    lat, lon = columns["lat"], columns["lon"]
    wide = {
        name.replace("4khz", "40khz"): columns[name] + to_40khz_db
        for name in ("feed_density_dbw_4khz", "eirp_density_dbw_4khz")
    }
    texts = {
        "kind": ["terminal"] * len(lat),
        "lat_dms": [dms(angle, "NS") for angle in lat.tolist()],
        "lon_dms": [dms(angle, "EW") for angle in lon.tolist()],
        "countries_within_100_km": [_told(near) for near in countries_near(lat, lon)],
    }
    for name, values in {**columns, **wide}.items():
        texts[name] = _cells(values.tolist(), decimals_of(name))
    for row in zip(*(texts[name] for name in HEADINGS), strict=True):
        yield list(row)


def _cells(values: list[Any], decimals: int | None) -> list[str]:
    """Return the cells of a column; most columns hold few distinct values, each written once."""
    known = {value: cell(value, decimals) for value in set(values)}
    return [known[value] for value in values]


def _told(near: Iterable[Near]) -> str:
    """Return the countries near a place, the nearest first, in words."""
    return "; ".join(f"{one.name} {amount(one.km, 'km', 0)}" for one in near)


def _hub_row(licence: Licence, called: str) -> list[str]:
    """Return a hub's row; blank where it stands if the network file does not place it."""
    found = {name: getattr(licence.hub, name, None) for name in HEADINGS}
    known = {name: cell(value, decimals_of(name)) for name, value in found.items()}
    if (at := licence.hub_place) is not None:
        place = {name: getattr(at, name) for name in at.__dataclass_fields__}
        known |= {name: cell(value, decimals_of(name)) for name, value in place.items()}
        (near,) = countries_near([at.lat], [at.lon])
        known |= {"lat_dms": dms(at.lat, "NS"), "lon_dms": dms(at.lon, "EW")}
        known["countries_within_100_km"] = _told(near)
    return [(known | {"site_id": called})[name] for name in HEADINGS]
