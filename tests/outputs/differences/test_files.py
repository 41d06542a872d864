"""The table and the page of what lies between two plans, and what the screen says of it."""

from __future__ import annotations

import csv
import re
from dataclasses import replace
from pathlib import Path

import pytest

from siteplan.answers.differences import (
    WHATS,
    Change,
    Differences,
    InputChange,
    PlanNamed,
    SiteChange,
    SiteMoved,
)
from siteplan.outputs.console import show_differences
from siteplan.outputs.differences import words
from siteplan.outputs.differences.files import HEADINGS, MOST_SITES, page, write_differences
from siteplan.planning.differences.causes import COMPARED
from siteplan.planning.differences.groups import GROUPS, METHOD

KIT = SiteChange(
    "K1",
    "Kit",
    (
        Change("antenna_m", "1.2", "1.8", ("satellite", "rules")),
        Change("margin_class", "1 to 3 dB", "3 to 6 dB", ("satellite",)),
        Change("margin_db", "2.1", "3.4", ("satellite", "rules")),
    ),
    1.25,
    (
        ((METHOD,), 0.0),
        (("satellite",), 1.5),
        (("carriers", "regulation"), 0.05),
        (("rules",), -0.3),
    ),
)
LOST = SiteChange(
    "L1",
    "=Lost",
    (
        Change("service", "served", "not served", ("place",)),
        Change("flag", "", "blocked", ("place",)),
        Change("buc_w", "2", "", ("place",)),
        Change("margin_db", "1", "", ("place",)),
    ),
    service="lost",
)
TIGHT = SiteChange(
    "M1", "", (Change("margin_db", "2.0", "1.9", ("rules",)),), -0.06, ((("rules",), -0.06),)
)
FOUND = Differences(
    old=PlanNamed("spring", "Net", "2026-03-01", "0.1.0"),
    new=PlanNamed("autumn", "Net <b>", "2026-09-01", "0.2.0"),
    told=("The old plan was made by version 0.1.0, the new one by version 0.2.0.",),
    by_results=False,
    inputs=(
        InputChange("rules", "[network] availability_pct", "99.5", "99.9"),
        InputChange("place", "sites: lat", "", "", 1),
    ),
    added=(SiteMoved("N1", "New"),),
    gone=(SiteMoved("G1", "Gone <i>", "rejected: no <lat>"),),
    common=9,
    sites=(LOST, KIT, TIGHT),
)


