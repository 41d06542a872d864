import re

import pytest

from siteplan.errors import SitesError
from siteplan.inputs.headings import (
    SYNONYMS,
    check_headings,
    find_columns,
    key_of,
    plain_heading,
)


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
        "read as 'altitude_m'"
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


#: Every heading that is taken for one of ours, beside ours itself: none may go, none may change
#: its column.
TAKEN = {
    "site_id": "id siteid site_code site_no site_nr site_number site_key site_identifier"
    " station_id",
    "name": "site_name sitename station_name",
    "lat": "latitude lat_deg latitude_deg lat_dd latitude_dd lat_wgs84 latitude_wgs84 gps_lat"
    " gps_latitude site_lat site_latitude lat_n latitude_n latitud breitengrad latitudine",
    "lon": "longitude long lng lon_deg longitude_deg long_deg lon_dd long_dd longitude_dd"
    " lon_wgs84 longitude_wgs84 gps_lon gps_long gps_lng gps_longitude site_lon site_long"
    " site_longitude lon_e longitude_e longitud längengrad laengengrad longitudine",
    "altitude_m": "alt_m altitude_m_amsl altitude_amsl_m elevation_m elev_m",
    "availability_pct": "availability availability_percent availability_target_pct"
    " target_availability_pct availability_target",
    "structure": "structure_type",
    "wall_facing_deg": "wall_facing",
    "roof_height_m": "",
    "cable_m": "cable_length_m cable_run_m",
    "wind_m_s": "wind_speed_m_s wind_ms wind_speed_ms",
    "priority": "",
    "group": "",
    "timezone": "time_zone tz",
    "fixed_antenna_m": "installed_antenna_m existing_antenna_m",
    "fixed_buc_w": "installed_buc_w existing_buc_w",
    "fixed_efficiency": "installed_efficiency",
    "fixed_buc_backoff_db": "installed_buc_backoff_db",
}

KM_H, MPH, KNOTS = (1000 / 3600, "km/h"), (0.44704, "miles per hour"), (1852 / 3600, "knots")
#: Every heading in another unit: our column, the factor by the unit's definition, its name.
#: The international foot and mile are 0.3048 m and 1609.344 m, the nautical mile 1852 m (exact).
CONVERTED = {
    **{f"{stem}_{unit}": (key, 0.3048, "feet") for unit in ("ft", "feet") for key, stems in {
        "altitude_m": "altitude alt elevation elev",
        "roof_height_m": "roof_height",
        "cable_m": "cable cable_length cable_run"}.items() for stem in stems.split()},
    **{f"{stem}_{unit}": ("wind_m_s", *told) for stem in ("wind", "wind_speed")
       for unit, told in {"km_h": KM_H, "kmh": KM_H, "kph": KM_H, "mph": MPH, "kt": KNOTS,
                          "kn": KNOTS, "knots": KNOTS}.items()},
}  # fmt: skip

OF_TWO = "it has no unit: rename it"
#: Every heading that is left alone, and why.
LEFT = {
    **dict.fromkeys(("alt", "altitude", "altitude_amsl", "height_amsl"),
                    f"{OF_TWO} 'altitude_m' or 'altitude_ft'."),
    **dict.fromkeys(("elevation", "elev"),
                    "it may be a height or a look angle: rename a height 'altitude_m'."),
    "roof_height": f"{OF_TWO} 'roof_height_m' or 'roof_height_ft'.",
    **dict.fromkeys(("cable", "cable_length"), f"{OF_TWO} 'cable_m' or 'cable_ft'."),
    **dict.fromkeys(("wind", "wind_speed"), f"{OF_TWO} 'wind_m_s', or 'wind_kmh'."),
    "fixed_antenna": f"{OF_TWO} 'fixed_antenna_m'.",
    "fixed_buc": f"{OF_TWO} 'fixed_buc_w'.",
}  # fmt: skip


def beside(key):
    """Return what a table needs beside a column."""
    return [other for other in ("lat", "lon") if other != key]


def test_every_synonym_is_taken_for_its_column():
    assert set(SYNONYMS) == set(TAKEN)
    for key, others in TAKEN.items():
        for heading in (key, *others.split()):
            assert key_of(heading) == key, heading
            column = find(*beside(key), heading.upper()).columns[key]
            assert (column.heading, column.factor) == (heading.upper(), 1), heading
            assert (column.note is not None) == heading.startswith("elev"), heading


