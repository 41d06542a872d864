"""How the cells of both tables are written: the dictionary's decimals, blanks for the unknown."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from siteplan.fields import lookup
from siteplan.outputs.escaping import CsvWriter
from siteplan.outputs.shown import fixed

#: Decimals of figures that the dictionary has not.
_DECIMALS = {
    **dict.fromkeys(("tx_gain_dbi", "rx_gain_dbi", "efficiency", "eirp_dbw"), 2),
    **dict.fromkeys(("least_elevation_deg", "greatest_elevation_deg"), 2),
    **dict.fromkeys(("feed_density_dbw_40khz", "eirp_density_dbw_40khz"), 1),
    **dict.fromkeys(("uplink_ghz", "downlink_ghz", "symbol_rate_msps"), 6),
    "feed_w": 3,
    "sites": 0,
}


@cache
def decimals_of(name: str) -> int | None:
    """Return the decimals of a column; None for one of texts."""
    if name in _DECIMALS:
        return _DECIMALS[name]
    field = lookup(name)
    return None if field is None else field.decimals


def cell(value: Any, decimals: int | None) -> str:
    """Return a value as a cell: a bare number of so many decimals, or a text; '' for none."""
    if decimals is None:
        return "" if value is None else str(value)
    if value is None or math.isnan(value):
        return ""
    return fixed(round(value, decimals) + 0.0, decimals)


def write_table(path: Path, headings: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Write a table as CSV (UTF-8); no spreadsheet takes a text of it for a formula."""
    with path.open("w", encoding="utf-8", errors="replace", newline="") as file:
        writer = CsvWriter(file)
        writer.writerow(headings)
        writer.writerows(rows)
