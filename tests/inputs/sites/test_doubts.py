import numpy as np
import pytest

from siteplan.basemap.places import countries_around
from siteplan.inputs.sites.doubts import Points, coordinate_doubts, doubts_of


def points(lat, lon, *, decimals=4, ids=None):
    lat, lon = np.asarray(lat, dtype=float), np.asarray(lon, dtype=float)
    names = np.array(ids if ids is not None else [f"A{i}" for i in range(len(lat))], dtype=object)
    places = np.full((len(lat), 2), min(decimals, 2))
    return Points(names, np.arange(2, len(lat) + 2), lat, lon, places)


def sentences(found, row):
    return " ".join(note.sentence for note in found.get(row, []))


@pytest.fixture
def around_nairobi():
    rng = np.random.default_rng(7)
    return -1.29 + rng.uniform(-0.6, 0.6, 20), 36.82 + rng.uniform(-0.6, 0.6, 20)


def test_a_tight_cluster_raises_no_doubt(around_nairobi):
    assert coordinate_doubts(points(*around_nairobi)) == {}


@pytest.mark.parametrize(
    ("slip", "sentence"),
    [
        (lambda y, x: (-y, x), "sign of the latitude"),
        (lambda y, x: (y, -x), "sign of the longitude"),
        (lambda y, x: (x, y), "swapped"),
        (lambda y, x: (-y, -x), "both signs"),
    ],
)
@pytest.mark.parametrize("count", [1, 6])
def test_strays_are_doubted(around_nairobi, slip, sentence, count):
    lat, lon = (values.copy() for values in around_nairobi)
    lat -= 4  # away from the equator, so that a flipped latitude is far
    truth = lat.copy(), lon.copy()
    for i in range(count):
        lat[i], lon[i] = slip(lat[i], lon[i])
    found = coordinate_doubts(points(lat, lon))
    assert set(found) == set(range(2, 2 + count))
    assert sentence in sentences(found, 2)
    assert {note.code for notes in found.values() for note in notes} == {"coordinate_doubt"}
    assert coordinate_doubts(points(*truth)) == {}


def test_a_far_site_that_no_slip_explains_is_told_as_far(around_nairobi):
    lat, lon = np.append(around_nairobi[0], 60.2), np.append(around_nairobi[1], 24.9)
    found = coordinate_doubts(points(lat, lon))
    assert set(found) == {22}
    assert sentences(found, 22) == "Far from all other sites: some 6,800 km from the nearest."


def on_land(lat, lon):
    """Return those of random points that lie on land for sure."""
    dry = (countries_around(lat, lon) >= 0).all(axis=1)
    return lat[dry], lon[dry]


def test_a_cluster_across_the_date_line_is_one_cluster():
    rng = np.random.default_rng(3)
    lon = np.concatenate([rng.uniform(177.1, 179.9, 80), rng.uniform(-180, -179.1, 80)])
    lat, lon = on_land(rng.uniform(-18.4, -16.2, 160), lon)
    assert (lon > 0).sum() > 10
    assert (lon < 0).sum() > 2
    assert coordinate_doubts(points(lat, lon)) == {}


def test_a_country_on_the_equator_raises_no_doubt():
    rng = np.random.default_rng(5)
    assert coordinate_doubts(points(rng.uniform(-1, 3, 60), rng.uniform(35, 39, 60))) == {}


def test_five_countries_on_the_equator_raise_no_doubt():
    """Sites of one region, most of them in one country, some in its neighbours."""
    rng = np.random.default_rng(5)
    lat, lon = on_land(rng.uniform(-4, 4, 80), rng.uniform(34, 41, 80))
    assert len(lat) > 60
    assert coordinate_doubts(points(lat, lon)) == {}


def test_a_second_group_elsewhere_is_no_slip():
    rng = np.random.default_rng(5)
    lat = np.concatenate([rng.uniform(36, 47, 30), rng.uniform(-34, -23, 8)])
    lon = np.concatenate([rng.uniform(6, 18, 30), rng.uniform(18, 31, 8)])
    lat, lon = on_land(lat, lon)
    assert coordinate_doubts(points(lat, lon)) == {}


def test_two_ids_at_one_point_name_each_other():
    found = coordinate_doubts(points([-1.2345, -1.2345, -2.5], [36.1234, 36.1234, 37.2]))
    assert "A1 (row 3)" in sentences(found, 2)
    assert "A0 (row 2)" in sentences(found, 3)
    assert 4 not in found


def test_one_id_twice_at_one_point_is_not_two_ids():
    found = coordinate_doubts(points([-1.2345] * 2, [36.1234] * 2, ids=["A", "A"]))
    assert found == {}


def test_minutes_typed_as_decimals():
    """Over several degrees, no decimal of 0.60 or more by chance: 0.6 to the number of draws."""
    rng = np.random.default_rng(11)
    lat = rng.integers(-6, -1, 15) - rng.integers(0, 60, 15) / 100
    lon = rng.integers(33, 40, 15) + rng.integers(0, 60, 15) / 100
    found, of_file = doubts_of(points(lat, lon))
    assert found == {}
    (told,) = (note.sentence for note in of_file)
    assert "minutes typed as decimals" in told
    assert "by chance about 1 in" in told


def test_true_decimals_are_no_minutes():
    rng = np.random.default_rng(11)
    for _ in range(50):
        lat, lon = rng.uniform(-6, -1, 15), rng.uniform(33, 40, 15)
        assert doubts_of(points(lat, lon))[1] == ()


def test_a_small_region_below_60_is_no_minutes():
    """All sites lie between .10 and .55 of one degree: that says nothing."""
    rng = np.random.default_rng(11)
    lat, lon = rng.uniform(5.1, 5.55, 30), rng.uniform(10.1, 10.55, 30)
    assert doubts_of(points(lat, lon)) == ({}, ())


def test_fewer_than_ten_sites_are_too_few_for_minutes():
    lat, lon = np.arange(9) + 0.3012, np.arange(9) + 10.4123
    assert doubts_of(points(lat, lon))[1] == ()


@pytest.mark.parametrize(("decimals", "sentence"), [(0, "100 km"), (1, "10 km")])
def test_few_decimals(decimals, sentence):
    found = coordinate_doubts(points([-1.0], [36.0], decimals=decimals))
    assert sentence in sentences(found, 2)


def test_a_lone_zero_beside_decimals_is_doubted():
    place = Points(
        np.array(["A"], dtype=object),
        np.array([2]),
        np.array([0.0]),
        np.array([36.8219]),
        np.array([[0, 2]]),
    )
    assert "exactly 0" in sentences(coordinate_doubts(place), 2)


def test_latitude_equal_to_longitude():
    assert "same number" in sentences(coordinate_doubts(points([5.1234], [5.1234])), 2)


def test_no_points():
    assert coordinate_doubts(points([], [])) == {}
