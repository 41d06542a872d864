"""Histograms and the matrix count every site once; the grid of counts does too."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.network import Network
from siteplan.planning.report.charts import AVAILABILITY_EDGES, bars, histograms, matrix
from siteplan.planning.report.places import POINTS_UP_TO, middle_lon, places

ALL = np.ones(6, dtype=bool)


def test_a_value_on_an_edge_belongs_above() -> None:
    values = np.array([-3.0, 0.0, 0.5, 1.0, 7.0, np.nan])
    found = bars("margin_db", values, ALL, (-1, 0, 1, 2), ())
    assert found.planned == (1, 2, 2)
    assert (found.tried, found.missing) == ((0, 0, 0), 1)


def test_what_was_tried_is_counted_apart() -> None:
    values = np.array([0.5, 0.5, 1.5, 1.5, 1.5, 0.2])
    planned = np.array([True, False, True, True, False, False])
    found = bars("margin_db", values, planned, (0, 1, 2), ())
    assert (found.planned, found.tried) == ((1, 2), (2, 1))


@pytest.mark.parametrize("high", [0.4, 3.0, 40.0])
def test_histograms_hold_every_site_in_few_bars(tropical: Network, high: float) -> None:
    rng = np.random.default_rng(1)
    n = 200
    columns = {
        "margin_after_reserve_db": rng.uniform(-high, high, n),
        "elevation_deg": rng.uniform(5, 89.99, n),
        "availability_achieved_pct": 100 - 10 ** rng.uniform(-3, 1, n),
    }
    columns["elevation_deg"][:7] = np.nan
    found = histograms(columns, np.arange(n) % 3 > 0, tropical)
    for each in found:
        values = columns[each.field]
        assert sum(each.planned) + sum(each.tried) + each.missing == n
        assert each.missing == np.isnan(values).sum()
        assert len(each.edges) == len(each.planned) + 1 <= 19
        assert list(each.edges) == sorted(set(each.edges))
        inner = each.edges[1:-1]
        below = np.sum(values < inner[0])
        assert each.planned[0] + each.tried[0] == below
    assert 0.0 in found[0].edges
    assert set(found[2].edges) <= {0.0, *AVAILABILITY_EDGES, 100.0}


def test_matrix() -> None:
    antenna = np.array([1.2, 1.2, 1.8, np.nan, 1.8, 1.2])
    buc = np.array([2.0, 1.0, 2.0, 2.0, np.nan, 2.0])
    found = matrix(antenna, buc)
    assert (found.antennas_m, found.bucs_w) == ((1.2, 1.8), (1.0, 2.0))
    assert (found.sites, found.none) == (((1, 2), (0, 1)), 2)


def _placed(lat: np.ndarray, lon: np.ndarray, doubt: np.ndarray | None = None):  # type: ignore
    n = len(lat)
    code = np.arange(n) % 3
    none = np.zeros(n, dtype=bool)
    names = np.full(n, "", dtype=object)
    return places(lat, lon, code, 3, doubt=none if doubt is None else doubt, names=names)


def test_few_sites_are_points() -> None:
    found = _placed(np.linspace(0, 1, 30), np.linspace(5, 6, 30))
    assert found.step_deg == 0
    assert found.counts.sum(axis=1).tolist() == [1] * 30


@pytest.mark.parametrize(("lat0", "lon0"), [(0, 0), (-15, 179), (66, -100), (84, 20)])
def test_many_are_cells_that_hold_them_all(lat0: float, lon0: float) -> None:
    n = POINTS_UP_TO + 1
    rng = np.random.default_rng(2)
    lat = np.clip(lat0 + rng.uniform(-5, 5, n), -90, 90)
    lon = (lon0 + rng.uniform(-8, 8, n) + 180) % 360 - 180
    found = _placed(lat, lon)
    assert found.counts.sum(axis=0).tolist() == np.bincount(np.arange(n) % 3).tolist()
    assert 20 < len(found.lat) < 400
    assert np.all(np.abs(found.lat - lat0) < 5 + found.step_deg)
    off = (found.lon - lon0 + 180) % 360 - 180
    assert np.all(np.abs(off) * np.cos(np.radians(found.lat)) < 9)
    # No two cells lie nearer to one another than a cell is wide.
    east = off * np.cos(np.radians(found.lat))
    apart = np.hypot(found.lat[:, None] - found.lat, east[:, None] - east)
    np.fill_diagonal(apart, 99)
    assert apart.min() > found.step_deg * 0.6


def test_a_place_in_doubt_is_in_no_cell() -> None:
    n = POINTS_UP_TO + 10
    doubt = np.zeros(n, dtype=bool)
    doubt[3] = True
    lat = np.linspace(40, 41, n)
    lat[3] = -40
    found = _placed(lat, np.linspace(7, 8, n), doubt)
    assert found.counts.sum() == n - 1
    assert found.lat.min() > 39


def test_middle_of_longitudes_across_the_antimeridian() -> None:
    assert middle_lon(np.array([170.0, -170.0, 179.0])) == pytest.approx(-180, abs=1e-9)
    assert middle_lon(np.array([-10.0, 30.0])) == pytest.approx(10, abs=1e-9)
