"""What was not measured: a finding names only what came back, and never a figure of nothing."""

from __future__ import annotations

import csv
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.api import write_asbuilt
from siteplan.results import Plan
from tests.planning.asbuilt.built import as_planned, compare

NOTHING = re.compile(r"\bnan\b", re.I)
#: Faults of every kind, each row far enough off to be told of.
FAULTS: tuple[dict[str, float], ...] = (
    {"azimuth_true_deg": 50, "elevation_deg": 3, "skew_deg": 20, "c_n_db": -9},
    {"azimuth_true_deg": 5, "elevation_deg": -7},
    {"azimuth_true_deg": 180, "elevation_deg": 22, "cable_loss_db": 9, "buc_voltage_v": -3},
    {"lat": 0.002, "c_n_db": 6, "cable_m": 45, "buc_voltage_v": -9, "cross_polar_db": -9},
    {"lat": 2.5, "azimuth_true_deg": 4, "rim_angle_deg": 6},
)


def shifted(row: dict[str, Any], by: dict[str, float]) -> dict[str, Any]:
    return row | {key: round(float(row[key]) + value, 4) for key, value in by.items()}


def full(plan: Plan, k: int = 0) -> dict[str, Any]:
    """Return a row of a site built as planned, with what an inclinometer and a compass show."""
    c = plan.columns
    return as_planned(plan, k) | {
        "altitude_m": round(float(c["altitude_m"][k])),
        "rim_angle_deg": round(float(c["inclinometer_deg"][k]), 2),
        "azimuth_magnetic_deg": round(float(c["azimuth_magnetic_deg"][k]), 2),
    }


@pytest.mark.parametrize("by", FAULTS)
@pytest.mark.parametrize("seed", range(4))
def test_whatever_is_blank_nothing_reads_nan(
    project: Path, planned: Plan, by: dict[str, float], seed: int, tmp_path: Path
) -> None:
    """Three sites a run, each with its own blanks: in the findings, and in all that is written."""
    rng = np.random.default_rng(seed)
    rows = []
    for k in range(3):
        row = shifted(full(planned, k), by)
        blanks = [key for key in row if key not in ("site_id", "lon") and rng.random() < 0.4]
        row |= dict.fromkeys(blanks, "")
        row["lon"] = "" if row["lat"] == "" else row["lon"]
        row["remarks"] = "seen"
        rows.append(row)
    found = compare(project, *rows)
    assert not [text for text in found.columns["findings"] if NOTHING.search(text)]
    folder = write_asbuilt(found, project, tmp_path)
    for name in ("asbuilt.csv", "asbuilt.html"):
        assert not NOTHING.search((folder / name).read_text(encoding="utf-8")), name


@pytest.mark.parametrize(
    ("blank", "kept", "said"),
    [
        ("elevation_deg", "azimuth_true_deg", "Azimuth +16.0 deg differs from plan"),
        ("azimuth_true_deg", "elevation_deg", "Elevation +16.0 deg differs from plan"),
    ],
)
@pytest.mark.parametrize("level", [0.0, -9.0, None])
def test_one_angle_alone_is_told_alone(
    project: Path, planned: Plan, blank: str, kept: str, said: str, level: float | None
) -> None:
    row = as_planned(planned)
    row[kept] = round(row[kept] + 16, 2)
    row |= {blank: "", "c_n_db": "" if level is None else row["c_n_db"] + level}
    (text,) = compare(project, row).columns["findings"]
    assert said in text
    other = "Elevation" if kept.startswith("azimuth") else "Azimuth"
    assert other not in text
    ends = {0.0: ", by far, yet", -9.0: " and the signal is short", None: ": the dish may"}
    assert f"{said}{ends[level]}" in text


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"azimuth_magnetic_deg": 3.5}, "true azimuth that came back are +3.5 deg apart"),
        ({"azimuth_magnetic_deg": 2.5}, ""),
        ({"rim_angle_deg": 2.5}, "The rim leans +2.5 deg from what the elevation"),
        ({"rim_angle_deg": 1.5}, ""),
        ({"rim_angle_deg": 4.0, "elevation_deg": 4.0}, "Azimuth"),
    ],
)
def test_two_readings_of_one_angle_beside_each_other(
    project: Path, planned: Plan, change: dict[str, float], words: str
) -> None:
    (text,) = compare(project, shifted(full(planned), change)).columns["findings"]
    assert words in text
    assert ("apart" in text) == ("apart" in words)
    assert ("The rim leans" in text) == ("The rim leans" in words)


@pytest.mark.parametrize(("off", "told"), [(0.5, False), (1.5, True), (-1.5, True)])
def test_a_rim_without_an_elevation(project: Path, planned: Plan, off: float, told: bool) -> None:
    row = shifted(full(planned), {"rim_angle_deg": off}) | {"elevation_deg": ""}
    (text,) = compare(project, row).columns["findings"]
    assert (f"The rim leans {off:+.1f} deg from plan, and no elevation came back" in text) == told


def test_an_eaten_id_is_told_with_the_site(project: Path, planned: Plan, tmp_path: Path) -> None:
    folder = tmp_path / "zeros"
    folder.mkdir()
    (folder / "network.toml").write_text((project / "network.toml").read_text())
    (folder / "sites.csv").write_text("site_id,name,lat,lon\n0907,Tarn,46.1,6.2\n")
    row = as_planned(planned) | {"site_id": "907"}
    found = compare(folder, row)
    assert found.columns["site_id"].tolist() == ["0907"]
    assert "The row came back as site 907: a spreadsheet had eaten" in found.columns["findings"][0]
    written = write_asbuilt(found, folder, tmp_path / "out") / "asbuilt.csv"
    with written.open(encoding="utf-8", newline="") as file:
        assert [line["site_id"] for line in csv.DictReader(file)] == ["0907"]
