"""Notes folded: each kind once, the worst first; and all of them in a file."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from siteplan.errors import OutputError
from siteplan.jobs.check.notes import ROWS_NAMED, folded, folded_rejects
from siteplan.jobs.check.project import check_project, write_notes
from siteplan.jobs.parts.part import run_here
from siteplan.jobs.parts.spread import Hands
from siteplan.jobs.plan import plan_project
from siteplan.model import Note, NoteKind, NoteLine, Reject

UNIT = "note.input_mended.cell_unit"
FAR = "note.coordinate_doubt.far_alone"


def project(folder: Path, *rows: str, head: str = "site_id,name,lat,lon,cable_m") -> Path:
    folder.mkdir(exist_ok=True)
    (folder / "sites.csv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    (folder / "network.toml").write_text("[satellite]\nlongitude_deg = 30\n")
    return folder


#: Five good rows of one district, and rows with something to tell.
GOOD = [f"A{k},Post {k},{-6.1234 - 0.0217 * k:.4f},{35.7123 + 0.0192 * k:.4f}," for k in range(8)]


def unit(column: str, text: str, row: int) -> NoteLine:
    return NoteLine(row, f"S{row}", Note.of(UNIT, column=column, text=text, unit="m"))


def test_a_kind_is_told_once_with_its_count_and_first_rows() -> None:
    lines = [unit("cable_m", "12 m", row) for row in range(2, 12)]
    (kind,) = folded(lines)
    first = tuple(range(2, 2 + ROWS_NAMED))
    assert kind == NoteKind("note", 10, first, lines[0].note.sentence, alike=True)


def test_a_column_is_a_kind_of_its_own_and_sentences_may_differ() -> None:
    kinds = folded([unit("cable_m", "12 m", 2), unit("roof_height_m", "3 m", 3),
                    unit("cable_m", "9 m", 4)])  # fmt: skip
    assert [(kind.count, kind.rows, kind.alike) for kind in kinds] == [
        (1, (3,), True),
        (2, (2, 4), False),
    ]


def test_the_worst_come_first_then_the_file_then_the_rarest() -> None:
    whole = NoteLine(None, "", Note.of("note.input_mended.encoding", encoding="Windows-1250"))
    doubt = NoteLine(9, "S9", Note.of(FAR, km=900))
    lines = [*(unit("cable_m", "1 m", row) for row in (2, 3)), whole, doubt]
    found = folded([*lines, unit("roof_height_m", "1 m", 5)])
    assert [(kind.severity, kind.count) for kind in found] == [
        ("warn", 1),
        ("note", 0),
        ("note", 1),
        ("note", 2),
    ]


def test_rejects_are_folded_by_their_reason() -> None:
    rejects = [
        Reject(3, "", "lat", "x1", "lat 'x1' is no angle", "Give degrees."),
        Reject(5, "", "lat", "7z", "lat '7z' is no angle", "Give degrees."),
        Reject(6, "B", "site_id", "B", "the id is already used by row 4", "Give its own."),
        Reject(8, "C", "site_id", "C", "the id is already used by row 7", "Give its own."),
        Reject(9, "", "lon", "7z", "lon '7z' is no angle", "Give degrees."),
    ]
    kinds = folded_rejects(rejects)
    assert [(kind.first.row, kind.count, kind.rows) for kind in kinds] == [
        (3, 2, (3, 5)),
        (6, 2, (6, 8)),
        (9, 1, (9,)),
    ]


def test_what_is_said_of_a_column_is_told_once(tmp_path: Path) -> None:
    rows = [row + "20 ft" for row in GOOD]
    checked = check_project(project(tmp_path / "p", *[r.partition(",")[2] for r in rows],
                                    head="name,lat,lon,cable_m"))  # fmt: skip
    assert [(kind.count, kind.rows[:1]) for kind in checked.kinds] == [(0, ()), (8, (2,))]
    assert [column.taken_as for column in checked.columns] == ["name", "lat", "lon", "cable_m"]
    assert checked.remarks == (checked.kinds[0].sentence,)
    assert len(checked.notes) == 8


def rows_of(path: Path) -> list[list[str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


def messy(folder: Path) -> Path:
    return project(
        folder, *GOOD, "B1,=Post,6.1401,35.7301,20 ft", "B2,Post,60.2,24.9,", ",Z,-6.2,35.8,"
    )


def test_notes_in_full(tmp_path: Path) -> None:
    checked = check_project(messy(tmp_path / "p"))
    head, *rows = rows_of(write_notes(checked, tmp_path / "notes.csv"))
    assert head == ["row", "site_id", "severity", "code", "note"]
    assert [(row[0], row[1], row[2], row[3]) for row in rows] == [
        ("10", "B1", "warn", "coordinate_doubt"),
        ("11", "B2", "warn", "coordinate_doubt"),
        ("11", "B2", "warn", "coordinate_doubt"),
        ("12", "Z", "warn", "coordinate_doubt"),
        ("", "", "note", "input_mended"),
        ("10", "B1", "note", "input_mended"),
    ]
    assert rows[0][4].endswith("if the sign of the latitude is flipped.")


def test_notes_replace_notes_and_nothing_else(tmp_path: Path) -> None:
    folder = messy(tmp_path / "p")
    checked = check_project(folder)
    write_notes(checked, tmp_path / "notes.csv")
    write_notes(checked, tmp_path / "notes.csv")
    before = (folder / "sites.csv").read_bytes()
    for other in (folder / "sites.csv", folder):
        with pytest.raises(OutputError, match="it is no file of notes"):
            write_notes(checked, other)
    assert (folder / "sites.csv").read_bytes() == before
    with pytest.raises(OutputError, match="the notes cannot be written"):
        write_notes(checked, tmp_path / "none" / "notes.csv")


def test_a_plan_writes_the_same_notes_whole_and_in_parts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from siteplan.jobs.parts import spread

    folder = messy(tmp_path / "p")
    alone = write_notes(check_project(folder), tmp_path / "notes.csv").read_bytes()
    whole = plan_project(folder, tmp_path / "whole", with_map=False, with_sheets=False)
    monkeypatch.setattr(spread, "PART_SITES", 3)
    monkeypatch.setattr(spread, "hands_for", lambda _: spread._given(Hands(run_here)))
    parts = plan_project(folder, tmp_path / "parts", with_map=False, workers=0)
    for outcome in (whole, parts):
        assert (outcome.folder / "notes.csv").read_bytes() == alone
        assert outcome.noted == check_project(folder).kinds
