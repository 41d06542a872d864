"""Kit, ports, carriers, people and other units on the sheet."""

from __future__ import annotations

import dataclasses
import math
import re
from html import unescape
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest

from siteplan.answers import Remedy
from siteplan.errors import NetworkError
from siteplan.jobs.opened import check_plannable
from siteplan.model import SiteList, Sites
from siteplan.network import Network
from siteplan.outputs.sheets import tune
from siteplan.outputs.sheets.files import letter, sheet_html
from siteplan.outputs.units import in_sentence
from siteplan.planning.plan import make_plan
from siteplan.results import Plan

CIRCULAR = {"uplink_polarization": "circular", "downlink_polarization": "circular"}


def planned(lat: float = -3.0, lon: float = -60.0, **tables: Any) -> Plan:
    of = Network.model_validate(
        {"network": {"date": "2026-09-01", **tables.pop("network", {})},
         "satellite": {"longitude_deg": -61.0}, **tables}
    )  # fmt: skip
    return make_plan(Sites.at(np.array([lat]), np.array([lon])), of)


def words(plan: Plan) -> str:
    page = unescape(re.sub(r"<[^>]+>", " ", sheet_html(plan, 0)))
    return " ".join(page.split())


def test_each_port_stands_under_its_own_box() -> None:
    page = words(planned(terminal={"rx_lo_ghz": 10.6, "tx_lo_ghz": 13.05}))
    assert "RECEIVE: the LNB TRANSMIT: the BUC Port's polarization VERTICAL HORIZONTAL" in page
    assert "On the cable (L-band) 1350 MHz (LO 10600 MHz) 1200 MHz (LO 13050 MHz)" in page
    assert tune.CROSSED in page
    assert "LNB port along it, BUC port across it." in page
    assert "INVERTED" not in page
    assert "LO not given: see its plate LO not given" in words(planned())


@pytest.mark.parametrize(
    ("out", "back", "told"),
    [
        (CIRCULAR, CIRCULAR, tune.BOTH_CIRCULAR),
        ({}, CIRCULAR, tune.ONE_CIRCULAR.format(linear="vertical")),
        ({"downlink_polarization": "horizontal"}, {}, tune.ALIKE),
    ],
)
def test_circular_ports_and_ports_alike(out: Any, back: Any, told: str) -> None:
    plan = planned(outbound=out, inbound=back)
    page, html = words(plan), sheet_html(plan, 0)
    assert told in page
    assert html.count('as the operator says: <span class="blank">') == [out, back].count(CIRCULAR)
    assert ("Left or right hand confirmed" in page) == (back is CIRCULAR)
    assert ("Polarization peaked" in page) == (back is not CIRCULAR)
    assert tune.CROSSED not in page
    assert ("left or right hand as the operator says" in page) == (back is CIRCULAR)
    assert ("Polarization angle (skew)" in page) == (out is not CIRCULAR)


def test_overhead_no_turn_of_the_feed_is_told() -> None:
    page = words(planned(0.0, -61.0))
    assert tune.OVERHEAD in page
    assert "Polarization angle (skew)" not in page
    assert "of orbit to the east" not in page
    assert tune.OVERHEAD not in words(planned(0.5, -61.0))


def test_a_site_without_kit_has_nothing_to_tune_to() -> None:
    """Who has a frequency and a level to look for points a dish that nobody planned."""
    plan = planned(network={"availability_pct": 99.99}, terminal={"rx_lo_ghz": 10.6})
    page = words(plan)
    assert "DO NOT INSTALL" in page
    assert not re.search(r"MHz|LNB|Msym|VERTICAL", page)
    assert "gusts pass 10 m/s" in page


def test_what_a_mask_leaves_is_told_to_who_sets_the_power() -> None:
    """Turned down, by what, and that no power control may pass it; nothing where none cuts."""
    rule = {"regulation": {"masks": ["47cfr25_ku"]}, "inbound": {"power_share": "free"}}
    dish = {"antennas": [{"diameter_m": 1.2}]}
    cut = words(planned(bucs=[{"rated_w": 4}], **dish, **rule))
    assert "BUC turned down to 0.96 W, once the operator says go" in cut
    told = tune.LIMITED.format(mask="47cfr25_ku", most="0.858 W")
    assert told in cut
    assert "Decide: A " in cut
    kept = words(planned(bucs=[{"rated_w": 1}], **dish, **rule))
    assert "BUC set to 0.79 W, once the operator says go" in kept
    assert "power control must not pass" not in kept


