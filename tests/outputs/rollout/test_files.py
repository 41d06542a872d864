"""The tables of a roll-out: what stands in them, and what users wrote is harmless there."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from siteplan.answers.rollout import RolloutPeriod, RolloutPlan, RolloutSite, WaveKit
from siteplan.outputs.report.growing import growing
from siteplan.outputs.rollout.files import write_rollout

HOSTILE = '=1+1,"x"\n<b>'
FOUND = RolloutPlan(
    sites=(
        RolloutSite("A", HOSTILE, "g", "1", 1, "2027-01-04", "g 1", 1),
        RolloutSite("B", "b", "", "", None, "", "", None, "gets no kit"),
    ),
    periods=(
        RolloutPeriod("2027-01", 1, 1, 1, 1, 8.3, 1200.5, 25.0, 1225.5),
        RolloutPeriod("2027-02", 0, 1, 1, 1, 8.3, 0.0, 25.0, 1250.5, ("Too small.", "More.")),
    ),
    kit=(WaveKit("1", "antenna", "1.8", 1.0, "pieces", 900.0, 900.0),),
    by_month=True,
    priced=True,
)


def read(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def written(found: RolloutPlan, folder: Path) -> tuple[list[dict[str, str]], ...]:
    paths = [folder / name for name in ("a.csv", "b.csv", "c.csv")]
    write_rollout(found, *paths)
    return tuple(read(path) for path in paths)


def test_the_tables(tmp_path: Path) -> None:
    sites, periods, kit = written(FOUND, tmp_path)
    assert [row["site_id"] for row in sites] == ["A", "B"]
    assert sites[0]["name"].startswith("'=1+1")
    assert (sites[0]["week"], sites[0]["week_of"], sites[0]["position"]) == ("1", "2027-01-04", "1")
    assert (sites[1]["week"], sites[1]["note"]) == ("", "gets no kit")
    assert periods[0]["leased_mhz"] == "8.300"
    assert float(periods[0]["cumulative_cost"]) == pytest.approx(1225.5, abs=0.005)
    assert periods[1]["too_small"] == "Too small. More."
    assert kit == [
        {"wave": "1", "part": "antenna", "kind": "1.8", "quantity": "1", "unit": "pieces",
         "price": "900.00", "cost": "900.00"}
    ]  # fmt: skip


def test_without_prices_no_column_of_them(tmp_path: Path) -> None:
    bare = RolloutPlan(FOUND.sites, FOUND.periods, FOUND.kit, by_month=True, priced=False)
    _, _, kit = written(bare, tmp_path)
    assert set(kit[0]) == {"wave", "part", "kind", "quantity", "unit"}


def test_what_is_not_known_is_blank(tmp_path: Path) -> None:
    period = RolloutPeriod("wave 1", 1, 1, 1, 1, 8.3)
    bare = RolloutPlan((), (period,), (), by_month=False, priced=False)
    _, periods, _ = written(bare, tmp_path)
    assert (periods[0]["capex"], periods[0]["running"], periods[0]["cumulative_cost"]) == ("",) * 3


def test_a_chart_has_a_bar_a_period_and_none_for_the_unknown() -> None:
    drawn = growing([1.0, float("nan"), 3.0], "Sites <that> work", ("a", "c"))
    assert drawn.count("barfill") == 2
    assert ">3<" in drawn
    assert "<that>" not in drawn
    assert growing([0.0], "t", ("a", "a")).count("barfill") == 1
