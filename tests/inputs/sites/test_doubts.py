import numpy as np
import pytest

from siteplan.basemap.places import countries_around
from siteplan.inputs.sites.doubts import Points, coordinate_doubts, doubts_of
from siteplan.inputs.sites.read import iter_site_lists, read_sites, sites_from_frame
from tests.samples import LIVE


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


# --- by the basemap, and by what columns say ------------------------------------------------


def listed(rows, head="site_id,lat,lon"):
    """Return what reading rows of a CSV file raises: sentences by row."""
    names = head.split(",")
    cells = [row.split(",") for row in rows]
    table = {name: [row[k] for row in cells] for k, name in enumerate(names)}
    found = sites_from_frame(table)
    return {
        int(found.sites.source_row[at]): " ".join(note.sentence for note in notes)
        for at, notes in found.sites.notes.items()
    }


def test_a_lost_sign_and_a_double_point_in_a_small_list():
    """A district south of the equator, in a country on both sides: one site lost its sign."""
    rows = [f"W{k},{-0.4123 - 0.0117 * k:.4f},{34.7137 + 0.0129 * k:.4f}" for k in range(24)]
    rows += ["W24,0.6322,34.9123", rows[20].replace("W20", "W25")]
    found = listed(rows)
    assert set(found) == {22, 26, 27}
    assert "among them if the sign of the latitude is flipped" in found[26]
    assert "same point as site W20 (row 22)" in found[27]


def test_the_far_end_of_a_country_across_the_equator_is_not_called_wrong():
    """Sites in Ecuador's highlands, and one good one in the north of its coast."""
    rng = np.random.default_rng(2)
    rows = [
        f"V{k},{y:.4f},{x:.4f}"
        for k, (y, x) in enumerate(
            zip(rng.uniform(-3.5, -0.5, 30), rng.uniform(-79, -77, 30), strict=True)
        )
    ]
    assert listed([*rows, "V30,1.0812,-78.7719"]) == {}


@pytest.mark.parametrize("heading", ["country", "País", "Страна", "دولة", "国家", "ISO3"])
def test_each_site_is_compared_with_the_others_of_its_country(heading):
    """Ghana and Mozambique in one list: a Ghanaian place without its sign falls into Benin."""
    ghana = [f"G{k},{9.4 - 0.05 * k:.3f},{-1.2 - 0.03 * k:.3f},Ghana" for k in range(20)]
    others = [f"B{k},{9.4 - 0.05 * k:.3f},{2.2 + 0.03 * k:.3f},Benin" for k in range(20)]
    rows = [*ghana, *others, "G20,9.123,2.345,ghana"]
    assert listed([row.rpartition(",")[0] for row in rows]) == {}
    found = listed(rows, f"site_id,lat,lon,{heading}")
    assert set(found) == {42}
    assert "In another country" in found[42]


@pytest.mark.parametrize("heading", ["province", "Provincia", "Область", "Bundesland", "省"])
def test_each_site_is_compared_with_the_others_of_its_region(heading):
    """Two provinces of one country, one on each side of the equator."""
    south = [f"S{k},{-0.6 - 0.02 * k:.3f},{35.2 + 0.02 * k:.3f},South" for k in range(15)]
    north = [f"N{k},{1.4 + 0.02 * k:.3f},{35.2 + 0.02 * k:.3f},North" for k in range(15)]
    rows = [*south, *north, "S15,-1.512,35.312,North"]
    assert listed([row.rpartition(",")[0] for row in rows]) == {}
    found = listed(rows, f"site_id,lat,lon,{heading}")
    assert set(found) == {32}
    assert "if the sign of the latitude is flipped" in found[32]


def test_islands_are_not_called_wrong():
    """Atolls and skerries that the basemap has not, or draws too small: from memory."""
    rows = ["A,7.1000,171.3800", "B,11.2310,72.7810", "C,5.3250,163.0080", "D,-3.8520,-32.4210"]
    assert listed(rows) == {}


