"""The card of a site: its headings and fields."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np

from siteplan.fields import FIELDS, lookup
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.outputs.map.card import ASKED, BY_NAME, CARD, card_groups
from siteplan.outputs.map.page import page_script
from siteplan.outputs.map.payload import payload
from siteplan.outputs.taking import told
from siteplan.planning.plan import make_plan


def test_the_card_names_fields_of_the_dictionary_once() -> None:
    names = [name for _, fields in (*CARD, *ASKED) for name in fields]
    assert [name for name in names if lookup(name) is None] == []
    assert len(names) == len(set(names))


def test_what_the_page_reads_by_name_is_there_in_both_directions() -> None:
    assert len(BY_NAME) == len(set(BY_NAME))
    assert [name for name in BY_NAME if lookup(name) is None] == []
    for fields in (BY_NAME, *(fields for _, fields in (*CARD, *ASKED))):
        ways = [
            {name.removeprefix(f"{way}_") for name in fields if name.startswith(f"{way}_")}
            for way in ("outbound", "inbound")
        ]
        assert ways[0] == ways[1]


def test_the_card_says_of_skew_what_the_dictionary_says() -> None:
    script = re.sub(r"'\s*\+\s*'", "", page_script())
    told = "Skew as seen from behind the dish, facing the satellite: clockwise is positive."
    assert f"text: '{told}'" in script
    meaning = FIELDS["skew_deg"].meaning
    assert "seen from behind the dish, facing the satellite, clockwise positive" in meaning


def test_every_other_field_stands_under_its_group() -> None:
    groups = card_groups(FIELDS)
    own = [*CARD, *ASKED]
    assert groups[: len(own)] == own
    more = groups[len(own) :]
    assert all(heading.startswith("More: ") for heading, _ in more)
    names = [name for _, fields in groups for name in fields]
    assert len(names) == len(set(names))
    assert set(FIELDS) - set(names) - set(BY_NAME) - {"source_row"} == set()


def test_the_card_has_the_margin_its_class_and_what_the_reserve_leaves_of_it() -> None:
    """Names that begin as the catalogue's margins do are not the catalogue's."""
    link = dict(CARD)["Link"]
    assert link[:3] == ("margin_db", "margin_after_reserve_db", "margin_class")


def test_what_is_asked_for_stands_where_a_plan_has_any_of_it() -> None:
    """A plan without these keys has no word of them."""
    heads = [head for head, _ in ASKED]
    without = [name for name in FIELDS if not any(name in fields for _, fields in ASKED)]
    assert not {head for head, _ in card_groups(without)} & set(heads)
    for head, fields in ASKED:
        assert (head, fields[-1:]) in card_groups([*without, fields[-1]])


def test_unknown_fields_stand_nowhere() -> None:
    assert card_groups(["not_a_field", "margin_1_2_m_db"]) == list(CARD)


def test_what_it_would_take_travels_a_sentence_a_line() -> None:
    """One text a site, empty for those that need nothing; nothing where none does."""
    sites = Sites.at(np.array([-3.1, -10.0]), np.array([-60.0, -60.0]))
    sites = replace(sites, availability_pct=np.array([99.97, 98.0]))
    plan = make_plan(sites, Network.model_validate({"satellite": {"longitude_deg": -61}}))
    lines = [told(r) for r in plan.facts.remedies]
    assert len(lines) > 2
    assert payload(plan, "")["takes"] == {"v": ["\n".join(lines), ""]}
    bare = replace(plan, facts=replace(plan.facts, remedies=()))
    assert "takes" not in payload(bare, "")
