"""What a crew brings back of sites where it measured what the plan lets expect."""

from __future__ import annotations

import csv
from pathlib import Path

from siteplan.api import asbuilt_project
from siteplan.inputs.returned import COLUMNS
from siteplan.results import AsBuilt, Plan

#: C/N comes back in tenths: what that may be off by [dB].
ROUNDED_DB = 0.06


def as_expected(project: Path, plan: Plan, *rows: int) -> AsBuilt:
    """Return a project compared with what came back of sites of its plan, by their rows.

    Each stands where it was planned, with the C/N that is expected there.
    """
    c, path = plan.columns, project.parent / "returned.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, COLUMNS)
        writer.writeheader()
        for i in rows:
            row = {name: c[name][i] for name in ("site_id", "lat", "lon")}
            writer.writerow(row | {"c_n_db": round(float(c["expected_c_n_db"][i]), 1)})
    return asbuilt_project(project, path)
