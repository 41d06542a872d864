"""Sheets to turn dishes by: one page a dish, in words that turn the right way."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest
from lxml import html

from siteplan.answers.slots import SlotComparison
from siteplan.outputs.compare import slot_words
from siteplan.outputs.compare.sheets import (
    AZIMUTH_WAYS,
    ELEVATION_WAYS,
    SKEW_WAYS,
    count,
    way_words,
    write_sheets,
)
from siteplan.outputs.compare.turn_drawings import azimuth_turn, elevation_turn, skew_turn
from siteplan.planning.compare.mounted import MOUNTS
from siteplan.planning.compare.repointing import FITS, HORIZON
from siteplan.results import Plan
from tests.outputs.compare.compared import comparison, many
from tests.outputs.conftest import HOSTILE_NAMES
from tests.outputs.test_policy import Elements


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[SlotComparison, Plan, Path]:
    of, plan = comparison(satellite_eirp_dbw=47.0)
    folder = tmp_path_factory.mktemp("turning") / "repointing"
    write_sheets(of, plan, folder)
    return of, plan, folder


def sheets_of(path: Path) -> dict[str, Any]:
    """The sheets of a file by their site's anchor."""
    tree = html.fromstring(path.read_text(encoding="utf-8"))
    return {s.get("id"): s for s in tree.xpath("//article")}


def test_a_sheet_each_for_dishes_that_see_the_satellite(
    written: tuple[SlotComparison, Plan, Path],
) -> None:
    of, _, folder = written
    assert {p.name for p in folder.iterdir()} == {"East.html", "West.html"}
    total = 0
    for k, name in ((1, "East"), (2, "West")):
        turn, there = of.repointing[k], of.sites[k]
        assert turn is not None
        assert there is not None
        expected = [
            str(site)
            for site, fits, up in zip(of.site_id, turn.fits, there.elevation_deg, strict=True)
            if fits and not math.isnan(up)
        ]
        assert list(sheets_of(folder / f"{name}.html")) == expected
        total += len(expected)
    assert count(of) == total


def test_angles_and_turns_are_the_comparison_s(
    written: tuple[SlotComparison, Plan, Path],
) -> None:
    of, plan, folder = written
    turn, there = of.repointing[1], of.sites[1]
    assert turn is not None
    assert there is not None
    place = {str(site): i for i, site in enumerate(of.site_id)}
    for anchor, sheet in sheets_of(folder / "East.html").items():
        i = place[anchor]
        rows = {
            cells[0]: cells[1:4]
            for row in sheet.xpath(".//table[@class='turns']//tr")[1:]
            if (cells := [" ".join(c.text_content().split()) for c in row])
        }
        for label, field, change, half in (
            ("Azimuth, true", "azimuth_true_deg", turn.azimuth_deg, 0.0051),
            ("Elevation", "elevation_deg", turn.elevation_deg, 0.0051),
            ("Polarization (skew)", "skew_deg", turn.skew_deg, 0.051),
        ):
            old, new, by = rows[label]
            assert float(old[:-1]) == pytest.approx(float(plan.columns[field][i]), abs=half)
            assert float(new[:-1]) == pytest.approx(float(getattr(there, field)[i]), abs=half)
            size = float(by.partition("°")[0]) if by != "no turn" else 0.0
            assert size == pytest.approx(abs(float(change[i])), abs=max(half, 0.05))
        assert rows["Azimuth, compass"][2] == rows["Rim, from vertical"][2] == "as much"
        rim = [float(x[:-1]) for x in rows["Rim, from vertical"][:2]]
        assert rim[0] == pytest.approx(float(plan.columns["inclinometer_deg"][i]), abs=0.051)
        assert rim[1] - rim[0] == pytest.approx(float(turn.elevation_deg[i]), abs=0.11)
        text = " ".join(sheet.text_content().split())
        assert "TRANSMIT OFF" in text
        assert slot_words.FITS_TOLD[turn.fits[i]].partition("{")[0] in text
        assert slot_words.HORIZON_TOLD[turn.horizon[i]].partition("{")[0] in text
        assert ("DO NOT TURN AS IT IS" in text) == (turn.fits[i] in slot_words.STOPS)
        assert slot_words.MOUNT_TOLD[turn.mount[i]] in text
        assert ("MOUNT The bracket" in text) == (turn.mount[i] == "no")
        level = float(turn.expected_c_n_db[i])
        if not math.isnan(level):
            assert f"C/N {level:.1f} dB in" in text
            assert f"accept from {level - plan.network.site.acceptance_db:.1f} dB" in text
        assert ("SKY BLOCKED" in text) == (turn.horizon[i] == "blocked")
        assert str(plan.columns["site_id"][i]) in text


@pytest.mark.parametrize(
    ("change", "ways", "words"),
    [
        (20.07, AZIMUTH_WAYS, "20.1° clockwise from above"),
        (-179.9, AZIMUTH_WAYS, "179.9° counter-clockwise from above"),
        (-3.0, ELEVATION_WAYS, "3.0° down"),
        (3.0, ELEVATION_WAYS, "3.0° up"),
        (14.0, SKEW_WAYS, "14.0° clockwise from behind"),
        (-14.0, SKEW_WAYS, "14.0° counter-clockwise from behind"),
        (0.04, SKEW_WAYS, "no turn"),
        (-0.0, SKEW_WAYS, "no turn"),
        (math.nan, SKEW_WAYS, ""),
    ],
)
def test_a_turn_in_words(change: float, ways: tuple[str, str], words: str) -> None:
    assert way_words(change, ways, 1) == words


