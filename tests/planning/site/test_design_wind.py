"""A wind too low for a design wind takes no ballast away: it is left out, and told."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.api import check_project, read_network
from siteplan.errors import NetworkError
from siteplan.model import Sites
from siteplan.planning.plan import make_plan

SATELLITE = {"longitude_deg": 15}
#: Basis, its least design wind and its default [m/s].
BASES = [("mean_10min", 15.0, 25.0), ("gust_3s", 20.0, 40.0)]
FIGURES = ("wind_drag_n", "ballast_kg", "overturning_nm", "roof_load_pa", "mount")


def network(basis: str = "mean_10min", **site: Any) -> Any:
    return read_network({"satellite": SATELLITE, "rules": {"wind_basis": basis}, "site": site})


def roofs(*wind_m_s: float) -> Sites:
    n = len(wind_m_s)
    return Sites.at(
        np.linspace(46.1, 46.4, n),
        np.linspace(8.2, 8.5, n),
        structure=np.full(n, "flat_roof", dtype=object),
        roof_height_m=np.full(n, 7.0),
        wind_m_s=np.array(wind_m_s),
    )


@pytest.mark.parametrize(("basis", "floor", "used"), BASES)
def test_a_low_wind_is_planned_as_none(basis: str, floor: float, used: float) -> None:
    """What is observed, 0.6 to 5 m/s, gives what no wind at all gives: never a lighter mount."""
    low = (0.0, 0.6, 1.4, 5.0, np.nextafter(floor, 0))
    found = make_plan(roofs(*low), network(basis))
    blank = make_plan(roofs(*[np.nan] * 5), network(basis))
    for name in FIGURES:
        assert found.columns[name].tolist() == blank.columns[name].tolist(), name
    assert found.columns["wind_source"].tolist() == ["assumed"] * 5
    assert found.columns["wind_design_m_s"].tolist() == [used] * 5
    assert np.isnan(found.columns["wind_m_s"]).all()
    for flags, notes in zip(found.columns["flags"], found.columns["flag_notes"], strict=True):
        assert "input_mended" in flags
        assert f"less than the {floor:g} m/s that a design wind has at least" in notes


@pytest.mark.parametrize(("basis", "floor", "used"), BASES)
def test_the_floor_itself_is_a_design_wind(basis: str, floor: float, used: float) -> None:
    found = make_plan(roofs(floor, np.nan), network(basis)).columns
    assert found["wind_design_m_s"].tolist() == [floor, used]
    assert found["wind_source"].tolist() == ["given", "assumed"]
    assert "input_mended" not in found["flags"][0]


def test_who_knows_better_sets_the_floor() -> None:
    found = make_plan(roofs(12.0, 9.0), network(wind_floor_m_s=10, wind_m_s=11)).columns
    assert found["wind_design_m_s"].tolist() == [12.0, 11.0]
    higher = make_plan(roofs(22.0, 31.0), network(wind_floor_m_s=30, wind_m_s=33)).columns
    assert higher["wind_design_m_s"].tolist() == [33.0, 31.0]


@pytest.mark.parametrize(
    ("basis", "site", "words"),
    [
        ("mean_10min", {"wind_m_s": 14.9}, "= 14.9 is less than the 15 m/s .*as mean_10min"),
        ("gust_3s", {"wind_m_s": 19.9}, "= 19.9 is less than the 20 m/s .*as gust_3s"),
        ("mean_10min", {"wind_floor_m_s": 26}, "= 25 is less than the 26 m/s"),
        ("mean_10min", {"wind_m_s": 12, "wind_floor_m_s": 13}, "set wind_floor_m_s"),
    ],
)
def test_a_network_below_its_floor_is_refused(basis: str, site: dict[str, Any], words: str) -> None:
    with pytest.raises(NetworkError, match=words):
        network(basis, **site)


def test_a_network_at_its_floor_is_taken() -> None:
    assert network(wind_m_s=15).design_wind_m_s == 15
    assert network("gust_3s", wind_m_s=20).design_wind_m_s == 20
    assert network(wind_m_s=8, wind_floor_m_s=8).wind_floor_m_s == 8


def test_a_check_tells_it_before_any_plan(tmp_path: Path) -> None:
    (tmp_path / "network.toml").write_text("[satellite]\nlongitude_deg = 15\n")
    (tmp_path / "sites.csv").write_text(
        "site_id,lat,lon,wind_m_s\nZ1,46.1234,8.2345,3.2\nZ2,46.2345,8.3456,31\n"
    )
    ((site, told),) = check_project(tmp_path).notes
    assert site == "Z1"
    assert "3.2 m/s is less than the 15 m/s" in told
