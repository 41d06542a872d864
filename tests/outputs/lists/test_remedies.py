"""what_it_takes.csv, and the sentences that card, sheet and terminal share with it."""

from __future__ import annotations

import csv
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from siteplan.answers import Remedy
from siteplan.model import Called, Sites
from siteplan.network import Network
from siteplan.outputs import taking
from siteplan.outputs.lists.remedies import HEADINGS, join_remedies, rows_text, write_remedies
from siteplan.planning.plan import make_plan
from siteplan.planning.report.serving import served
from siteplan.results import Plan

NAN = math.nan
FOUND = (
    Remedy("A", "antenna", "2.4 m antenna instead of 1.8 m", 2.31, 2.61, True, 2.4, 4.0),
    Remedy("A", "modcod", "=QPSK", 0.93, 1.23, True, 1.8, 4.0,
           (("outbound", "modcod", "QPSK 2/3"),)),
    Remedy("B", "target", "Target 99.3 %", 1.04, 0.04, True, 1.8, 4.0,
           (("sites", "availability_pct", 99.3), ("sites", "fixed_efficiency", 0.6))),
    Remedy("B", "buc", "8 W BUC instead of 4 W", 0.9, -0.1, False, 1.8, 8.0),
    Remedy("C", "blocked", "Something stands in the beam.", NAN, 1.5, False),
    Remedy("D", "nothing", "Nothing helps.", NAN, 0.2, True),
    Remedy("E", "nothing", "Nothing helps.", NAN, -2.0, False),
    Remedy("F", "coordinates", "Check the coordinates.", NAN, -2.0, False),
    Remedy("G", "antenna", "2.4 m antenna instead of 1.8 m", 2.31, 2.61, True, 2.4, 4.0, (),
           "pole", True, "non_penetrating"),
)  # fmt: skip


@pytest.fixture(scope="module")
def plan() -> Plan:
    ids = np.array(["A", "=B", "C", "D", "E", "F", "G"], dtype=object)
    sites = Sites.at(np.linspace(-3, -2, 7), np.full(7, -60.0), site_id=ids)
    sites = replace(sites, name=np.array(["a", "+b", *"cdefg"], dtype=object))
    network = Network.model_validate({"satellite": {"longitude_deg": -61}})
    made = make_plan(sites, network)
    found = tuple(replace(r, site_id="=B") if r.site_id == "B" else r for r in FOUND)
    # B and E have no kit, as what is found of them says.
    pair = {
        k: np.where([0, 1, 0, 0, 1, 0, 0], NAN, made.columns[k]) for k in ("antenna_m", "buc_w")
    }
    return replace(
        made, columns={**made.columns, **pair}, facts=replace(made.facts, remedies=found)
    )


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_a_row_a_change_the_best_first(plan: Plan, tmp_path: Path) -> None:
    write_remedies(plan, tmp_path / "t.csv")
    rows = rows_of(tmp_path / "t.csv")
    assert tuple(rows[0]) == HEADINGS
    assert [(r["site_id"], r["rank"], r["kind"]) for r in rows] == [
        ("A", "1", "antenna"), ("A", "2", "modcod"), ("'=B", "1", "target"), ("'=B", "2", "buc"),
        ("C", "", "blocked"), ("D", "", "nothing"), ("E", "", "nothing"), ("F", "", "coordinates"),
        ("G", "1", "antenna"),
    ]  # fmt: skip
    assert [r["state"] for r in rows] == [
        "tight", "tight", "unserved", "unserved", "blocked", "tight", "unserved",
        "coordinates to check", "tight",
    ]  # fmt: skip
    first = rows[0]
    assert (first["buys_db"], first["then_after_reserve_db"], first["then_served"]) == (
        "2.31", "2.61", "yes",
    )  # fmt: skip
    assert (first["with_antenna_m"], first["with_buc_w"], first["set"]) == ("2.4", "4", "")
    now = plan.columns["margin_after_reserve_db"][0]
    assert float(first["margin_after_reserve_db"]) == pytest.approx(now, abs=0.005)
    assert rows[3]["then_served"] == "no"
    assert all(rows[4][k] == "" for k in ("buys_db", "then_served", "with_buc_w", "set"))


def test_installed_kit_that_holds_the_target_is_tight_if_the_reserve_is_missed(
    plan: Plan, tmp_path: Path
) -> None:
    """As verdict and report count it: served, under the reserve."""
    for margin, standing in ((0.4, "tight"), (-0.4, "unserved")):
        columns = {**plan.columns, "margin_db": np.full(7, margin)}
        found = (Remedy("A", "buc", "8 W BUC instead of 4 W", 1.0, margin, True, 1.8, 8.0),)
        facts = replace(plan.facts, remedies=found)
        write_remedies(replace(plan, columns=columns, facts=facts), tmp_path / "t.csv")
        assert [row["state"] for row in rows_of(tmp_path / "t.csv")] == [standing]


