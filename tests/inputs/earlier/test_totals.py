"""What a plan came to in all is read from its summary, of an earlier version from its kit list."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from siteplan.inputs.earlier.totals import read_totals

KIT = (
    "rows,site_id,name,group,part,kind,quantity,unit,provisional,spares,to_order,price,cost,note\n"
    "total,,,,antenna,1.20 m,3,pieces,,1,4,10.00,40.00,\n"
    "total,,,,modem,,3,pieces,,1,4,,,\n"
    "cost,,,,network,,3,sites,,,,,40.00,\n"
    "site,A,,,antenna,1.20 m,1,pieces,,,,10.00,10.00,\n"
)
LINE = {"part": "BUC", "kind": "2.0 W", "unit": "pieces", "quantity": 3, "to_order": 4}


def test_a_summary_s_order_goes_before_the_kit_list(tmp_path: Path) -> None:
    (tmp_path / "kit.csv").write_text(KIT)
    found = read_totals(tmp_path, {"order": [LINE | {"cost": 12.5}]})
    assert found.order == {("BUC", "2.0 W", "pieces"): (4.0, 12.5)}
    assert read_totals(tmp_path, {"order": []}).order == {}


def test_a_kit_list_tells_its_totals_alone(tmp_path: Path) -> None:
    (tmp_path / "kit.csv").write_text(KIT)
    order = read_totals(tmp_path, {}).order
    assert order is not None
    assert order.keys() == {("antenna", "1.20 m", "pieces"), ("modem", "", "pieces")}
    assert order["antenna", "1.20 m", "pieces"] == (4.0, 40.0)
    assert math.isnan(order["modem", "", "pieces"][1])


@pytest.mark.parametrize("rows", [[5], [LINE | {"to_order": "many"}], [LINE | {"to_order": True}]])
def test_what_is_no_order_is_not_known(rows: list[Any], tmp_path: Path) -> None:
    assert read_totals(tmp_path, {"order": rows}).order is None


def test_without_either_nobody_knows(tmp_path: Path) -> None:
    assert read_totals(tmp_path, {}).order is None
    (tmp_path / "kit.csv").mkdir()
    assert read_totals(tmp_path, {"cost": 3, "life_cost": None}).sums == {}


def test_sums_are_those_that_are_known(tmp_path: Path) -> None:
    summary = {"cost": {"total": 9.5, "spares": 1}, "life_cost": {"monthly_cost": 2.0},
               "capacity": {"leased_mhz": 7.25}}  # fmt: skip
    assert read_totals(tmp_path, summary).sums == {
        "cost": 9.5, "priced": 9.5, "spares": 1.0, "monthly_cost": 2.0, "leased_mhz": 7.25,
    }  # fmt: skip
    partial = {"cost": {"total": None, "partial": 8.0, "spares": math.nan}}
    assert read_totals(tmp_path, partial).sums == {"priced": 8.0}
