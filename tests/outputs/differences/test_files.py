"""The table and the page of what lies between two plans, and what the screen says of it."""

from __future__ import annotations

import csv
import math
import re
from dataclasses import replace
from pathlib import Path

import pytest

from siteplan.answers.differences import (
    SUMS,
    WHATS,
    Change,
    Differences,
    InputChange,
    PlanNamed,
    SiteChange,
    SiteMoved,
    TotalChange,
)
from siteplan.outputs.console import show_differences
from siteplan.outputs.differences import totals, words
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
    totals=(
        TotalChange("cost", "", "", math.nan, math.nan, 1250.0, 51000.5),
        TotalChange("spares", "", "", math.nan, math.nan, 50.0, 60.0),
        TotalChange("leased_mhz", "", "MHz", 7.5, 8.25),
        TotalChange("antenna", "1.20 m", "pieces", 3, 0, 900, 0),
        TotalChange("modem", "", "pieces", 3, 3, 300, 600),
        TotalChange("ballast", "non_penetrating", "kg", 0, 1400),
        TotalChange("installation", "pole", "sites", 3, 4, 30, 40),
    ),
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
        "What it comes to",
        "What brought it",
        "Inputs that differ",
        "Lost service: 1",
        "Gone: 1",
        "Added: 1",
        "Other kit planned: 1",
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
    assert tuple(totals.SUMS) == SUMS


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
    same = replace(FOUND, told=(), inputs=(), added=(), gone=(), sites=(), totals=())
    show_differences(same, "out")
    assert "Nothing changed: 9 sites come to the same." in capsys.readouterr().out
    assert "Nothing changed: every site has the same kit" in body(page(same))
    assert "and what is to be ordered and what it costs is the same." in body(page(same))
    assert "ordered" not in body(page(replace(same, ordered=False)))


def test_another_cost_alone_is_a_change(capsys: pytest.CaptureFixture[str]) -> None:
    """Who reads that nothing changed orders for the old money."""
    dearer = replace(FOUND, added=(), gone=(), sites=())
    assert not dearer.is_empty
    show_differences(dearer, "out")
    shown = capsys.readouterr().out
    assert "Nothing changed" not in shown
    assert "No site changed: 9 come to the same. What they cost or take did." in shown
    assert "Nothing changed" not in page(dearer)


def test_totals_stand_on_page_screen_and_in_a_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write_differences(FOUND, tmp_path)
    with (tmp_path / "differences_totals.csv").open(encoding="utf-8", newline="") as file:
        found = list(csv.reader(file))
    assert tuple(found[0]) == totals.HEADINGS
    assert found[1] == ["cost", "", "", "", "", "1250.00", "51000.50"]
    assert found[3:5] == [
        ["leased_mhz", "", "MHz", "7.5", "8.25", "", ""],
        ["antenna", "1.20 m", "pieces", "3", "0", "900.00", "0.00"],
    ]
    assert found[6] == ["ballast", "non_penetrating", "kg", "0", "1400", "", ""]
    told = body(page(FOUND)).replace("\xa0", " ")
    assert "Cost, spares included 1 250.00 51 000.50 +49 750.50" in told
    assert "Antenna 1.20 m 3 pieces 0 pieces \u22123 900.00 0.00 \u2212900.00" in told
    assert "Modem 3 pieces 3 pieces 300.00 600.00 +300.00" in told
    assert "Ballast (non penetrating) 0 kg 1400 kg +1400" in told
    show_differences(FOUND, "out")
    shown = " ".join(capsys.readouterr().out.replace("\xa0", " ").split())
    assert (
        "Cost, spares included: 51 000.50 instead of 1 250.00 (+49 750.50); Leased bandwidth:"
        " 8.25 MHz instead of 7.5. To order: antenna 1.20 m: 0 instead of 3; ballast (non"
        " penetrating): 1400 kg instead of 0." in shown
    )


def test_without_prices_there_are_no_columns_of_cost() -> None:
    bare = replace(FOUND, totals=(TotalChange("antenna", "1.20 m", "pieces", 3, 0),))
    heads, (row,) = totals.table(bare)
    assert (heads, row) == (totals.HEADS, ("Antenna 1.20 m", "3 pieces", "0 pieces", "\u22123"))


def test_a_long_order_says_where_the_rest_stands() -> None:
    sizes = range(totals.MOST_KINDS + 2)
    many = tuple(TotalChange("antenna", f"{k}.00 m", "pieces", k + 1, 0) for k in sizes)
    (line,) = totals.lines(replace(FOUND, totals=many))
    assert line.endswith("; and 2 more in differences_totals.csv.")


def test_installed_kit_that_goes_is_apart_from_kit_that_nobody_bought() -> None:
    """Sites of plans that are not built have nothing to exchange."""
    kinds = (("K1", ""), ("K2", "old"), ("K3", "new"))
    text = body(page(replace(FOUND, sites=tuple(
        replace(KIT, site_id=name, stood=stood) for name, stood in kinds
    ))))  # fmt: skip
    for heading, name in (("Installed kit exchanged: 1", "K2"), ("Other kit planned: 1", "K1"),
                          ("Other kit installed than planned: 1", "K3")):  # fmt: skip
        assert re.search(rf"{heading} Site What changed, and its cause .*? {name} Kit", text)
    assert "Kit to exchange" not in text
