"""transmission_plan.html and .csv say what the answer says, on two pages at most."""

from __future__ import annotations

import base64
import csv
import io
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from lxml import html
from pypdf import PdfReader

from siteplan.answers.transmission import AssumedKey, Transmission
from siteplan.outputs.capacity.transmission import page, write_transmission_page
from siteplan.outputs.capacity.transmission_rows import MARK, MOST_ROWS
from siteplan.outputs.capacity.transmission_table import HEADINGS, write_transmission_csv
from siteplan.planning.capacity.transmission import transmission
from siteplan.planning.plan import make_plan
from siteplan.results import Plan
from tests.outputs.conftest import HOSTILE_NAMES
from tests.outputs.test_on_paper import keys_in
from tests.planning.beams.two import EAST, WEST, sites_and_network, with_beams

#: Paper [inch]: ISO 216 and ANSI.
PAPERS = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}
#: Where the hubs of the two beams stand.
PLACES = {"west": "15.8000° S, 47.9000° W", "east": "1.4500° S, 48.5000° W"}


@pytest.fixture(scope="module")
def plan() -> Plan:
    return make_plan(*sites_and_network())


@pytest.fixture(scope="module")
def two() -> Plan:
    sites, network = sites_and_network()
    more: dict[str, Any] = {
        "traffic": {"inbound_kbit_s": 400, "outbound_kbit_s": 2000},
        "regulation": {"masks": ["s728_1"]},
    }
    return make_plan(sites, with_beams(network, WEST, EAST, **more))


def told(of: Plan) -> Transmission:
    found = transmission(of.facts, of.network)
    assert found is not None
    return found


def tables(text: str) -> dict[str, list[dict[str, str]]]:
    """Return the rows of each table by heading; a column is its label and its unit."""
    found = {}
    for section in html.fromstring(text).xpath("//section[.//table]"):
        heads = [" ".join(th.itertext()) for th in section.xpath(".//th")]
        named = [f"{head} ({heads[:k].count(head)})" for k, head in enumerate(heads)]
        rows = [[td.text_content() for td in tr] for tr in section.xpath(".//tbody/tr")]
        found[section.findtext("h2")] = [dict(zip(named, row, strict=True)) for row in rows]
    return found


def figure(row: dict[str, str], head: str, nth: int = 0) -> float:
    return float(row[f"{head} ({nth})"].removesuffix(MARK))


def rows(of: Transmission, path: Path) -> list[dict[str, str]]:
    write_transmission_csv(of, path)
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def many(of: Transmission, beam: str) -> Transmission:
    """Return a plan of forty beams of long names, twenty hubs, sixty types, and many notes."""
    names = [f"{beam * 60}"[:55] + f" {k}" for k in range(40)]
    groups = tuple(
        replace(
            group, beams=(name,), eirp_dbw=group.eirp_dbw + k / 100, centres=group.centres * 6,
            modcods=("QPSK 1/3", "16QAM 5/6"), least_carrier_eirp_dbw=20.0,
        )
        for k, name in enumerate(names) for group in of.groups[2:]
    )  # fmt: skip
    types = tuple(
        replace(of.types[0], type=replace(of.types[0].type, antenna_m=1 + k / 100))
        for k in range(60)
    )
    return replace(
        of,
        groups=groups,
        alike=tuple(replace(group, beams=tuple(names[:9])) for group in groups),
        hubs=tuple(replace(of.hubs[0], beams=tuple(names[:3])) for _ in range(20)),
        types=types,
        notes=of.notes + tuple(f"{names[0]}: Resize now: lease 9 MHz." for _ in range(20)),
        assumed=of.assumed * 4,
    )


# --- what it says ---------------------------------------------------------------------------