def test_many_sites_at_sea_are_told_once():
    rows = [f"R{k},{19.41 + 0.13 * k:.3f},{93.05 - 0.21 * k:.3f}" for k in range(6)]
    table = {"site_id": [r.split(",")[0] for r in rows], "lat": [r.split(",")[1] for r in rows],
             "lon": [r.split(",")[2] for r in rows]}  # fmt: skip
    found = sites_from_frame(table)
    assert [note.key for note in found.remarks] == ["note.coordinate_doubt.sea_many"]
    assert dict(found.sites.notes) == {}


def test_many_sites_at_one_place_are_no_stray_ones(around_nairobi):
    """Ten units of one hospital: none is far from the nearest other site."""
    lat = np.concatenate([around_nairobi[0], np.full(10, -4.0512)])
    lon = np.concatenate([around_nairobi[1], np.full(10, 38.4512)])
    found = coordinate_doubts(points(lat, lon))
    assert set(found) == set(range(22, 32))
    assert not any("far" in sentences(found, row).lower() for row in found)


def test_chunks_raise_the_doubts_of_the_whole(tmp_path):
    rows = [f"W{k},{-0.4123 - 0.0117 * k:.4f},{34.7137 + 0.0129 * k:.4f}" for k in range(24)]
    text = "\n".join(["site_id,lat,lon", *rows, "W24,0.6322,34.9123"]) + "\n"
    (tmp_path / "sites.csv").write_text(text)
    parts = list(iter_site_lists(tmp_path / "sites.csv", 4))
    told = [part.sites.source_row[at] for part in parts for at in part.sites.notes]
    assert told == [26]


def test_a_region_is_told_with_its_country():
    """Both countries have an East, one on each side of the equator."""
    kenya = [f"K{k},{-0.6 - 0.02 * k:.3f},{37.2 + 0.02 * k:.3f},Kenya,East" for k in range(15)]
    uganda = [f"U{k},{1.4 + 0.02 * k:.3f},{33.7 + 0.02 * k:.3f},Uganda,East" for k in range(15)]
    north = [f"N{k},{2.9 + 0.02 * k:.3f},{37.2 + 0.02 * k:.3f},Kenya,North" for k in range(15)]
    rows = [*kenya, *uganda, *north]
    head = "site_id,lat,lon,country,region"
    assert listed(rows, head) == {}
    assert set(listed([*rows, "K15,0.712,37.312,Kenya,East"], head)) == {47}


def test_where_the_spread_is_wide_a_far_site_may_be_right():
    """Sites in the north of the Amazon basin, and a good one south of the equator."""
    rng = np.random.default_rng(8)
    places = zip(rng.uniform(0.5, 5, 30), rng.uniform(-63, -59.8, 30), strict=True)
    rows = [f"V{k},{y:.4f},{x:.4f}" for k, (y, x) in enumerate(places)]
    told = listed([*rows, "V30,-4.2113,-61.0412"])
    assert set(told) <= {32}
    assert all("it may be right" in sentence for sentence in told.values())


def test_a_site_of_a_neighbour_as_near_as_the_others_is_not_called_wrong():
    """Sites around the equator in Kenya's west, and one across the border."""
    rng = np.random.default_rng(8)
    places = zip(rng.uniform(-0.9, 0.9, 40), rng.uniform(34.4, 35.4, 40), strict=True)
    rows = [f"V{k},{y:.4f},{x:.4f}" for k, (y, x) in enumerate(places)]
    assert listed([*rows, "U1,0.8112,34.0512"]) == {}


@pytest.mark.parametrize("name", ["river_clinics", "fjord_substations"])
def test_the_samples_raise_no_doubt(name):
    """Their places are on real islands, capes and river mouths."""
    sample = LIVE / name / "sites.csv"
    found = read_sites(sample)
    assert dict(found.sites.notes) == {}
    assert found.remarks == ()
