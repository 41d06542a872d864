"""The link budget in files: a table that adds up as it is written, a page that holds two sides."""

from __future__ import annotations

import base64
import csv
import io
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import html
from pypdf import PdfReader

from siteplan.answers.budget import Budget
from siteplan.fields import METHODS
from siteplan.messages import english
from siteplan.model import Sites
from siteplan.outputs import budgets
from siteplan.outputs.budget.files import (
    HEADINGS,
    is_budget_csv,
    is_budget_page,
    page,
    write_budget_csv,
    write_budget_page,
)
from siteplan.planning.plan import make_plan
from siteplan.planning.site_budget import site_budgets
from tests.outputs.conftest import HOSTILE_NAMES, invented_network
from tests.outputs.test_on_paper import keys_in

#: The seen site; one that nothing fits; one below the horizon.
SEEN, UNSERVED, BELOW = range(3)


@pytest.fixture(scope="module")
def found() -> list[Budget]:
    known = {
        "fixed_buc_w": np.array([np.nan, 0.02, np.nan]),
        "name": np.array(["Mill & Co.", "", "Far side"], dtype=object),
    }
    sites = Sites.at(np.array([48.0, 41.0, 10.0]), np.array([11.0, 12.0, -150.0]), **known)
    network = invented_network(terminal={"wet_loss_db": 0.6}, antennas=[{"diameter_m": 1.2}])
    plan = make_plan(sites, network)
    return site_budgets(plan, np.arange(3))


def rows(budget: Budget, path: Path) -> list[dict[str, str]]:
    write_budget_csv(budget, path)
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_table_adds_up_as_it_is_written(found: list[Budget], tmp_path: Path) -> None:
    table = rows(found[SEEN], tmp_path / "b.csv")
    level, powers, results = 0.0, 0.0, 0
    for k, row in enumerate(table):
        first = k == 0 or row["part"] != table[k - 1]["part"]
        first = first or row["direction"] != table[k - 1]["direction"]
        level, powers = (0.0, 0.0) if first else (level, powers)
        value = float(row["site_faded"])
        match row["does"]:
            case "add":
                level += value
            case "subtract":
                level -= value
            case "summed as power":
                powers += 10 ** (-value / 10)
            case "power sum":
                level = -10 * np.log10(powers)
                assert level == pytest.approx(value, abs=0.001)
            case "comes to":
                results += 1
                assert level == pytest.approx(value, abs=0.001), row["line"]
            case other:
                pytest.fail(other)
    assert results == 23
    assert {row["direction"] for row in table} == {"outbound", "inbound"}
    assert {row["site_id"] for row in table} == {"S0001"}


def test_every_line_has_its_unit_and_source(found: list[Budget], tmp_path: Path) -> None:
    for row in rows(found[SEEN], tmp_path / "b.csv"):
        assert row["unit"] in {"dB", "dBW", "dBi", "dBK", "dB/K", "dBHz", "dBW/m2", "dB m2", "K"}
        assert row["source"]
        assert row["basis"] in {"given", "assumed", "computed", "in part assumed"}


def test_the_editions_are_those_in_use() -> None:
    told = " ".join(text for key, text in english().items() if key.startswith("budget.from."))
    used = " ".join(m.edition for m in METHODS.values())
    for edition in ("P.618-14", "P.676-12", "P.838-3"):
        assert edition in told
        assert edition in used


def test_no_key_of_the_network_file_is_on_the_page(found: list[Budget]) -> None:
    told = " ".join(line.label + " " + line.source for w in found[SEEN].ways for line in w.lines)
    assert keys_in(html.fromstring(page(found[SEEN])).text_content()) == set()
    assert keys_in(told) == set()
    every = " ".join(text for key, text in english().items() if key.startswith("budget."))
    assert keys_in(re.sub(r"\{.*?\}", "", every)) == set()