def test_the_page_has_the_figures_of_the_answer(two: Plan) -> None:
    found = told(two)
    shown = tables(page(found, two))
    levels = {f"{r['Carrier (0)']}, {r['Beam (0)']}": r for r in shown["Levels of one carrier"]}
    for group in found.groups:
        row = levels[f"{group.direction.capitalize()}, {group.beams[0]}"]
        for head, name in (
            ("EIRP of the station dBW", "eirp_dbw"),
            ("with control dBW", "greatest_eirp_dbw"),
            ("Flux at the satellite dBW/m²", "flux_dbw_m2"),
            ("SFD dBW/m²", "sfd_dbw_m2"),
            ("at its G/T dB/K", "satellite_g_t_db_k"),
            ("Input back-off dB", "carrier_input_backoff_db"),
            ("Output back-off dB", "carrier_output_backoff_db"),
            ("Satellite, saturated dBW", "satellite_eirp_dbw"),
            ("EIRP of the carrier dBW", "carrier_eirp_dbw"),
        ):
            assert figure(row, head) == pytest.approx(getattr(group, name), abs=5.1e-3), name
    centres = [c for group in found.groups for c in group.centres]
    places = shown["Frequencies and bandwidth"]
    assert len(places) == len(centres) == 15
    for row, centre in zip(places, centres, strict=True):
        up, down = figure(row, "Uplink centre MHz"), figure(row, "Downlink centre MHz")
        assert up == pytest.approx(centre.uplink_ghz * 1000, abs=1e-6)
        assert down == pytest.approx(centre.downlink_ghz * 1000, abs=1e-6)
    signals = shown["Signal and transponder"]
    for row, group in zip(signals, found.groups, strict=True):
        assert row["MODCOD (0)"].removesuffix(MARK) == group.modcod
        rate = figure(row, "Information rate kbit/s")
        assert rate == pytest.approx(group.information_rate_kbit_s, rel=1e-5)


def test_the_page_has_the_stations(two: Plan) -> None:
    found = told(two)
    shown = tables(page(found, two))
    assert len(shown["Hub"]) == 2
    for row, hub in zip(shown["Hub"], found.hubs, strict=True):
        assert row["Hub (0)"] == hub.beams[0]
        assert row["Place (0)"].replace("\xa0", " ") == PLACES[hub.beams[0]]
        assert figure(row, "allowed W") == pytest.approx(hub.allowed_feed_w, rel=0.01)
        assert figure(row, "Feed, a carrier W") == pytest.approx(hub.feed_w, abs=5.1e-3)
        assert row["Amplifier W (0)"] == ""  # nobody gave it: blank, not zero
    for row, of in zip(shown["Terminals"], found.types, strict=True):
        more = f" +{len(of.beams) - 1}" if len(of.beams) > 1 else ""
        assert row["Beam (0)"] == of.beams[0] + more
        kit = figure(row, "Antenna m"), figure(row, "BUC W"), figure(row, "Sites")
        assert kit == (of.type.antenna_m, of.type.buc_w, of.type.sites)
        for head, nth, value in (
            ("Feed W", 0, of.type.feed_w),
            ("with control W", 0, of.type.faded_feed_w),
            ("EIRP dBW", 0, of.type.eirp_dbw),
            ("with control dBW", 0, of.type.faded_eirp_dbw),
            ("Flux dBW/m²", 0, of.type.flux_dbw_m2),
            ("Tx gain dBi", 0, of.tx_gain_dbi),
            ("G/T dB/K", 0, of.type.g_t_db_k),
        ):
            assert figure(row, head, nth) == pytest.approx(value, abs=5.1e-3), head
        assert figure(row, "allowed W") == pytest.approx(of.type.allowed_feed_w, rel=0.01)


def test_marks_are_where_nobody_gave_a_key(plan: Plan) -> None:
    found = told(plan)
    text = page(found, plan)
    (outbound, inbound) = tables(text)["Levels of one carrier"]
    assert outbound["EIRP of the station dBW (0)"].endswith(MARK)
    assert outbound["Satellite, saturated dBW (0)"] == "50.00"  # given
    assert outbound["at its G/T dB/K (0)"] == inbound["at its G/T dB/K (0)"] == "2.00"
    words = " ".join(html.fromstring(text).text_content().split())
    begins = "* rests in part on figures that nobody gave: outbound: uplink frequency 14.25 GHz, "
    assert begins in words
    assert "flux that saturates the satellite -88 dBW/m2" in words
    assert not keys_in(words)
    for note in found.notes:
        assert note in words
    own = (AssumedKey("bucs", "1, 2", "W", "BUCs to choose from"),)
    assert "nobody gave: BUCs to choose from 1, 2 W." in page(replace(found, assumed=own), plan)
    nothing = replace(found, assumed=())
    assert "rests in part" not in page(nothing, plan)


