"""The one list of file kinds: each is found in a project, read, counted and named in messages."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from siteplan.errors import ProjectError, SitesError
from siteplan.inputs.files.tables import read_chunks, read_table
from siteplan.inputs.kinds import KINDS, NEAR_MISSES, OVERLAY_SUFFIXES, SUFFIXES, kind_of, rows_in
from siteplan.inputs.project import find_project

Writer = Callable[[Path, str], Path]
#: Sites that the fixture writes.
COUNT = 30


def test_suffixes_are_unique_and_in_small_letters() -> None:
    assert len(set(SUFFIXES)) == len(KINDS)
    assert all(suffix == suffix.lower() and suffix[0] == "." for suffix in SUFFIXES)
    assert set(OVERLAY_SUFFIXES) < set(SUFFIXES)
    assert not set(NEAR_MISSES) & set(SUFFIXES)
    assert {near.instead for near in NEAR_MISSES.values()} - {""} <= set(SUFFIXES)


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_each_kind_is_read_whole_and_in_chunks(tmp_path: Path, suffix: str, write: Writer) -> None:
    path = write(tmp_path, suffix)
    kind = kind_of(path.with_suffix(suffix.upper()))
    assert kind is not None
    assert kind.suffix == suffix
    assert len(read_table(path)) == COUNT
    assert [len(table) for table in read_chunks(path, 20)] == [20, 10]
    assert (kind.rows is None) == (kind.chunks is None)
    counted = {".csv": COUNT + 1, ".gpkg": COUNT, ".parquet": COUNT}.get(suffix, 0)
    assert rows_in(path) == counted


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_each_kind_is_found_and_offered_in_a_project(
    tmp_path: Path, suffix: str, write: Writer
) -> None:
    (tmp_path / "network.toml").touch()
    with pytest.raises(ProjectError, match=rf"Put one of .*sites\{suffix}"):
        find_project(tmp_path)
    path = write(tmp_path, suffix)
    (tmp_path / "overlays").mkdir()
    layer = path.rename(tmp_path / "overlays" / path.name)
    write(tmp_path, suffix)
    found = find_project(tmp_path)
    assert found.sites_path == path
    assert found.overlays == ((layer,) if suffix in OVERLAY_SUFFIXES else ())


@pytest.mark.parametrize("suffix", NEAR_MISSES)
def test_near_misses_are_told_what_to_become(tmp_path: Path, suffix: str) -> None:
    near = NEAR_MISSES[suffix]
    with pytest.raises(SitesError, match=f"files of kind '{suffix}' are not read") as caught:
        read_table(tmp_path / f"sites{suffix}")
    assert caught.value.fix == near.fix
    (tmp_path / f"sites{suffix}").touch()
    with pytest.raises(ProjectError, match="there is no table of sites") as missing:
        find_project(tmp_path)
    named = f"Save sites{suffix} as sites{near.instead}."
    assert (missing.value.fix == named) == bool(near.instead)


def test_other_kinds_are_told_the_list_and_hold_no_rows(tmp_path: Path) -> None:
    with pytest.raises(SitesError, match=r"Known kinds: \.csv, \.xlsx, \.geojson, \.gpkg, \.kml"):
        read_table(tmp_path / "sites.doc")
    assert rows_in(tmp_path / "sites.doc") == 0
