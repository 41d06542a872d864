"""The kit list of a plan with prices: codes, costs and sums, and none of them without."""

from __future__ import annotations

import csv
import dataclasses
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.outputs.console.plan import show_summary
from siteplan.outputs.console.totals import cost_line
from siteplan.outputs.lists.kit import HEADINGS, write_kit
from siteplan.planning.plan import make_plan
from siteplan.planning.report.summary import summarize
from siteplan.results import Plan
from tests.priced import CABLE_M, with_prices

N = 12
MONEY = ("price", "cost")
#: The station that stands, the dish that stands alone, and the site that nothing fits.
STATION, DISH, UNSERVED = 3, 4, 5


def planned(network: Network, **columns: Any) -> Plan:
    """Plan some places on the equator, on unlike structures; three of them are no usual ones."""
    dish, buc = np.full(N, np.nan), np.full(N, np.nan)
    dish[[STATION, DISH]], buc[STATION] = 1.8, 2.0
    target = np.full(N, 99.0)
    target[UNSERVED] = 99.999
    kinds = np.array(["ground", "flat_roof", "wall", "pitched_roof"], dtype=object)
    sites = dataclasses.replace(
        Sites.at(np.linspace(-4, 4, N), np.linspace(-66, -56, N), structure=np.resize(kinds, N)),
        group=np.resize(np.array(["=north", "south"], dtype=object), N),
        fixed_antenna_m=dish,
        fixed_buc_w=buc,
        availability_pct=target,
        **columns,
    )
    return make_plan(sites, network)


def network(**tables: Any) -> Network:
    start = {"satellite": {"longitude_deg": -61.0}, "network": {"date": "2026-06-01"}}
    return Network.model_validate(start | tables)


def rows(plan: Plan, folder: Path) -> list[dict[str, str]]:
    write_kit(plan, folder / "kit.csv")
    with (folder / "kit.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def plan() -> Plan:
    return planned(with_prices(network(), modem_code="=cmd()", lnb_code="\uff0bLN 7"))


@pytest.fixture(scope="module")
def found(plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, str]]:
    return rows(plan, tmp_path_factory.mktemp("priced"))


def kind_of(row: dict[str, str]) -> tuple[str, ...]:
    return row["part"], row["kind"], row["unit"]


def of(found: list[dict[str, str]], plan: Plan, site: int, kind: str = "site") -> Any:
    name = plan.columns["site_id"][site]
    return [r for r in found if r["rows"] == kind and r["site_id"] == name]


def test_the_plan_has_one_of_each_kind_of_site(plan: Plan) -> None:
    c = plan.columns
    assert np.flatnonzero(np.isnan(c["antenna_m"])).tolist() == [UNSERVED]
    assert {"pole", "non_penetrating"} <= set(c["mount"])
    assert "provisional" in set(c["mount_certainty"])


def test_every_site_appears_and_the_unserved_with_its_reason(
    plan: Plan, found: list[dict[str, str]]
) -> None:
    listed = [r["site_id"] for r in found if r["rows"] == "site"]
    assert list(dict.fromkeys(listed)) == plan.columns["site_id"].tolist()
    (row,) = of(found, plan, UNSERVED)
    assert (row["part"], row["quantity"], row["cost"]) == ("nothing", "0", "")
    assert row["note"] == plan.columns["no_fit_reason"][UNSERVED] != ""


def test_what_is_to_be_ordered_stands_first(found: list[dict[str, str]]) -> None:
    kinds = [r["rows"] for r in found]
    assert kinds.index("site") > max(k for k, kind in enumerate(kinds) if kind == "total")


def test_totals_are_the_sums_of_the_sites(found: list[dict[str, str]]) -> None:
    """Two ways: the bill from counts, the rows of sites from their columns."""
    totals = [r for r in found if r["rows"] == "total"]
    assert {r["part"] for r in totals} >= {"antenna", "LNB", "modem", "cable", "visit", "mount"}
    for total in totals:
        own = [r for r in found if r["rows"] == "site" and kind_of(r) == kind_of(total)]
        for name in ("quantity", "provisional"):
            said = [float(r[name] or 0) for r in own]
            assert float(total[name] or 0) == pytest.approx(sum(said), abs=1e-9), total
        if total["price"]:
            assert float(total["cost"]) == pytest.approx(
                float(total["to_order"]) * float(total["price"]), abs=0.005
            )
            assert {r["price"] for r in own if r["quantity"] != "0"} == {total["price"]}
        assert {r["supplier_code"] for r in own if r["quantity"] != "0"} == {total["supplier_code"]}


def test_the_rows_of_a_site_sum_up_to_its_cost(plan: Plan, found: list[dict[str, str]]) -> None:
    for i in range(N):
        if i == UNSERVED:
            assert of(found, plan, i, "cost") == []
            continue
        (total,) = of(found, plan, i, "cost")
        own = math.fsum(float(r["cost"]) for r in of(found, plan, i) if r["cost"])
        assert float(total["cost"]) == pytest.approx(own, abs=0.02)
        assert float(total["cost"]) == pytest.approx(plan.columns["site_cost"][i], abs=0.005)


def test_groups_spares_and_network_sum_up(plan: Plan, found: list[dict[str, str]]) -> None:
    sums = [r for r in found if r["rows"] == "cost" and not r["site_id"]]
    assert [(r["part"], r["group"]) for r in sums] == [
        ("network", ""), ("spares", ""), ("group", "'=north"), ("group", "south"),
    ]  # fmt: skip
    whole, *parts = (float(r["cost"]) for r in sums)
    assert whole == pytest.approx(sum(parts), abs=0.02)
    assert sums[0]["note"].startswith("1 of the sites have no kit")
    assert plan.facts.bill is not None
    assert whole == pytest.approx(plan.facts.bill.total, abs=0.005)