def test_what_is_not_known_is_blank() -> None:
    sites, network = sites_and_network()
    dark = network.outbound.model_copy(update={"satellite_eirp_dbw": 20.0})
    plan = make_plan(sites.take(range(4)), network.model_copy(update={"outbound": dark}))  # type: ignore[arg-type]
    _, inbound = tables(page(told(plan), plan))["Levels of one carrier"]
    for head in ("EIRP of the station dBW", "Flux at the satellite dBW/m²", "Input back-off dB"):
        assert inbound[f"{head} (0)"] == ""
    assert "None that is known." in page(told(plan), plan)


def test_the_operator_fills_in_what_is_not_told(plan: Plan) -> None:
    blank = html.fromstring(page(told(plan), plan))
    assert len(blank.xpath("//dd/span[@class='blank']")) == 2
    contacts = plan.network.contacts.model_copy(
        update={"operator_name": "Access desk", "operator_phone": "+00 1"}
    )
    network = plan.network.model_copy(update={"contacts": contacts})
    text = page(told(plan), replace(plan, network=network))
    assert "Access desk, +00 1" in html.fromstring(text).text_content()
    for words in ("Cross-polar isolation, at least", "30 dB", "Test frequency"):
        assert words in text


def test_of_many_beams_the_rest_stands_in_the_table(two: Plan) -> None:
    found = many(told(two), "spot ")
    text = page(found, two)
    shown = tables(text)
    assert len(shown["Levels of one carrier"]) == MOST_ROWS
    assert shown["Levels of one carrier"][0]["Beam (0)"].endswith("… +8")
    left = sum(len(g.centres) * 9 for g in found.alike[MOST_ROWS:])
    assert f"{left} more stand in transmission_plan.csv." in text
    assert shown["Frequencies and bandwidth"][1]["Carrier (0)"] == f"Inbound × 48{MARK}"
    assert "more on what is too small stand in summary.json" in text


# --- the table ------------------------------------------------------------------------------


def test_a_row_a_carrier_a_hub_and_a_type(two: Plan, tmp_path: Path) -> None:
    found = told(two)
    read = rows(found, tmp_path / "t.csv")
    assert tuple(read[0]) == HEADINGS
    carriers = [row for row in read if row["kind"] == "carrier"]
    each = [(g, c) for g in found.groups for c in g.centres]
    assert len(carriers) == len(each)
    for row, (group, centre) in zip(carriers, each, strict=True):
        assert (row["beam"], row["direction"]) == (group.beams[0], group.direction)
        assert (row["number"], row["carriers"]) == (str(centre.number), str(len(group.centres)))
        assert float(row["uplink_ghz"]) == centre.uplink_ghz
        assert float(row["centre_offset_mhz"]) == pytest.approx(centre.offset_mhz, abs=1e-6)
        for name in ("flux_dbw_m2", "eirp_dbw", "carrier_eirp_dbw", "leased_mhz", "occupied_mhz"):
            assert float(row[name]) == pytest.approx(getattr(group, name), abs=5.1e-3), name
        assert row["cross_polar_db"] == "30.0"
        assert row["assumed"].split("; ") == list(group.basis[1])
        assert row["antenna_m"] == row["lat"] == ""
    hubs = [row for row in read if row["kind"] == "hub"]
    assert [row["beam"] for row in hubs] == ["west", "east"]
    assert all(row["hpa_w"] == "" and float(row["needed_hpa_w"]) > 1 for row in hubs)
    kits = [row for row in read if row["kind"] == "terminal"]
    for row, of in zip(kits, found.terminals, strict=True):
        assert float(row["greatest_feed_w"]) == pytest.approx(of.type.faded_feed_w, abs=5.1e-4)
        assert float(row["allowed_feed_w"]) == pytest.approx(of.type.allowed_feed_w, abs=5.1e-4)
        assert (row["beam"], int(row["sites"])) == (of.beams[0], of.type.sites)
    assert len(read) == len(carriers) + len(hubs) + len(kits)


