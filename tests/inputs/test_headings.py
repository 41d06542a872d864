import pytest

from siteplan.errors import SitesError
from siteplan.inputs.headings import find_columns, key_of, plain_heading


@pytest.mark.parametrize(
    ("heading", "plain"),
    [
        (" Altitude (m) ", "altitude_m"),
        ("Availability [%]", "availability_pct"),
        ("\ufeffSite-ID", "site_id"),
        ("Wind (m/s)", "wind_m_s"),
        ("LAT (°)", "lat_deg"),
    ],
)
def test_plain_heading(heading, plain):
    assert plain_heading(heading) == plain


@pytest.mark.parametrize(
    ("heading", "key"),
    [
        ("Latitude", "lat"),
        ("LAT", "lat"),
        ("lng", "lon"),
        ("Long", "lon"),
        ("Längengrad", "lon"),
        ("ID", "site_id"),
        ("Site ID", "site_id"),
        ("y", ""),
        ("elevation", ""),
        ("alt", ""),
    ],
)
def test_synonyms_have_one_reading(heading, key):
    assert key_of(heading) == key


def find(*headings, **options):
    return find_columns(headings, "sites.csv", **options)


def test_altitude_in_feet_is_converted_with_a_note():
    column = find("lat", "lon", "Altitude (ft)").columns["altitude_m"]
    assert column.factor == pytest.approx(0.3048, abs=0)
    assert "converted from feet" in column.note.sentence


def test_elevation_in_metres_is_taken_with_a_note():
    assert (
        "read as altitude_m"
        in find("lat", "lon", "elevation_m").columns["altitude_m"].note.sentence
    )


@pytest.mark.parametrize(
    ("heading", "why"),
    [("alt", "no unit"), ("Elevation", "look angle"), ("wind", "no unit"), ("cable", "no unit")],
)
def test_headings_with_two_readings_are_left_alone_and_told(heading, why):
    found = find("lat", "lon", heading)
    assert set(found.columns) == {"lat", "lon"}
    assert why in found.remarks[0].sentence


def test_ours_goes_before_a_synonym():
    found = find("id", "site_id", "lat", "lon", "altitude_ft", "altitude_m")
    assert found.columns["site_id"].heading == "site_id"
    assert found.columns["altitude_m"].heading == "altitude_m"


def test_site_is_the_id_where_there_is_no_other():
    assert find("Site", "lat", "lon").columns["site_id"].heading == "Site"
    assert find("id", "Site", "lat", "lon").columns["site_id"].heading == "id"


@pytest.mark.parametrize(
    ("headings", "message"),
    [
        (("lat", "Latitude", "lon"), "two columns may be lat: 'lat' and 'Latitude'"),
        (("id", "Site Code", "lat", "lon"), "two columns may be site_id"),
        (("name", "lat"), "no column for lon. Columns found: 'name', 'lat'"),
        (("name", "lattitude", "longtitude"), "Rename 'lattitude' to lat and 'longtitude' to lon"),
        (("x", "y"), "If x is the longitude"),
        (("name", "GPS coordinates"), "split it into lat and lon"),
        (("A1", "-1.29", "36.82"), "first line looks like a site"),
        ((), "Columns found: none"),
    ],
)
def test_positions_that_cannot_be_found(headings, message):
    with pytest.raises(SitesError, match=message):
        find(*headings)


def test_geometry_leaves_lat_and_lon_columns_free():
    assert find("lat", "Latitude", "lon", placed=True).columns == {}
