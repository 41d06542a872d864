"""Lists of network.toml are told entry by entry: which was added, taken out, or changed."""

from __future__ import annotations

from typing import Any

import pytest

from siteplan.network import Network
from siteplan.network.reference import is_list_table, table_keys, table_types
from siteplan.planning.differences.entries import KNOWN_BY, entry_changes

BARE: dict[str, Any] = {"satellite": {"longitude_deg": -61}}


def changes(table: str, old: list[dict[str, Any]], new: list[dict[str, Any]]) -> list[Any]:
    one, other = (getattr(Network.model_validate({**BARE, table: of}), table) for of in (old, new))
    return [(c.key, c.old, c.new) for c in entry_changes(table, one, other)]


def sizes(*diameters: float) -> list[dict[str, Any]]:
    return [{"diameter_m": d} for d in diameters]


def test_an_entry_that_was_added_is_named_wherever_it_stands() -> None:
    assert changes("antennas", sizes(1.2, 2.4), sizes(1.2, 1.8, 2.4)) == [
        ("[[antennas]] diameter_m = 1.8", "", "{ diameter_m = 1.8 }")
    ]


def test_an_entry_that_was_taken_out_is_named() -> None:
    old = [{"rated_w": 2, "price": 450}, {"rated_w": 4}]
    assert changes("bucs", old, old[1:]) == [
        ("[[bucs]] rated_w = 2", "{ rated_w = 2, price = 450 }", "")
    ]


def test_a_key_of_an_entry_is_told_by_the_entry_even_where_another_came() -> None:
    old = [{"diameter_m": 1.2, "price": 800}, {"diameter_m": 1.8}]
    new = [{"diameter_m": 0.98}, {"diameter_m": 1.2, "price": 900}, {"diameter_m": 1.8}]
    assert changes("antennas", old, new) == [
        ("[[antennas]] diameter_m = 1.2: price", "800", "900"),
        ("[[antennas]] diameter_m = 0.98", "", "{ diameter_m = 0.98 }"),
    ]


def test_another_size_is_one_taken_out_and_one_added() -> None:
    found = changes("antennas", sizes(1.2, 1.8), sizes(1.2, 2.4))
    assert [(was, is_) for _, was, is_ in found] == [
        ("{ diameter_m = 1.8 }", ""), ("", "{ diameter_m = 2.4 }"),
    ]  # fmt: skip


def test_twins_are_not_taken_for_one_another() -> None:
    """Two of one file: what is left of as many is one that changed, else they came and went."""
    red, blue, green = ({"file": "a.gpkg", "color": of} for of in ("black", "blue", "green"))
    assert changes("overlays", [red, blue], [red, green]) == [
        ('[[overlays]] file = "a.gpkg": color', '"blue"', '"green"')
    ]
    assert [bool(is_) for _, _, is_ in changes("overlays", [red, blue], [green])] == [
        *(False, False),
        True,
    ]


def test_another_order_alone_is_told() -> None:
    assert changes("antennas", sizes(1.2, 1.8), sizes(1.8, 1.2)) == [
        ("[[antennas]]", "the same entries", "in another order")
    ]


def test_ellipses_of_one_beam_are_known_by_their_direction() -> None:
    def shape(direction: str, peak: float) -> dict[str, Any]:
        return {"direction": direction, "peak": peak, "lat": 0, "lon": -60, "major_deg": 3,
                "minor_deg": 2}  # fmt: skip

    old, new = ([shape("down", 50), shape("up", peak)] for peak in (2, 3))
    assert changes("contours", old, new) == [('[[contours]] direction = "up": peak', "2", "3")]


def test_a_long_entry_is_cut() -> None:
    ((key, was, is_),) = changes("overlays", [], [{"file": "a" * 90, "name": "b" * 60}])
    assert key.startswith(f'[[overlays]] file = "{"a" * 90}"')
    assert was == ""
    assert len(is_) == 160
    assert is_.endswith("…")


@pytest.mark.parametrize("table", [t for t in table_types() if is_list_table(t)])
def test_what_a_list_is_known_by_are_keys_of_it(table: str) -> None:
    known = KNOWN_BY.get(table, table_keys(table)[:1])
    assert set(known) <= set(table_keys(table))
    assert table_types()[table].model_fields[known[0]].is_required()
