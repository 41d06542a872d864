"""The card of a site: its headings and fields."""

from __future__ import annotations

from siteplan.fields import FIELDS, lookup
from siteplan.outputs.map.card import BY_NAME, CARD, card_groups


def test_the_card_names_fields_of_the_dictionary_once() -> None:
    names = [name for _, fields in CARD for name in fields]
    assert [name for name in names if lookup(name) is None] == []
    assert len(names) == len(set(names))


def test_every_other_field_stands_under_its_group() -> None:
    groups = card_groups(FIELDS)
    assert groups[: len(CARD)] == list(CARD)
    more = groups[len(CARD) :]
    assert all(heading.startswith("More: ") for heading, _ in more)
    names = [name for _, fields in groups for name in fields]
    assert len(names) == len(set(names))
    assert set(FIELDS) - set(names) - set(BY_NAME) - {"source_row"} == set()


def test_the_card_has_the_margin_its_class_and_what_the_reserve_leaves_of_it() -> None:
    """Names that begin as the catalogue's margins do are not the catalogue's."""
    link = dict(CARD)["Link"]
    assert link[:3] == ("margin_db", "margin_after_reserve_db", "margin_class")


def test_unknown_fields_stand_nowhere() -> None:
    assert card_groups(["not_a_field", "margin_1_2_m_db"]) == list(CARD)
