"""What people read on paper, card and screen is words: no key of the network file, no field's name.

'The beam clears the horizon by less than clearance_deg' tells a crew nothing. Names of files may
stand there, and headings of the planner's own table in quotation marks.
"""

from __future__ import annotations

import html
import re

import numpy as np
import pandas as pd
import pytest

from siteplan.fields import ASBUILT_FIELDS, COLUMNS, FIELDS, FLAGS
from siteplan.inputs.network.assumed import assumptions
from siteplan.inputs.sites.read import sites_from_frame
from siteplan.messages import english
from siteplan.network import Network
from siteplan.network.reference import network_reference
from siteplan.outputs import console
from siteplan.outputs.lists.tracks import description
from siteplan.outputs.map.payload import payload
from siteplan.outputs.sheets.assumed import page_of
from siteplan.outputs.sheets.cover import cover_html
from siteplan.outputs.sheets.files import sheet_html
from siteplan.outputs.shown import SiteValues
from siteplan.planning.plan import make_plan
from siteplan.planning.report.summary import summarize
from siteplan.planning.rounds import Round
from siteplan.results import Plan
from tests.fields.test_glossary import in_code, in_pages

NAMES = {
    name
    for name in (
        *FIELDS,
        *ASBUILT_FIELDS,
        *(column for table in COLUMNS.values() for column in table),
        *(row.key for row in network_reference()),
    )
    if "_" in name
}
WORD = re.compile(r"[A-Za-z][A-Za-z0-9]*(?:_[A-Za-z0-9]+)+(?:\.[a-z]+)?")


def keys_in(text: str) -> set[str]:
    """Return the names that a text says, but for headings in quotation marks."""
    return NAMES & set(WORD.findall(re.sub(r"'[^']*'", "", text)))


#: Sites of every kind; cells with notes, which end up among the flags' sentences.
TABLE = {
    "site_id": ["A", "", "C", "D", "E"],
    "lat": ["-3.1", "-1.46", "60.2", "-4.25", "-3.5"],
    "lon": ["-60.02", "-48.47", "-61", "-69.95", "-61.1"],
    "structure": ["flat_roof", "wall", "ground", "pitched_roof", ""],
    "cable_m": ["100 Ft", "999", "400", "60", "30"],
    "roof_height_m": ["4", "x", "", "7", ""],
    "availability_pct": ["", "99.99", "", "99.9", ""],
    "roof_height": ["4", "4", "4", "4", "4"],
}


@pytest.fixture(scope="module")
def plan() -> Plan:
    """A plan of sites of every kind, every default assumed."""
    network = Network.model_validate(
        {"satellite": {"longitude_deg": -61}, "network": {"date": "2026-06-01"}}
    )
    sites = sites_from_frame(pd.DataFrame(TABLE)).sites
    return make_plan(sites, network, assumptions=assumptions(network), with_tables=True)


def test_a_key_in_a_sentence_is_found() -> None:
    assert keys_in("less than clearance_deg") == {"clearance_deg"}
    assert keys_in("see cable_advice.") == {"cable_advice"}
    assert keys_in("rename it 'cable_m'; listed in returned_blank.csv") == set()


def test_notes_of_reading_reach_the_plan(plan: Plan) -> None:
    """Else the sheets below show none of them."""
    notes = " ".join(plan.columns["flag_notes"])
    assert "Cable run '100 Ft': converted from Ft" in notes
    assert "Roof height 'x' is not a number" in notes


def test_no_key_on_a_sheet(plan: Plan) -> None:
    for i in range(len(plan)):
        page = re.sub(r"<style.*?</style>", "", sheet_html(plan, i), flags=re.DOTALL)
        text = html.unescape(re.sub(r"<[^>]+>", " ", page))
        kitted = SiteValues(plan, i).has_kit
        assert ("accept from" in text) == kitted
        assert keys_in(text) == set(), plan.columns["site_id"][i]


def test_no_key_among_the_figures_that_nobody_gave(plan: Plan) -> None:
    text = html.unescape(re.sub(r"<[^>]+>", " ", page_of(plan)))
    assert "Clearance asked for over obstacles 2°" in " ".join(text.split())
    assert text.count("\n") > 20
    assert keys_in(text) == set()


def test_no_key_on_a_cover(plan: Plan) -> None:
    stop = Round("north_shore", 1, np.arange(len(plan)))
    text = html.unescape(re.sub(r"<[^>]+>", " ", cover_html(plan, stop, "north_shore")))
    assert "Kit to load" in text
    assert keys_in(text) == set()


def test_no_key_on_a_card(plan: Plan) -> None:
    """Labels, meanings under the pointer, texts, flags, classes and headings."""
    page = payload(plan, "Sites")
    texts = [v for f in page["fields"].values() for v in (f["label"], f["meaning"])]
    texts += [flag["meaning"] for flag in page["flags"].values()]
    texts += [group["heading"] for group in page["card"]]
    texts += [row["label"] for layer in page["layers"] for row in layer["classes"]]
    texts += [
        str(text)
        for name in page["fields"]
        if FIELDS.get(name) and FIELDS[name].is_text
        for text in plan.columns[name]
        if name not in ("flags", "structure", "mount")  # codes, which the page spells as words
    ]
    assert len(texts) > 300
    assert {text: found for text in texts if (found := keys_in(text))} == {}


def test_no_key_in_descriptions_for_maps(plan: Plan) -> None:
    for i in range(len(plan)):
        assert keys_in(description(SiteValues(plan, i))) == set()


def test_no_key_on_the_console(plan: Plan, capsys: pytest.CaptureFixture[str]) -> None:
    """But for the pages whose subject the keys are: the list of assumed figures, the fields."""
    console.show_site(plan)
    console.show_summary({**summarize(plan), "rows_read": 5, "rejected": 0}, "out")
    shown = capsys.readouterr().out
    assert "Core of the cable" in shown
    assert "The worst sites" in shown
    assert keys_in(shown) == set()


@pytest.mark.parametrize("key", english())
def test_no_key_in_a_sentence(key: str) -> None:
    if key not in ("limit.clouds_older",):  # of the summary: which key would bring newer maps
        assert keys_in(re.sub(r"\{[^}]*\}", "", english()[key])) == set()


def test_no_table_of_the_network_file_in_a_meaning_or_a_sentence() -> None:
    """But where a budget tells the source of a line, which is to be found in the file."""
    told = {
        **{f.name: f.meaning for f in (*FIELDS.values(), *ASBUILT_FIELDS.values())},
        **{code: flag.meaning for code, flag in FLAGS.items()},
        **{key: text for key, text in english().items() if not key.startswith("budget.from.")},
        **{f"{path} {text}": text for path, text in in_pages() if not path.endswith(".js")},
    }
    assert {where for where, text in told.items() if re.search(r"\[[a-z_]+\]", text)} == set()


def test_no_key_in_a_meaning_or_a_page_s_own_words() -> None:
    told = {
        **{f"{f.name}, meaning": f.meaning for f in (*FIELDS.values(), *ASBUILT_FIELDS.values())},
        **{code: flag.meaning for code, flag in FLAGS.items()},
        **{f"{path} {text}": text for path, text in in_pages() if not path.endswith(".js")},
        **{f"{path} {text}": text for path, text in in_code("outputs/sheets", "outputs/lists")},
    }
    assert {where: found for where, text in told.items() if (found := keys_in(text))} == {}
