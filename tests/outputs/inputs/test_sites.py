"""inputs/sites.csv and obstructions.csv read back bit for bit, and run in no spreadsheet."""

from __future__ import annotations

import csv
from dataclasses import fields, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from siteplan.errors import ProjectError
from siteplan.inputs.earlier.sites import read_kept_obstructions, read_kept_sites
from siteplan.jobs.opened import open_project
from siteplan.model import Note, Obstructions, Sites
from siteplan.outputs.escaping import is_formula
from siteplan.outputs.inputs.sites import (
    join_sites,
    sites_columns,
    write_obstructions,
    write_part,
    write_sites,
)

FROZEN = Path(__file__).parents[2] / "frozen" / "inputs"
#: Texts that files and spreadsheets take for something else.
NASTY = ("=1+1", "'=1+1", "'", "''", "@A", "-5", "+49 1", 'a "b", c', "a;b", " lead", "NaN", "null",
         "\u2028", "\uff1dx", "\u00fc\U0001f6f0", "007", "1e5", "None", "true")  # fmt: skip


def same(one: Sites, other: Sites) -> None:
    """Fail where two sites differ in a bit, free columns aside."""
    assert dict(one.notes) == dict(other.notes)
    for name in (f.name for f in fields(Sites) if f.name not in ("notes", "extra")):
        a, b = getattr(one, name), getattr(other, name)
        assert a.dtype == b.dtype, name
        if a.dtype.kind == "f":
            known = ~np.isnan(a)
            assert (known == ~np.isnan(b)).all(), name
            assert a[known].tobytes() == b[known].tobytes(), name
        else:
            assert a.tolist() == b.tolist(), name


def objects(texts: list[str]) -> Any:
    return np.array([*texts, None], dtype=object)[:-1]


@pytest.mark.parametrize("name", ["river_clinics", "fjord_substations"])
def test_what_was_read_reads_back(name: str, tmp_path: Path) -> None:
    read = open_project(FROZEN / name).read
    write_sites(read, tmp_path / "sites.csv")
    same(read_kept_sites(tmp_path / "sites.csv"), read)


def test_a_messy_list_reads_back_with_its_notes(tmp_path: Path) -> None:
    rows = ["A,-3.1,-60.0,36W,30,yes", "B,-3.2,299.7,12,99,no", "C,0.5,-60.3,,0.995,no",
            "D,-3.3,-60.25,-1,99.9,no"]  # fmt: skip
    (tmp_path / "sites.csv").write_text(
        "site_id,lat,lon,altitude_m,availability_pct,contact\n" + "\n".join(rows) + "\n"
    )
    (tmp_path / "network.toml").write_text("[satellite]\nlongitude_deg = -61\n")
    read = open_project(tmp_path).read
    assert read.notes, "the list is to have notes"
    write_sites(read, tmp_path / "kept.csv")
    same(read_kept_sites(tmp_path / "kept.csv"), read)
    assert "contact" not in (tmp_path / "kept.csv").read_text(encoding="utf-8").splitlines()[0]


@settings(max_examples=80, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    texts=st.lists(
        st.one_of(
            st.sampled_from(NASTY),
            st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=9),
        ),
        min_size=1,
        max_size=6,
    ),
    data=st.data(),
)  # fmt: skip
def test_any_texts_and_any_numbers_read_back(texts: list[str], data: Any, tmp_path: Path) -> None:
    n = len(texts)
    number = st.lists(st.floats(allow_infinity=False), min_size=n, max_size=n)
    lat, lon, altitude = (np.array(data.draw(number)) for _ in range(3))
    ids = objects([f"{text}{k}" for k, text in enumerate(texts)])
    sites = Sites.at(lat, lon, site_id=ids, name=objects(texts), altitude_m=altitude)
    noted = Note("input_mended", "note.input_mended.x", (("column", texts[0]), ("given", 1.1)))
    sites = replace(sites, notes=MappingProxyType({n - 1: (noted,)}))
    write_sites(sites, tmp_path / "sites.csv")
    same(read_kept_sites(tmp_path / "sites.csv"), sites)
    with (tmp_path / "sites.csv").open(encoding="utf-8", newline="") as file:
        assert not any(is_formula(cell) for row in csv.reader(file) for cell in row)


def test_columns_of_nothing_are_not_written() -> None:
    sites = Sites.at(np.array([1.0]), np.array([2.0]))
    assert list(sites_columns(sites)) == ["site_id", "lat", "lon", "source_row"]
    high = replace(sites, altitude_m=np.array([0.0]))
    assert list(sites_columns(high)) == ["site_id", "lat", "lon", "altitude_m", "source_row"]


def test_parts_join_to_the_file_of_the_whole(tmp_path: Path) -> None:
    """Byte for byte, whichever columns and notes a part has."""
    sites = open_project(FROZEN / "river_clinics").read
    sites = replace(sites, beam=objects(["", *["'=B"] * (len(sites) - 1)]))
    noted = Note.of("note.input_mended.no_id")
    sites = replace(sites, notes=MappingProxyType({40: (noted,)}))
    write_sites(sites, tmp_path / "whole.csv")
    parts = []
    for k, rows in enumerate(([0], range(1, 9), range(9, len(sites)))):
        parts.append(tmp_path / f"part-{k}.sites")
        write_part(sites.take(np.array(rows)), parts[-1])
    join_sites(parts, tmp_path / "joined.csv")
    assert (tmp_path / "joined.csv").read_bytes() == (tmp_path / "whole.csv").read_bytes()


def test_obstacles_read_back(tmp_path: Path) -> None:
    found = open_project(FROZEN / "fjord_substations").around.obstructions
    assert found is not None
    write_obstructions(found, tmp_path / "obstructions.csv")
    back = read_kept_obstructions(tmp_path / "obstructions.csv")
    for name in (f.name for f in fields(Obstructions)):
        np.testing.assert_array_equal(getattr(back, name), getattr(found, name))


@pytest.mark.parametrize(
    "text", ["", "site_id,lat\nA,north\n", 'site_id,lat,lon,notes\nA,1,2,"[[1]]"\n', "\x00\x01"]
)
def test_a_file_that_is_not_ours_is_told(text: str, tmp_path: Path) -> None:
    (tmp_path / "sites.csv").write_text(text)
    with pytest.raises(ProjectError, match="not as a plan writes it"):
        read_kept_sites(tmp_path / "sites.csv")
