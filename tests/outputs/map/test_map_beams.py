"""The map of a plan with many beams: its what-if, its hubs and its layer, against the plan."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.outputs.map.payload import payload, write_map
from siteplan.planning.plan import make_plan
from siteplan.results import Plan
from tests.planning.beams.two import EAST, WEST, sites_and_network, with_beams

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def plan() -> Plan:
    sites, network = sites_and_network()
    today = dt.date(2026, 1, 1)
    return make_plan(sites, with_beams(network, WEST, EAST), today=today, with_tables=True)


@pytest.fixture(scope="module")
def page(browser: Any, plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> Any:
    path: Path = tmp_path_factory.mktemp("beams") / "map.html"
    write_map(plan, path)
    browser.open(path, width=1366, height=768)
    return browser


def margins(browser: Any) -> np.ndarray[Any, Any]:
    found = browser.run(
        "return [...Array(siteplan.model.count).keys()]"
        ".map((i) => siteplan.live.value('margin_db', i))"
    )
    return np.array([np.nan if v is None else v for v in found], dtype=float)


@pytest.mark.parametrize("target", [99.0, 99.7, 99.95])
def test_another_target_is_what_a_plan_of_it_gives_in_every_beam(
    page: Any, plan: Plan, target: float
) -> None:
    """Each site by the curves of its own hub, which see other rain."""
    page.run("siteplan.store.set({target: arguments[0]})", target)
    page.settle()
    found = margins(page)
    page.run("siteplan.store.set({target: null})")
    sites = sites_and_network()[0]
    c = plan.columns
    asked = replace(
        sites, availability_pct=np.full(len(plan), target), beam=c["beam"],
        fixed_antenna_m=c["tried_antenna_m"], fixed_buc_w=c["tried_buc_w"],
    )  # fmt: skip
    again = make_plan(asked, plan.network).columns
    for name in ("west", "east"):
        here = (c["beam"] == name) & ~np.isnan(c["margin_db"])
        assert here.sum() > 8
        np.testing.assert_allclose(found[here], again["margin_db"][here], atol=0.1)


def test_every_hub_is_there_once(page: Any) -> None:
    hubs = page.run("return [...new Set(siteplan.model.beams.each.map((b) => b.hub.lat))].length")
    assert hubs == 2
    assert page.console() == []


def test_a_plan_with_one_beam_carries_no_table_of_beams(plan: Plan) -> None:
    sites, network = sites_and_network()
    assert "beams" in payload(plan, "x")
    assert "beams" not in payload(make_plan(sites, network), "x")
