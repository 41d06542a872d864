"""returned_blank.csv: the table that the crew fills in, what was measured at each site.

Written beside the plan's tables; filled in it comes back to ``siteplan asbuilt``.
"""

from __future__ import annotations

import csv
from pathlib import Path

from siteplan.outputs.escaping import harmless
from siteplan.results import Plan

#: Columns that the crew fills in.
MEASURED = (
    *("lat", "lon", "azimuth_true_deg", "elevation_deg", "skew_deg", "c_n_db", "cable_m"),
    *("cable_loss_db", "buc_voltage_v", "obstacle_azimuth_deg", "obstacle_elevation_deg"),
    *("cross_polar_db", "remarks"),
)


def write_blank(plan: Plan, path: Path) -> None:
    """Write a row for each site with its id and name, and blanks to fill in."""
    with path.open("w", encoding="utf-8", errors="replace", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(("site_id", "name", *MEASURED))
        blanks = [""] * len(MEASURED)
        ids, names = (harmless(plan.columns[key]) for key in ("site_id", "name"))
        writer.writerows((site, name, *blanks) for site, name in zip(ids, names, strict=True))
