"""Causes on invented ways between two plans: one group, several, to and fro, methods."""

from __future__ import annotations

from typing import Any

import numpy as np

from siteplan.answers.differences import SiteChange
from siteplan.arrays import IntArray
from siteplan.planning.differences.causes import Told, site_changes
from siteplan.planning.differences.replay import Path, State, with_ends


def state(
    antenna: list[float], margin: list[float] | None = None, flags: list[str] | None = None
) -> State:
    n = len(antenna)
    margins = margin or [1.0] * n
    classes = ["3 to 6 dB" if m >= 3 else "1 to 3 dB" for m in margins]
    return State(
        antenna_m=np.array(antenna),
        buc_w=np.full(n, 2.0),
        beam=np.full(n, "", dtype=object),
        margin_class=np.array(classes, dtype=object),
        margin_db=np.array(margins),
        flags=np.array(flags or [""] * n, dtype=object),
    )


def told(n: int, was: bool = True, is_: bool = True) -> Told:
    ids = np.array([f"S{k}" for k in range(n)], dtype=object)
    nothing = np.zeros((n, 2), dtype=bool)
    return Told(ids, ids, (np.full(n, was), np.full(n, is_)), (nothing, nothing))


def never(groups: tuple[str, ...], rows: IntArray) -> State | None:
    raise AssertionError(f"{groups} need not be tried at {rows}")


def causes(found: tuple[SiteChange, ...], what: str) -> dict[str, tuple[str, ...]]:
    return {s.site_id: c.cause for s in found for c in s.changes if c.what == what}


def way(steps: list[str], *states: State) -> Path:
    return with_ends([(s,) for s in steps], states, (states[0], states[-1]))


def test_the_first_group_needs_no_second_look() -> None:
    path = way(["place", "rules"], state([1.2, 1.2]), state([1.8, 1.2]), state([1.8, 1.2]))
    found = site_changes(path, told(2), never)
    assert [s.site_id for s in found] == ["S0"]
    assert causes(found, "antenna_m") == {"S0": ("place",)}
    (change,) = found[0].changes
    assert (change.old, change.new) == ("1.2", "1.8")


def test_a_later_group_is_tried_alone() -> None:
    """At S0 the rules do it by themselves, at S1 only behind the satellite, at S2 behind both."""
    steps = ["place", "satellite", "rules"]
    same = state([1.2] * 3)
    path = way(steps, same, same, same, state([1.8] * 3))
    asked: list[tuple[Any, ...]] = []

    def alone(groups: tuple[str, ...], rows: IntArray) -> State:
        asked.append((groups, rows.tolist()))
        enough = {0: {"rules"}, 1: {"satellite", "rules"}, 2: {"place", "satellite", "rules"}}
        return state([1.8 if enough[i] <= set(groups) else 1.2 for i in rows.tolist()])

    found = site_changes(path, told(3), alone)
    assert causes(found, "antenna_m") == {
        "S0": ("rules",),
        "S1": ("satellite", "rules"),
        "S2": ("place", "satellite", "rules"),
    }
    assert asked[0] == (("rules",), [0, 1, 2])
    assert (("satellite", "rules"), [1, 2]) in asked


def test_what_cannot_be_planned_alone_is_told_together() -> None:
    same = state([1.2])
    path = way(["carriers", "regulation"], same, same, state([2.4]))
    found = site_changes(path, told(1), lambda groups, rows: None)
    assert causes(found, "antenna_m") == {"S0": ("carriers", "regulation")}


def test_a_value_that_moves_to_and_fro_is_of_all_that_move_it() -> None:
    """S0 ends elsewhere than it began, S1 where it began: that is no change."""
    path = way(["place", "rules"], state([1.2, 1.2]), state([1.8, 1.8]), state([2.4, 1.2]))
    found = site_changes(path, told(2), never)
    assert causes(found, "antenna_m") == {"S0": ("place", "rules")}


