"""Files of patterns: any spelling of a CSV file is read, and what is wrong is told with its row."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from siteplan.errors import NetworkError
from siteplan.inputs.network.assumed import assumptions
from siteplan.inputs.network.patterns import read_pattern, with_patterns
from siteplan.jobs.opened import read_network
from siteplan.network import Network, PatternGains

HEAD = "angle_deg,rx_gain_dbi,tx_gain_dbi"
GOOD = f"{HEAD}\n0,41.5,43\n1.5,20,21\n180,-10,-10\n"
GAINS = PatternGains(
    angle_deg=(0, 1.5, 180), rx_gain_dbi=(41.5, 20, -10), tx_gain_dbi=(43, 21, -10)
)
NAMED = {"pattern": "file", "pattern_file": "dish.csv"}


def read(folder: Path, text: str, encoding: str = "utf-8") -> PatternGains:
    (folder / "dish.csv").write_bytes(text.encode(encoding))
    return read_pattern(folder / "dish.csv")


@pytest.mark.parametrize(
    "text",
    [
        GOOD,
        "\ufeff" + GOOD,
        GOOD.replace("\n", "\r\n"),
        GOOD.replace(",", ";").replace(".", ","),
        GOOD.replace(",", "\t"),
        GOOD.replace(",", " , ").replace("angle_deg", "Angle deg"),
        GOOD + "\n,,\n",
        GOOD.replace("41.5", "41.5 dBi"),
        GOOD.replace(HEAD, "angle_deg,note,rx_gain_dbi,tx_gain_dbi")
        .replace("0,41", "0,x,41").replace("1.5,20", "1.5,,20").replace("180,", "180,,"),
    ],
)  # fmt: skip
def test_the_usual_spellings_are_read(tmp_path: Path, text: str) -> None:
    assert read(tmp_path, text) == GAINS


def test_decimal_commas_of_three_digits_are_no_thousands(tmp_path: Path) -> None:
    text = HEAD.replace(",", ";") + "\n0;41,5;1,125\n1,234;20,125;0\n"
    found = read(tmp_path, text)
    assert (found.angle_deg, found.rx_gain_dbi) == ((0, 1.234), (41.5, 20.125))
    told = r"row 3: angle_deg '1,234' has two readings, 1\.234 and 1234"
    with pytest.raises(NetworkError, match=told):
        read(tmp_path, text.replace("41,5", "41.5"))


def test_a_side_may_be_blank(tmp_path: Path) -> None:
    blank = read(tmp_path, f"{HEAD}\n0,40,\n9,3, \n")
    assert (blank.rx_gain_dbi, blank.tx_gain_dbi) == ((40, 3), None)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "dish.csv: the file is empty. Start it with angle_deg,rx_gain_dbi,tx_gain_dbi."),
        ("angle_deg,rx_gain_dbi\n0,1\n1,0\n", "dish.csv: no column for tx_gain_dbi. The columns"),
        ("angle,rx\n0,1\n", "dish.csv: no column for angle_deg and rx_gain_dbi and tx_gain_dbi."),
        (f"{HEAD}\n", "dish.csv: there is no row below the headings. Give two angles at least"),
        (f"{HEAD}\n0,1,1\n", "dish.csv: there is one row below the headings. Give two angles"),
        (f"{HEAD}\n0,,\n1,,\n", "dish.csv: both columns of gains are blank. Fill rx_gain_dbi or"),
        (f"{HEAD}\n0,1,1\n2,1,1\n2,0,0\n", "dish.csv, row 4: angle_deg = 2 does not rise over the"
         " 2 before it. Sort the rows by angle"),
        (f"{HEAD}\n0,1,1\n181,1,1\n", "dish.csv, row 3: angle_deg '181' is outside 0 to 180 deg."),
        (f"{HEAD}\n-1,1,1\n1,1,1\n",
         "dish.csv, row 2: angle_deg '-1' is no number that it can be."),
        (f"{HEAD}\n,1,1\n1,1,1\n",
         "dish.csv, row 2: angle_deg is blank. Give a number, 0 to 180 deg."),
        (f"{HEAD}\n0,high,1\n1,1,1\n", "dish.csv, row 2: rx_gain_dbi 'high' "),
        (f"{HEAD}\n0,1,1\n1,1,nan\n", "dish.csv, row 3: tx_gain_dbi "),
        (f"{HEAD}\n0,1,1\n1,1,\n", "dish.csv, row 3: tx_gain_dbi is blank. Give a"
         " number, -100 to 80 dBi, or leave the whole column blank."),
        (f"{HEAD}\n0,1,900\n1,1,1\n", "dish.csv, row 2: tx_gain_dbi '900' "),
        (f"{HEAD}\n0,1,1\n1,1,1,7\n", "dish.csv, row 3: the row has 4 cells, the heading 3."),
        (f"{HEAD},rx_gain_dbi\n0,1,1,1\n", "dish.csv: "),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_file_row_and_remedy(
    tmp_path: Path, text: str, told: str
) -> None:
    with pytest.raises(NetworkError, match=f"^{re.escape(told)}"):
        read(tmp_path, text)


def test_every_dish_that_names_a_file_holds_its_rows(tmp_path: Path) -> None:
    (tmp_path / "dish.csv").write_text(GOOD)
    (tmp_path / "network.toml").write_text(
        "[satellite]\nlongitude_deg = 1\n[[antennas]]\ndiameter_m = 1.2\n"
        '[[antennas]]\ndiameter_m = 1.8\npattern = "file"\npattern_file = "dish.csv"\n'
        '[hub]\npattern = "file"\npattern_file = "dish.csv"\n'
    )
    found = read_network(tmp_path / "network.toml")
    gains = [antenna.pattern_gains for antenna in found.antennas]
    assert gains == [None, GAINS]
    assert found.hub.pattern_gains == GAINS
    assert found.without_gains == ()
    # Checked once more, as what is handed from Python is, the rows stay.
    again = read_network({name: getattr(found, name) for name in found.model_fields_set})
    assert again == found


def test_a_table_in_memory_names_files_from_the_current_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "dish.csv").write_text(GOOD)
    tables: dict[str, Any] = {"satellite": {"longitude_deg": 1}, "hub": NAMED}
    told = (
        r"^network\.toml, \[hub\] pattern_file: there is no file 'dish\.csv' in the project\."
        " Check its name"
    )
    with pytest.raises(NetworkError, match=told):
        read_network(tables)
    monkeypatch.chdir(tmp_path)
    assert read_network(tables).hub.pattern_gains == GAINS


def test_rows_of_the_user_s_own_are_kept(tmp_path: Path) -> None:
    ready = Network.model_validate(
        {"satellite": {"longitude_deg": 1}, "hub": NAMED | {"pattern_gains": GAINS}}
    )
    assert with_patterns(ready, tmp_path) == ready
    given = {"satellite": {"longitude_deg": 1}, "hub": {"pattern": "file", "pattern_gains": GAINS}}
    assert read_network(given).hub.pattern_gains == GAINS


def test_tables_that_nobody_gave_stay_assumed(tmp_path: Path) -> None:
    (tmp_path / "dish.csv").write_text(GOOD)
    tables = {"satellite": {"longitude_deg": 1}, "hub": NAMED}
    bare = Network.model_validate(tables)
    found = with_patterns(bare, tmp_path)
    assert found.hub.pattern_gains == GAINS
    assert found.model_fields_set == bare.model_fields_set
    assert assumptions(found) == assumptions(bare)


def test_rows_are_no_key_of_network_toml() -> None:
    rows = {"angle_deg": [0, 1], "rx_gain_dbi": [1, 0]}
    told = r"\[hub\] pattern_gains is an unknown key\. Did you mean pattern_file\?"
    with pytest.raises(NetworkError, match=told):
        read_network({"satellite": {"longitude_deg": 1}, "hub": NAMED | {"pattern_gains": rows}})
