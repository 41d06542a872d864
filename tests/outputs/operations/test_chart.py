"""The chart of outage over time: each bar is what it says, the plan's line beside it."""

from __future__ import annotations

import re
from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import pytest

from siteplan.answers.outages import OverTime
from siteplan.model import OUTAGE_CAUSES
from siteplan.outputs.operations import chart
from siteplan.outputs.operations.chart import HEIGHT, LEFT, RIGHT, TONES, WIDTH, outage_chart

#: Coordinates are written to a tenth of a unit.
TENTH = 0.051
RAIN, POWER = OUTAGE_CAUSES.index("rain"), OUTAGE_CAUSES.index("power")


def over_time(
    causes: dict[str, list[float]], planned: list[float] | float = 50.0, *, first: str = "2024-11"
) -> OverTime:
    count = len(next(iter(causes.values())))
    minutes = np.zeros((count, len(OUTAGE_CAUSES)))
    for name, values in causes.items():
        minutes[:, OUTAGE_CAUSES.index(name)] = values
    months = np.arange(np.datetime64(first), np.datetime64(first) + count)
    names = tuple(str(month) for month in months)
    return OverTime(names, minutes, np.full(count, planned), 3, hub_apart=False)


def pieces(svg: str, tag: str, css: str) -> list[dict[str, str]]:
    root = ElementTree.fromstring(svg)
    return [dict(node.attrib) for node in root.iter(tag) if node.get("class") == css]


def words(svg: str) -> list[str]:
    return [node.text or "" for node in ElementTree.fromstring(svg).iter("text")]


def scale_of(svg: str) -> float:
    """Units of the drawing a minute, by the lines and numbers of the scale."""
    marks = [(float(t), float(y)) for y, t in re.findall(
        r'x="39.0" y="([0-9.]+)" text-anchor="end">([0-9.]+)<', svg)]  # fmt: skip
    (low, bottom), (high, top) = marks[0], marks[-1]
    assert low == 0
    return (bottom - top) / (high - low)


def test_a_bar_is_as_tall_as_what_it_says() -> None:
    svg = outage_chart(over_time({"rain": [10, 40, 0], "power": [30, 0, 5]}))
    unit = scale_of(svg)
    for css, values in (("rain", [10, 40]), ("tone0", [30, 5])):
        bars = pieces(svg, "rect", css)[1:]  # the first is of the key
        tall = [float(bar["height"]) for bar in bars]
        assert tall == pytest.approx([value * unit for value in values], abs=TENTH)
    rain, power = (pieces(svg, "rect", css)[1] for css in ("rain", "tone0"))
    assert float(power["y"]) + float(power["height"]) == pytest.approx(float(rain["y"]), abs=0.11)


def test_the_line_is_the_plans() -> None:
    svg = outage_chart(over_time({"rain": [10, 40, 20]}, [20, 30, 10.0]))
    (plan,) = [p for p in pieces(svg, "path", "plan") if p["d"].count("L") > 1]
    heights = [float(y) for _, y in re.findall(r"([0-9.]+) ([0-9.]+)", plan["d"])]
    unit, base = scale_of(svg), HEIGHT - chart.FOOT
    expected = [base - value * unit for value in (20, 20, 30, 30, 10, 10)]
    assert heights == pytest.approx(expected, abs=TENTH)
    assert "rain that the plan expects" in words(svg)


def test_without_a_plan_there_is_no_line() -> None:
    svg = outage_chart(over_time({"rain": [10, 40]}, np.nan))
    assert not pieces(svg, "path", "plan")
    assert "rain that the plan expects" not in words(svg)


def test_many_causes_have_a_tone_together() -> None:
    causes = {name: [float(9 - k)] for k, name in enumerate(OUTAGE_CAUSES)}
    told = words(outage_chart(over_time(causes)))
    own = [word for word in told if word in OUTAGE_CAUSES]
    assert own == list(OUTAGE_CAUSES[: TONES + 1])
    assert ", ".join(OUTAGE_CAUSES[TONES + 1 :]) in told


@pytest.mark.parametrize("count", [1, 2, 12, 27, 120, 132])
def test_names_do_not_meet_and_nothing_leaves_the_paper(count: int) -> None:
    svg = outage_chart(over_time({"rain": [5.0] * count, "sun": [1.0] * count}))
    root = ElementTree.fromstring(svg)
    places = [(float(node.get("x", "")), node.text or "") for node in root.iter("text")
              if re.fullmatch(r"\d{4}-\d\d", node.text or "")]  # fmt: skip
    assert places
    for (a, name), (b, _) in pairwise(places):
        assert b - a >= len(name) * 5
    for node in root.iter("rect"):
        x, wide = float(node.get("x", "")), float(node.get("width", ""))
        assert x >= LEFT - TENTH
        assert x + wide <= WIDTH - RIGHT + TENTH


def test_long_outages_are_told_in_hours() -> None:
    assert "[h]" in words(outage_chart(over_time({"rain": [900.0, 20]})))
    assert "[min]" in words(outage_chart(over_time({"rain": [200.0, 20]})))


def test_years_are_named_as_years() -> None:
    of = over_time({"rain": [10.0, 20]})
    years = OverTime(("2024", "2025"), of.minutes, of.planned_min, 3, hub_apart=False)
    told = words(outage_chart(years))
    assert {"2024", "2025", "year"} <= set(told)


def test_a_quiet_log_has_a_chart() -> None:
    told = words(outage_chart(over_time({"rain": [0.0, 0.0]}, 0.0)))
    assert "1" in told
    assert "rain" in told