def test_what_stands_already_costs_nothing(plan: Plan, found: list[dict[str, str]]) -> None:
    """Of a whole station nothing is ordered; of a dish alone the electronics and the cable are."""
    station = of(found, plan, STATION)
    assert {r["quantity"] for r in station} == {"0"}
    assert {r["cost"] for r in station if r["part"] != "ballast"} == {"0.00"}
    assert {r["price"] for r in station} == {r["supplier_code"] for r in station} == {""}
    assert all("stands already" in r["note"] for r in station)
    assert float(of(found, plan, STATION, "cost")[0]["cost"]) == 0
    dish = {r["part"]: r["quantity"] for r in of(found, plan, DISH)}
    assert (dish["antenna"], dish["mount"], dish["installation"]) == ("0", "0", "0")
    assert (dish["BUC"], dish["LNB"], dish["modem"], dish["visit"]) == ("1", "1", "1", "1")
    assert dish["cable"] == "30"


def test_codes_of_suppliers_are_harmless_in_a_spreadsheet(found: list[dict[str, str]]) -> None:
    codes = {r["part"]: r["supplier_code"] for r in found if r["supplier_code"]}
    assert codes == {"modem": "'=cmd()", "LNB": "'\uff0bLN 7"}


def test_without_prices_and_codes_there_are_no_such_columns(tmp_path: Path) -> None:
    plan = planned(network())
    found = rows(plan, tmp_path)
    assert list(found[0]) == [h for h in HEADINGS if h not in (*MONEY, "supplier_code")]
    assert {r["rows"] for r in found} == {"total", "site"}
    assert not {"installation", "visit"} & {r["part"] for r in found}
    assert "site_cost" not in plan.columns
    assert "cost" not in summarize(plan)
    assert cost_line(summarize(plan)) == ""


def test_codes_alone_have_their_column_and_prices_none(tmp_path: Path) -> None:
    found = rows(planned(network(costs={"modem_code": "MD-40"})), tmp_path)
    assert list(found[0]) == [h for h in HEADINGS if h not in MONEY]
    assert {r["supplier_code"] for r in found if r["part"] == "modem"} == {"MD-40", ""}


def test_a_partial_sum_is_never_taken_for_the_whole(tmp_path: Path) -> None:
    plan = planned(with_prices(network(), without=("cables",)))
    bill = plan.facts.bill
    assert bill is not None
    assert bill.missing == ("cable 75 ohm, series 59",)
    whole = rows(plan, tmp_path)
    sums = {r["part"]: r for r in whole if r["rows"] == "cost" and not r["site_id"]}
    assert {r["cost"] for r in sums.values()} == {""}
    assert sums["network"]["note"].startswith(
        f"No price for cable 75 ohm, series 59. What is priced costs {bill.partial:.2f} (partial"
    )
    assert all("partial sum" in sums[part]["note"] for part in ("spares", "group"))
    one = of(whole, plan, 0, "cost")[0]
    assert (one["cost"], one["note"]) == ("", "a price is missing")
    assert float(of(whole, plan, STATION, "cost")[0]["cost"]) == 0
    told = cost_line(summarize(plan)).replace("\xa0", "")
    assert told.startswith("Cost: not known, for there is no price for cable 75 ohm, series 59;")
    assert f"what is priced costs {bill.partial:.2f} (partial sum," in told


def test_the_console_tells_the_cost_in_a_line(plan: Plan) -> None:
    bill = plan.facts.bill
    assert bill is not None
    told = cost_line(summarize(plan)).replace("\xa0", "")
    assert told == (
        f"Cost: {bill.total:.2f} for 11 sites with kit, {bill.spares:.2f} for spares included. 1 of"
        " the sites have no kit and are not in the cost. Ballast has no price and is not in the"
        " cost."
    )


def test_the_page_of_a_plan_has_that_line_where_there_are_prices(
    plan: Plan, capsys: pytest.CaptureFixture[str]
) -> None:
    for of, lines in ((plan, 1), (planned(network()), 0)):
        facts = {"rows_read": N, "rejected": 0}
        show_summary(summarize(of) | facts, "")
        found = [x for x in capsys.readouterr().out.splitlines() if x.startswith("Cost: ")]
        assert len(found) == lines


def test_free_columns_called_price_and_cost_stay_the_user_s() -> None:
    """Only what is called as the result is gets the prefix; with prices or without."""
    mine = {name: np.arange(N) for name in ("price", "cost", "site_cost", "Site_Cost")}
    for given in (network(), with_prices(network())):
        plan = planned(given, extra=mine)
        assert list(plan.extra) == ["price", "cost", "input_site_cost", "input_Site_Cost_2"]
        assert plan.extra["input_site_cost"].tolist() == list(range(N))


def test_a_price_keeps_its_digits(tmp_path: Path, found: list[dict[str, str]]) -> None:
    assert {r["price"] for r in found if r["part"] == "cable"} == {f"{CABLE_M}", ""}
    odd = planned(with_prices(network(), without=("cables",), cable=0.0355))
    cable = [r for r in rows(odd, tmp_path) if r["part"] == "cable" and r["price"]]
    assert {r["price"] for r in cable} == {"0.0355"}
    assert cable[0]["cost"] == f"{float(cable[0]['to_order']) * 0.0355:.2f}"
