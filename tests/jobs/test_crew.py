"""The crew's pack from the command line: sheets for all, for some, for none; what came back."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from siteplan.cli import main
from siteplan.jobs import crew

NETWORK = "[satellite]\nlongitude_deg = -61\n[network]\ndate = 2026-03-01\n"
SITES = (
    "site_id,name,lat,lon,group\nA/1,Alpha,-3.10,-60.02,north\nB,Beta,-1.45,-48.49,south\n"
    "C,=cmd(),-2.00,-55.00,south\n"
)


@pytest.fixture
def project(tmp_path: Path) -> Path:
    folder = tmp_path / "trial"
    folder.mkdir()
    (folder / "sites.csv").write_text(SITES)
    (folder / "network.toml").write_text(NETWORK)
    return folder


def summary(folder: Path) -> str:
    text: str = json.loads((folder / "summary.json").read_text("utf-8"))["crew"]
    return text


def test_plan_writes_the_pack(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = project.parent / "out"
    assert main(["plan", str(project), "--output", str(out), "--no-map"]) == 0
    assert "Sheets for the crew" in capsys.readouterr().out
    assert set(crew.OUTPUT_NAMES) <= {p.name for p in out.iterdir()}
    sheets = sorted(p.name for p in (out / "sheets").glob("*.html"))
    assert len(sheets) == 4
    assert {p.name for p in (out / "sheets" / "groups").iterdir()} == {"north.html", "south.html"}
    assert {"B.html", "C.html", "index.html"} <= set(sheets)


def test_many_sites_get_no_sheets_unless_asked(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(crew, "SHEETS_UP_TO", 2)
    out = project.parent / "out"
    command = ["plan", str(project), "--output", str(out), "--no-map", "--quiet"]
    assert main(command) == 0
    assert not (out / "sheets").exists()
    assert "--sheets" in summary(out)
    assert (out / "kit.csv").exists()
    assert main([*command, "--sheets"]) == 0
    assert (out / "sheets" / "B.html").exists()
    assert main([*command, "--no-sheets"]) == 0
    assert not (out / "sheets").exists()
    assert "as asked" in summary(out)


def test_too_many_sites_for_the_pack_say_so(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(crew, "PACK_UP_TO", 2)
    out = project.parent / "out"
    assert main(["plan", str(project), "--output", str(out), "--no-map", "--quiet"]) == 0
    assert not (out / "kit.csv").exists()
    assert "No kit list" in summary(out)


def test_sheets_for_some(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = project.parent / "out"
    assert main(["sheets", str(project), "--output", str(out), "--only", "B, A/1"]) == 0
    assert "selected" in capsys.readouterr().out
    found = [p.name for p in (out / "selected" / "sheets").glob("*.html")]
    assert len(found) == 3
    assert "C.html" not in found
    command = ["sheets", str(project), "--output", str(out), "--quiet", "--group", "south"]
    assert main(command) == 0
    names = {p.name for p in (out / "selected" / "sheets").glob("*.html")}
    assert names == {"B.html", "C.html", "index.html"}


def test_a_selected_sheet_is_the_same_as_that_of_the_whole(project: Path) -> None:
    out = project.parent / "out"
    assert main(["plan", str(project), "--output", str(out), "--no-map", "--quiet"]) == 0
    assert main(["sheets", str(project), "--output", str(out), "--quiet", "--only", "A/1"]) == 0
    (one,) = (p for p in (out / "selected" / "sheets").glob("A*.html"))
    assert one.read_text("utf-8") == (out / "sheets" / one.name).read_text("utf-8")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "--only"),
        (["--only", "b"], "'b'"),
        (["--group", "sooth"], "Is it south"),
        (["--only", "B", "--group", "north"], "none of the sites named"),
    ],
)
def test_unknown_selections(
    project: Path, arguments: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["sheets", str(project), *arguments]) == 2
    assert words in capsys.readouterr().err


def test_what_came_back(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = project.parent / "out"
    assert main(["plan", str(project), "--output", str(out), "--no-map", "--quiet"]) == 0
    with (out / "sites.csv").open(encoding="utf-8", newline="") as file:
        plan = {row["site_id"]: row for row in csv.DictReader(file)}
    with (out / "returned_blank.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["site_id"] for row in rows] == list(plan)
    for row, shift in zip(rows, (0.0, 4.0, 0.0), strict=True):
        own = plan[row["site_id"]]
        row["azimuth_true_deg"] = str(float(own["azimuth_true_deg"]) + shift)
        row["elevation_deg"] = own["elevation_deg"]
        row["cross_polar_db"] = "33"
        row["c_n_db"] = str(float(own["expected_c_n_db"]) - 1.5 * shift)
    rows[2]["c_n_db"] = ""
    filled = project.parent / "returned.csv"
    with filled.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    assert main(["asbuilt", str(project), str(filled), "--output", str(out)]) == 0
    shown = capsys.readouterr().out
    assert "1 accepted, 1 not accepted, 1 incomplete" in shown
    assert (out / "asbuilt" / "asbuilt.html").exists()
    # A later plan leaves what came back alone.
    assert main(["plan", str(project), "--output", str(out), "--no-map", "--quiet"]) == 0
    assert (out / "asbuilt" / "asbuilt.csv").exists()


FOR_THE_CREW = "Sheets for the crew: sheets/index.html; print sheets/groups/ for a round of visits."
BY_ID = "with 'siteplan sheets PROJECT --only ID,ID' or '--group NAME'."


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ({"wanted": True, "refused": False}, FOR_THE_CREW),
        ({"wanted": False, "refused": True}, "No sheets, as asked."),
        (
            {"wanted": False, "refused": False},
            f"No sheets: more than 500 sites. Ask for all with --sheets, or for some {BY_ID}",
        ),
        (
            {"wanted": False, "refused": False, "possible": True},
            f"No sheets: more than 500 sites. Ask for all with --sheets, or for some {BY_ID}",
        ),
        (
            {"wanted": False, "refused": False, "possible": False},
            f"No sheets: more than 500 sites. Ask for some {BY_ID}",
        ),
    ],
)
def test_the_note_on_the_pack(options: dict[str, bool], told: str) -> None:
    lists = " No kit list, tracks or table of sun transits: more than 20000 sites."
    assert crew.note(501, **options) == crew.note(20_000, **options) == told
    assert crew.note(20_001, **options) == told + lists


def test_sheets_come_of_themselves_up_to_500_sites() -> None:
    assert [crew.sheets_wanted(n, None) for n in (1, 500, 501)] == [True, True, False]
    assert crew.sheets_wanted(501, True)
    assert not crew.sheets_wanted(1, False)
