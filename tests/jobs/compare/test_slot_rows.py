"""A slot's row is a plain plan at that longitude, figure by figure, with every later key on."""

from __future__ import annotations

import csv
import json
import math
import shutil
from collections import Counter
from pathlib import Path
from statistics import median
from typing import Any

import pytest

from siteplan.answers.slots import Slot
from siteplan.api import compare_satellites, plan_project

NETWORK = """\
[network]
date = 2026-09-01
availability_pct = 99.5
availability_basis = "worst_month"
applications = ["records"]
[satellite]
name = "Ours"
longitude_deg = -61.0
neighbours_deg = [-64, -58]
[hub]
lat = -15.8
lon = -47.9
antenna_m = 6.3
power_control_db = 10
[outbound]
adaptive = true
satellite_eirp_dbw = 52.5
satellite_g_t_db_k = 2
[inbound]
adaptive = true
cross_polar_level_db = -15
satellite_eirp_dbw = 50
satellite_g_t_db_k = 2
[[neighbours]]
longitude_deg = -64
downlink_level_db = -15
[[contours]]
direction = "down"
lat = -8.0
lon = -58.0
peak = 54
major_deg = 8.0
minor_deg = 7.0
[[applications]]
name = "records"
profile = "transaction"
sessions = 4
availability_pct = 99.7
[regulation]
masks = ["s728_1"]
[uncertainty]
rain_pct = 25
[rules]
pick = "cost"
min_elevation_deg = 40
[costs]
modem = 900
lnb = 120
cable = 2
ballast = 1
visit = 150
hub_capex = 10000
lease_mhz_month = 2000
recurring_site_month = 20
spectrum_fee_site_year = 12
power_kwh = 0.2
installation_pole = 300
installation_wall = 200
installation_non_penetrating = 250
installation_ground = 400
installation_engineered = 2000
"""
KIT = [("antennas", "diameter_m", 1.2, 400), ("antennas", "diameter_m", 1.8, 900),
       ("antennas", "diameter_m", 2.4, 2300), ("bucs", "rated_w", 4, 500),
       ("bucs", "rated_w", 8, 900)]  # fmt: skip
MOUNTS = ("pole", "wall", "non_penetrating", "ground", "engineered")
SITES = """\
site_id,name,lat,lon,structure,wall_facing_deg,fixed_antenna_m,fixed_buc_w
A,River,-3.10,-60.02,ground,,,
B,Delta,-1.45,-48.49,wall,90,,
C,South,-30.0,-51.2,flat_roof,,,
D,Hills,4.6,-74.1,ground,,1.8,2
E,Coast,-8.05,-34.9,,,,
F,Far,52.0,-105.0,,,,
"""
AROUND = "site_id,azimuth_from_deg,azimuth_to_deg,elevation_deg\nA,0,359,12\n"


def make(folder: Path) -> Path:
    """The project, every table of it given."""
    folder.mkdir()
    entries = [f"[[{table}]]\n{key} = {size}\nprice = {price}\n" for table, key, size, price in KIT]
    entries += [f'[[mounts]]\nkind = "{kind}"\nprice = 150\n' for kind in MOUNTS]
    (folder / "network.toml").write_text(NETWORK + "".join(entries), encoding="utf-8")
    (folder / "sites.csv").write_text(SITES, encoding="utf-8")
    (folder / "obstructions.csv").write_text(AROUND, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Both rows of a comparison, and the outputs of a plain plan at each longitude."""
    folder = tmp_path_factory.mktemp("rows")
    project = make(folder / "project")
    (folder / "s.csv").write_text("name;longitude_deg\nEast;-30,5\n", encoding="utf-8")
    outcome = compare_satellites(project, folder / "s.csv", folder / "compared")
    plain = {}
    for name, longitude in (("ours", "-61.0"), ("east", "-30.5")):
        copy = folder / name
        shutil.copytree(project, copy)
        text = NETWORK.replace("longitude_deg = -61.0", f"longitude_deg = {longitude}")
        path = copy / "network.toml"
        path.write_text(path.read_text("utf-8").replace(NETWORK, text), encoding="utf-8")
        plan_project(copy, folder / f"{name}_out", with_map=False, with_sheets=False)
        plain[name] = folder / f"{name}_out"
    return {"slots": dict(zip(plain, outcome.comparison.slots, strict=True)), "plain": plain}


def rows_of(folder: Path) -> list[dict[str, str]]:
    with (folder / "sites.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("name", ["ours", "east"])
def test_each_figure_of_a_row_is_the_plain_plan_s(found: dict[str, Any], name: str) -> None:
    slot: Slot = found["slots"][name]
    folder: Path = found["plain"][name]
    rows = rows_of(folder)
    summary = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    kit = [row for row in rows if row["antenna_m"] and row["buc_w"]]
    elevations = [float(row["elevation_deg"]) for row in rows if row["elevation_deg"]]
    margins = [float(row["margin_db"]) for row in kit if row["margin_db"]]
    assert slot.served == summary["served"]
    assert (slot.with_kit, slot.without_kit) == (len(kit), len(rows) - len(kit))
    assert slot.below_minimum == sum(e < 40 for e in elevations)
    assert slot.out_of_view == len(rows) - len(elevations)
    assert slot.outside_beam == sum("outside_beam" in row["flags"].split(";") for row in rows)
    assert dict(slot.antennas) == Counter(float(row["antenna_m"]) for row in kit)
    assert dict(slot.bucs) == Counter(float(row["buc_w"]) for row in kit)
    area = sum(math.pi / 4 * float(row["antenna_m"]) ** 2 for row in kit)
    assert slot.area_m2 == pytest.approx(area, rel=1e-9)
    # The table has tenths of a decibel and hundredths of a degree.
    assert slot.median_margin_db == pytest.approx(median(margins), abs=0.0501)
    assert slot.worst_margin_db == pytest.approx(min(margins), abs=0.0501)
    assert slot.median_elevation_deg == pytest.approx(median(elevations), abs=0.00501)
    assert slot.lowest_elevation_deg == pytest.approx(min(elevations), abs=0.00501)
    assert slot.hub_elevation_deg == pytest.approx(summary["hub_elevation_deg"], abs=0.006)
    assert slot.priced
    assert slot.cost == pytest.approx(summary["cost"]["total"], abs=0.006)


def test_the_two_longitudes_are_unlike(found: dict[str, Any]) -> None:
    """So that no row could be taken for the other."""
    ours, east = found["slots"]["ours"], found["slots"]["east"]
    for name in ("median_margin_db", "median_elevation_deg", "hub_elevation_deg", "cost",
                 "below_minimum", "antennas"):  # fmt: skip
        assert getattr(ours, name) != getattr(east, name), name
