"""Which tests a change is tried by: the room first, the quickest first, no more than needed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.mutation.changes.change import Change
from tests.mutation.choosing import imports_of, in_order, prepares_maps, room, stages
from tests.mutation.lines import MAPS, Record
from tests.mutation.report import Outcome, survivors, table

ROOT = Path(__file__).parent.parent.parent
WIND = "siteplan/physics/wind.py"


@pytest.fixture
def record() -> Record:
    names = ["physics/test_a.py::slow", "physics/test_a.py::quick", "physics/test_b.py::quickest",
             "planning/test_c.py::far", "jobs/test_d.py::starts"]  # fmt: skip
    slow, quick, quickest, far, starts = (f"tests/{name}" for name in names)
    seconds = {slow: 3.0, quick: 0.2, quickest: 0.1, far: 0.5, starts: 2.0}
    lines = {WIND: {7: {slow, quick, far}, 9: {quickest}, 12: {""}, 13: set()}}
    return Record(seconds=seconds, starting={starts}, lines=lines)


def named(found: list[list[str]]) -> Iterator[list[str]]:
    for tests in found:
        yield [test.partition("::")[2] for test in tests]


@pytest.mark.parametrize(
    ("line", "at_import", "expected"),
    [
        (7, False, [["quick", "slow"], ["far"]]),
        (9, False, [["quickest"]]),
        (13, False, [["starts"]]),
        (13, True, [["quickest", "quick", "slow"], ["far"]]),
        (12, False, [["quickest", "quick", "slow"], ["far"]]),
    ],
)
def test_stages(record: Record, line: int, *, at_import: bool, expected: list[list[str]]) -> None:
    change = Change(WIND, "number", 0, 1, b"2", (line, line), at_import)
    assert list(named(stages(change, record, ROOT))) == expected


def test_what_import_executes_is_tried_where_its_values_go(record: Record) -> None:
    importer, quick = "siteplan/planning/site/loads.py", "tests/physics/test_a.py::quick"
    record.lines = {WIND: {7: {quick}}, importer: {3: {"tests/planning/test_c.py::far"}}}
    change = Change(WIND, "number", 0, 1, b"2", (1, 1), at_import=True)
    assert WIND in imports_of(ROOT)[importer]
    assert list(named(stages(change, record, ROOT))) == [["quick"], ["far"]]


def test_maps_read_while_tests_are_collected_ask_no_test(record: Record) -> None:
    path = "siteplan/physics/propagation/mapped/maps.py"
    record.opened[MAPS] = {"", "tests/physics/test_b.py::quickest"}
    change = Change(path, "number", 0, 1, b"2", (7, 7), at_import=False)
    assert list(named(stages(change, record, ROOT))) == [["quickest"]]


def test_without_slow_tests_of_other_rooms(record: Record) -> None:
    record.lines[WIND][7] |= {"tests/jobs/test_d.py::starts"}
    change = Change(WIND, "number", 0, 1, b"2", (7, 7), at_import=False)
    assert list(named(stages(change, record, ROOT))) == [["quick", "slow"], ["far", "starts"]]
    short = list(named(stages(change, record, ROOT, quick=True)))
    assert short == [["quick", "slow"], ["far"]]


def test_files_stay_together_and_the_quickest_goes_first(record: Record) -> None:
    order = in_order(record.seconds, record)
    assert [test.partition("::")[2] for test in order] == [
        "quickest", "quick", "far", "starts", "slow",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        ("siteplan/planning/site/mounts/pole.py", "tests/planning/site/"),
        ("siteplan/physics/wind.py", "tests/physics/"),
        ("siteplan/outputs/sheets/templates/sheet.html", "tests/outputs/sheets/"),
        ("siteplan/words.py", "tests/"),
    ],
)
def test_rooms(path: str, expected: str) -> None:
    found = room(path, ROOT)
    assert found.startswith(expected)
    assert (ROOT / found).is_dir()


def test_files_that_prepare_maps() -> None:
    found = {p.name for p in (ROOT / "siteplan/physics").rglob("*.py")
             if prepares_maps(p.relative_to(ROOT).as_posix(), ROOT)}  # fmt: skip
    assert found >= {"map_cache.py", "map_files.py", "maps.py"}
    assert "wind.py" not in found


def test_the_record_comes_back(record: Record) -> None:
    again = Record()
    again.merge(record.as_json())
    assert again == record


def test_a_test_that_is_left_out_is_asked_about_nothing(record: Record) -> None:
    record.leave_out("tests/physics/test_b.py::quickest")
    change = Change(WIND, "number", 0, 1, b"2", (9, 9), at_import=False)
    assert list(named(stages(change, record, ROOT))) == [["starts"]]


def test_the_report_counts_by_folder() -> None:
    def outcome(path: str, verdict: str) -> Outcome:
        change = Change(path, "number", 0, 1, b"2", (1, 1), at_import=False)
        return Outcome(change, 1, "a = 1", "a = 2", verdict, "", (3, 4), 1.0)

    told = [outcome(WIND, "failed"), outcome(WIND, "survived"), outcome("siteplan/a.py", "hung")]
    assert "| physics | 2 | 1 | 50 % |\n| the rest | 1 | 1 | 100 % |\n| all | 3 | 2 | 67 % |" in (
        table(told)
    )
    assert survivors(told) == (f"1. {WIND}:1 [number] 3 + 4 tests ran, 1 s\n   - a = 1\n   + a = 2")
