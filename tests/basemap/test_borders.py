"""Which countries lie near places: against shapely and pyproj, and at real places."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from pyproj import Geod, Transformer

from siteplan.basemap import borders
from siteplan.basemap.borders import NEAR_KM, countries_near, names
from siteplan.basemap.places import country_at
from siteplan.basemap.rings import read, ring_line

#: Half of the spacing of the outline's points, and a little [km].
WITHIN_KM = 0.6


def by_geodesic(number: int, lat: float, lon: float) -> float:
    """How far a country's outline is: its segments in an azimuthal projection on the place."""
    projection = f"+proj=aeqd +lat_0={lat} +lon_0={lon} +ellps=WGS84"
    there = Transformer.from_crs("OGC:CRS84", projection, always_xy=True)
    lines = [ring_line(ring) for ring in read("countries.json")["countries"][number]]
    found = []
    for line in lines:
        (west, south), (east, north) = line.min(axis=0) - 3, line.max(axis=0) + 3
        if south < lat < north and (lon - west) % 360 < east - west:
            # A border along a parallel is straight on the map, not in the projection.
            dense = shapely.get_coordinates(shapely.segmentize(shapely.LineString(line), 0.1))
            near = shapely.LineString(np.column_stack(there.transform(*dense.T)))
            found.append(near.distance(shapely.Point(0, 0)) / 1000)
    return min(found, default=np.inf)


def place_at(lat: float, lon: float, azimuth: float, km: float) -> tuple[float, float]:
    east, north, _ = Geod(ellps="WGS84").fwd(lon, lat, azimuth, km * 1000)
    return north, east


def test_distances_agree_with_segments_in_an_azimuthal_projection() -> None:
    """Distances from its centre are true there (shapely, pyproj)."""
    rng = np.random.default_rng(5)
    lat, lon = rng.uniform(-35, 65, 120), rng.uniform(-20, 60, 120)
    lat[0], lon[0] = 65.3, 179.9  # Chukotka, across 180
    own = country_at(lat, lon).tolist()
    told = 0
    for k, near in enumerate(countries_near(lat, lon)):
        for name, km in near:
            assert km == pytest.approx(
                by_geodesic(names().index(name), lat[k], lon[k]), abs=WITHIN_KM
            )
            assert names().index(name) != own[k]
            told += 1
        assert [km for _, km in near] == sorted(km for _, km in near)
    assert told > 20


def test_few_points_and_many_are_measured_alike(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each point held against the outline gives what scipy's tree gives."""
    rng = np.random.default_rng(6)
    lat, lon = rng.uniform(-35, 65, 40), rng.uniform(-20, 60, 40)
    one_by_one = countries_near(lat, lon)
    monkeypatch.setattr(borders, "_FEW", 0)
    assert countries_near(lat, lon) == one_by_one
    assert any(one_by_one)


def test_none_is_left_out() -> None:
    """Every country but the own one whose outline lies within the distance is named."""
    places = [(46.2, 6.15), (-4.2, -69.9), (47.50, 7.70), (13.5, 2.1)]
    for (lat, lon), near in zip(places, countries_near(*np.array(places).T), strict=True):
        home = int(country_at([lat], [lon])[0])
        far = {name: by_geodesic(k, lat, lon) for k, name in enumerate(names()) if k != home}
        sure = {name for name, km in far.items() if km < NEAR_KM - WITHIN_KM}
        assert sure <= {name for name, _ in near}
        assert {name for name, _ in near} <= {n for n, km in far.items() if km < NEAR_KM + 1}


def test_a_site_30_km_from_a_border_and_one_200_km_away() -> None:
    """The 49th parallel north of Montana is the border of Canada (treaty of 1818)."""
    near, far = (place_at(49.0, -108.0, 180.0, km) for km in (30, 200))
    found = countries_near(*np.array([near, far]).T)
    # Good to 2 km, as the basemap is: it draws the parallel as straight pieces.
    assert [(name, round(km)) for name, km in found[0]] == [("Canada", pytest.approx(30, abs=2))]
    assert found[1] == ()


def test_a_place_just_off_the_coast_is_at_home_there() -> None:
    """Copenhagen's harbour: Sweden is near, Denmark is home (places from memory)."""
    (near,) = countries_near([55.70], [12.61])
    assert [name for name, _ in near] == ["Sweden"]


def test_any_turn_of_longitude_and_no_places() -> None:
    one, other = countries_near([46.2, 46.2], [6.15, 366.15])
    assert [n for n, _ in one] == [n for n, _ in other]
    assert [km for _, km in one] == pytest.approx([km for _, km in other], abs=1e-6)
    assert countries_near([], []) == []
