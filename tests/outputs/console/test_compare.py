"""What compare prints of satellites: a row each, the reasons, names as they are."""

from __future__ import annotations

import pytest

from siteplan.outputs import console
from tests.outputs.compare.compared import comparison


def test_a_row_a_satellite_and_the_reasons(capsys: pytest.CaptureFixture[str]) -> None:
    of, _ = comparison(others=[("[red]East[/red]", -30.0)], refused=("Beyond",))
    console.show_slots(of, "out/compare", sheets=4)
    shown = capsys.readouterr().out
    assert "3 satellites for 6 sites" in shown
    rows = [line for line in shown.splitlines() if " W " in line]
    assert len(rows) == 2
    assert "[red]East[/red]" in rows[1]
    assert "30 W" in rows[1]
    assert str(of.slots[1].served) in rows[1].split()
    assert "No plan with Beyond: The hub does not see it." in shown
    assert "Written to out/compare: compare.html, tables, map, and 4 sheets" in shown
    assert "Cost" not in shown


def test_no_sheets_are_not_told(capsys: pytest.CaptureFixture[str]) -> None:
    console.show_slots(comparison()[0], "out/compare", sheets=0)
    assert "sheets" not in capsys.readouterr().out


def test_where_there_is_no_map_it_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    console.show_slots(comparison()[0], "out/compare", sheets=0, mapped=False)
    told = " ".join(capsys.readouterr().out.split())
    assert "Written to out/compare: compare.html, tables (no map: 6 sites are too many)" in told
