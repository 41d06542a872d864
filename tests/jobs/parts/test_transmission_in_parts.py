"""The transmission plan of parts is that of the whole, with one beam and with two."""

from __future__ import annotations

import csv
import shutil
from pathlib import Path
from typing import Any

import pytest

from siteplan.api import plan_project
from siteplan.jobs import products
from siteplan.jobs.parts import spread
from tests.samples import FROZEN

SAMPLE = FROZEN / "river_clinics"
QUIET: dict[str, Any] = {"with_map": False, "with_sheets": False}
MASKS = '\n[regulation]\nmasks = ["s728_1"]\n'
BEAMS = """
[[beams]]
name = "west"
lat = -5.5
lon = -66.5
major_deg = 2.0
minor_deg = 1.4
inbound = { satellite_g_t_db_k = 2.5, sfd_dbw_m2 = -90.0 }

[[beams]]
name = "east"
lat = -4.0
lon = -60.5
major_deg = 2.0
minor_deg = 1.4
outbound = { downlink_ghz = 12.3 }
hub = { lat = -1.45, lon = -48.5 }
"""


@pytest.mark.parametrize("read_back", [True, False])
@pytest.mark.parametrize("more", ["", MASKS + BEAMS], ids=["one", "beams"])
def test_parts_give_the_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, more: str, read_back: bool
) -> None:
    """To the last byte."""
    folder = tmp_path / "river"
    shutil.copytree(SAMPLE, folder)
    network = folder / "network.toml"
    network.write_text(network.read_text(encoding="utf-8") + more, encoding="utf-8")
    whole = plan_project(folder, tmp_path / "whole", **QUIET).folder
    monkeypatch.setattr(spread, "PART_SITES", 13)
    if not read_back:
        monkeypatch.setattr(products, "READ_BACK_UP_TO", 0)
    parts = plan_project(folder, tmp_path / "parts", workers=0, tables=("csv",), **QUIET).folder
    for name in products.TRANSMISSION_NAMES:
        assert (parts / name).read_bytes() == (whole / name).read_bytes(), name
    with (parts / "transmission_plan.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert {row["kind"] for row in rows} == {"carrier", "hub", "terminal"}
    assert {row["beam"] for row in rows} == ({"east", "west"} if more else {""})
    served = sum(int(row["sites"]) for row in rows if row["kind"] == "terminal")
    # What stands outside all beams sends nothing.
    sends = [row for row in _sites(parts) if row["antenna_m"] and row.get("beam", "any")]
    assert served == len(sends) > 20


def _sites(folder: Path) -> list[dict[str, str]]:
    with (folder / "sites.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