def test_every_heading_in_another_unit_is_converted():
    for heading, (key, factor, unit) in CONVERTED.items():
        column = find("lat", "lon", heading).columns[key]
        assert column.index == 2
        assert column.factor == pytest.approx(factor, rel=1e-15), heading
        assert column.note.sentence == f"Column '{heading}': converted from {unit}."


def test_every_heading_that_is_left_alone_is_told_why_until_ours_is_there():
    for heading, why in LEFT.items():
        found = find("lat", "lon", heading)
        assert set(found.columns) == {"lat", "lon"}, heading
        told = [note.sentence for note in found.remarks]
        assert told == [f"Column '{heading}' was not used: {why}"]
        ours = why.partition("rename ")[2].removeprefix("it ").removeprefix("a height ")
        with_ours = find("lat", "lon", heading, ours.rstrip(".").split()[0].rstrip(","))
        assert with_ours.remarks == (), heading


def test_no_heading_has_two_meanings():
    given = [w for key, others in TAKEN.items() for w in (key, *others.split())]
    given += [*CONVERTED, *LEFT]
    assert len(set(given)) == len(given)


@pytest.mark.parametrize(
    ("heading", "plain"),
    [("Wind (km/h)", "wind_km_h"), ("Wall ° facing", "wall_deg_facing"), ("%", "pct"),
     ("Ｌａｔ", "lat"), ("_a__b-c.d_", "a_b_c_d"), ("STRASSE ß", "strasse_ss")],
)  # fmt: skip
def test_units_and_marks_of_a_heading(heading, plain):
    assert plain_heading(heading) == plain


FOUND = "Columns found:"


@pytest.mark.parametrize(
    ("headings", "told"),
    [
        (("lat", "Latitude", "lon"), "two columns may be lat: 'lat' and 'Latitude'."
         " Keep one, or rename the other so that it does not mean lat."),
        (("name", "lat"), f"no column for lon. {FOUND} 'name', 'lat'."
         " Add or rename the columns: lon."),
        (("name",), f"no column for lat and lon. {FOUND} 'name'."
         " Add or rename the columns: lat and lon."),
        (("lattitude", "longtitude"), f"no column for lat and lon. {FOUND} 'lattitude',"
         " 'longtitude'. Rename 'lattitude' to lat and 'longtitude' to lon?"),
        (("X", " y"), f"no column for lat and lon. {FOUND} 'X', 'y'."
         " If x is the longitude and y the latitude in degrees, rename them lon and lat."),
        *(((one,), f"no column for lat and lon. {FOUND} '{one}'."
           " If one column holds both, split it into lat and lon.")
          for one in ("GPS", "Coordinates", "lat/lon", "latlng", "position", "location", "point",
                      "geo")),
        (("lat", "GPS"), f"no column for lon. {FOUND} 'lat', 'GPS'."
         " Add or rename the columns: lon."),
        *(((one,), f"no column for lat and lon. {FOUND} '{one}'."
           " The first line looks like a site: put a line of headings above it.")
          for one in ("-1.29", "+36", "36,82")),
        ((), f"no column for lat and lon. {FOUND} none. Add or rename the columns: lat and lon."),
        (tuple(f"c{k:02d}" for k in range(40)), f"no column for lat and lon. {FOUND} "
         + ", ".join(f"'c{k:02d}'" for k in range(30)) + ". Add or rename the columns: lat and"
         " lon."),
    ],
)  # fmt: skip
def test_headings_without_positions_are_told_in_these_words(headings, told):
    with pytest.raises(SitesError, match=f"^{re.escape('sites.csv: ' + told)}$"):
        find(*headings)


@pytest.mark.parametrize(
    ("headings", "told"),
    [
        (("a", " a"), "two columns are called 'a'."),
        ((" A ", "b", "a "), "two columns are called 'A' and 'a', the same but for capitals."),
    ],
)
def test_a_heading_twice_is_told_in_these_words(headings, told):
    whole = re.escape(f"here.csv: {told} Rename or delete one of them.")
    with pytest.raises(SitesError, match=f"^{whole}$"):
        check_headings(headings, "here.csv")
    check_headings(("a", "b", "A b"), "here.csv")
