"""In which country points lie, or at sea: against polygons, and at real places."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import shapely

from siteplan.basemap import places
from siteplan.basemap.places import NO_COUNTRY, SEA, countries_around, country_at
from siteplan.basemap.rings import read, ring_line

#: Latitude and longitude, from memory: pairs in one country, far from any border.
SAME = [
    ((-1.29, 36.82), (0.52, 35.27)),  # Nairobi, Eldoret
    ((40.42, -3.70), (28.46, -16.26)),  # Madrid, Santa Cruz de Tenerife
    ((-17.80, 178.00), (-16.50, -179.97)),  # Fiji, on both sides of 180
    ((-89.50, 0.00), (-75.00, -120.00)),  # Antarctica, at the pole too
    ((65.50, 176.00), (67.00, -176.00)),  # Chukotka, on both sides of 180
]
AT_SEA = [(0.0, 0.0), (30.0, 180.0), (-30.0, 80.0), (42.0, 50.5), (89.0, 0.0)]


@pytest.mark.parametrize(("one", "other"), SAME)
def test_two_places_of_a_country(one: tuple[float, float], other: tuple[float, float]) -> None:
    lat, lon = zip(one, other, strict=True)
    first, second = country_at(lat, lon).tolist()
    assert first == second >= 0


def test_places_at_sea() -> None:
    lat, lon = np.array(AT_SEA).T
    assert (country_at(lat, lon) == SEA).all()
    assert (countries_around(lat, lon) == SEA).all()


def test_neighbours_differ_and_any_turn_of_longitude_will_do() -> None:
    lat, lon = [-1.29, -6.17, -1.29], [36.82, 35.74, 396.82]  # Nairobi, Dodoma, Nairobi
    kenya, tanzania, again = country_at(lat, lon).tolist()
    assert kenya == again != tanzania


def test_places_agree_with_polygons() -> None:
    """Points over the whole world against shapely; but for those near a line, all must agree."""
    rng = np.random.default_rng(3)
    lat, lon = rng.uniform(-88, 88, 3000), rng.uniform(-180, 180, 3000)
    around = countries_around(lat, lon, 2.0)
    clear = (around == around[:, :1]).all(axis=1)
    assert clear.mean() > 0.9
    rings = [
        [ring_line(ring) for ring in country] for country in read("countries.json")["countries"]
    ]
    for k in np.flatnonzero(clear).tolist():
        number = int(around[k, 0])
        if number == SEA:
            assert not any(inside(country, lat[k], lon[k]) for country in rings)
        elif number != NO_COUNTRY and not inside(rings[number], lat[k], lon[k]):
            # On an island that the basemap has not: no polygon of any country holds it.
            assert not any(inside(country, lat[k], lon[k]) for country in rings)


def inside(country: list[np.ndarray], lat: float, lon: float) -> bool:
    """Whether an even-odd fill of a country's rings covers a point."""
    count = 0
    for ring in country:
        for turn in (-360, 0, 360):
            low, high = ring.min(axis=0), ring.max(axis=0)
            if low[0] <= lon + turn <= high[0] and low[1] <= lat <= high[1]:
                count += bool(shapely.contains_xy(shapely.Polygon(ring), lon + turn, lat))
    return count % 2 == 1


def test_small_islands_count_as_land() -> None:
    """Majuro, Kadmat, Noronha and Kosrae's east, from memory: too small for the basemap."""
    lat, lon = [7.10, 11.23, -3.85, 5.325], [171.38, 72.78, -32.42, 163.008]
    assert (country_at(lat, lon) != SEA).all()


def test_an_island_keeps_its_country_where_the_list_has_one() -> None:
    lakshadweep, delhi = country_at([11.23, 28.61], [72.78, 77.21]).tolist()
    assert lakshadweep == delhi


def test_nothing_is_sure_near_a_coast() -> None:
    """Mombasa's coast runs through 39.7 E, 4.05 S (from memory): 1 km off it, nothing is sure."""
    around = countries_around([-4.05], [39.70])
    assert (around >= 0).any()


def test_points_asked_one_by_one_are_where_they_are_together(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Degrees of latitude are cut when they are first asked for: in any order, to the same."""
    rng = np.random.default_rng(4)
    lat, lon = rng.uniform(-90, 90, 200), rng.uniform(-180, 180, 200)
    lat[:2] = -90, 90
    together = country_at(lat, lon)
    monkeypatch.setattr(places, "_mainland", cache(places._mainland.__wrapped__))
    monkeypatch.setattr(places, "_islets", cache(places._islets.__wrapped__))
    assert [int(country_at(y, x)) for y, x in zip(lat, lon, strict=True)] == together.tolist()


def test_a_point_cuts_its_degree_of_latitude_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    fresh = places._mainland.__wrapped__()
    monkeypatch.setattr(places, "_mainland", lambda: fresh)
    country_at([-3.1, -3.9, np.nan], [-60.02, -60.5, 0.0])
    cuts = fresh.at(np.array([-3.5]))
    assert set(np.floor((cuts.start[1:] + 180) / 2000 / 128 - 90).tolist()) == {-4.0}
