"""The kit list adds up, rounds spares up, and never shows ballast without its caveat."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from siteplan.outputs.lists.kit import STANDS, write_kit
from siteplan.outputs.lists.returned import MEASURED, write_blank
from siteplan.planning.cost.bill import bill, counted
from siteplan.results import Plan
from siteplan.words import CAVEAT
from tests.outputs.pack import with_pack


@pytest.fixture
def plan(make_plan: Callable[..., Plan]) -> Plan:
    rng = np.random.default_rng(3)
    return with_pack(make_plan(rng.uniform(-30, 50, 40), rng.uniform(0, 40, 40)))


def billed(plan: Plan) -> Plan:
    """Return a plan with its bill, and with what the invented one has not got."""
    n = len(plan)
    none, blank = np.full(n, np.nan), np.full(n, "", dtype=object)
    more = {"fixed_antenna_m": none, "fixed_buc_w": none, "cable_core": blank}
    columns = {**more, **plan.columns}
    few = Plan(columns, plan.extra, plan.network, (), plan.facts, plan.tables)
    return replace(few, facts=replace(few.facts, bill=bill(counted(few), few.network)))


def rows(plan: Plan, folder: Path) -> list[dict[str, str]]:
    write_kit(billed(plan), folder / "kit.csv")
    with (folder / "kit.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_totals_are_the_sums_and_spares_round_up(plan: Plan, tmp_path: Path) -> None:
    found = rows(plan, tmp_path)
    totals = [r for r in found if r["rows"] == "total"]
    assert {r["part"] for r in totals} == {
        *("antenna", "BUC", "LNB", "modem", "mount", "cable", "ballast"),
    }
    for total in totals:
        own = [
            float(r["quantity"])
            for r in found
            if r["rows"] == "site" and (r["part"], r["kind"]) == (total["part"], total["kind"])
        ]
        assert float(total["quantity"]) == pytest.approx(sum(own), abs=1e-9)
        assert float(total["spares"]) == math.ceil(round(sum(own) * 0.10, 6))
        assert float(total["to_order"]) == float(total["quantity"]) + float(total["spares"])


def test_antennas_agree_with_the_plan(plan: Plan, tmp_path: Path) -> None:
    found = rows(plan, tmp_path)
    sizes, counts = np.unique(
        plan.columns["antenna_m"][~np.isnan(plan.columns["antenna_m"])], return_counts=True
    )
    totals = {r["kind"]: r["quantity"] for r in found if r["rows"] == "total"}
    for size, count in zip(sizes, counts, strict=True):
        assert float(totals[f"{size:.2f} m"]) == count


def test_every_row_of_ballast_has_the_caveat(plan: Plan, tmp_path: Path) -> None:
    ballast = [r for r in rows(plan, tmp_path) if r["part"] == "ballast"]
    assert ballast
    assert all(CAVEAT in r["note"] for r in ballast)


def test_every_row_of_cable_tells_its_core_the_total_too(plan: Plan, tmp_path: Path) -> None:
    """A buyer who gets the total alone buys clad steel, and the voltage is gone."""
    core = np.array(["solid copper core, at most 8.28 ohm/km"] * len(plan), dtype=object)
    told = Plan({**plan.columns, "cable_core": core}, plan.extra, plan.network, (), plan.facts, {})
    cable = [r for r in rows(told, tmp_path) if r["part"] == "cable"]
    assert {r["rows"] for r in cable} == {"site", "total"}
    assert all("solid copper core, at most 8.28 ohm/km" in r["note"] for r in cable)


def test_kit_that_stands_is_not_ordered(plan: Plan, tmp_path: Path) -> None:
    first = int(np.flatnonzero(np.isfinite(plan.columns["antenna_m"]))[0])
    columns = {**plan.columns, "fixed_antenna_m": np.full(len(plan), np.nan)}
    columns["fixed_antenna_m"][first] = 1.8
    stands = Plan(columns, plan.extra, plan.network, (), plan.facts, plan.tables)
    found = rows(stands, tmp_path)
    mine = [r for r in found if r["site_id"] == plan.columns["site_id"][first]]
    quantity = {r["part"]: r["quantity"] for r in mine}
    assert quantity["antenna"] == quantity["mount"] == quantity["ballast"] == "0"
    assert quantity["BUC"] == "1"
    assert mine[0]["note"] == STANDS


def test_provisional_mounts_count_under_their_kind(plan: Plan, tmp_path: Path) -> None:
    """Each with its question; a column tells how many of a kind, and of its ballast, are open."""
    n = len(plan)
    kinds = np.resize(np.array(["pole", "non_penetrating", "engineered"], dtype=object), n)
    open_ = (np.arange(n) % 5 == 0) | (kinds == "engineered")
    columns = {
        **plan.columns,
        "mount": kinds,
        "mount_certainty": np.where(open_, "provisional", "decided").astype(object),
        "mount_question": np.where(open_, "What holds it?", "").astype(object),
        "ballast_kg": np.where(kinds == "non_penetrating", 100.5, np.nan),
    }
    found = rows(Plan(columns, plan.extra, plan.network, (), plan.facts, plan.tables), tmp_path)
    served = np.isfinite(columns["antenna_m"]) & np.isfinite(columns["buc_w"])
    totals = {(r["part"], r["kind"]): r for r in found if r["rows"] == "total"}
    assert {r["kind"] for r in found if r["part"] == "mount"} == set(kinds)
    for kind in ("pole", "non_penetrating", "engineered"):
        here = served & (kinds == kind)
        total = totals["mount", kind]
        assert (total["quantity"], total["provisional"]) == (
            f"{here.sum()}",
            f"{(here & open_).sum()}",
        )
    assert 0 < (served & (kinds == "pole") & open_).sum() < (served & (kinds == "pole")).sum()
    ballast = totals["ballast", "non_penetrating"]
    frames = served & (kinds == "non_penetrating")
    assert ballast["provisional"] == f"{101 * (frames & open_).sum()}"
    assert ballast["quantity"] == f"{101 * frames.sum()}"
    designed = totals["mount", "engineered"]
    assert (designed["spares"], designed["to_order"]) == ("0", designed["quantity"])
    assert "order nothing before" in designed["note"]
    mine = {r["site_id"]: r for r in found if r["rows"] == "site" and r["part"] == "mount"}
    for i in np.flatnonzero(served):
        row = mine[plan.columns["site_id"][i]]
        assert row["provisional"] == ("1" if open_[i] else "0")
        assert ("to be surveyed: What holds it?" in row["note"]) == open_[i]
    assert {r["provisional"] for r in found if r["part"] in ("antenna", "BUC", "cable")} == {""}


def test_names_are_harmless_in_a_spreadsheet(
    make_plan: Callable[..., Plan], tmp_path: Path
) -> None:
    plan = with_pack(make_plan(np.full(5, 10.0), np.full(5, 10.0)))
    plan.columns["antenna_m"][:] = 1.2
    plan.columns["buc_w"][:] = 2.0
    names = {r["name"] for r in rows(plan, tmp_path)}
    assert "'=cmd('calc')" in names


def test_names_of_the_catalogue_are_harmless_too(
    make_plan: Callable[..., Plan], tmp_path: Path
) -> None:
    """A cable's name is the network file's: in the rows of sites, and in those of totals."""
    plan = with_pack(make_plan(np.full(5, 10.0), np.full(5, 10.0)))
    plan.columns["antenna_m"][:], plan.columns["buc_w"][:] = 1.2, 2.0
    plan.columns["cable_class"][:] = "\uff1dcmd('calc')"
    found = {(r["rows"], r["kind"]) for r in rows(plan, tmp_path) if r["part"] == "cable"}
    assert found == {(row, "'\uff1dcmd('calc')") for row in ("site", "total")}


def test_the_blank_has_a_row_for_each_site(plan: Plan, tmp_path: Path) -> None:
    write_blank(plan, tmp_path / "blank.csv")
    with (tmp_path / "blank.csv").open(encoding="utf-8", newline="") as file:
        found = list(csv.DictReader(file))
    assert [r["site_id"] for r in found] == plan.columns["site_id"].tolist()
    assert all(r[name] == "" for r in found for name in MEASURED)