def rows(folder: Path) -> list[dict[str, str]]:
    with (folder / "differences.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_table_has_a_row_a_site_and_change(tmp_path: Path) -> None:
    write_differences(FOUND, tmp_path)
    found = rows(tmp_path)
    assert [(r["site_id"], r["what"], r["from"], r["to"], r["cause"]) for r in found] == [
        ("G1", "gone", "", "", "rejected: no <lat>"),
        ("N1", "added", "", "", ""),
        ("L1", "service", "served", "not served", "place"),
        ("L1", "flag", "", "blocked", "place"),
        ("L1", "buc_w", "2", "", "place"),
        ("L1", "margin_db", "1", "", "place"),
        ("K1", "antenna_m", "1.2", "1.8", "together: satellite, rules"),
        ("K1", "margin_class", "1 to 3 dB", "3 to 6 dB", "satellite"),
        ("K1", "margin_db", "2.1", "3.4", "satellite, rules"),
        ("M1", "margin_db", "2.0", "1.9", "rules"),
    ]
    assert found[2]["name"] == "'=Lost"


def test_shares_stand_beside_the_margin_alone(tmp_path: Path) -> None:
    write_differences(FOUND, tmp_path)
    shares = {r["what"]: r for r in rows(tmp_path) if r["site_id"] == "K1"}
    heads = list(shares["margin_db"])[len(HEADINGS) :]
    assert heads == [*(f"{group}_db" for group in GROUPS), "together_db", "method_or_version_db"]
    assert all(shares["antenna_m"][head] == "" for head in ("margin_change_db", *heads))
    told = {head: float(shares["margin_db"][head]) for head in heads}
    assert {k: v for k, v in told.items() if v} == {
        "satellite_db": 1.5, "together_db": 0.05, "rules_db": -0.3,
    }  # fmt: skip
    assert float(shares["margin_db"]["margin_change_db"]) == pytest.approx(
        sum(told.values()), abs=1e-6
    )


def test_what_nobody_knows_is_blank(tmp_path: Path) -> None:
    """Without inputs no cause is told, and a margin that is gone has no change."""
    unknown = replace(
        TIGHT, changes=(Change("margin_db", "2", "1.9"),), margin_by_group=(((), -0.1),)
    )
    write_differences(replace(FOUND, sites=(unknown, LOST), by_results=True), tmp_path)
    found = rows(tmp_path)
    margins = [r for r in found if r["what"] == "margin_db"]
    assert [(r["cause"], r["margin_change_db"], r["rules_db"]) for r in margins] == [
        ("", "-0.060000", ""),
        ("place", "", ""),
    ]
    text = page(replace(FOUND, sites=(unknown,), by_results=True))
    assert "Shares of the change" not in text
    assert "What brought it" not in text


def body(text: str) -> str:
    """Return the words of a page."""
    return " ".join(re.sub(r"<[^>]+>", " ", text.split("<body>")[1]).split())


def test_the_page_tells_what_matters_first() -> None:
    told = body(page(FOUND))
    places = [told.index(words) for words in (
        "What changed from spring to autumn",
        "The old plan was made by version 0.1.0",
        "lost service 1",
        "What brought it",
        "Inputs that differ",
        "Lost service: 1",
        "Gone: 1",
        "Added: 1",
        "Kit to exchange: 1",
        "Margin alone: 1",
        "Mind:",
    )]  # fmt: skip
    assert places == sorted(places)
    assert "Antenna: 1.80 m instead of 1.20 m (together: satellite, rules)" in told
    assert "BUC: none instead of 2.0 W (place)" in told
    assert "New flag: blocked (An obstacle or the terrain stands in the beam) (place)" in told
    assert (
        "satellite +1.50 dB; together: carriers, regulation +0.05 dB; rules \u22120.30 dB" in told
    )
    assert "sites: lat other at 1 site" in told


def test_the_page_needs_nothing_else_and_runs_nothing() -> None:
    text = page(FOUND)
    assert "<i>" not in text.split("<body>")[1].replace("<i></i>", "")
    assert "Gone &lt;i&gt;" in text
    assert "Net &lt;b&gt;" in text
    assert not re.search(r"<script|<img|<link [^>]*href=\"(?!data:,)|url\(|https?://", text)
    assert not re.search(r"\sstyle=|\son\w+=", text.split("<body>")[1])


def test_a_long_list_says_where_the_rest_stands() -> None:
    many = tuple(replace(TIGHT, site_id=f"M{k}") for k in range(MOST_SITES + 3))
    text = body(page(replace(FOUND, sites=many)))
    assert f"Margin alone: {MOST_SITES + 3}" in text
    assert "3 more stand in differences.csv." in text
    assert f"M{MOST_SITES - 1}" in text
    assert f"M{MOST_SITES} " not in text


def test_words_know_every_group_and_every_kind_of_change() -> None:
    assert (*GROUPS, "together", METHOD) == words.COLUMNS
    assert words.METHOD == METHOD
    assert {*COMPARED, "flag", "margin_db"} == set(WHATS)
    assert (*words.KINDS, "margin_db") == WHATS


def test_the_screen_says_it_in_short(capsys: pytest.CaptureFixture[str]) -> None:
    show_differences(FOUND, "output/autumn/compared")
    shown = " ".join(capsys.readouterr().out.split())
    assert "From spring (Net, 2026-03-01, siteplan 0.1.0) to autumn" in shown
    assert "The old plan was made by version 0.1.0" in shown
    assert "9 in both plans, 1 lost service, 2 other antenna or BUC" in shown
    assert "together: satellite, rules" in shown
    assert "new flag blocked (place)" in shown
    assert "Inputs that differ" in shown
    assert "Written to output/autumn/compared" in shown


def test_the_screen_says_that_nothing_changed(capsys: pytest.CaptureFixture[str]) -> None:
    same = replace(FOUND, told=(), inputs=(), added=(), gone=(), sites=())
    show_differences(same, "out")
    assert "Nothing changed: 9 sites come to the same." in capsys.readouterr().out
    assert "Nothing changed: every site has the same kit" in body(page(same))
