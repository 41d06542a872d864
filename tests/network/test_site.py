"""The typical cables: one file of figures behind the defaults of [[cables]]."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

import siteplan.network
from siteplan.network import Cable, Network
from siteplan.network.site import TypicalCable, typical_cables

#: Keys of a cable that nobody can say for all makers.
NOT_LISTED = {"core", "core_ohm_km", "price", "supplier_code"}


@pytest.mark.parametrize("row", typical_cables(), ids=lambda row: row.cable.name)
def test_typical_cables_are_sane(row: TypicalCable) -> None:
    assert str(round(row.impedance_ohm)) in row.cable.name
    assert row.cable.core_mm < row.cable.diameter_mm / 3
    assert 5 < row.cable.loss_db_100m < 35
    assert row.source


@pytest.mark.parametrize("impedance_ohm", [50, 75])
def test_thicker_cables_lose_less(impedance_ohm: int) -> None:
    same = [row.cable for row in typical_cables() if row.impedance_ohm == impedance_ohm]
    same.sort(key=lambda cable: cable.diameter_mm)
    assert len(same) >= 2
    assert (np.diff([cable.loss_db_100m for cable in same]) < 0).all()
    assert (np.diff([cable.shield_ohm_km for cable in same]) < 0).all()


def test_a_network_without_cables_has_the_75_ohm_ones() -> None:
    network = Network.model_validate({"satellite": {"longitude_deg": 13}})
    assert [c.name for c in network.cables] == [
        row.cable.name for row in typical_cables() if row.impedance_ohm == 75
    ]


def test_the_file_of_cables_is_plain_csv_with_the_keys_of_the_table() -> None:
    path = Path(siteplan.network.__file__).with_name("cables.csv")
    text = path.read_text(encoding="utf-8")
    heading, *rows = csv.reader(text.splitlines())
    assert set(heading) == (set(Cable.model_fields) - NOT_LISTED) | {
        *("impedance_ohm", "default", "source")
    }
    assert all(len(row) == len(heading) for row in rows)
    assert len({row[0] for row in rows}) == len(rows)
    assert text.endswith("\n")
    assert "\r" not in text
