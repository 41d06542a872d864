"""What to order by kind, without prices: where no bill was made, from the plan's own columns."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.answers import BillLine
from siteplan.arrays import BoolArray, FloatArray

#: Stands for the class of a cable where none of the catalogue works.
OPEN_CABLE = "no class works"


def quantities(columns: Mapping[str, NDArray[Any]], spares_pct: float) -> tuple[BillLine, ...]:
    """Return antennas, BUCs, mounts, cable and ballast to order, spares rounded up.

    Kit that stands at a site is not ordered again, nor is its mount; what an engineer designs has
    no spares.
    """
    c = columns
    stands = ~np.isnan(c["fixed_antenna_m"])
    kit = ~(np.isnan(c["antenna_m"]) | np.isnan(c["buc_w"]))
    new = kit & ~stands
    open_ = c["mount_certainty"] == "provisional"
    mount = np.where(new, c["mount"], "")
    counts: list[BillLine] = [
        *_sizes("antenna", c["antenna_m"], new, "m", spares_pct),
        *_sizes("BUC", c["buc_w"], kit & np.isnan(c["fixed_buc_w"]), "W", spares_pct),
        *_amounts("mount", mount, np.ones(len(mount)), open_, unit="pieces", spares_pct=spares_pct),
    ]
    length = np.where(kit, np.ceil(c["ifl_length_m"]), 0.0)
    named = np.where(c["cable_class"] == "", OPEN_CABLE, c["cable_class"])
    cable = np.where(kit & (length > 0), named, "")
    counts += _amounts(
        "cable", cable, length, np.zeros(len(cable), dtype=bool), unit="m", spares_pct=spares_pct
    )
    ballast = np.nan_to_num(np.ceil(c["ballast_kg"]))
    kind = np.where(ballast > 0, mount, "")
    return (*counts, *_amounts("ballast", kind, ballast, open_, unit="kg", spares_pct=spares_pct))


def _sizes(
    part: str, sizes: FloatArray, where: BoolArray, unit: str, spares_pct: float
) -> Iterator[BillLine]:
    """Yield the pieces of each size."""
    found, counts = np.unique(sizes[where], return_counts=True)
    for size, count in zip(found.tolist(), counts.tolist(), strict=True):
        yield _line(
            part, f"{size:g} {unit}", "pieces", float(count), unsure=math.nan, spares_pct=spares_pct
        )


def _amounts(
    part: str,
    kinds: NDArray[Any],
    amounts: FloatArray,
    open_: BoolArray,
    *,
    unit: str,
    spares_pct: float,
) -> Iterator[BillLine]:
    """Yield how much of each kind; empty kinds are nothing."""
    for kind in np.unique(kinds[kinds != ""].astype(object)).tolist():
        here = kinds == kind
        unsure = float(amounts[here & open_].sum()) if part in ("mount", "ballast") else math.nan
        yield _line(
            part, kind, unit, float(amounts[here].sum()), unsure=unsure, spares_pct=spares_pct
        )


def _line(
    part: str, kind: str, unit: str, quantity: float, *, unsure: float, spares_pct: float
) -> BillLine:
    designed = kind == "engineered"
    spares = 0.0 if designed else float(math.ceil(round(quantity * spares_pct / 100, 6)))
    return BillLine(part, kind, unit, quantity, unsure, spares, quantity + spares)