def test_people_words_and_wind_are_the_planner_s() -> None:
    plan = planned(
        contacts={"operator_name": "Desk", "operator_phone": "+1 555 0100"},
        sheets={"columns": ["door <i>"], "stop_wind_m_s": 8, "lone_worker": "Two go, always."},
    )
    extra = {"door <i>": np.array(["key " * 100]), "secret": np.array(["not for crews"])}
    page = words(dataclasses.replace(plan, extra=MappingProxyType(extra)))
    assert "Operator Desk, +1 555 0100" in page
    assert "Door <i> key key" in page
    assert "(in full in sites.csv)" in page
    assert "not for crews" not in page
    assert "gusts pass 8 m/s" in page
    assert "Two go, always." in page


def test_a_column_that_the_table_has_not_is_refused() -> None:
    sites = Sites.at(np.array([-3.0]), np.array([-60.0]))
    sites = dataclasses.replace(sites, extra=MappingProxyType({"contact": np.array(["A"])}))
    of = Network.model_validate(
        {"satellite": {"longitude_deg": -61}, "sheets": {"columns": ["contakt"]}}
    )
    listed = SiteList(sites=sites, rejects=(), rows_read=1, source="sites.csv")
    with pytest.raises(NetworkError, match=r"'contakt' is no column of yours.*Is it contact\?"):
        check_plannable(listed, of)
    check_plannable(
        listed,
        of.model_copy(update={"sheets": of.sheets.model_copy(update={"columns": ("contact",)})}),
    )


def test_other_units_stand_beside_the_metric_ones() -> None:
    page = words(planned(network={"units": "us"}))
    assert re.search(r"Antenna 1\.20 m \(47\.2 in\)", page)
    assert "gusts pass 10 m/s (22 mph)" in page
    assert re.search(r"Wind force \d+ N \(\d+ lbf\)", page)
    assert "Centre conductor 0.81 mm (20 AWG)" in page or re.search(r"\d AWG\)", page)
    assert "(ft" not in words(planned())


def test_letter_paper_goes_with_the_units_or_as_asked() -> None:
    assert not letter(planned())
    assert letter(planned(network={"units": "us"}))
    assert letter(planned(sheets={"paper": "letter"}))
    assert not letter(planned(network={"units": "us"}, sheets={"paper": "A4"}))


@pytest.mark.parametrize(
    ("metric", "beside"),
    [
        # Exact by definition: foot 0.3048 m, inch 25.4 mm, pound 0.45359237 kg (NIST SP 811).
        ("30.48 m high", "30.48 m (1200.0 in) high"),
        ("a run of 61 m", "a run of 61 m (200 ft)"),
        ("25 kg each", "25 kg (55 lb) each"),
        ("10 W/m2 there", "10 W/m2 (1.00 mW/cm2) there"),
        ("1500 Pa at most", "1500 Pa (31.3 psf) at most"),
        ("some 2,000 km from land", "some 2,000 km (1243 mi) from land"),
        ("14.25 GHz, 3 dB", "14.25 GHz, 3 dB"),
        ("IM4 m2 by 5 m/m", "IM4 m2 by 5 m/m"),
    ],
)
def test_figures_in_sentences(metric: str, beside: str) -> None:
    assert in_sentence(metric, "us") == beside
    assert in_sentence(metric, "metric") == metric


def test_a_tight_site_is_told_with_what_would_help() -> None:
    """Behind the front, which is the crew's; an unserved one is told there, by its banner."""
    plan = planned()
    site = str(plan.columns["site_id"][0])
    after = plan.columns["margin_after_reserve_db"].copy()
    after[0] = 0.2
    remedy = Remedy(site, "antenna", "2.4 m antenna instead of 1.8 m", 2.0, 2.2, True)
    facts = dataclasses.replace(plan.facts, remedies=(remedy,))
    columns = {**plan.columns, "margin_after_reserve_db": after}
    page = words(dataclasses.replace(plan, columns=columns, facts=facts))
    assert "Planned with a tight margin, 0.2 dB after reserve. What it would take: 2.4 m" in page
    assert "tight margin" not in words(plan)
    stuck = Remedy(site, "blocked", "Something stands in the beam.", math.nan, 0.2, False)
    facts = dataclasses.replace(plan.facts, remedies=(stuck,))
    page = words(dataclasses.replace(plan, facts=facts))
    assert "What it would take: Something stands in the beam." in page
