"""Every input belongs to one group, and groups of two plans can be mixed."""

from __future__ import annotations

from dataclasses import fields, replace
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest

from siteplan.model import Note, Obstructions, Sites
from siteplan.network import Network
from siteplan.network.reference import table_types
from siteplan.planning.differences.groups import (
    COLUMNS,
    GROUPS,
    KEYS,
    METHOD,
    TABLES,
    changed_rows,
    differing,
    group_of_key,
    mixed_network,
    mixed_sites,
    same_around,
)


def network(**tables: Any) -> Network:
    return Network.model_validate({"satellite": {"longitude_deg": 10}} | tables)


@pytest.mark.parametrize("table", table_types())
def test_every_key_of_the_network_has_its_group(table: str) -> None:
    """A table is in one group as a whole, or each of its keys is given a place."""
    assert (table in TABLES) != (table in KEYS)
    for key in table_types()[table].model_fields:
        assert group_of_key(table, key) in (*GROUPS, METHOD), f"[{table}] {key}"


def test_no_group_has_a_key_that_is_no_more() -> None:
    assert set(TABLES) | set(KEYS) == set(table_types())
    carriers = {k for table in ("outbound", "inbound") for k in table_types()[table].model_fields}
    assert set(KEYS["outbound"]) | set(KEYS["inbound"]) == carriers
    assert set(KEYS["satellite"]) == set(table_types()["satellite"].model_fields)
    assert set(GROUPS) == {g for g in (*TABLES.values(), *KEYS["outbound"].values(),
                                       *KEYS["satellite"].values()) if g != METHOD}  # fmt: skip


def test_every_column_of_the_sites_has_its_group() -> None:
    assert set(COLUMNS) == {f.name for f in fields(Sites)}
    assert set(COLUMNS.values()) <= set(GROUPS)


def test_what_differs_is_told_by_what_holds() -> None:
    """A default that is written out is no difference."""
    old = network(outbound={"ci_db": 20}, antennas=[{"diameter_m": 1.2}])
    new = network(outbound={"satellite_eirp_dbw": 50}, antennas=[{"diameter_m": 1.8}])
    assert differing(old, new) == {
        ("outbound", "satellite_eirp_dbw"): "satellite",
        ("antennas", ""): "catalogue",
    }
    assert differing(old, network(antennas=[{"diameter_m": 1.2}])) == {}


def test_groups_are_mixed_key_by_key() -> None:
    old = network(outbound={"ci_db": 15, "satellite_eirp_dbw": 50, "symbol_rate_msps": 5})
    new = network(outbound={"ci_db": 18, "roll_off": 0.35}, rules={"reserve_db": 2})
    found = mixed_network(old, new, ("interference", "rules"))
    assert found is not None
    given = found.model_dump(exclude_unset=True)
    assert given["outbound"] == {"ci_db": 18, "satellite_eirp_dbw": 50, "symbol_rate_msps": 5}
    assert given["rules"] == {"reserve_db": 2}
    assert mixed_network(old, new, ()) == old
    assert mixed_network(old, new, GROUPS) == new


def test_groups_that_do_not_go_together_are_none() -> None:
    """The old mask holds at Ku band; the new carriers are at Ka band."""
    old = network(regulation={"masks": ["s728_1"]})
    ka = {"uplink_ghz": 29.7, "downlink_ghz": 19.9}
    new = network(inbound=ka, regulation={"masks": ["en301459"]})
    assert mixed_network(old, new, ("carriers",)) is None
    assert mixed_network(old, new, ("carriers", "regulation")) is not None


def noted(column: str) -> Note:
    return Note.of("note.input_mended.no_id", column=column)


def test_columns_and_their_notes_go_with_their_group() -> None:
    at = np.array([1.0, 2.0])
    old = Sites.at(at, at, availability_pct=np.array([99.0, 99.0]))
    new = replace(
        Sites.at(at + 1, at),
        availability_pct=np.array([99.5, 99.0]),
        notes=MappingProxyType({0: (noted("availability_pct"), noted("lat")), 1: (noted("x"),)}),
    )
    found = mixed_sites(old, new, ("rules",))
    assert found.lat.tolist() == [1.0, 2.0]
    assert found.availability_pct.tolist() == [99.5, 99.0]
    assert dict(found.notes) == {0: (noted("availability_pct"),)}
    placed = mixed_sites(old, new, ("place",))
    assert placed.lat.tolist() == [2.0, 3.0]
    assert dict(placed.notes) == {0: (noted("lat"),), 1: (noted("x"),)}
    assert {k: v.tolist() for k, v in changed_rows(old, new).items()} == {
        "lat": [True, True],
        "availability_pct": [True, False],
    }


def obstacles(*rows: int) -> Obstructions:
    n = len(rows)
    texts, numbers = np.full(n, "A", dtype=object), np.full(n, np.nan)
    return Obstructions(
        *(texts, numbers + 1, numbers, numbers, numbers, numbers, numbers, texts, np.array(rows))
    )


def test_obstacles_are_the_same_whatever_row_they_stood_in() -> None:
    assert same_around(obstacles(2, 3), obstacles(5, 9))
    assert not same_around(obstacles(2, 3), obstacles(2))
    assert not same_around(obstacles(2), None)
    assert same_around(None, obstacles())
    higher = replace(obstacles(2), elevation_deg=np.array([3.0]))
    assert not same_around(obstacles(2), higher)
