"""compare.csv, compare_sites.csv, repointing.csv: satellites compared, for a spreadsheet.

Written into compare/ of the output folder; read by the planner who chooses.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.answers.slots import Slot, SlotComparison
from siteplan.arrays import at_decimals
from siteplan.fields import FIELDS
from siteplan.outputs.escaping import CsvWriter
from siteplan.outputs.shown import fixed, money, whole_or_short

#: Decimals of areas [m2].
_AREA_DECIMALS = 2
#: Fields that give their decimals to columns of the same quantity.
_LIKE = {
    "median_margin_db": "margin_db",
    "worst_margin_db": "margin_db",
    "median_elevation_deg": "elevation_deg",
    "lowest_elevation_deg": "elevation_deg",
    "hub_elevation_deg": "elevation_deg",
}
_COUNTS = (*("served", "with_kit", "without_kit", "below_minimum", "out_of_view", "outside_beam"),)
#: What a count is called in the table, where not as the attribute.
_CALLED = {"below_minimum": "below_min_elevation"}


def write_slots(of: SlotComparison, path: Path) -> None:
    """Write a row a satellite; a column that says nothing of any is left out."""
    rows = [dict(_slot_row(slot, of)) for slot in of.slots]
    told = [name for name in rows[0] if any(row[name] not in ("", None) for row in rows)]
    _write(path, told, ([row[name] for name in told] for row in rows))


def _slot_row(slot: Slot, of: SlotComparison) -> Iterator[tuple[str, Any]]:
    """Yield the cells of a satellite's row by column."""
    known = not slot.reason
    yield "name", slot.name
    yield "longitude_deg", whole_or_short(slot.longitude_deg)
    yield "as_planned", "yes" if slot.own else ""
    yield "sites", len(of.best)
    for name in _COUNTS:
        told = known and (name != "outside_beam" or any(s.outside_beam for s in of.slots))
        yield _CALLED.get(name, name), getattr(slot, name) if told else ""
    yield from _mix("antenna", "m", [s.antennas for s in of.slots], slot.antennas, known=known)
    yield from _mix("buc", "w", [s.bucs for s in of.slots], slot.bucs, known=known)
    yield "antenna_area_m2", _number(slot.area_m2, _AREA_DECIMALS)
    for name, like in _LIKE.items():
        yield name, _number(getattr(slot, name), FIELDS[like].decimals or 0)
    yield "cost", money(slot.cost)
    yield "best_for", of.best_counts.get(slot.name, 0) if known else ""
    yield "reason", slot.reason
    yield "remarks", " ".join(slot.remarks)


def _mix(
    part: str,
    unit: str,
    every: Sequence[tuple[tuple[float, int], ...]],
    own: tuple[tuple[float, int], ...],
    *,
    known: bool,
) -> Iterator[tuple[str, Any]]:
    """Yield how many sites have each size that any satellite asks for."""
    sizes = sorted({size for mix in every for size, _ in mix})
    has = dict(own)
    for size in sizes:
        name = f"{part}_{whole_or_short(size).replace('.', '_')}_{unit}"
        yield name, has.get(size, 0) if known else ""


def _number(value: float, decimals: int) -> str:
    return "" if math.isnan(value) else fixed(round(value, decimals) + 0.0, decimals)


def write_sites(of: SlotComparison, path: Path) -> None:
    """Write a row a site and satellite, satellite by satellite; of those that can be planned."""
    names = (
        *("azimuth_true_deg", "azimuth_magnetic_deg", "elevation_deg", "skew_deg", "margin_db"),
        *("antenna_m", "buc_w"),
    )
    head = ("site_id", "name", "satellite", "longitude_deg", *names, "served", "best_slot")
    _write(path, head, _site_rows(of, names))


def _site_rows(of: SlotComparison, names: Sequence[str]) -> Iterator[Sequence[Any]]:
    for slot, sites in zip(of.slots, of.sites, strict=True):
        if sites is None:
            continue
        columns = [_texts(getattr(sites, name), FIELDS[name].decimals or 0) for name in names]
        served = ["yes" if done else "no" for done in sites.served.tolist()]
        yield from _of_slot(slot, of, [*columns, served, of.best.tolist()])


def write_repointing(of: SlotComparison, path: Path) -> None:
    """Write what turning each dish to each other satellite takes, a row a site and satellite.

    New angles, their change from the plan's, and whether dish and surveyed horizon still do with
    the kit of the plan.
    """
    new = ("azimuth_true_deg", "azimuth_magnetic_deg", "elevation_deg", "skew_deg")
    changes = {
        "azimuth_change_deg": ("azimuth_deg", "azimuth_true_deg"),
        "elevation_change_deg": ("elevation_deg", "elevation_deg"),
        "skew_change_deg": ("skew_deg", "skew_deg"),
        "margin_db": ("margin_db", "margin_db"),
        "margin_after_reserve_db": ("after_reserve_db", "margin_after_reserve_db"),
        "clearance_deg": ("clearance_deg", "clearance_deg"),
        "expected_c_n_db": ("expected_c_n_db", "expected_c_n_db"),
        "tx_power_w": ("tx_power_w", "tx_power_w"),
    }
    head = (
        *("site_id", "name", "satellite", "longitude_deg", *new, *changes),
        *("antenna_m", "buc_w", "dish_fits", "mount_fits", "horizon_clear"),
    )
    _write(path, head, _turn_rows(of, new, changes))


def _turn_rows(
    of: SlotComparison, new: Sequence[str], changes: Mapping[str, tuple[str, str]]
) -> Iterator[Sequence[Any]]:
    present = of.sites[0]
    assert present is not None
    kit = [_texts(getattr(present, k), FIELDS[k].decimals or 0) for k in ("antenna_m", "buc_w")]
    for slot, sites, turn in zip(of.slots, of.sites, of.repointing, strict=True):
        if sites is None or turn is None:
            continue
        angles = [_texts(getattr(sites, name), FIELDS[name].decimals or 0) for name in new]
        told = [
            _texts(getattr(turn, name), FIELDS[like].decimals or 0)
            for name, like in changes.values()
        ]
        words = (turn.fits.tolist(), turn.mount.tolist(), turn.horizon.tolist())
        yield from _of_slot(slot, of, [*angles, *told, *kit, *words])


def _of_slot(
    slot: Slot, of: SlotComparison, columns: Sequence[Sequence[Any]]
) -> Iterator[Sequence[Any]]:
    """Yield the rows of one satellite, ids first."""
    at = whole_or_short(slot.longitude_deg)
    for site, name, *cells in zip(of.site_id.tolist(), of.name.tolist(), *columns, strict=True):
        yield (site, name, slot.name, at, *cells)


def _texts(values: NDArray[Any], decimals: int) -> list[str]:
    """Return numbers (n,) as a file for machines has them, '' where there is none."""
    rounded = at_decimals(np.asarray(values, dtype=float), decimals)
    return ["" if v != v else fixed(v, decimals) for v in rounded.tolist()]  # noqa: PLR0124


def _write(path: Path, head: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    with path.open("w", encoding="utf-8", errors="replace", newline="") as file:
        writer = CsvWriter(file)
        writer.writerow(head)
        writer.writerows(rows)
