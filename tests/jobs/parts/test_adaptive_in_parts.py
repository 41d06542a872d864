"""A sample with adaptive carriers: in parts, as a site, a budget, on the map, as built."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import numpy as np
import pytest

from siteplan.api import budget_project, plan_one, plan_project
from siteplan.jobs.parts import spread
from siteplan.outputs.console.plan import coding_line
from siteplan.outputs.console.site import show_site
from siteplan.outputs.map.card import card_groups
from siteplan.results import Plan
from tests.jobs.parts.accepting import ROUNDED_DB, as_expected
from tests.samples import FROZEN

SAMPLE = FROZEN / "river_clinics"
KEYS = "adaptive = true\n"
QUIET = {"with_map": False, "with_sheets": False}
FIELDS = [
    f"{way}_{name}"
    for way in ("outbound", "inbound")
    for name in (
        *("target_modcod", "clear_modcod", "target_kbit_s", "clear_kbit_s"),
        *("mean_kbit_s", "no_service_pct"),
    )
]


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sample") / "river"
    shutil.copytree(SAMPLE, folder)
    path = folder / "network.toml"
    text = path.read_text(encoding="utf-8")
    for way in ("outbound", "inbound"):
        assert f"\n[{way}]\n" in text
        text = text.replace(f"\n[{way}]\n", f"\n[{way}]\n{KEYS}")
    path.write_text(text, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def whole(project: Path) -> Plan:
    plan = plan_project(project, project.parent / "whole", **QUIET).plan
    assert plan is not None
    return plan


def test_parts_give_the_whole_bit_for_bit(
    project: Path, whole: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    again = plan_project(project, tmp_path / "again", **QUIET).summary
    monkeypatch.setattr(spread, "PART_SITES", 25)
    parts = plan_project(project, tmp_path / "parts", workers=0, tables=("csv",), **QUIET)
    assert parts.plan is not None
    for name in FIELDS:
        np.testing.assert_array_equal(parts.plan.columns[name], whole.columns[name], err_msg=name)
    assert parts.summary["coding"] == again["coding"]
    assert parts.summary["methods"] == again["methods"]
    assert "adaptive coding" in again["methods"]
    pages = [(tmp_path / f / "report.html").read_text("utf-8") for f in ("again", "parts")]
    (one, other) = (re.findall(r"Adaptive coding: while[^<]*", text) for text in pages)
    assert one == other
    assert len(one) == 1


def test_the_summary_has_the_medians(whole: Plan, project: Path, tmp_path: Path) -> None:
    """To the four digits that figures are counted with."""
    summary = plan_project(project, tmp_path / "out", **QUIET).summary
    line = coding_line(summary["coding"])
    assert line.startswith("Adaptive coding at the median site: outbound ")
    assert "with QPSK 3/4 alone), inbound " in line
    assert coding_line({}) == ""
    for way, found in summary["coding"].items():
        for name in ("target_kbit_s", "clear_kbit_s", "mean_kbit_s", "no_service_pct"):
            values = whole.columns[f"{way}_{name}"]
            assert found[f"{name}_median"] == pytest.approx(np.nanmedian(values), rel=6e-4)
        assert sum(found["target_modcods"].values()) == np.count_nonzero(
            whole.columns[f"{way}_target_modcod"] != ""
        )


def test_orders_of_size(whole: Plan) -> None:
    """QPSK 3/4 carries 1.487473 bit a symbol (EN 302 307-1 table 13); the mean over twice that."""
    c = whole.columns
    fixed = 1.487473
    bits = {
        name: np.nanmedian(c[f"outbound_{name}_kbit_s"])
        / (whole.network.outbound.symbol_rate_msps * 1e3 * 0.95)
        for name in ("target", "clear", "mean")
    }
    assert fixed < bits["target"] < bits["mean"] < bits["clear"]
    assert bits["mean"] / fixed > 2


def test_budgets_close_on_the_margins_of_the_plan(project: Path, whole: Plan) -> None:
    i = int(np.flatnonzero(~np.isnan(whole.columns["outbound_mean_kbit_s"]))[0])
    budget = budget_project(project, str(whole.columns["site_id"][i]))
    assert budget.margin_db == pytest.approx(whole.columns["margin_db"][i], abs=1e-9)


def test_one_site_shows_its_rates(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = plan_one("3 06 S", "60 01 W", network=project / "network.toml")
    show_site(found)
    out = capsys.readouterr().out
    assert "Adaptive coding" in out
    rate = found.columns["outbound_mean_kbit_s"][0]
    (line,) = (x for x in out.splitlines() if x.strip().startswith("Outbound rate on average"))
    assert line.split()[4:] == [f"{rate:.1f}", "kbit/s"]


def test_card_and_what_if(project: Path, whole: Plan, tmp_path: Path) -> None:
    """The card tells the rates under a heading that folds; the what-if's margins stay."""
    (heading,) = (g for g in card_groups(whole.columns) if g[0] == "More: coding")
    assert list(heading[1]) == FIELDS
    with_map = {**QUIET, "with_map": True}
    one, other = (
        plan_project(folder, tmp_path / name, **with_map).plan
        for name, folder in (("plain", SAMPLE), ("adaptive", project))
    )
    assert one is not None
    assert other is not None
    assert one.tables.keys() == other.tables.keys()
    for name, values in one.tables.items():
        np.testing.assert_array_equal(values, other.tables[name], err_msg=name)
    for name in FIELDS:  # the what-if's margins give what is worked out without them
        if name.endswith("modcod"):
            np.testing.assert_array_equal(other.columns[name], whole.columns[name])
        else:
            np.testing.assert_allclose(other.columns[name], whole.columns[name], rtol=1e-9)


def test_a_site_is_accepted_as_any(project: Path, whole: Plan) -> None:
    """What the crew measures is the carrier's level: the MODCOD of the moment changes nothing."""
    c = whole.columns
    i = int(np.flatnonzero(c["kit_source"] == "picked")[0])
    found = as_expected(project, whole, i).columns
    assert found["c_n_difference_db"][0] == pytest.approx(0, abs=ROUNDED_DB)
