"""The page of ``siteplan check``: rejects, notes, the count."""

from __future__ import annotations

import re

import pytest

from siteplan.model import ColumnRead, Note, NoteKind, NoteLine, Reject, RejectKind
from siteplan.outputs import console
from siteplan.outputs.console.terminal import ROWS_SHOWN


def reject(row: int) -> Reject:
    return Reject(row, f"S{row}", "lat", "9" * 60, "it is no latitude", "Give degrees")


def test_nothing_to_tell_prints_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    console.show_rejects([])
    console.show_notes([])
    console.show_columns([])
    console.show_kinds([], where="notes.csv")
    console.show_reject_kinds([])
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
    console.show_rejects([reject(k) for k in range(ROWS_SHOWN + 3)], all_of_them=True)
    told = capsys.readouterr().out
    assert told.count("it is no latitude") == ROWS_SHOWN + 3
    assert "more" not in told


def test_the_count(capsys: pytest.CaptureFixture[str]) -> None:
    console.show_checked("fjord", rows_read=9, good=7, rejected=2, noted=1)
    assert capsys.readouterr().out == "fjord: 9 rows read, 7 good, 2 rejected, 1 with notes\n"


def lines(text: str) -> list[list[str]]:
    """Return the cells of a printed table, its columns two or more spaces apart."""
    return [re.split(r" {2,}", line.strip()) for line in text.splitlines() if line.strip()]


def test_how_each_column_was_understood(capsys: pytest.CaptureFixture[str]) -> None:
    console.show_columns(
        [
            ColumnRead("Latitude", "lat", 1200, 0, "-6.1234"),
            ColumnRead("beds", "free", 3, 1197, "a long\ntext of more than twenty letters"),
            ColumnRead("Wind", "", 9, 1191, "4"),
        ]
    )
    told = lines(capsys.readouterr().out)
    assert told[1] == ["Heading", "Taken as", "Values", "Blank", "Example"]
    assert told[3:] == [
        ["Latitude", "lat", "1200", "0", "-6.1234"],
        ["beds", "kept, not used", "3", "1197", "a long text of more t..."],
        ["Wind", "left out", "9", "1191", "4"],
    ]


def test_many_columns_are_shown_in_part_or_all(capsys: pytest.CaptureFixture[str]) -> None:
    columns = [ColumnRead(f"free {k}", "free", 1, 0, "x") for k in range(ROWS_SHOWN + 2)]
    console.show_columns(columns)
    assert capsys.readouterr().out.splitlines()[-1] == "... and 2 more"
    console.show_columns(columns, all_of_them=True)
    assert f"free {ROWS_SHOWN + 1}" in capsys.readouterr().out


def test_each_kind_is_a_line(capsys: pytest.CaptureFixture[str]) -> None:
    console.show_kinds(
        [
            NoteKind("warn", 1, (9,), "Far from all."),
            NoteKind("note", 0, (), "Said of the file."),
            NoteKind("note", 300, (2, 3), "cable_m '9' is odd.", alike=False),
        ],
        where="notes.csv",
    )
    told = lines(capsys.readouterr().out)
    assert told[3:] == [
        ["warn", "1", "9", "Far from all."],
        ["note", "the file", "Said of the file."],
        ["note", "300", "2, 3 ...", "Row 2: cable_m '9' is odd."],
        ["Every one of them: notes.csv."],
    ]


def test_where_all_notes_stand_is_said_where_not_all_are_shown(
    capsys: pytest.CaptureFixture[str],
) -> None:
    kinds = [NoteKind("note", 1, (k,), f"Note {k}.") for k in range(3)]
    console.show_kinds(kinds, where="notes.csv")
    assert "notes.csv" not in capsys.readouterr().out
    console.show_kinds(kinds, where="notes.csv", most=2)
    told = capsys.readouterr().out
    assert "Note 2." not in told
    assert told.splitlines()[-2:] == ["... and 1 more", "Every one of them: notes.csv."]


def test_rejects_by_reason(capsys: pytest.CaptureFixture[str]) -> None:
    console.show_reject_kinds([RejectKind(reject(7), 40, (7, 8))])
    told = lines(capsys.readouterr().out)
    assert told[3][:4] == ["40", "7, 8 ...", "lat", "9" * 40]
    assert "more" not in str(told)


def test_every_note_unfolded(capsys: pytest.CaptureFixture[str]) -> None:
    note = Note.of("note.input_mended.encoding", encoding="Windows-1250")
    console.show_notes([NoteLine(None, "", note)] + [NoteLine(k, f"S{k}", note) for k in range(30)])
    told = lines(capsys.readouterr().out)
    assert told[3][:2] == ["note", "file"]
    assert [line[:3] for line in told[4:]] == [["note", str(k), f"S{k}"] for k in range(30)]


@pytest.mark.parametrize("width", [80, 120])
def test_headings_and_keys_are_whole_on_a_terminal(
    width: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("COLUMNS", str(width))
    console.show_columns(
        [ColumnRead("availability_pct of all", "fixed_buc_backoff_db", 9, 1, "y" * 60)]
    )
    told = re.sub(r"\x1b\[[0-9;]*m", "", capsys.readouterr().out)
    assert "availability_pct of all" in told
    assert "fixed_buc_backoff_db" in told
    assert max(map(len, told.splitlines())) <= width
