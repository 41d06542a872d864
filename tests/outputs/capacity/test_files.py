"""lease.csv, the report's section and the console's line say what the answer says."""

from __future__ import annotations

import csv
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import html

from siteplan.answers.capacity import Capacity
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.outputs.capacity.files import ALL, HEADINGS, write_lease
from siteplan.outputs.console.totals import capacity_line
from siteplan.outputs.report.files import page
from siteplan.planning.capacity.answer import capacity, figures
from siteplan.planning.capacity.traffic import added
from siteplan.planning.plan import make_plan
from siteplan.planning.report.composed import composed
from siteplan.planning.report.summary import summarize
from siteplan.results import Plan
from tests.planning.capacity.given import answer


def rows(found: Capacity, path: Path) -> list[dict[str, str]]:
    write_lease(found, path)
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def plan(n: int = 12, **tables: Any) -> Plan:
    sites = Sites.at(np.linspace(-12, 12, n), np.linspace(-75, -50, n))
    return make_plan(sites, Network.model_validate({"satellite": {"longitude_deg": -61}, **tables}))


def section(of: Plan) -> str:
    """Return the words of the report's section."""
    tree = html.fromstring(page(of, composed(of)))
    (found,) = tree.xpath("//section[.//h2[text()='Capacity and lease']]")
    return " ".join(found.text_content().split())


def test_a_row_a_carrier_and_one_a_pool(tmp_path: Path) -> None:
    found = answer(60)
    (pool,) = found.pools
    told = rows(found, tmp_path / "lease.csv")
    assert tuple(told[0]) == HEADINGS
    assert len(told) == len(pool.carriers) + 1
    for row, carrier in zip(told, pool.carriers, strict=False):
        assert (row["pool"], row["direction"]) == ("network", carrier.direction)
        for name in HEADINGS[2:-1]:
            assert float(row[name]) == pytest.approx(getattr(carrier, name), abs=6e-3), name
            assert name.endswith("_db") or float(row[name]) == pytest.approx(
                getattr(carrier, name), abs=1e-6
            )
    total = told[-1]
    assert total["direction"] == ALL
    assert float(total["leased_mhz"]) == pool.leased_mhz
    occupied = math.fsum(c.occupied_mhz for c in pool.carriers)
    assert float(total["occupied_mhz"]) == pytest.approx(occupied, abs=1e-6)
    assert total["balance_db"] == total["centre_offset_mhz"] == ""
    assert {row["basis"] for row in told} == {"in part assumed"}


def test_what_is_not_known_is_blank(tmp_path: Path) -> None:
    none = {"antenna_m": np.full(2, np.nan), "power_equivalent_mhz": np.full(2, np.nan)}
    told = rows(answer(2, {}, none), tmp_path / "lease.csv")
    inbound = next(row for row in told if row["direction"] == "inbound")
    assert inbound["power_equivalent_mhz"] == inbound["balance_db"] == ""
    assert float(inbound["leased_mhz"]) > 0
    assert told[-1]["power_equivalent_mhz"] == ""


def test_several_pools_have_a_sum_of_all(tmp_path: Path) -> None:
    beams = np.array(["=cmd()"] * 3 + ["b"] * 9, dtype=object)
    found = answer(12, {}, {"beam": beams})
    told = rows(found, tmp_path / "lease.csv")
    assert [row["pool"] for row in told if row["direction"] == ALL] == ["'=cmd()", "b", ALL]
    assert float(told[-1]["leased_mhz"]) == found.leased_mhz
    text = (tmp_path / "lease.csv").read_text(encoding="utf-8")
    assert "\n=" not in text


def test_what_is_given_is_computed(tmp_path: Path) -> None:
    traffic = {
        **{"outbound_kbit_s": 100, "inbound_kbit_s": 10, "activity": 0.5, "access": "assigned"},
        **{"utilisation": 0.6, "growth_pct": 0, "sites_growth_pct": 0, "years": 3},
    }
    given = {
        "traffic": traffic,
        "lease": {"guard_pct": 5, "step_mhz": 0.1},
        "outbound": {"frame_efficiency": 0.9},
        "inbound": {"frame_efficiency": 0.8},
    }
    told = rows(answer(5, **given), tmp_path / "lease.csv")
    assert {row["basis"] for row in told} == {"computed"}


def test_the_report_says_what_is_leased() -> None:
    of = plan(traffic={"outbound_kbit_s": 3000, "activity": 0.3, "growth_pct": 20})
    found = of.facts.capacity
    assert found is not None
    (pool,) = found.pools
    text = section(of)
    assert f"{found.leased_mhz:g} MHz are leased in all." in text
    for overflow in pool.overflows:
        assert overflow.text in text
    assert len(pool.overflows) >= 2
    assert "Of the traffic a part is assumed" in text
    assert "No growth" not in text
    assert f"{100 * pool.years[0].outbound_load:.0f} %" in text


def test_the_report_says_where_nobody_told_of_traffic() -> None:
    text = section(plan())
    assert "Nobody told of any traffic" in text
    assert "No growth is given: every year is as this one." in text


def test_lines_of_circuits_are_shown() -> None:
    of = plan(traffic={"access": "circuit", "inbound_kbit_s": 16, "activity": 0.2})
    assert "Lines" in section(of)
    assert of.facts.capacity is not None
    lines = of.facts.capacity.pools[0].years[0].lines
    tree = html.fromstring(page(of, composed(of)))
    table = tree.xpath("//section[.//h2[text()='Capacity and lease']]//table")[1]
    heads = [cell.text_content() for cell in table.xpath(".//th")]
    cells = [cell.text_content() for cell in table.xpath(".//tbody//td")]
    assert dict(zip(heads, cells, strict=True))["Lines"] == str(lines)


def test_the_console_has_one_line() -> None:
    of = plan(200, traffic={"outbound_kbit_s": 200, "growth_pct": 12})
    line = capacity_line(summarize(of))
    assert "\n" not in line
    assert line.startswith("Lease: ")
    assert "1 outbound and" in line
    assert "resize in year" in line or "resize now" in line
    assert line.endswith("See lease.csv.")
    assert "nobody told" not in line
    assert "nobody told of any traffic" in capacity_line(summarize(plan()))
    assert capacity_line({}) == ""


def test_the_summary_holds_the_answer() -> None:
    of = plan()
    assert of.facts.capacity is not None
    assert summarize(of)["capacity"] == figures(of.facts.capacity)
    again = capacity(added(of.facts.loads), of.network)
    assert again == of.facts.capacity
