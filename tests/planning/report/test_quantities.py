"""Quantities by kind equal the totals of the kit list."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.outputs.lists.kit import write_kit
from siteplan.planning.plan import make_plan
from siteplan.planning.report.quantities import quantities


def test_quantities_are_those_of_the_kit_list(
    tropical: Network, basin: Sites, tmp_path: Path
) -> None:
    stands = np.full(len(basin), np.nan)
    stands[10:14] = 1.8
    plan = make_plan(replace(basin, fixed_antenna_m=stands, fixed_buc_w=stands + 0.2), tropical)
    assert (plan.columns["kit_source"] == "installed").any()
    write_kit(plan, tmp_path / "kit.csv")
    with (tmp_path / "kit.csv").open(encoding="utf-8", newline="") as file:
        totals = [row for row in csv.DictReader(file) if row["rows"] == "total"]
    listed = {(r["part"], r["kind"]): (float(r["quantity"]), float(r["spares"])) for r in totals}
    found = {(x.part, x.kind): (x.quantity, x.spares)
             for x in quantities(plan.columns, tropical.site.spares_pct) if x.quantity}  # fmt: skip
    assert {part for part, _ in found} == {part for part, _ in listed}
    sizes = {(p, f"{float(k.split()[0]):g} {k.split()[1]}" if p in ("antenna", "BUC") else k): v
             for (p, k), v in listed.items()}  # fmt: skip
    assert found == sizes
