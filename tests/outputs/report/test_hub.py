"""The report's section on the hub: each figure under its name, and what to ask for in words."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from lxml import html

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.outputs.report.files import page
from siteplan.planning.plan import make_plan
from siteplan.planning.report.composed import composed
from siteplan.results import Plan
from tests.outputs.test_on_paper import keys_in

GIVEN = {
    "hpa_w": 25, "carriers": 2, "power_control_db": 9, "antennas_m": [3.8, 9], "redundancy": "1:2",
    "diversity_km": 11, "snow": True,
}  # fmt: skip


def planned(**hub: Any) -> Plan:
    network = Network.model_validate(
        {
            "network": {"date": "2026-06-01"},
            "satellite": {"longitude_deg": -61.0, "station_keeping_deg": 0.08},
            "hub": {"lat": -15.8, "lon": -47.9} | hub,
            "regulation": {"masks": ["47cfr25_ku"]},
        }
    )
    lat, lon = np.array([-3.1, -20.0, 10.0]), np.array([-60.0, -45.0, -65.0])
    return make_plan(Sites.at(lat, lon), network)


def section(plan: Plan) -> Any:
    tree = html.fromstring(page(plan, composed(plan)))
    (found,) = tree.xpath("//section[h2='The hub']")
    return found


def words_of(of: Any) -> str:
    return " ".join(of.text_content().split())


def test_figures_stand_under_their_names() -> None:
    plan = planned(**GIVEN)
    (hub,) = plan.facts.hubs
    text = words_of(section(plan))
    for name, told in (
        ("EIRP of a carrier", f"{hub.eirp_dbw:.1f} dBW"),
        ("At the feed", f"{hub.feed_w:.1f} W"),
        ("Amplifier needed", f"{hub.needed_hpa_w:.0f} W"),
        ("G/T, clear sky", f"{hub.g_t_clear_db_k:.1f} dB/K"),
        ("G/T in its rain", f"{hub.g_t_faded_db_k:.1f} dB/K"),
    ):
        assert re.search(rf"{re.escape(name)}\s*{re.escape(told)}", text), name
    for told in (
        "2 equal carriers", f"{hub.control_db:.1f} dB, set by the amplifier", "three: two at work",
        "11 km away", f"{hub.mask_margin_db:.1f} dB under 47cfr25_ku", "strays 0.08°",
        "the dish needs tracking" if hub.tracking else "the dish may stand still",
        "kept free of snow", f"fades by {hub.up_fade_db:.1f} dB",
    ):  # fmt: skip
        assert told in text, told
    assert keys_in(text) == set()


def test_the_antennas_stand_in_a_table() -> None:
    plan = planned(**GIVEN)
    rows = [
        [words_of(cell) for cell in row]
        for row in section(plan).xpath(".//table")[0].xpath(".//tr")
    ]
    assert [row[0] for row in rows[1:]] == ["3.8 m", "4.5 m, as planned", "9 m"]
    for row, each in zip(rows[1:], plan.facts.hubs[0].antennas, strict=True):
        assert row[1:4] == [
            f"{each.g_t_db_k:.1f} dB/K", f"{each.median_db:.1f} dB", f"{each.worst_db:.1f} dB"
        ]  # fmt: skip


def test_what_is_missing_in_clear_sky_is_told() -> None:
    text = words_of(section(planned(hpa_w=1, carriers=3)))
    assert "dB are missing in clear sky" in text
    assert "set by the" not in text


def test_a_hub_without_a_place_tells_no_rain() -> None:
    plan = planned()
    bare = replace(plan.facts.hubs[0], outbound_pct=np.nan, mask_margin_db=np.nan)
    text = words_of(section(replace(plan, facts=replace(plan.facts, hubs=(bare,)))))
    assert "Its rain takes" not in text
    assert "47cfr25" not in text
    assert "Given by nobody, and assumed for this: line loss, back-off" in text


def test_words_with_an_apostrophe_are_escaped_once() -> None:
    plan = planned()
    hub = replace(plan.facts.hubs[0], assumed=("satellite.station_keeping_deg",))
    text = words_of(section(replace(plan, facts=replace(plan.facts, hubs=(hub,)))))
    assert "assumed for this: the satellite's motion." in text


def test_without_a_result_there_is_no_section() -> None:
    plan = planned()
    none = replace(plan, facts=replace(plan.facts, hubs=()))
    assert not html.fromstring(page(none, composed(none))).xpath("//h2[.='The hub']")


@pytest.mark.parametrize(("redundancy", "told"), [("1:0", "none that stands by"), ("1:1", "two")])
def test_amplifiers_in_words(redundancy: str, told: str) -> None:
    assert f"Amplifiers: {'one, and ' if redundancy == '1:0' else ''}{told}" in words_of(
        section(planned(redundancy=redundancy))
    )


def test_several_hubs_stand_under_their_names() -> None:
    plan = planned()
    (hub,) = plan.facts.hubs
    assert not section(plan).xpath("./p")
    several = tuple(replace(hub, name=name) for name in ("Hub of <b>north</b>", "Hub of south"))
    found = section(replace(plan, facts=replace(plan.facts, hubs=several)))
    assert [words_of(p) for p in found.xpath("./p")] == ["Hub of <b>north</b>", "Hub of south"]
