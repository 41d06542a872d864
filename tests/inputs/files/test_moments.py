"""Dates, times and zones in the columns of a table: kept as they came, told as they are."""

from __future__ import annotations

import datetime as dt
import warnings
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import geopandas as gpd
import openpyxl
import pandas as pd
import pytest

from siteplan.inputs.files.cells import as_texts
from siteplan.inputs.files.tables import read_chunks, read_table
from siteplan.inputs.sites.read import sites_from_frame

BOGOTA = ZoneInfo("America/Bogota")
DAYS = [dt.date(2026, 3, 1), None, dt.date(2027, 12, 31)]
NAIVE = [dt.datetime(2026, 3, 1), None, dt.datetime(2026, 7, 1, 23, 30)]
ZONED = [dt.datetime(2026, 3, 1, 8, tzinfo=BOGOTA), dt.datetime(2026, 7, 1, 23, 30, tzinfo=BOGOTA)]


def table() -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame(
        {
            "site_id": ["A", "B", "C"],
            "due": DAYS,
            "seen": pd.Series(NAIVE, dtype="datetime64[us]"),
            "visit": pd.Series([*ZONED, None], dtype="datetime64[us, America/Bogota]"),
        },
        geometry=gpd.points_from_xy([-74.1, -75.2, -76.3], [4.1, 5.2, 6.3]),
        crs=4326,
    )


def written(folder: Path, suffix: str) -> Path:
    path = folder / f"sites{suffix}"
    table().to_parquet(path) if suffix == ".parquet" else table().to_file(path)
    return path


def same_moments(found: Any, known: list[dt.datetime | None]) -> None:
    """The same instants, whatever the zone that they are told in; nothing stays nothing."""
    assert [None if pd.isna(v) else v for v in found] == known


@pytest.mark.parametrize("suffix", [".parquet", ".gpkg", ".geojson"])
def test_moments_come_as_they_are(tmp_path: Path, suffix: str) -> None:
    found = read_table(written(tmp_path, suffix))
    same_moments(found.columns["visit"], [*ZONED, None])
    # A GeoPackage counts in UTC (GeoPackage 1.3, 2.1.1: DATETIME ends in Z).
    utc = dt.UTC if suffix == ".gpkg" else None
    same_moments(found.columns["seen"], [v and v.replace(tzinfo=utc) for v in NAIVE])
    days = ["" if v is None else str(v) for v in DAYS]
    assert as_texts(found.columns["due"]).tolist() == days
    assert found.rejects == ()


def test_a_zone_keeps_its_name_where_the_file_has_it(tmp_path: Path) -> None:
    found = read_table(written(tmp_path, ".parquet")).columns["visit"]
    assert [str(v) for v in found[:2]] == ["2026-03-01 08:00:00-05:00", "2026-07-01 23:30:00-05:00"]
    assert str(found[0].tzinfo) == "America/Bogota"


@pytest.mark.parametrize("suffix", [".parquet", ".gpkg"])
def test_moments_are_the_same_in_chunks(tmp_path: Path, suffix: str) -> None:
    path = written(tmp_path, suffix)
    whole, parts = read_table(path), list(read_chunks(path, 1))
    assert len(parts) == 3
    for name in ("due", "seen", "visit"):
        chunks = [as_texts(part.columns[name])[0] for part in parts]
        assert chunks == as_texts(whole.columns[name]).tolist()


def test_reading_offsets_warns_of_nothing_and_other_warnings_pass(tmp_path: Path) -> None:
    with warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always")
        read_table(written(tmp_path, ".gpkg"))
        warnings.warn("Non-conformant", RuntimeWarning, stacklevel=1)
    assert [str(w.message) for w in told] == ["Non-conformant"]


def test_dates_of_a_workbook(tmp_path: Path) -> None:
    """A workbook knows no zone: what a cell of text says of one stays."""
    book = openpyxl.Workbook()
    rows = [
        ["site_id", "lat", "lon", "due", "seen", "at", "visit"],
        ["A", 4.1, -74.1, dt.date(2026, 3, 1), NAIVE[2], dt.time(8, 30), "2026-03-01T08:00-05:00"],
        ["B", 5.2, -75.2, None, None, None, None],
    ]
    for row in rows:
        book.active.append(row)
    book.save(tmp_path / "sites.xlsx")
    found = read_table(tmp_path / "sites.xlsx").columns
    assert found["due"].tolist() == ["2026-03-01", ""]
    assert found["seen"].tolist() == ["2026-07-01 23:30:00", ""]
    assert found["at"].tolist() == ["08:30:00", ""]
    assert found["visit"].tolist() == ["2026-03-01T08:00-05:00", ""]


def test_moments_of_a_frame_pass_through_and_durations_become_texts() -> None:
    spans = pd.to_timedelta(["1h", None, "36:49:12.5"])
    extra = sites_from_frame(table().assign(span=spans)).sites.extra
    same_moments(extra["visit"], [*ZONED, None])
    assert extra["due"].tolist() == DAYS
    assert extra["span"].tolist() == ["1:00:00", "", "36:49:12.5"]