def ends(svg: str, css: str) -> tuple[float, float, float, float]:
    """The first straight line of a class: from and to."""
    found = re.search(rf'<path class="{css}" d="M([-\d.]+) ([-\d.]+)L([-\d.]+) ([-\d.]+)"', svg)
    assert found is not None
    x0, y0, x1, y1 = map(float, found.groups())
    return x0, y0, x1, y1


def test_drawings_turn_the_way_the_words_say() -> None:
    """North is up and east to the right; up is up; clockwise from behind is to the right."""
    rose = azimuth_turn(350.0, 100.0)  # over north, to 90: east
    x0, y0, x1, y1 = ends(rose, "heavy")
    assert x1 - x0 > 30
    assert abs(y1 - y0) < 1
    up = elevation_turn(20.0, 70.0)
    _, low, _, _ = ends(up, "dash")
    assert low == ends(up, "heavy")[1]
    assert ends(up, "heavy")[3] < ends(up, "dash")[3], "the new beam ends higher"
    feed = skew_turn(0.0, 45.0)
    x0, y0, x1, y1 = ends(feed, "bar")
    assert x0 > x1, "the upper end leans to the right"
    assert y0 < y1
    assert "to 45.0°" in feed
    assert "to 10.0°" in skew_turn(80.0, 110.0)  # an axis: 190 is 10


def test_the_caution_stands_before_the_list(written: tuple[SlotComparison, Plan, Path]) -> None:
    made = (written[2] / "East.html").read_text(encoding="utf-8")
    assert made.index(slot_words.PERMISSION) < made.index("turnlist small")


def test_words_are_there_for_every_answer() -> None:
    assert set(slot_words.FITS) == {*FITS, ""}
    assert set(slot_words.FITS_TOLD) == set(FITS)
    assert set(slot_words.MOUNT) == set(slot_words.MOUNT_TOLD) == {*MOUNTS, ""}
    assert set(slot_words.HORIZON) == set(slot_words.HORIZON_TOLD) == {*HORIZON, ""}
    assert set(FITS) > slot_words.STOPS


@pytest.mark.parametrize("name", HOSTILE_NAMES)
def test_hostile_names_stay_text_and_safe_file_names(name: str, tmp_path: Path) -> None:
    of, plan = comparison(many(3, [name]), [(name, -40.0), ("../up", -42.0)])
    write_sheets(of, plan, tmp_path / "r")
    files = sorted((tmp_path / "r").iterdir())
    assert len(files) == 2
    assert {p.parent for p in files} == {tmp_path / "r"}
    for path in files:
        assert re.fullmatch(r"[A-Za-z0-9._-]+", path.name)
        made = path.read_text(encoding="utf-8")
        found = Elements(made)
        assert not {a for a in found.attributes if a.startswith("on")}
        assert "<img" not in made
        assert [kind for kind, _ in found.inline if kind == "script"] == []


def longest(plan: Plan) -> Plan:
    """The plan with the longest names, contacts and columns of the user's."""
    words = np.full(len(plan), "By the quay, ring twice, the key is there. " * 9, dtype=object)
    columns = {**plan.columns, "name": np.full(len(plan), "Site of a long name " * 15, object),
               "group": np.full(len(plan), "G" * 200, object)}  # fmt: skip
    of = plan.network
    contacts = of.contacts.model_copy(
        update={"operator_name": "W" * 80, "operator_phone": "1" * 40, "planner_name": "W" * 80}
    )
    sheets = of.sheets.model_copy(
        update={"columns": ("a", "b"), "lone_worker": "Never alone. " * 15}
    )
    network = of.model_copy(update={"contacts": contacts, "sheets": sheets})
    return replace(plan, columns=MappingProxyType(columns), network=network,
                   extra=MappingProxyType({"a": words, "b": words}))  # fmt: skip


def stopped(of: SlotComparison) -> SlotComparison:
    """The comparison with all that can speak against a turn, and other carriers, at every site."""
    turn = of.repointing[1]
    assert turn is not None
    word = {"fits": "no", "mount": "no", "horizon": "blocked"}
    words = {k: np.full(len(turn.fits), v, dtype=object) for k, v in word.items()}
    words["fits"] = np.where(turn.fits == "", "", words["fits"])
    tuned = np.empty(len(turn.tuned), dtype=object)
    swapped = {"vertical": "horizontal", "horizontal": "vertical"}
    tuned[:] = [
        (now, tuple(replace(t, carrier_ghz=12.345678, polarization=swapped[t.polarization],
                            in_band=False) for t in there))
        for now, there in turn.tuned
    ]  # fmt: skip
    clear = np.full(len(turn.fits), -12.0)
    against = replace(turn, **words, tuned=tuned, clearance_deg=clear)
    return replace(of, repointing=(None, against))


@pytest.mark.browser
@pytest.mark.parametrize("against", [False, True], ids=["goes", "stops"])
@pytest.mark.parametrize("change", [lambda plan: plan, longest], ids=["usual", "longest"])
def test_each_dish_has_one_page_of_its_own(
    browser: Any, tmp_path: Path, change: Any, against: bool
) -> None:
    from tests.outputs.sheets.test_browser import A4_POINTS, printed

    of, plan = comparison(others=[("S" * 200, -30.0)], satellite_eirp_dbw=44.0)
    of = stopped(of) if against else of
    write_sheets(of, change(plan), tmp_path / "r")
    (path,) = (tmp_path / "r").iterdir()
    sheets = sheets_of(path)
    reader = printed(browser, path)
    assert len(reader.pages) == 1 + len(sheets)
    for page in reader.pages:
        assert [float(x) for x in page.mediabox[2:]] == pytest.approx(A4_POINTS, abs=1)
    for page in reader.pages[1:]:
        text = page.extract_text()
        assert "TRANSMIT OFF" in text
        assert "Crew: name, signature" in text