def test_texts_of_users_are_text(two: Plan, tmp_path: Path) -> None:
    found = told(two)
    for name in HOSTILE_NAMES:
        groups = tuple(replace(group, beams=(name,)) for group in found.groups)
        hubs = tuple(replace(hub, beams=(name,)) for hub in found.hubs)
        of = replace(found, groups=groups, alike=groups, hubs=hubs, notes=(name,))
        contacts = two.network.contacts.model_copy(update={"operator_name": name})
        satellite = two.network.satellite.model_copy(update={"name": name})
        network = two.network.model_copy(update={"contacts": contacts, "satellite": satellite})
        plan = replace(two, network=network, facts=replace(two.facts, name=name))
        tree = html.fromstring(page(of, plan))
        assert tree.xpath("//script | //img | //@onerror | //@style") == []
        assert " ".join(tree.findtext(".//h1/bdi").split()) == " ".join(name.split())
        assert " ".join(name.split()) in " ".join(tree.text_content().split())
        read = rows(of, tmp_path / "t.csv")
        assert not any(row["beam"].startswith(("=", "+", "@", "-")) for row in read)


def test_the_page_needs_nothing_else(plan: Plan) -> None:
    text = page(told(plan), plan)
    tree = html.fromstring(text)
    assert "http:" not in text
    assert "https:" not in text
    assert tree.xpath("//script | //link[@rel='stylesheet'] | //img | //iframe | //a") == []
    assert "@font-face" not in text
    assert "url(" not in text
    assert tree.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")[0].startswith(
        "default-src 'none'"
    )


def test_numbers_are_those_of_the_csv(plan: Plan, tmp_path: Path) -> None:
    """A level stands in both to the same two decimals."""
    found = told(plan)
    read = [row for row in rows(found, tmp_path / "t.csv") if row["kind"] == "carrier"]
    shown = tables(page(found, plan))["Levels of one carrier"]
    for row in shown:
        (same, *_) = [r for r in read if r["direction"].capitalize() == row["Carrier (0)"]]
        assert row["EIRP of the station dBW (0)"].removesuffix(MARK) == same["eirp_dbw"]
        assert row["Flux at the satellite dBW/m² (0)"].removesuffix(MARK) == same["flux_dbw_m2"]
    assert not any(math.isnan(float(r["flux_dbw_m2"])) for r in read)


# --- on paper -------------------------------------------------------------------------------


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


@pytest.mark.browser
@pytest.mark.parametrize("paper", PAPERS)
def test_one_page_or_two(browser: Any, plan: Plan, two: Plan, tmp_path: Path, paper: str) -> None:
    """With the widest letters, the longest texts and the most beams, too."""
    path = tmp_path / "transmission_plan.html"
    long = {
        "operator_name": "W" * 80,
        "operator_phone": "+00 123 45" * 4,
        "planner_name": "w " * 40,
    }
    contacts = two.network.contacts.model_copy(update=long)
    network = two.network.model_copy(update={"contacts": contacts})
    wide = replace(two, network=network, facts=replace(two.facts, name="W" * 200))
    cases = (
        (told(plan), plan, 1),
        (told(two), two, 2),
        (many(told(two), "W"), wide, 2),
        (many(told(two), "spot beside the river "), wide, 2),
    )
    for found, of, most in cases:
        write_transmission_page(found, of, path)
        pages = printed(browser, path, paper).pages
        assert len(pages) <= most
        text = " ".join(" ".join(p.extract_text() for p in pages).split())
        assert "Every carrier stands in transmission_plan.csv." in text
        assert browser.driver.execute_script(
            "return document.documentElement.scrollWidth <= window.innerWidth"
        )
    assert browser.console() == []
