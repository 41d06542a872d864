"""What a page says of figures that nobody gave."""

from __future__ import annotations

import pytest

from siteplan.outputs import console

ASSUMED = [
    {"key": "terminal.lnb_noise_k", "value": "75", "unit": "K", "meaning": "Noise of the LNB"},
    {"key": "rules.reserve_db", "value": "1", "unit": "dB", "meaning": "Left over"},
]


def test_none_assumed_is_not_mentioned(capsys: pytest.CaptureFixture[str]) -> None:
    console.show_assumed([])
    assert capsys.readouterr().out == ""


def test_the_tables_and_where_they_stand(capsys: pytest.CaptureFixture[str]) -> None:
    console.show_assumed(ASSUMED, where="--assumed")
    told = capsys.readouterr().out
    assert told == "2 figures were assumed, in rules, terminal: see --assumed.\n"


def test_all_of_them(capsys: pytest.CaptureFixture[str]) -> None:
    console.show_assumed(ASSUMED, all_of_them=True)
    rows = [line.split() for line in capsys.readouterr().out.splitlines()]
    assert ["terminal.lnb_noise_k", "75", "K", "Noise", "of", "the", "LNB"] in rows
    assert ["rules.reserve_db", "1", "dB", "Left", "over"] in rows