def test_kit_that_a_flag_stops_is_unserved_whatever_its_margin(plan: Plan, tmp_path: Path) -> None:
    """As the report says of it, too: what an engineer has to design serves nobody yet."""
    found = (Remedy("A", "buc", "8 W BUC instead of 4 W", 1.0, 1.2, True, 1.8, 8.0),)
    for flags, standing in (("mount_engineered", "unserved"), ("low_elevation", "tight")):
        columns = {
            **plan.columns,
            "margin_db": np.full(7, 1.2),
            "flags": np.full(7, flags, dtype=object),
        }
        stopped = replace(
            plan, columns=columns, facts=replace(plan.facts, remedies=found, verdict=None)
        )
        write_remedies(stopped, tmp_path / "t.csv")
        assert [row["state"] for row in rows_of(tmp_path / "t.csv")] == [standing]
        assert bool(served(stopped)[0]) == (standing == "tight")


def test_what_moves_the_whole_network_is_told_apart(plan: Plan, tmp_path: Path) -> None:
    write_remedies(plan, tmp_path / "t.csv")
    reach = [row["reach"] for row in rows_of(tmp_path / "t.csv")]
    assert reach == ["site", "network", "site", "site", "", "", "", "", "site"]


def test_the_mount_of_another_antenna_is_told(plan: Plan, tmp_path: Path) -> None:
    write_remedies(plan, tmp_path / "t.csv")
    mounts = [(row["with_mount"], row["mount_to_survey"]) for row in rows_of(tmp_path / "t.csv")]
    assert mounts == [("", "")] * 8 + [("pole", "yes")]
    for open_, was, told in (
        (True, "non_penetrating", "; on a pole instead of a roof frame, to be surveyed"),
        (False, "wall", "; on a pole instead of a wall bracket"),
        (False, "pole", ""),
        (True, "pole", ""),
        (False, "", ""),
        (True, "", "; on a pole, to be surveyed"),
    ):
        sentence = taking.told(replace(FOUND[-1], mount_open=open_, mount_was=was))
        before = f"{FOUND[-1].change}: +2.3 dB, then 2.6 dB after reserve"
        assert sentence.removeprefix(before) == told


def test_every_kind_of_mount_has_words() -> None:
    from siteplan.planning.site.mounts.choice import ENGINEERED, OPTIONS

    for kind in (*OPTIONS, ENGINEERED):
        found = taking.on_mount(replace(FOUND[-1], mount=kind, mount_was=""))
        assert found.endswith("to be surveyed")


def test_what_to_set_can_be_copied(plan: Plan, tmp_path: Path) -> None:
    """As it stands in network.toml, or the column of the sites; kit is in columns of its own."""
    write_remedies(plan, tmp_path / "t.csv")
    rows = rows_of(tmp_path / "t.csv")
    assert rows[1]["set"] == '[outbound] modcod = "QPSK 2/3"'
    assert rows[2]["set"] == "sites: availability_pct = 99.3"


def test_texts_are_no_formulas(plan: Plan, tmp_path: Path) -> None:
    write_remedies(plan, tmp_path / "t.csv")
    rows = rows_of(tmp_path / "t.csv")
    assert rows[1]["change"] == "'=QPSK"
    assert rows[2]["name"] == "'+b"


def test_parts_joined_are_the_whole(plan: Plan, tmp_path: Path) -> None:
    facts = plan.facts
    pieces = (facts.remedies[:2], facts.remedies[2:4], (), facts.remedies[4:])
    paths = [tmp_path / f"{k}.takes.csv" for k in range(len(pieces))]
    for path, some in zip(paths, pieces, strict=True):
        part = replace(plan, facts=replace(facts, remedies=some))
        path.write_bytes(rows_text(part).encode())
    write_remedies(plan, tmp_path / "whole.csv")
    join_remedies(paths, tmp_path / "joined.csv")
    assert (tmp_path / "joined.csv").read_bytes() == (tmp_path / "whole.csv").read_bytes()


@pytest.mark.parametrize(
    ("k", "text"),
    [
        (0, "2.4 m antenna instead of 1.8 m: +2.3 dB, then 2.6 dB after reserve"),
        (1, "=QPSK: +0.9 dB, then 1.2 dB after reserve; for the whole network: plan anew"),
        (2, "Target 99.3 %: +1.0 dB, then served"),
        (3, "8 W BUC instead of 4 W: +0.9 dB, then still 0.1 dB short of the reserve"),
        (4, "Something stands in the beam."),
    ],
)
def test_a_sentence_tells_what_is_then(k: int, text: str) -> None:
    assert taking.told(FOUND[k]) == text


