"""The report says what the table says, for every kind of network, and holds nothing but itself."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import html

from siteplan.answers import Bill, BillLine, KindSet, Remedy
from siteplan.messages import english
from siteplan.outputs.report.blocks import Shown
from siteplan.outputs.report.files import page, write_report
from siteplan.outputs.report.sections import SECTIONS
from siteplan.outputs.report.sections.methods import methods
from siteplan.planning.report.composed import WORST, composed
from siteplan.results import Plan
from tests.outputs.test_on_paper import keys_in

HEADINGS = [
    "Where the sites are",
    "Sites that are not served, or only just",
    "Bill of quantities",
    "How the sites are spread",
    "Fewest kinds of kit",
    "The hub",
    "Capacity and lease",
    "What it would take",
    "How sure",
    "Risks, and what to do",
    "Assumed, for nobody gave it",
    "Methods",
    "Cautions",
    "Signatures",
]


def read(plan: Plan) -> Any:
    """Return the report of a plan as a tree."""
    return html.fromstring(page(plan, composed(plan)))


def text_of(tree: Any) -> str:
    """Return what a reader reads, on one line."""
    for style in tree.xpath("//style"):
        style.text = ""
    return " ".join(tree.text_content().split())


def table_under(tree: Any, heading: str) -> list[list[str]]:
    """Return the cells of the first table of a section."""
    (section,) = tree.xpath(f"//section[h2='{heading}']")
    rows = section.xpath(".//table")[0].xpath(".//tr")
    return [[" ".join(cell.text_content().split()) for cell in row] for row in rows]


@pytest.fixture(scope="module")
def tree(worked_plan: Plan) -> Any:
    return read(worked_plan)


def test_one_function_a_section_in_the_order_of_the_list(worked_plan: Plan, tree: Any) -> None:
    shown = Shown(worked_plan, composed(worked_plan))
    made = [section(shown) for section in SECTIONS]
    assert [s.heading for s in made if s and s.heading] == HEADINGS
    assert tree.xpath("//h2/text()") == HEADINGS


def test_counts_equal_the_tables(worked_plan: Plan, tree: Any) -> None:
    c = worked_plan.columns
    text = text_of(tree)
    report = composed(worked_plan)
    assert report.sites == len(worked_plan)
    for name, unit in (("antenna_m", "m"), ("buc_w", "W")):
        for size, count in Counter(c[name][~np.isnan(c[name])].tolist()).items():
            assert f"{count} × {size:g} {unit}" in text
    rows = table_under(tree, "How the sites are spread")
    pairs = Counter(zip(c["antenna_m"].tolist(), c["buc_w"].tolist(), strict=True))
    for row in rows[1:-1]:
        for head, cell in zip(rows[0][1:-1], row[1:-1], strict=True):
            pair = float(row[0].split()[0]), float(head.split()[1])
            assert int(cell or 0) == pairs[pair]
    kit = ~(np.isnan(c["antenna_m"]) | np.isnan(c["buc_w"]))
    assert int(rows[-1][-1]) == kit.sum()
    legend = tree.xpath("//span[@class='key']/b/text()")
    assert sum(map(int, legend)) == len(worked_plan)


def test_it_asks_for_nothing_and_runs_nothing(tree: Any, worked_plan: Plan) -> None:
    text = page(worked_plan, composed(worked_plan))
    assert not tree.xpath("//script | //iframe | //object | //img | //*[@style]")
    assert "//" not in re.sub(r"<meta[^>]*>", "", text).replace("*/", "").replace("/*", "")
    assert not tree.xpath("//*[@*[starts-with(name(), 'on')]]")
    assert "@font-face" not in text
    (policy,) = tree.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")
    assert "default-src 'none'" in policy
    assert "script-src" not in policy


def test_words_are_plain(tree: Any) -> None:
    text = text_of(tree)
    assert keys_in(text) == set()
    assert not set("€$£¥") & set(text)
    assert not re.search(r"\bnan\b|\bNone\b", text)


def test_texts_of_users_are_text(
    worked_plan: Plan, hostile_names: tuple[str, ...], tree: Any
) -> None:
    n = len(worked_plan)
    names = np.array([hostile_names[k % len(hostile_names)] for k in range(n)], dtype=object)
    columns = {**worked_plan.columns, "name": names, "group": names, "site_id": names}
    columns["flags"] = np.full(n, "blocked;coordinate_doubt", dtype=object)
    facts = replace(worked_plan.facts, name=hostile_names[0], source=hostile_names[1])
    hostile = read(replace(worked_plan, columns=columns, facts=facts))
    assert not hostile.xpath("//script | //img")
    assert hostile.findtext(".//title") == f"{hostile_names[0]}: report"
    assert hostile.findtext(".//h1/bdi") == hostile_names[0]
    assert hostile_names[5] in hostile.xpath("//td//bdi/text()")
    assert {b.tag for b in hostile.iter()} <= {t.tag for t in tree.iter()} | {"circle"}


def test_nobody_is_served(worked_plan: Plan) -> None:
    n = len(worked_plan)
    columns = {
        name: np.full(n, np.nan) if v.dtype == float and name not in ("lat", "lon") else v
        for name, v in worked_plan.columns.items()
    }
    columns |= {
        k: np.full(n, "", dtype=object) for k in ("mount", "mount_certainty", "cable_class")
    }
    columns["flags"] = np.full(n, "below_horizon", dtype=object)
    facts = replace(worked_plan.facts, bill=None)
    text = text_of(read(replace(worked_plan, columns=columns, facts=facts)))
    assert f"None of the {n} sites is served as planned." in text
    assert "Nothing to order: no site gets new kit." in text
    assert f"{n} sites without: the satellite is below the horizon." in text
    assert "none, for no site gets kit" in text


def test_one_site(worked_plan: Plan) -> None:
    columns = {name: values[:1] for name, values in worked_plan.columns.items()}
    columns["flags"] = np.array([""], dtype=object)
    columns["antenna_m"], columns["buc_w"] = np.array([1.2]), np.array([2.0])
    text = text_of(read(replace(worked_plan, columns=columns, tables={})))
    assert "The site is served as planned." in text
    columns["flags"] = np.array(["blocked"], dtype=object)
    text = text_of(read(replace(worked_plan, columns=columns, tables={})))
    assert "The site is not served as planned." in text


def test_answers_are_shown_where_they_are_filled(worked_plan: Plan) -> None:
    report = composed(worked_plan)
    bad = [case.site_id for case in report.cases]
    assert bad
    line = BillLine("antenna", "1.2 m", "pieces", 3, float("nan"), 1, 4, "AN-12", 150.0, 600.0)
    facts = replace(
        worked_plan.facts,
        fewest=(KindSet(2, ((1.2, 2.0), (1.8, 3.0)), (5, 4), 9, 11, 15.8, exact=False),),
        remedies=(
            Remedy(
                bad[0],
                "antenna",
                "an antenna of 3.7 m",
                4.25,
                1.5,
                True,
                3.7,
                4.0,
                (),
                "pole",
                True,
                "non_penetrating",
            ),
            Remedy(bad[0], "target", "a target of 99 %", 2.0, -0.5, False),
            Remedy(
                bad[1],
                "modcod",
                "a MODCOD",
                1.0,
                0.5,
                True,
                1.8,
                4.0,
                (("outbound", "modcod", "QPSK 1/2"),),
            ),
        ),
        bill=Bill((line,), priced=True, total=600.0, sites=len(worked_plan)),
    )
    tree = read(replace(worked_plan, facts=facts))
    text = text_of(tree)
    assert "an antenna of 3.7 m: 4.2 dB more" in text
    assert table_under(tree, "What it would take")[1:] == [
        ["an antenna of 3.7 m", "the site alone", "1", "1", "4.2 dB"],
        ["a MODCOD", "for the whole network: plan anew", "1", "1", "1.0 dB"],
        ["a target of 99 %", "the site alone", "1", "0", "2.0 dB"],
    ]
    assert "4.2 dB more; on a pole instead of a roof frame, to be surveyed" in text
    assert "a MODCOD: 1.0 dB more; for the whole network: plan anew" in text
    (section,) = tree.xpath("//section[h2='What it would take']")
    told = section.text_content()
    assert told.count("at 1 of these sites it would: plan anew, then look at the mount.") == 1
    assert told.count("changes kit and margins of other sites as well") == 1
    assert table_under(tree, "Fewest kinds of kit")[1] == [
        "2", "1.2 m with 2 W (5), 1.8 m with 3 W (4); near the best, not proven", "9 of 11",
        "15.8 m2",
    ]  # fmt: skip
    assert table_under(tree, "Bill of quantities")[1] == [
        "antenna", "1.2 m", "AN-12", "3", "", "1", "4", "pieces", "150", "600",
    ]  # fmt: skip
    assert "In all, spares included: 600." in text
    assert "unit of the prices given" in text


def test_what_touches_the_site_alone_is_told_without_more(worked_plan: Plan) -> None:
    """Nothing on mounts where no antenna is changed, nor on the network where it is left alone."""
    site = composed(worked_plan).cases[0].site_id
    remedies = (Remedy(site, "target", "a target of 99 %", 2.0, 0.5, True, 1.8, 4.0),)
    tree = read(replace(worked_plan, facts=replace(worked_plan.facts, remedies=remedies)))
    (section,) = tree.xpath("//section[h2='What it would take']")
    assert "mount" not in section.text_content()
    assert "network" not in section.text_content()


def test_a_site_whose_coordinates_look_wrong_is_marked_and_not_to_be_mended(
    worked_plan: Plan,
) -> None:
    case = composed(worked_plan).cases[0]
    i = worked_plan.columns["site_id"].tolist().index(case.site_id)
    flags, why = (worked_plan.columns[k].copy() for k in ("flags", "no_fit_reason"))
    flags[i] += ";coordinate_doubt"
    why[i] = f"{english()['no_fit.doubted']} Nothing fits."
    check = english()["remedy.coordinates"]
    remedies = (Remedy(case.site_id, "coordinates", check, float("nan"), 0.1, False),)
    columns = {**worked_plan.columns, "flags": flags, "no_fit_reason": why}
    facts = replace(worked_plan.facts, remedies=remedies)
    tree = read(replace(worked_plan, columns=columns, facts=facts))
    *_, row = table_under(tree, "Sites that are not served, or only just")
    assert row[0].startswith(case.site_id)
    assert row[1] == "coordinates to check"
    assert row[3:] == ["Nothing fits.", check]
    first = table_under(tree, "Risks, and what to do")[1]
    assert first[1] == "The coordinates look wrong; check them"


def test_what_is_not_there_says_why(worked_plan: Plan) -> None:
    tree = read(replace(worked_plan, facts=replace(worked_plan.facts, fewest=(), remedies=())))
    for heading in ("Fewest kinds of kit", "What it would take"):
        (section,) = tree.xpath(f"//section[h2='{heading}']")
        assert "Not worked out for this plan." in section.text_content()
    assert "Costs are not told: no prices were given." in text_of(tree)


def test_ten_thousand_sites_take_less_than_two_megabytes(
    make_plan: Callable[..., Plan], tmp_path: Path
) -> None:
    rng = np.random.default_rng(3)
    plan = make_plan(rng.uniform(30, 60, 10_000), rng.uniform(-10, 40, 10_000))
    plan = _whole(plan)
    write_report(plan, composed(plan), tmp_path / "report.html")
    assert (tmp_path / "report.html").stat().st_size < 2_000_000
    tree = html.parse(tmp_path / "report.html").getroot()
    cells = tree.xpath("//rect[@class='cell']")
    assert 20 < len(cells) < 400
    assert len(table_under(tree, HEADINGS[1])) == 1 + WORST
    assert "more stand in sites.csv" in text_of(tree)


def _whole(plan: Plan) -> Plan:
    """Return an invented plan with the columns that it lacks, blank."""
    n = len(plan)
    blank = {"fixed_antenna_m", "fixed_buc_w", "ifl_length_m", "ballast_kg"}
    blank |= {"worst_month_availability_pct", "outages_over_10_s", "outages_over_10_min"}
    blank |= {"margin_confidence_pct"}
    texts = {"mount_certainty", "limiting_end", "no_fit_reason", "cable_class", "group"}
    texts |= {"certainty", "certainty_next"}
    return replace(plan, columns={
        **{name: np.full(n, np.nan) for name in blank},
        **{name: np.full(n, "", dtype=object) for name in texts},
        "margin_after_reserve_db": plan.columns["margin_db"] - 1,
        **plan.columns,
    })  # fmt: skip


def test_feet_and_inches_stand_beside_where_they_are_asked_for(
    worked_plan: Plan, tree: Any
) -> None:
    general = worked_plan.network.network.model_copy(update={"units": "us"})
    network = worked_plan.network.model_copy(update={"network": general})
    us = read(replace(worked_plan, network=network))
    facts, _ = us.xpath("//dl[contains(@class, 'facts')]")  # the kit's, and the hub's
    assert " m (47.2 in)" in facts.text_content()
    rows = table_under(us, "Bill of quantities")
    cable = next(row for row in rows if row[0] == "cable")
    metres, feet = re.search(r"^(\d+) \((\d+)\)$", cable[2]).groups()  # type: ignore[union-attr]
    assert "m (ft)" in cable
    assert abs(int(feet) - int(metres) / 0.3048) <= 0.5
    assert re.search(r"\d km \([\d.]+ mi\)", us.xpath("//section[h2]//svg")[0].text_content())
    assert not re.search(r"\d (in|ft|mi)\)", text_of(tree))


def test_a_set_of_kinds_is_told_once(worked_plan: Plan) -> None:
    pair, more = ((1.8, 2.0),), ((1.2, 1.0), (1.8, 2.0))
    sets = tuple(
        KindSet(k, kinds, (4, 1)[: len(kinds)], 5, 6, 10.0)
        for k, kinds in ((1, pair), (2, more), (3, more))
    )
    tree = read(replace(worked_plan, facts=replace(worked_plan.facts, fewest=sets)))
    assert [row[0] for row in table_under(tree, "Fewest kinds of kit")[1:]] == ["1", "2"]
    assert "serve no more sites and take no less" in text_of(tree)


def test_a_mask_keeps_its_name_among_the_methods(worked_plan: Plan) -> None:
    report = replace(composed(worked_plan), methods={"mask KU Own": "2025"})
    found = methods(Shown(worked_plan, report))
    assert "<b>Mask KU Own</b>: 2025" in str(found)
