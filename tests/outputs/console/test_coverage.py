"""The page of ``siteplan coverage``."""

from __future__ import annotations

import pytest

from siteplan.outputs import console


def test_shares_by_class(capsys: pytest.CaptureFixture[str]) -> None:
    shares = {"elevation_deg": [("below 10°", 12.34), ("10° or more", 87.66)]}
    console.show_coverage(shares, "As a site would see it.")
    told = capsys.readouterr().out
    rows = [line.split() for line in told.splitlines()]
    assert ["Elevation", "below", "10°", "12.3", "%"] in rows
    assert ["10°", "or", "more", "87.7", "%"] in rows
    assert told.endswith("As a site would see it.\n")


@pytest.mark.parametrize(("name", "told"), [("coverage.tif", False), ("coverage.gpkg", True)])
def test_a_missing_raster_is_told(
    name: str, told: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    console.show_written(12345, [name], "out")
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == f"12,345 points; {name} written to out"
    assert (len(lines) == 2) is told
