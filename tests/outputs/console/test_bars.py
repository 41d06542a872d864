"""Progress bars: for long work, and only where wanted."""

from __future__ import annotations

import pytest

from siteplan.outputs import console


def test_two_bars_share_the_screen(capsys: pytest.CaptureFixture[str]) -> None:
    with console.progress(quiet=False) as watch:
        for label, total in (("Planning", console.PROGRESS_FROM_SITES), ("Sheets", 1000)):
            told = watch(total, label)
            told(total // 2)
            told(total)
    with console.progress(quiet=True) as watch:
        watch(10**6, "Sheets")(1)
    assert "Error" not in capsys.readouterr().err


def test_short_work_shows_no_bar(capsys: pytest.CaptureFixture[str]) -> None:
    with console.progress(quiet=False) as watch:
        watch(console.PROGRESS_FROM_SITES - 1)(5)
        watch(console.SHEETS_PROGRESS_FROM - 1, "Sheets")(5)
    told = capsys.readouterr()
    assert (told.out, told.err) == ("", "")