def test_a_hair_short_of_the_reserve_does_not_read_as_none() -> None:
    short = replace(FOUND[3], margin_after_reserve_db=-0.0042)
    assert taking.told(short).endswith("then still 0.004 dB short of the reserve")


def test_sites_are_counted_by_their_best_change() -> None:
    """Every code has words."""
    from siteplan.planning.kit.remedies import CODES

    assert set(taking.WORDS) == set(CODES)
    assert taking.counted({}) == ""
    assert taking.counted({"antenna": 2, "low": 1}) == (
        "What it would take for 3 unserved or tight sites, the best of each: a larger antenna 2;"
        " a satellite that stands higher 1."
    )
    assert "MODCOD (for the whole network: plan anew) 4; a lower target 1." in taking.counted(
        {"modcod": 4, "target": 1}
    )


def test_a_sites_own_remedies_are_found_in_each_plan(plan: Plan) -> None:
    assert [r.code for r in taking.of_site(plan, "A")] == ["antenna", "modcod"]
    other = replace(plan, facts=replace(plan.facts, remedies=FOUND[4:]))
    assert taking.of_site(other, "A") == []
    assert [r.code for r in taking.of_site(plan, "=B")] == ["target", "buc"]


def test_remedies_that_say_the_same_are_equal() -> None:
    again = Remedy("C", "blocked", "Something stands in the beam.", float("nan"), 1.5, False)
    assert again == FOUND[4]
    assert hash(again) == hash(FOUND[4])
    assert again != replace(again, margin_after_reserve_db=1.4)
    assert (again == "C") is False


def test_what_to_set_names_the_beam_that_has_the_key_of_its_own(tmp_path: Path) -> None:
    own = {"name": "West", "outbound": {"modcod": "QPSK 5/6"}}
    network = Network.model_validate(
        {"satellite": {"longitude_deg": -61}, "beams": [own, {"name": "East"}]}
    )
    sites = Sites.at(np.array([-3.0, -4.0]), np.array([-60.0, -59.0]),
                     site_id=np.array(["A", "B"], dtype=object),
                     beam=np.array(["West", "East"], dtype=object))  # fmt: skip
    made = make_plan(sites, network)
    sets = (("outbound", "modcod", "QPSK 2/3"), ("inbound", "modcod", "QPSK 1/3"))
    found = tuple(Remedy(s, "modcods", "Less", 1.0, 1.2, True, 1.8, 4.0, sets) for s in "AB")
    write_remedies(replace(made, facts=replace(made.facts, remedies=found)), tmp_path / "t.csv")
    assert [row["set"] for row in rows_of(tmp_path / "t.csv")] == [
        '[[beams]] "West", outbound: modcod = "QPSK 2/3"; [inbound] modcod = "QPSK 1/3"',
        '[outbound] modcod = "QPSK 2/3"; [inbound] modcod = "QPSK 1/3"',
    ]


def test_a_workbook_is_told_its_sheets_and_the_users_headings(tmp_path: Path) -> None:
    """Who has no network.toml is not sent to it, nor to a heading that she never wrote."""
    network = Network.model_validate(
        {
            "satellite": {"longitude_deg": -61},
            "beams": [{"name": "West", "outbound": {"modcod": "QPSK 5/6"}}],
        }
    )
    sites = Sites.at(np.array([-3.0]), np.array([-60.0]), site_id=np.array(["A"], dtype=object),
                     beam=np.array(["West"], dtype=object))  # fmt: skip
    made = make_plan(sites, network)
    sets = (
        *(("outbound", "modcod", "QPSK 2/3"), ("inbound", "modcod", "QPSK 1/3")),
        ("sites", "availability_pct", 99.5),
    )
    found = (Remedy("A", "modcods", "Less", 1.0, 1.2, True, 1.8, 4.0, sets),)
    headings = (("availability_pct", "Availability"),)
    for sheet, told in {
        "Stations": 'sheet Beams, "West", outbound: modcod = "QPSK 2/3"; sheet Network:'
        " inbound.modcod = QPSK 1/3; sheet Stations: Availability = 99.5",
        "": '[[beams]] "West", outbound: modcod = "QPSK 2/3"; [inbound] modcod = "QPSK 1/3";'
        " sites: Availability = 99.5",
    }.items():
        facts = replace(made.facts, remedies=found, called=Called(headings, sheet))
        write_remedies(replace(made, facts=facts), tmp_path / "t.csv")
        assert rows_of(tmp_path / "t.csv")[0]["set"] == told
