"""The report on paper, in a browser: two to six pages, no heading alone, nothing cut off."""

from __future__ import annotations

import base64
import io
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pypdf import PdfReader

from siteplan.answers import Remedy
from siteplan.outputs.report.files import write_report
from siteplan.planning.report.composed import composed
from siteplan.results import Plan
from tests.outputs.report.test_report import HEADINGS

#: Paper [inch]: ISO 216 and ANSI.
PAPERS = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}
LONG = "Substation of a very long name beside the river " * 4


def printed(browser: Any, path: Path, paper: str) -> PdfReader:
    """Return a page as Chromium prints it on a paper."""
    browser.open(path)
    width, height = PAPERS[paper]
    options = {
        "preferCSSPageSize": True, "printBackground": True,
        "paperWidth": width, "paperHeight": height,
    }  # fmt: skip
    data = browser.driver.execute_cdp_cmd("Page.printToPDF", options)["data"]
    return PdfReader(io.BytesIO(base64.b64decode(data)))


def longest(plan: Plan) -> Plan:
    """Return a plan with the longest names and reasons, nobody served, a remedy a site."""
    n = len(plan)
    columns = dict(plan.columns)
    columns["name"] = np.array([f"{LONG}{k}" for k in range(n)], dtype=object)
    columns["group"] = np.array(["محافظة الشمال البعيدة " * 4] * n, dtype=object)
    reason = (
        "Nothing in the catalogue meets the target with the reserve: the nearest, 2.4 m with 3 W,"
        " is 12.5 dB short outbound because of rain at the hub. Power control at the hub alone"
        " would not do: a hub in a drier place, a lower target, or a larger antenna."
    )
    columns["no_fit_reason"] = np.array([reason] * n, dtype=object)
    columns["flags"] = np.array(["no_fit"] * n, dtype=object)
    columns["antenna_m"] = columns["buc_w"] = np.full(n, np.nan)
    change = "the next larger antenna of the catalogue with the next larger BUC"
    remedies = tuple(Remedy(s, "kit", change, 4.5, 1.0, True) for s in columns["site_id"])
    facts = replace(plan.facts, name=LONG, remedies=remedies, cautions=(reason, reason))
    return replace(plan, columns=columns, facts=facts)


def as_it_is(plan: Plan) -> Plan:
    return plan


def one(plan: Plan) -> Plan:
    """Return the plan of its first site."""
    return replace(plan, columns={k: v[:1] for k, v in plan.columns.items()}, tables={})


@pytest.mark.browser
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("change", [as_it_is, longest, one])
def test_two_to_six_pages_and_no_heading_alone(
    browser: Any,
    worked_plan: Plan,
    tmp_path: Path,
    change: Callable[[Plan], Plan],
    paper: str,
) -> None:
    plan = change(worked_plan)
    write_report(plan, composed(plan), tmp_path / "report.html")
    reader = printed(browser, tmp_path / "report.html", paper)
    assert 2 <= len(reader.pages) <= 6
    wide, high = (float(x) / 72 for x in reader.pages[0].mediabox[2:])
    assert (wide, high) == pytest.approx(PAPERS[paper], abs=0.02)
    texts = [page.extract_text() for page in reader.pages]
    for heading in HEADINGS:
        assert any(heading in text for text in texts)
    for number, text in enumerate(texts, start=1):
        lines = [line.strip() for line in text.splitlines() if line.strip()]
        assert f"{number} / {len(texts)}" in lines
        body = [line for line in lines if line != f"{number} / {len(texts)}"]
        assert body[-1] not in HEADINGS, body[-3:]


@pytest.mark.browser
@pytest.mark.parametrize("width", [390, 1366])
def test_nothing_scrolls_sideways_and_the_console_is_empty(
    browser: Any, worked_plan: Plan, tmp_path: Path, width: int
) -> None:
    plan = longest(worked_plan)
    write_report(plan, composed(plan), tmp_path / "report.html")
    browser.open(tmp_path / "report.html", width=width, height=800)
    assert browser.run("return document.documentElement.scrollWidth") <= width
    assert browser.run("return document.styleSheets[0].cssRules.length") > 40
    assert browser.console() == []
    asked = [url for url in browser.requests() if not url.startswith(("file:", "data:"))]
    assert asked == []
