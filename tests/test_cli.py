"""The commands as a user runs them: exit codes, messages, outputs."""

from __future__ import annotations

import argparse
import csv
import json
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import geopandas
import numpy as np
import pytest

import siteplan
from siteplan.cli import _parser, main
from siteplan.jobs.products import OUTPUT_NAMES
from tests.samples import FROZEN, LIVE

NETWORK = "[satellite]\nlongitude_deg = -61\n"


@pytest.fixture
def project(tmp_path: Path) -> Path:
    folder = tmp_path / "trial"
    folder.mkdir()
    (folder / "sites.csv").write_text("site_id,lat,lon\nA,-3.10,-60.02\nB,-1.45,-48.49\n")
    (folder / "network.toml").write_text(NETWORK)
    return folder


@pytest.mark.parametrize(("name", "count"), [("river_clinics", 62), ("fjord_substations", 60)])
def test_samples_plan_without_a_reject(
    name: str, count: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["plan", str(LIVE / name), "--output", str(tmp_path)]) == 0
    written = {p.name for p in tmp_path.iterdir()}
    assert written <= {*OUTPUT_NAMES, ".siteplan.json"}
    assert written >= {
        "transmission_plan.html", "transmission_plan.csv", "hub.json",
        "sites.csv", "sites.gpkg", "sites.geojson", "rejects.csv", "notes.csv", "summary.json",
        "map.html", "report.html", "sheets", "sites.kml", "sites.gpx", "kit.csv", "sun.csv", "sun",
        "returned_blank.csv", "what_it_takes.csv", "lease.csv", "regulation", "monitoring",
        ".siteplan.json", "inputs", "sensitivity.csv",
    }  # fmt: skip
    shown = capsys.readouterr().out
    assert "figures were assumed" in shown
    assert "Off-axis limits in force" in shown
    summary = json.loads((tmp_path / "summary.json").read_text(encoding="utf-8"))
    assert (summary["sites"], summary["rows_read"], summary["rejected"]) == (count, count, 0)
    assert f"{len(summary['assumed'])} figures were assumed" in shown
    assert len(summary["assumed"]) > 20
    assert any("off-axis" in limit.lower() for limit in summary["limits"])


