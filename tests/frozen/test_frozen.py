"""With no new key given, every earlier field keeps its value, bit for bit.

Both frozen projects are planned anew, and each column, row and line that was there before must be
there still: in the plan itself, its tables and geometry files, the kit list, what it would take,
tracks, summary and sheets. New columns may stand beside them, and two new lines on a sheet.

Where this machine's functions round otherwise than those of the machine that made the copies
(``probe.json``), numbers may differ by 1e-9 of their size, decimals in texts by their last digit.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

from siteplan.results import Plan
from tests.frozen.compare import of_columns, of_lines, of_tree, of_written
from tests.frozen.copies import (
    KEPT,
    PROJECTS,
    SHEETS,
    cells,
    features,
    numbers,
    planned,
    rounds_alike,
    words,
)

#: Lines that a sheet may gain without a key of its own.
MOST_NEW_LINES = 2


class Frozen(NamedTuple):
    """A plan of a frozen project made now, its outputs, and the copies of then."""

    project: str
    plan: Plan
    now: Path
    then: Path


@pytest.fixture(scope="module", params=PROJECTS)
def frozen(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Frozen:
    folder = tmp_path_factory.mktemp("frozen") / "output"
    return Frozen(request.param, planned(request.param, folder), folder, KEPT / request.param)


@pytest.fixture(scope="module")
def exact() -> bool:
    return rounds_alike()


def none(differences: Iterator[str]) -> None:
    """Fail with the first difference of each column, and how many there are in all."""
    found = list(differences)
    first = {line.split(" of ")[0]: line for line in reversed(found)}
    told = [f"{len(found)} differences in {len(first)} places", *reversed(first.values())]
    if found:
        pytest.fail("\n".join(told))


def test_this_machine_is_held_to_the_bit(exact: bool) -> None:
    if not exact:
        pytest.skip("its functions round otherwise: held to 1e-9 and to the last digit")


def test_the_numbers_of_the_plan(frozen: Frozen, exact: bool) -> None:
    then = json.loads((frozen.then / "plan.json").read_text(encoding="utf-8"))
    assert len(then) > 90
    none(of_columns(frozen.project, then, numbers(frozen.plan), key="site_id", exact=exact))


def test_the_table(frozen: Frozen, exact: bool) -> None:
    then, now = (cells(folder / "sites.csv") for folder in (frozen.then, frozen.now))
    assert {"flags", "flag_notes", "margin_db", "mount_reason"} <= then.keys()
    none(of_columns("sites.csv", then, now, key="site_id", exact=exact))
    kept = [name for name in now if name in then]
    assert kept == list(then), "the order of columns"


@pytest.mark.parametrize("kind", ["geojson", "gpkg", "parquet"])
def test_the_geometry_files(frozen: Frozen, kind: str, exact: bool) -> None:
    then = cells(frozen.then / "sites.csv")
    now, points = features(frozen.now / f"sites.{kind}")
    none(of_written(f"sites.{kind}", then, now, key="site_id", exact=exact))
    lon, lat = map(list, zip(*points, strict=True))
    placed = {"site_id": then["site_id"]} | {k: list(map(float, then[k])) for k in ("lon", "lat")}
    drawn = {"site_id": then["site_id"], "lon": lon, "lat": lat}
    none(of_columns(f"point in sites.{kind}", placed, drawn, key="site_id", exact=exact))


@pytest.mark.parametrize("name", ["kit.csv", "what_it_takes.csv"])
def test_the_lists(frozen: Frozen, name: str, exact: bool) -> None:
    then, now = (cells(folder / name) for folder in (frozen.then, frozen.now))
    # A row is named by all that says what it is of.
    named = [k for k in ("rows", "site_id", "part", "kind", "rank", "change") if k in then]
    key = [" ".join(filter(None, row)) for row in zip(*(then[k] for k in named), strict=True)]
    none(of_columns(name, {"row": key} | then, {"row": key} | now, key="row", exact=exact))


@pytest.mark.parametrize("name", ["sites.kml", "sites.gpx"])
def test_the_tracks(frozen: Frozen, name: str, exact: bool) -> None:
    then, now = (
        (folder / name).read_text(encoding="utf-8").splitlines()
        for folder in (frozen.then, frozen.now)
    )
    none(of_lines(name, then, now, most_new=0, exact=exact))


def test_the_summary(frozen: Frozen, exact: bool) -> None:
    then, now = (
        json.loads((folder / "summary.json").read_text(encoding="utf-8"))
        for folder in (frozen.then, frozen.now)
    )
    none(of_tree("summary.json", then, now, exact=exact))


def test_the_sheets(frozen: Frozen, exact: bool) -> None:
    for name in SHEETS[frozen.project]:
        then = (frozen.then / f"{name}.txt").read_text(encoding="utf-8").splitlines()
        now = words(frozen.now / "sheets" / f"{name}.html")
        none(of_lines(f"sheet {name}", then, now, most_new=MOST_NEW_LINES, exact=exact))


def test_every_page_of_the_pack_is_there(frozen: Frozen) -> None:
    ids = set(frozen.plan.columns["site_id"].tolist())
    pages = {path.stem for path in (frozen.now / "sheets").glob("*.html")}
    assert ids | {"index"} <= pages