def test_what_was_tried_is_headed_so(found: list[Budget]) -> None:
    tree = html.fromstring(page(found[UNSERVED]))
    assert "With 1.2 m and 0.02 W, as planned" not in page(found[UNSERVED])
    tried = replace(found[UNSERVED], tried=True)
    assert "With 1.2 m and 0.02 W, tried and not planned" in page(tried)
    assert tree.findtext(".//h1") == "Link budget of S0002"


def test_below_the_horizon_is_told_plainly(found: list[Budget], tmp_path: Path) -> None:
    text = page(found[BELOW])
    (told,) = html.fromstring(text).xpath("//p[@class='off']")
    assert "deg below the horizon here: there is no link, and no budget." in told.text_content()
    assert "nan" not in html.fromstring(text).text_content().lower()
    assert html.fromstring(text).xpath("//table") == []
    assert rows(found[BELOW], tmp_path / "b.csv") == []


def test_a_column_that_is_not_worked_out_has_dashes(found: list[Budget], tmp_path: Path) -> None:
    plan = make_plan(
        Sites.at(np.array([48.0]), np.array([11.0])),
        invented_network(hub={}),
    )
    (budget,) = site_budgets(plan, np.array([0]))
    tree = html.fromstring(page(budget))
    last = [tr.xpath("td")[4].text for tr in tree.xpath("//tr[td]")]
    assert set(last) == {"-"}
    assert "does not place the hub" in tree.text_content()
    assert "not counted" in tree.text_content()
    assert {row["hub_faded"] for row in rows(budget, tmp_path / "b.csv")} == {""}


def test_texts_of_users_are_text(found: list[Budget], tmp_path: Path) -> None:
    for name in HOSTILE_NAMES:
        budget = replace(found[SEEN], name=name, site_id=name, network=name)
        tree = html.fromstring(page(budget))
        assert tree.xpath("//script | //img") == []
        shown = " ".join(tree.findtext(".//h1").split())
        assert shown == " ".join(f"Link budget of {name} {name}".split())
    table = rows(replace(found[SEEN], site_id="=cmd('calc')"), tmp_path / "b.csv")
    assert {row["site_id"] for row in table} == {"'=cmd('calc')"}


def test_files_of_ours_are_known(found: list[Budget], tmp_path: Path) -> None:
    table, sheet, other = (tmp_path / name for name in ("b.csv", "b.html", "other"))
    write_budget_csv(found[SEEN], table)
    write_budget_page(found[SEEN], sheet)
    other.write_text("site_id,lat,lon\n")
    assert is_budget_csv(table)
    assert is_budget_page(sheet)
    assert not any(is_budget_csv(path) for path in (sheet, other, tmp_path, tmp_path / "none"))
    assert not any(is_budget_page(path) for path in (table, other, tmp_path, tmp_path / "none"))
    assert table.read_text("utf-8").startswith(",".join(HEADINGS))


def test_a_share_of_nothing_is_under_the_methods_least(found: list[Budget]) -> None:
    way = replace(found[SEEN].ways[0], hub_pct=0.0, site_pct=0.123456)
    assert budgets.shares(way) == ("", "0.1235 %", "under 0.001 %")


@pytest.mark.browser
def test_the_page_takes_two_sides(browser: Any, found: list[Budget], tmp_path: Path) -> None:
    """With the longest names, too."""
    for budget in (found[SEEN], replace(found[SEEN], name="long " * 30, network="wide " * 30)):
        path = tmp_path / "b.html"
        write_budget_page(budget, path)
        browser.open(path)
        options = {"preferCSSPageSize": True, "printBackground": True}
        data = browser.driver.execute_cdp_cmd("Page.printToPDF", options)["data"]
        pages = PdfReader(io.BytesIO(base64.b64decode(data))).pages
        assert len(pages) == 2
        assert "Outbound, hub to site" in pages[0].extract_text()
        assert "Inbound, site to hub" in pages[1].extract_text()
        assert "How to read it" in pages[0].extract_text()
    assert browser.console() == []
