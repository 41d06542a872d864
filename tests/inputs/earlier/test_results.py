"""The results of an earlier plan are read from any of its tables, and refused plainly."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from siteplan.errors import ProjectError
from siteplan.inputs.earlier.results import read_json, read_rejects, read_results, unguarded

HEAD = "site_id,name,antenna_m,buc_w,margin_db,margin_class,flags\n"


def test_a_table_of_text_is_read_with_its_blanks(tmp_path: Path) -> None:
    (tmp_path / "sites.csv").write_text(
        HEAD + "007,'s Hage,1.2,,,,no_fit;blocked\n'=A,\"a\nb\",,2,-1.5,below 0 dB,\n"
    )
    found = read_results(tmp_path)
    assert found["site_id"].tolist() == ["007", "=A"]
    assert found["name"].tolist() == ["'s Hage", "a\nb"]
    assert found["flags"].tolist() == ["no_fit;blocked", ""]
    assert found["beam"].tolist() == ["", ""]
    np.testing.assert_array_equal(found["antenna_m"], [1.2, np.nan])
    np.testing.assert_array_equal(found["margin_db"], [np.nan, -1.5])


def test_a_folder_of_parts_is_one_table(tmp_path: Path) -> None:
    folder = tmp_path / "sites.parquet"
    folder.mkdir()
    for k, name in enumerate(("B", "A")):
        table = pa.table(
            {"site_id": [name], "antenna_m": [1.2], "buc_w": pa.nulls(1), "margin_db": [2.0],
             "margin_class": ["1 to 3 dB"], "flags": [None if k else "heavy_rain"]}
        )  # fmt: skip
        pq.write_table(table, folder / f"part-{k:06d}.parquet")
    found = read_results(tmp_path)
    assert found["site_id"].tolist() == ["B", "A"]
    assert found["flags"].tolist() == ["heavy_rain", ""]
    assert np.isnan(found["buc_w"]).all()


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (HEAD + "A,,tall,,,,\n", "not as a plan writes it"),
        ("site_id,antenna_m\nA,1.2\n", "no column buc_w and margin_db and margin_class and flags"),
        ("", "no column"),
    ],
)
def test_a_table_that_cannot_be_used_is_told(text: str, why: str, tmp_path: Path) -> None:
    (tmp_path / "sites.csv").write_text(text)
    with pytest.raises(ProjectError, match=why):
        read_results(tmp_path)


@pytest.mark.parametrize("name", ["sites.parquet", "sites.gpkg", "sites.geojson"])
def test_a_broken_layer_is_told(name: str, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(b"nothing of the kind")
    with pytest.raises(ProjectError, match="not as a plan writes it"):
        read_results(tmp_path)


def test_rejects_are_known_by_their_ids(tmp_path: Path) -> None:
    assert read_rejects(tmp_path) == {}
    (tmp_path / "rejects.csv").write_text(
        "row,site_id,key,value,reason,fix\n2,A,lat,x,first,f\n3,A,lat,x,second,f\n4,,lat,x,none,f\n"
        "9,B,site_id,B,obstructions.csv: the project has no site 'B',Write it.\n"
    )
    assert read_rejects(tmp_path) == {"A": "first"}


@pytest.mark.parametrize("text", ["", "[1]", "{", "\udcff"])
def test_json_that_is_none_is_nothing(text: str, tmp_path: Path) -> None:
    (tmp_path / "a.json").write_text(text, errors="surrogateescape")
    assert read_json(tmp_path / "a.json") == {}
    assert read_json(tmp_path / "none.json") == {}


def test_the_guard_against_formulas_is_ours() -> None:
    assert unguarded("'=A") == "=A"
    assert unguarded("'s Hage") == "'s Hage"
    assert unguarded("-5") == "-5"
