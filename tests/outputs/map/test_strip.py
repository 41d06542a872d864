"""The plan in short above the map: its counts are the table's, and each shows its sites."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.jobs.opened import open_project
from siteplan.outputs.asbuilt.files import as_plan
from siteplan.outputs.map.payload import payload, write_map
from siteplan.planning.plan import make_plan
from siteplan.results import AsBuilt, Plan
from tests.samples import LIVE, NAMES

SAMPLES = [LIVE / name for name in NAMES]
LAPTOP = {"width": 1366, "height": 768}
PHONE = {"width": 390, "height": 844, "touch": True}
ENTER, SPACE = "\ue007", "\ue00d"
#: The lines, each an element with its items.
ITEMS = "[...document.querySelectorAll('.strip-item')]"


def planned(folder: Path) -> Plan:
    found = open_project(folder)
    sites, network = found.site_list.sites, found.network
    return make_plan(sites, network, around=found.around, with_tables=True)


@pytest.fixture(scope="module", params=SAMPLES, ids=lambda folder: folder.name)
def sample(request: pytest.FixtureRequest) -> Plan:
    return planned(request.param)


@pytest.fixture(scope="module")
def sample_map(sample: Plan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("strip") / "map.html"
    write_map(sample, path)
    return path


def counts(plan: Plan) -> dict[str, int]:
    """Counts of the strip's items, worked out from the table; by the items' words."""
    c = plan.columns
    flags = [set(filter(None, text.split(";"))) for text in c["flags"].tolist()]
    kit = ~np.isnan(c["antenna_m"]) & ~np.isnan(c["buc_w"])
    stops = {"no_fit", "below_horizon", "below_min_elevation", "margin_negative", "blocked",
             "mount_engineered"}  # fmt: skip
    holds = np.array([not f & stops for f in flags]) & kit & (c["margin_db"] > -5e-7)
    sizes = ("antenna_m", "m"), ("buc_w", "W")
    return {
        "served": int(holds.sum()),
        "unserved": int((~holds).sum()),
        **{f"of {x:g} {unit}": int((c[name] == x).sum())
           for name, unit in sizes for x in np.unique(c[name][~np.isnan(c[name])])},
        "without": int(np.isnan(c["antenna_m"]).sum()),
        **{kind.replace("_", " "): int((c["mount"] == kind).sum())
           for kind in set(c["mount"].tolist()) - {""}},
        "to be surveyed in all": int((c["mount_certainty"] == "provisional").sum()),
    }  # fmt: skip


def test_the_strip_counts_what_the_table_holds(sample: Plan) -> None:
    found = payload(sample, "")["verdict"]
    lines = {line["code"]: line["items"] for line in found["lines"]}
    known = counts(sample)
    assert lines["served"][0]["text"] == f"{known.pop('served')} of {len(sample)}"
    assert lines["unserved"][0]["text"].split(" (")[0] == str(known.pop("unserved"))
    told = {}
    for code in ("antennas", "bucs", "mounts"):
        for item in lines[code]:
            count, _, words = item["text"].partition(" ")
            told[words] = int(count)
    assert told == known


@pytest.mark.browser
def test_each_count_shows_its_sites_by_click_and_by_key(browser: Any, sample_map: Path) -> None:
    browser.open(sample_map, **LAPTOP)
    browser.run("siteplan.store.set({table: true})")
    total = browser.run("return siteplan.model.count")
    state = f"return [siteplan.filters.shownCount(), siteplan.table.rows().length,\
 {ITEMS}.filter((b) => b.getAttribute('aria-pressed') === 'true').map((b) => b.textContent)]"
    words = browser.run(f"return {ITEMS}.filter((b) => b.offsetWidth).map((b) => b.textContent)")
    assert len(words) >= 9
    for k, text in enumerate(words):
        shown = int(re.match(r"\d+", text)[0])  # type: ignore[index]
        mine = f"{ITEMS}.filter((b) => b.offsetWidth)[{k}]"
        place = browser.run(f"const r = {mine}.getBoundingClientRect();"
                            "return [r.x + r.width / 2, r.y + r.height / 2]")  # fmt: skip
        browser.click(*place)
        assert browser.run(state) == [shown, shown, [text]]
        browser.keys(SPACE if k % 2 else ENTER)
        assert browser.run(state) == [total, total, []], "a second press shows all again"
        assert browser.run(f"return document.activeElement === {mine}")
    assert browser.console() == []


@pytest.mark.browser
def test_on_a_phone_it_is_a_line_that_opens(browser: Any, sample_map: Path, sample: Plan) -> None:
    browser.open(sample_map, **PHONE)
    high = "return document.getElementById('strip').offsetHeight"
    folded = browser.run(high)
    assert folded <= 46
    known = counts(sample)
    line = "return document.getElementById('strip-open').innerText.trim()"
    short = f"Served {known['served']} of {len(sample)} · Not served {known['unserved']}"
    assert browser.run(line) == short
    browser.run("document.getElementById('strip-open').focus()")
    browser.keys(ENTER)
    assert browser.run(high) > 4 * folded
    size = "const e = document.documentElement; return [e.scrollWidth, e.scrollHeight]"
    assert browser.run(size) == [390, 844], "nothing runs over the screen's edge"
    browser.run("document.querySelector('.strip-unserved .strip-item').focus()")
    browser.keys(ENTER)
    assert browser.run(high) == folded
    assert browser.run("return siteplan.filters.shownCount()") == known["unserved"]
    assert browser.run(line).startswith(f"✓ {known['unserved']} (")
    assert browser.run("return document.activeElement.id") == "strip-open"


@pytest.mark.browser
def test_on_a_phone_a_long_caution_leaves_the_page_as_high_as_the_screen(
    browser: Any, worked_plan: Plan, tmp_path: Path
) -> None:
    caution = "The hub stands in heavy rain: its rain takes a part of every site's outage. " * 3
    facts = replace(worked_plan.facts, cautions=(caution,))
    write_map(replace(worked_plan, facts=facts), tmp_path / "map.html")
    browser.open(tmp_path / "map.html", **PHONE)
    browser.run("document.getElementById('strip-open').click()")
    size = "const e = document.documentElement; return [e.scrollWidth, e.scrollHeight]"
    assert browser.run(size) == [390, 844]


@pytest.mark.browser
def test_a_link_brings_what_is_asked_back(browser: Any, sample_map: Path) -> None:
    browser.open(sample_map, **LAPTOP)
    browser.run("document.querySelector('.strip-bucs .strip-item').click()")
    browser.run("document.querySelector('.strip-mounts .strip-item:last-child').click()")
    shown = browser.run("return siteplan.filters.sites()")
    link = browser.run("return siteplan.hash.text()")
    browser.run("siteplan.filters.clear()")
    browser.run("window.location.hash = arguments[0]", f"{link}&again=1")
    browser.settle()
    assert browser.run("return siteplan.filters.sites()") == shown
    pressed = browser.run(f"return {ITEMS}.filter((b) => b.ariaPressed === 'true').length")
    assert pressed == 2


@pytest.fixture
def hostile(worked_plan: Plan) -> Plan:
    """A plan whose strip holds a name that is markup."""
    verdict = worked_plan.facts.verdict
    assert verdict is not None
    item = replace(verdict.lines[1].items[0], text="1 (<img src=x onerror=alert(1)>)")
    line = replace(verdict.lines[1], items=(item,))
    bad = replace(verdict, sites=9000, lines=(verdict.lines[0], line, *verdict.lines[2:]))
    return replace(worked_plan, facts=replace(worked_plan.facts, verdict=bad))


@pytest.mark.browser
def test_texts_of_users_and_maps_of_some_sites(browser: Any, hostile: Plan, tmp_path: Path) -> None:
    write_map(hostile, tmp_path / "map.html")
    browser.open(tmp_path / "map.html", **LAPTOP)
    assert browser.run("return document.querySelector('#strip img')") is None
    told = browser.run("return document.getElementById('strip').innerText")
    assert "<img src=x onerror=alert(1)>" in told
    assert "Counted over all 9000 sites of the plan; the map shows 60 of them." in told
    assert browser.console() == []


def test_a_map_of_what_was_built_has_no_strip(worked_plan: Plan) -> None:
    """It opens on verdicts of another kind, and shows returned sites alone."""
    built = AsBuilt({}, worked_plan, worked_plan, (), 0, ())
    assert payload(worked_plan, "")["verdict"] is not None
    assert payload(as_plan(built), "")["verdict"] is None