def test_first_reject_is_told_in_sentences(
    project: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (project / "sites.csv").write_text("site_id,lat,lon\nA,x,1\n")
    assert main(["check", str(project)]) == 2
    told = " ".join(capsys.readouterr().err.split())
    assert "The first: row 2, lat = 'x': lat cannot be read as an angle. Write decimal" in told


@pytest.mark.parametrize("name", ["river_clinics", "fjord_substations"])
def test_samples_fall_inside_the_trades_figures(name: str) -> None:
    """Common practice, no source: 1.2 to 2.4 m, 1 to 3 W, fade margins of 4 to 12 dB in Ku.

    Out of a catalogue that goes well beyond both ways, so that the link and not the list decides.
    """
    _, site_list, network = siteplan.read_project(FROZEN / name)
    wide = {
        "antennas": [{"diameter_m": d} for d in (0.6, 0.75, 0.98, 1.2, 1.8, 2.4, 3.7, 4.5)],
        "bucs": [{"rated_w": w} for w in (0.5, 1, 2, 3, 4, 6, 8, 16, 25)],
    }
    tables = network.model_dump(exclude_unset=True) | wide
    columns = siteplan.plan_sites(site_list, siteplan.Network.model_validate(tables)).columns
    picked = columns["kit_source"] == "picked"
    assert picked.sum() >= 45
    antenna, buc, fade = (columns[k][picked] for k in ("antenna_m", "buc_w", "fade_margin_db"))
    assert set(antenna) <= {1.2, 1.8, 2.4}
    assert np.mean((buc >= 1) & (buc <= 3)) > 0.85
    assert np.mean((fade >= 4) & (fade <= 12)) > 0.8


def test_every_row_ends_in_the_plan_or_in_the_rejects(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "messy"
    folder.mkdir()
    rows = ["A,-3.1,-60.0", "B,north,-60.0", "A,-3.2,-60.1", ",-3.3,-60.2", "E,0,0", "F,-3.4,299.7",
            "G,51.0,100.0", "H,-120.5,35.0"]  # fmt: skip
    (folder / "sites.csv").write_text("site_id,lat,lon\n" + "\n".join(rows) + "\n")
    (folder / "network.toml").write_text(NETWORK)
    assert main(["plan", str(folder), "--output", str(tmp_path / "out")]) == 1
    assert "Rejected" in capsys.readouterr().out
    counts = []
    for name in ("sites.csv", "rejects.csv"):
        with (tmp_path / "out" / name).open(encoding="utf-8", newline="") as file:
            counts.append(len(list(csv.DictReader(file))))
    assert counts == [4, 4]


def test_check_writes_nothing(
    project: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(project.parent)
    assert main(["check", "trial"]) == 0
    assert "2 rows read, 2 good" in capsys.readouterr().out
    assert [p.name for p in project.parent.iterdir()] == ["trial"]
    (project / "sites.csv").write_text("site_id,lat,lon\nA,-3.10,-60.02\nB,x,-48.49\n")
    assert main(["check", "trial"]) == 1


def test_default_output_folder(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(project.parent)
    assert main(["plan", "trial", "--quiet", "--no-map"]) == 0
    written = {p.name for p in (project.parent / "output" / "trial").iterdir()}
    assert "sites.csv" in written
    assert "map.html" not in written


def test_tiles_only_on_request_and_only_from_a_named_host(
    project: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ["plan", str(project), "--output", str(tmp_path / "out"), "--quiet"]
    assert main([*arguments, "--tiles", "https://{s}.example.org/{z}/{x}/{y}.png"]) == 2
    assert "--tiles: the address of the tiles cannot be used" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
    main(arguments)
    assert "example.org" not in (tmp_path / "out" / "map.html").read_text("utf-8")
    main([*arguments, "--tiles", "https://example.org/{z}/{x}/{y}.png"])
    assert "img-src https://example.org data:" in (tmp_path / "out" / "map.html").read_text("utf-8")


def test_the_map_links_to_the_sheets_that_are_there(project: Path, tmp_path: Path) -> None:
    arguments = ["plan", str(project), "--output", str(tmp_path / "out"), "--quiet"]
    main([*arguments, "--no-sheets"])
    assert '"sheets":null' in (tmp_path / "out" / "map.html").read_text("utf-8")
    main(arguments)
    assert '"sheets":null' not in (tmp_path / "out" / "map.html").read_text("utf-8")


def test_new_project_plans_without_edits(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "fresh"
    assert main(["new", str(folder)]) == 0
    assert main(["plan", str(folder), "--output", str(tmp_path / "out")]) == 0
    capsys.readouterr()
    assert main(["new", str(folder)]) == 2
    assert "not empty" in capsys.readouterr().err


def test_site_answers_for_one_place(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["site", "-3.10", "-60.02", "--satellite", "-61"]) == 0
    decimal = capsys.readouterr().out
    assert "Margin with 1.2 m" in decimal
    assert "figures were assumed" in decimal
    assert main(["site", "3°06'00\"S", "60 01 12 W", "--satellite", "61W"]) == 0
    dms = capsys.readouterr().out
    assert dms.split("Rain")[0] == decimal.split("Rain")[0]
    assert main(["site", "50", "90", "--satellite", "-61"]) == 0
    assert "below the horizon" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("sites", "network", "words"),
    [
        (None, NETWORK, ["sites"]),
        ("site_id,lat,lon\nA,1,2\n", None, ["network.toml"]),
        ("site_id,lat,lon\n", NETWORK, ["sites.csv"]),
        ("", NETWORK, ["sites.csv"]),
        ("site_id,lat\nA,1\n", NETWORK, ["lon"]),
        ("site_id,lat,lon\nA,north,2\n", NETWORK, ["row 2", "'north'"]),
        ("site_id,lat,lon\nA,50,90\n", NETWORK, ["longitude_deg", "below the horizon"]),
        ("lat,lon\n1,2\n", "[satelite]\nlongitude_deg = 1\n", ["satellite"]),
        ("lat,lon\n1,2\n", "[satellite]\nlongitud_deg = 1\n", ["longitude_deg"]),
        ("lat,lon\n1,2\n", "[satellite]\nlongitude_deg = 400\n", ["400"]),
        ("lat,lon\n1,2\n", "[satellite\n", ["network.toml"]),
        ("lat,lon\n1,-50\n", NETWORK + '[outbound]\nmodcod = "QPSK 3/5x"\n', ["QPSK 3/5"]),
        ("lat,lon\n1,-50\n", NETWORK + "[hub]\nlat = 50\nlon = 90\n", ["hub", "horizon"]),
    ],
)
def test_bad_input_gives_a_message_not_a_traceback(
    sites: str | None,
    network: str | None,
    words: list[str],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    folder = tmp_path / "bad"
    folder.mkdir()
    if sites is not None:
        (folder / "sites.csv").write_text(sites)
    if network is not None:
        (folder / "network.toml").write_text(network)
    for command in (["plan", str(folder), "--output", str(tmp_path / "o")], ["check", str(folder)]):
        assert main(command) == 2
        error = capsys.readouterr().err
        assert error.startswith("siteplan: ")
        assert "Traceback" not in error
        for word in words:
            assert word in error
    assert not (tmp_path / "o").exists()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["plan", "nowhere/at/all"], "nowhere"),
        (["site", "100", "0", "--satellite", "0"], "lat"),
        (["site", "1", "2"], "--satellite"),
        (["site", "1", "2", "--satellite", "north"], "satellite"),
        (["site", "1", "2", "--satellite", "0", "--availability", "20"], "availability_pct"),
    ],
)
def test_unusable_arguments(
    arguments: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(arguments) == 2
    assert words in capsys.readouterr().err


def test_usage_errors_exit_with_2(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit, match="2"):
        main(["plan"])
    assert "--help" in capsys.readouterr().err


def test_a_defect_exits_with_3(
    project: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))

    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("boom")

    monkeypatch.setattr("siteplan.planning.plan.plan_piece", broken)
    assert main(["plan", str(project), "--output", str(project / "out")]) == 3
    error = capsys.readouterr().err
    told, path = re.fullmatch(
        "(.*: boom\nThis is a defect of siteplan\\. Send the report )(.*) and, if you may,"
        " the input.\n",
        error,
    ).groups()
    assert told.startswith("siteplan: internal error: ZeroDivisionError: boom\n")
    assert Path(path).parent == tmp_path
    written = Path(path).read_text("utf-8")
    assert written.startswith(f"siteplan {siteplan.__version__}, Python 3")
    assert f"command: plan {project} --output" in written
    assert "ZeroDivisionError: boom" in written
    assert main(["--debug", "plan", str(project), "--output", str(project / "out")]) == 3
    assert "Traceback" in capsys.readouterr().err


def _parsers(parser: argparse.ArgumentParser) -> Iterator[argparse.ArgumentParser]:
    yield parser
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            for one in action.choices.values():
                yield from _parsers(one)


def test_every_command_and_every_argument_has_its_help() -> None:
    missing = []
    for parser in _parsers(_parser()):
        for action in parser._actions:
            if isinstance(action, argparse._SubParsersAction):
                told = {one.dest: one.help for one in action._choices_actions}
                missing += [name for name in action.choices if not told.get(name)]
            elif not action.help:
                missing.append(f"{parser.prog} {action.dest}")
    assert missing == []


def test_fields_lists_the_dictionary(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["fields"]) == 0
    shown = capsys.readouterr().out
    words = shown.split()
    assert [name for name in siteplan.fields.FIELDS if name not in words] == []
    assert "below_horizon" in words
    assert main(["fields", "--network", "--markdown"]) == 0
    assert "| outbound | symbol_rate_msps | 6 | Msym/s |" in capsys.readouterr().out


def test_as_a_module_and_help_is_light() -> None:
    code = (
        "import sys, runpy; sys.argv = ['siteplan', '--help']\n"
        "try:\n    runpy.run_module('siteplan', run_name='__main__')\n"
        "except SystemExit:\n    pass\n"
        "heavy = {'numpy', 'pandas', 'pydantic', 'rich'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
    )
    result = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], capture_output=True, text=True, check=True
    )
    assert "usage: siteplan" in result.stdout


def test_plan_from_python(project: Path) -> None:
    network = {"satellite": {"longitude_deg": -61}, "network": {"date": "2026-06-01"}}
    table = siteplan.plan([(-3.10, -60.02), (-1.45, -48.49)], network)
    from_file = siteplan.plan(project / "sites.csv", network)
    assert isinstance(table, geopandas.GeoDataFrame)
    np.testing.assert_array_equal(table["margin_db"], from_file["margin_db"])
    assert table.attrs["rejects"] == []
    assert sum(table.attrs["summary"]["counts"]["antenna_m"].values()) == 2
    assert any(a["key"] == "outbound.satellite_eirp_dbw" for a in table.attrs["assumed"])


def test_cache_tells_and_clears(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("SITEPLAN_CACHE", str(tmp_path))

    def told(*options: str) -> str:
        assert main(["cache", *options]) == 0
        return capsys.readouterr().out.strip()

    assert told() == f"0 maps, 0 MB, in {tmp_path}, in use"
    run = [sys.executable, "-m", "siteplan", "site", "-3.1", "-60.02", "--satellite", "-61"]
    subprocess.run(run, capture_output=True, check=True)
    maps = list(tmp_path.rglob("*.npy"))
    size = sum(path.stat().st_size for path in maps)
    assert told() == f"{len(maps)} maps, {size / 1e6:.0f} MB, in {tmp_path}, in use"
    assert len(maps) >= 10
    maps[0].write_bytes(b"\x93damaged")
    assert told("--verify").endswith(f"{tmp_path}, in use, 1 bad ones dropped")
    assert told("--clear") == f"{len(maps) - 1} maps removed from {tmp_path}"
    assert list(tmp_path.iterdir()) == []


def test_without_the_cache_the_answer_is_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    command = ["site", "-3.10", "-60.02", "--satellite", "-61"]
    assert main(command) == 0
    cached = capsys.readouterr().out
    run = [sys.executable, "-m", "siteplan", "--no-cache", *command]
    plain = subprocess.run(run, capture_output=True, text=True, check=True).stdout
    assert plain == cached
