import re

import pytest

from siteplan.errors import SitesError
from siteplan.inputs.headings import (
    PLACED,
    SYNONYMS,
    check_headings,
    key_of,
    open_headings,
    optional_columns,
    plain_heading,
    unlike_headings,
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


def find(*headings):
    """Return the optional columns found, the first of each key, and what is said of the others."""
    found = {key: columns[0] for key, columns in optional_columns(headings, {}).items()}
    return found, [note.sentence for note in open_headings(headings, found)]


def test_altitude_in_feet_is_converted_with_a_note():
    column = find("lat", "lon", "Altitude (ft)")[0]["altitude_m"]
    assert column.factor == pytest.approx(0.3048, abs=0)
    assert "converted from feet" in column.note.sentence


def test_elevation_in_metres_is_taken_with_a_note():
    assert "read as 'altitude_m'" in find("elevation_m")[0]["altitude_m"].note.sentence


@pytest.mark.parametrize(
    ("heading", "why"),
    [
        ("alt", "no unit"),
        ("Elevation", "look angle"),
        ("wind", "DESIGN wind"),
        ("cable", "no unit"),
    ],
)
def test_headings_with_two_readings_are_left_alone_and_told(heading, why):
    columns, told = find("lat", "lon", heading)
    assert columns == {}
    assert why in told[0]


@pytest.mark.parametrize("heading", ["Höhe (m)", "Altitud [m]", "標高(m)", "высота, м", "rakım m"])
def test_heights_in_other_languages_have_their_unit(heading):
    assert find(heading)[0]["altitude_m"].factor == 1


def test_ours_goes_before_a_synonym():
    found = optional_columns(["altitude_ft", "alt_m", "ALTITUDE_M"], {})["altitude_m"]
    assert [column.heading for column in found] == ["ALTITUDE_M", "alt_m", "altitude_ft"]


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
    "beam": "",
    "fixed_antenna_m": "installed_antenna_m existing_antenna_m",
    "fixed_buc_w": "installed_buc_w existing_buc_w",
    "fixed_efficiency": "installed_efficiency",
    "fixed_buc_backoff_db": "installed_buc_backoff_db",
    "outbound_kbit_s": "",
    "inbound_kbit_s": "",
    "applications": "",
    "power_availability_pct": "",
    "line_cost_month": "",
    "line_km": "",
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
    **dict.fromkeys(("wind", "wind_speed"),
                    "it has no unit. Only the DESIGN wind of the mount, 15 m/s or more and no"
                    " observed wind, is to be called 'wind_m_s', or 'wind_kmh'."),
    "fixed_antenna": f"{OF_TWO} 'fixed_antenna_m'.",
    "fixed_buc": f"{OF_TWO} 'fixed_buc_w'.",
}  # fmt: skip


def test_every_synonym_is_taken_for_its_column():
    assert set(SYNONYMS) == set(TAKEN)
    for key, others in TAKEN.items():
        for heading in (key, *others.split()):
            assert key_of(heading) == key, heading
            assert key_of(heading.upper()) == key, heading
            if key in PLACED:
                continue
            column = find(heading.upper())[0][key]
            assert (column.heading, column.factor) == (heading.upper(), 1), heading
            assert (column.note is not None) == heading.startswith("elev"), heading
            assert column.exact == (heading == key), heading


def test_every_heading_in_another_unit_is_converted():
    for heading, (key, factor, unit) in CONVERTED.items():
        column = find("lat", "lon", heading)[0][key]
        assert column.index == 2
        assert column.factor == pytest.approx(factor, rel=1e-15), heading
        assert column.note.sentence == f"Column '{heading}': converted from {unit}."


def test_every_heading_that_is_left_alone_is_told_why_until_ours_is_there():
    for heading, why in LEFT.items():
        columns, told = find("lat", "lon", heading)
        assert columns == {}, heading
        assert told == [f"Column '{heading}' was not used: {why}"]
        ours = re.findall(r"'(\w+)'", why)[0]
        assert find("lat", "lon", heading, ours)[1] == [], heading


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


def test_a_second_heading_is_renamed():
    headings, written = unlike_headings(["beds", "lat", "Beds", "beds_2", "beds", "LAT"])
    assert headings == ["beds", "lat", "Beds_3", "beds_2", "beds_4", "LAT_2"]
    assert written == {"Beds_3": "Beds", "beds_4": "beds", "LAT_2": "LAT"}
