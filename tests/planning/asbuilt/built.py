"""Rows that come back from built sites, and their comparison with the plan."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

from siteplan.api import asbuilt_project
from siteplan.inputs.returned import COLUMNS
from siteplan.results import AsBuilt, Plan

NETWORK = """
[network]
date = 2026-06-01
[satellite]
longitude_deg = 19
neighbours_deg = [23.5]
[[antennas]]
diameter_m = 1.2
offset_angle_deg = 22
[ifl]
cable_m = 25
"""
SITES = """site_id,lat,lon,structure,cable_m
A1,46.10,6.20,ground,20
A2,46.40,7.10,ground,30
A3,60.00,25.00,ground,40
"""


def as_planned(plan: Plan, k: int = 0) -> dict[str, Any]:
    """Return a row of a site that was built as planned."""
    c = plan.columns
    return {
        "site_id": c["site_id"][k],
        "lat": c["lat"][k],
        "lon": c["lon"][k],
        "azimuth_true_deg": round(float(c["azimuth_true_deg"][k]), 2),
        "elevation_deg": round(float(c["elevation_deg"][k]), 2),
        "skew_deg": round(float(c["skew_deg"][k]), 1),
        "c_n_db": round(float(c["expected_c_n_db"][k]) - 0.2, 1),
        "cable_m": c["ifl_length_m"][k],
        "cable_loss_db": round(float(c["cable_loss_high_db"][k]), 1),
        "buc_voltage_v": round(float(c["buc_voltage_v"][k]), 1),
        "cross_polar_db": 33,
    }


def compare(project: Path, *rows: dict[str, Any]) -> AsBuilt:
    path = project.parent / "returned.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, COLUMNS)
        writer.writeheader()
        writer.writerows(rows)
    return asbuilt_project(project, path)
