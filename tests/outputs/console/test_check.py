"""The page of ``siteplan check``: rejects, notes, the count."""

from __future__ import annotations

import pytest

from siteplan.model import Reject
from siteplan.outputs import console
from siteplan.outputs.console.terminal import ROWS_SHOWN


def reject(row: int) -> Reject:
    return Reject(row, f"S{row}", "lat", "9" * 60, "it is no latitude", "Give degrees")


def test_nothing_to_tell_prints_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    console.show_rejects([])
    console.show_notes([])
    assert capsys.readouterr().out == ""


def test_a_reject_with_its_advice(capsys: pytest.CaptureFixture[str]) -> None:
    console.show_rejects([reject(7)])
    told = capsys.readouterr().out
    assert "Rejected" in told
    assert "9" * 40 in told
    assert "9" * 41 not in told
    assert reject(7).advice in told
    assert "more" not in told


def test_long_lists_say_how_many_more(capsys: pytest.CaptureFixture[str]) -> None:
    console.show_rejects([reject(k) for k in range(ROWS_SHOWN + 3)])
    assert capsys.readouterr().out.splitlines()[-1] == "... and 3 more"
    console.show_notes([("S1", "mended")] * (ROWS_SHOWN + 1))
    told = capsys.readouterr().out
    assert told.count("mended") == ROWS_SHOWN + 1  # the title holds the word too
    assert told.splitlines()[-1] == "... and 1 more"


def test_the_count(capsys: pytest.CaptureFixture[str]) -> None:
    console.show_checked("fjord", rows_read=9, good=7, rejected=2, noted=1)
    assert capsys.readouterr().out == "fjord: 9 rows read, 7 good, 2 rejected, 1 with notes\n"