def test_shares_of_a_margin_sum_to_its_change() -> None:
    path = way(
        ["satellite", "interference"],
        state([1.2, 1.2], [3.04, 5.0]),
        state([1.2, 1.2], [2.11, 5.0]),
        state([1.2, 1.2], [2.61, 5.0]),
    )
    (site,) = site_changes(path, told(2), lambda groups, rows: None)
    assert dict(site.margin_by_group) == {
        ("method",): 0.0,
        ("satellite",): 2.11 - 3.04,
        ("interference",): 2.61 - 2.11,
    }
    assert abs(sum(db for _, db in site.margin_by_group) - site.margin_change_db) < 1e-12
    assert causes((site,), "margin_db") == {"S0": ("satellite", "interference")}
    assert causes((site,), "margin_class") == {"S0": ("satellite",)}


def test_what_replaying_misses_is_method() -> None:
    """The old plan told 1.8 m and 2.0 dB, its inputs give 1.2 m and 3.0 dB today."""
    then, now = state([1.8], [2.0]), state([1.2], [3.0])
    end = state([1.2], [3.5])
    path = with_ends([("rules",)], [now, end], (then, end))
    (site,) = site_changes(path, told(1), never)
    assert causes((site,), "antenna_m") == {"S0": ("method",)}
    assert causes((site,), "margin_db") == {"S0": ("method", "rules")}
    assert dict(site.margin_by_group) == {("method",): 1.0, ("rules",): 0.5}


def test_a_margin_that_was_rounded_counts_with_all_its_digits() -> None:
    then, now = state([1.2], [3.0]), state([1.2], [2.96])
    told_end, end = state([1.2], [3.1]), state([1.2], [3.14])
    path = with_ends([("rules",)], [now, end], (then, told_end))
    (site,) = site_changes(path, told(1), never)
    assert dict(site.margin_by_group) == {("method",): 0.0, ("rules",): 3.14 - 2.96}
    change = site.changes[-1]
    assert (change.what, change.old, change.new) == ("margin_db", "3", "3.1")


def test_flags_are_changes_of_their_own() -> None:
    path = way(
        ["place"],
        state([1.2], flags=["heavy_rain;low_elevation"]),
        state([1.2], flags=["coordinate_doubt;heavy_rain"]),
    )
    (site,) = site_changes(path, told(1), never)
    assert [(c.what, c.old, c.new) for c in site.changes] == [
        ("flag", "", "coordinate_doubt"),
        ("flag", "low_elevation", ""),
    ]


def test_a_site_without_kit_is_blank_and_lost() -> None:
    nan = float("nan")
    path = way(["rules"], state([1.2], [2.0]), state([nan], [nan], ["no_fit"]))
    (site,) = site_changes(path, told(1, is_=False), never)
    assert site.service == "lost"
    found = {c.what: (c.old, c.new, c.cause) for c in site.changes}
    assert found["service"] == ("served", "not served", ("rules",))
    assert found["antenna_m"] == ("1.2", "", ("rules",))
    assert found["margin_db"] == ("2", "", ("rules",))
    assert np.isnan(site.margin_change_db)


def test_what_hangs_on_the_terrain_has_its_own_cause() -> None:
    """Terrain is not planned anew: its flags and the service that they take are told apart."""
    then, now = state([1.2, 1.2]), state([1.2, 1.8], flags=["", ""])
    after = state([1.2, 1.8], flags=["blocked", ""])
    path = with_ends([("rules",)], [then, now], (then, after))
    found = site_changes(path, told(2), never, terrain=("terrain",))
    assert causes(found, "flag") == {"S0": ("terrain",)}
    assert causes(found, "service") == {"S0": ("terrain",)}
    assert causes(found, "antenna_m") == {"S1": ("rules",)}


def test_results_alone_have_no_cause() -> None:
    path = Path(((),), (state([1.2], [3.0]), state([1.8], [2.0])))
    (site,) = site_changes(path, told(1), never)
    assert {c.cause for c in site.changes} == {()}


def test_what_matters_most_stands_first() -> None:
    then = state([1.2] * 4, [5.0, 5.0, 5.0, 5.0])
    now = state([1.2, 1.8, 1.2, 1.2], [4.0, 5.0, 3.5, 5.0], ["", "", "", "no_fit"])
    ids = told(4)._replace(served=(np.full(4, True), np.array([True, True, True, False])))
    found = site_changes(way(["rules"], then, now), ids, never)
    assert [s.site_id for s in found] == ["S3", "S1", "S2", "S0"]
