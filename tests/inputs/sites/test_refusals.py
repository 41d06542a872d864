"""What a person reads about a cell that is refused: the whole reason and the whole fix."""

from __future__ import annotations

import re

import numpy as np
import pytest

from siteplan.errors import NetworkError, SitesError
from siteplan.inputs.sites.coordinates import parse_coordinates
from siteplan.inputs.sites.read import sites_from_frame
from siteplan.inputs.sites.single import one_site, orbital_position_deg
from siteplan.inputs.sites.spelling import UnreadableAngle, parse_angle

SPELL = "Write decimal degrees, for example -12.3456, or 12°34'56\"S."
TRUE = "Give the true coordinates; leave no stand-in for unknown ones."
BOTH = "Check both cells of the row."
LETTER_O = "lon carries the letter O, which is east in German (Ost) and west in Spanish and French"


def whole(text: str) -> str:
    """Return the pattern of a text, nothing more and nothing less."""
    return f"^{re.escape(text)}$"


#: Latitude, longitude; the column, its value, the reason and the fix.
PAIRS = [
    ("", "36.8", "lat", "", "lat is missing", "Fill it in."),
    ("-1.3", "n/a", "lon", "n/a", "lon is missing", "Fill it in."),
    ("#REF!", "36.8", "lat", "#REF!", "lat is a broken formula", "Mend the formula."),
    ("-1.3", "#N/A", "lon", "#N/A", "lon is missing", "Fill it in."),
    ("x", "36.8", "lat", "x", "lat cannot be read as an angle", SPELL),
    ("-1.3W", "36.8", "lat", "-1.3W",
     "lat carries the letter W of a longitude: lat and lon look swapped", BOTH),
    ("1.3O", "36.8", "lat", "1.3O",
     "lat carries the letter O of a longitude: lat and lon look swapped", BOTH),
    ("-1.3", "36.8S", "lon", "36.8S",
     "lon carries the letter S of a latitude: lat and lon look swapped", BOTH),
    ("-1.3", "36.5O", "lon", "36.5O", LETTER_O, "Write E or W."),
    ("136.8", "-1.3", "lat", "136.8",
     "lat 136.8 is outside -90 to 90: lat and lon look swapped", "Swap the two cells."),
    ("-180", "90", "lat", "-180",
     "lat -180 is outside -90 to 90: lat and lon look swapped", "Swap the two cells."),
    ("-180.5", "90", "lat", "-180.5",
     "lat -180.5 is outside -90 to 90", "Write decimal degrees, WGS 84."),
    ("360", "-90", "lat", "360",
     "lat 360 is outside -90 to 90: lat and lon look swapped", "Swap the two cells."),
    ("360.5", "-90", "lat", "360.5",
     "lat 360.5 is outside -90 to 90", "Write decimal degrees, WGS 84."),
    ("9857000", "257000", "lat", "9857000",
     "lat 9857000 is outside -90 to 90:"
     " these look like metres of a projected grid (easting and northing)",
     "Convert them to degrees, WGS 84 (EPSG:4326)."),
    ("-12345678", "36821946", "lat", "-12345678",
     "lat -12345678 is outside -90 to 90: the decimal mark looks lost",
     "Format the columns as text and type them again."),
    ("1234", "36.8", "lat", "1234",
     "lat 1234 is outside -90 to 90: the decimal mark looks lost", "Put the decimal mark back."),
    ("-1.3", "1234", "lon", "1234",
     "lon 1234 is outside -180 to 360: the decimal mark looks lost", "Put the decimal mark back."),
    ("-1.3", "-190", "lon", "-190",
     "lon -190 is outside -180 to 360: 170 if counted westward past 180", "Write -180 to 180."),
    ("-1.3", "-360.5", "lon", "-360.5",
     "lon -360.5 is outside -180 to 360", "Write decimal degrees, WGS 84."),
    ("91.5", "100.5", "lat", "91.5",
     "lat 91.5 is outside -90 to 90", "Write decimal degrees, WGS 84."),
    ("-1.3", "360.1", "lon", "360.1",
     "lon 360.1 is outside -180 to 360", "Write decimal degrees, WGS 84."),
    *(
        (lat, lon, key, value, f"{value} looks like a placeholder for unknown coordinates", TRUE)
        for lat, lon, key, value in (
            *(("0", "0", "lat", "0, 0"), ("0", "-1", "lat", "0, -1")),
            *(("-1", "0.0", "lat", "-1, 0.0"), ("-1", "-1", "lat", "-1, -1")),
            *((n, "36.8", "lat", n) for n in ("999", "9999", "99999")),
            *((n, "36.8", "lat", n) for n in ("-99", "-999", "-9999", "-99999")),
            *(("-1.3", n, "lon", n) for n in ("999", "9999", "99999")),
            *(("-1.3", n, "lon", n) for n in ("-999", "-9999", "-99999")),
            ("-99", "-99", "lat", "-99"),
        )
    ),
]  # fmt: skip


@pytest.mark.parametrize(("lat", "lon", "key", "value", "reason", "fix"), PAIRS)
def test_a_pair_is_refused_in_these_words(
    lat: str, lon: str, key: str, value: str, reason: str, fix: str
) -> None:
    read = parse_coordinates(np.array([lat], dtype=object), np.array([lon], dtype=object))
    (fault,) = read.findings.faults[0]
    assert (fault.key, fault.value, fault.reason, fault.fix) == (key, value, reason, fix)


#: A text; the reason, to follow the column's name, and the fix.
ANGLES = [
    ("12°75'", "has 75 minutes, and minutes end at 59: decimal degrees 12.75?", SPELL),
    ("12°60'", "has 60 minutes, and minutes end at 59: decimal degrees 12.60?", SPELL),
    ("12°75,5'", "has 75,5 minutes, and minutes end at 59: decimal degrees 12.755?", SPELL),
    ("12°34'75\"", "has 75 seconds, and seconds end at 59: 12 degrees 34.75 minutes?", SPELL),
    ("12°34'60.5\"", "has 60.5 seconds, and seconds end at 59: 12 degrees 34.605 minutes?", SPELL),
    ("12 34", "has two readings: 12°34' or 12.34°", SPELL),
    ("12-34", "has two readings: 12°34' or 12.34°", SPELL),
    ('12°34"', "has two readings: 12°34' or 12.34°", SPELL),
    ("12°34'56s", "ends in a letter that may mean seconds or south",
     "Write a second mark before the hemisphere, for example 12°34'56\"S."),
    ("-12.3N", "has the sign - and the letter N: which is right?", SPELL),
    ("-12.3E", "has the sign - and the letter E: which is right?", SPELL),
    ("+12.3S", "has the sign + and the letter S: which is right?", SPELL),
    ("+12.3W", "has the sign + and the letter W: which is right?", SPELL),
    ("-12.3O", "has the sign - and the letter O: which is right?", SPELL),
    ("+12.3O", "has the sign + and the letter O: which is right?", SPELL),
    ("12.3 N S", "carries more than one hemisphere letter", SPELL),
    ("12.5-", "has its sign at the end: -12.5?", "Put the sign first."),
    ("36E1", "has two readings: a power of ten, or E for east", SPELL),
    ("50.123.456", "has thousands marks and no decimal mark: 50.123456?", SPELL),
    ("1,234,567", "has thousands marks and no decimal mark: 1.234567?", SPELL),
    ("<script>", "cannot be read as an angle", SPELL),
    *(
        (text, "holds two numbers: latitude and longitude in one cell?",
         "Put them into two columns, lat and lon.")
        for text in ("-1.2921, 36.8219", "-1.2921 36.8219", "1,29 36,82", "1,29; -36,82",
                     "1.3°S 36.8", "1°17'S 36°49'E", "N1 17 E36 49", "1°17'N, 36°49'O")
    ),
    *(
        (text, "is a date: a spreadsheet has turned the angle into one",
         "Format the column as text, then type the angle again.")
        for text in ("2026-05-12", "2026-05-12T10:00", "2026-05-12 10:00", "12-May", "12 January",
                     "3. Okt 2026", "1-Jan", "1/Feb/26", "1-Mar", "1-Apr", "1-Mai", "1-Jun",
                     "1-Jul", "1-Aug", "1-Sep", "1-Oct", "1-Nov", "1-Dec", "1.Dez.")
    ),
]  # fmt: skip


@pytest.mark.parametrize(("text", "reason", "fix"), ANGLES)
def test_an_angle_is_refused_in_these_words(text: str, reason: str, fix: str) -> None:
    with pytest.raises(UnreadableAngle, match=whole(reason)) as caught:
        parse_angle(text)
    assert (caught.value.reason, caught.value.fix) == (reason, fix)


EMPTY = "or leave the cell empty."
#: Column and cell that reject a row: no number; the reason and the fix.
NUMBERS = [
    ("altitude_m", "high", "altitude_m 'high' is not a number", f"Give -500 to 9000 m, {EMPTY}"),
    ("altitude_m", "#REF!", "altitude_m '#REF!' is a broken formula",
     f"Give -500 to 9000 m, {EMPTY}"),
    ("altitude_m", "1,650", "altitude_m '1,650' has two readings, 1.650 and 1650",
     f"Give -500 to 9000 m, {EMPTY}"),
    ("fixed_buc_w", "two", "fixed_buc_w 'two' is not a number", f"Give 0.1 to 2000 W, {EMPTY}"),
]  # fmt: skip


@pytest.mark.parametrize(("key", "cell", "reason", "fix"), NUMBERS)
def test_a_number_rejects_its_row_in_these_words(
    key: str, cell: str, reason: str, fix: str
) -> None:
    found = sites_from_frame({"id": ["A1"], "lat": ["1.23"], "lon": ["4.56"], key: [cell]})
    (reject,) = found.rejects
    assert (reject.site_id, reject.key, reject.value) == ("A1", key, cell)
    assert (reject.reason, reject.fix) == (reason, fix)


#: Column and a number outside its range, which is left out; what is said of it.
OUTSIDE = [
    ("altitude_m", "-501", "is outside -500 to 9000 m: taken as unknown;"),
    ("altitude_m", "9001", "is outside -500 to 9000 m; in feet? Taken as unknown."),
    ("altitude_m", "29527", "is outside -500 to 9000 m; in feet? Taken as unknown."),
    ("altitude_m", "29529", "is outside -500 to 9000 m: taken as unknown;"),
    ("availability_pct", "0.995", "is no percentage of 50 or more (99.5 %?): taken as unknown;"),
    ("availability_pct", "1", "is no percentage of 50 or more (100 %?): taken as unknown;"),
    ("availability_pct", "1.1", "is outside 50 to 99.999 %: taken as unknown;"),
    ("availability_pct", "100", "cannot be met: taken as unknown;"),
    ("fixed_antenna_m", "21", "is outside 0.2 to 20 m: taken as unknown;"),
    ("fixed_buc_w", "2001", "is outside 0.1 to 2000 W: taken as unknown;"),
    ("fixed_efficiency", "65", "is outside 0.1 to 1: taken as unknown;"),
    ("wind_m_s", "121", "is outside 0 to 120 m/s: taken as unknown;"),
]


@pytest.mark.parametrize(("key", "cell", "told"), OUTSIDE)
@pytest.mark.parametrize("typed", [False, True])
def test_a_number_outside_its_range_is_left_out_and_its_row_stays(
    key: str, cell: str, told: str, typed: bool
) -> None:
    values = [float(cell)] if typed else [cell]
    found = sites_from_frame({"id": ["A1"], "lat": ["8.2345"], "lon": ["4.5678"], key: values})
    assert found.rejects == ()
    assert np.isnan(getattr(found.sites, key)[0])
    (note,) = found.sites.notes[0]
    assert note.sentence.startswith(f"{key} '{cell}' {told}")


def test_faults_of_a_row_come_together_and_each_fix_once() -> None:
    found = sites_from_frame(
        {"id": ["A1"], "lat": ["x"], "lon": [""], "altitude_m": ["y"], "fixed_buc_w": ["z"]}
    )
    (reject,) = found.rejects
    assert reject.reason == (
        "lat cannot be read as an angle; lon is missing; altitude_m 'y' is not a number;"
        " fixed_buc_w 'z' is not a number"
    )
    assert reject.fix == (
        f"{SPELL} Fill it in. Give -500 to 9000 m, {EMPTY} Give 0.1 to 2000 W, {EMPTY}"
    )
    twice = sites_from_frame({"id": ["A1"], "lat": [""], "lon": [""]})
    assert twice.rejects[0].reason == "lat is missing; lon is missing"
    assert twice.rejects[0].fix == "Fill it in."


def test_rows_refused_among_others_in_these_words() -> None:
    found = sites_from_frame(
        {
            "id": ["A1", "A1", "A2", "A2", "id"],
            "lat": ["1.23", "2.34", "3.45", "3.45", "lat"],
            "lon": ["4.56", "5.67", "6.78", "6.78", "lon"],
        }
    )
    assert [(r.row, r.site_id, r.key, r.value, r.reason, r.fix) for r in found.rejects] == [
        (3, "A1", "site_id", "A1", "the id is already used by row 2",
         "Give each site its own site_id."),
        (5, "A2", "site_id", "A2", "the row is the same as row 4", "Delete one of the two."),
        (6, "id", "lat", "lat", "the row repeats the heading", "Delete it."),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("given", "told"),
    [
        (("x", "3"), f"lat: 'x' lat cannot be read as an angle. {SPELL}"),
        (("3", ""), "lon: '' lon is missing. Fill it in."),
        (("3", "4", 9001), "altitude_m: 9001 is out of range. Give -500 to 9000."),
        (("3", "4", -501), "altitude_m: -501 is out of range. Give -500 to 9000."),
        (("3", "4", None, 49.9), "availability_pct: 49.9 is out of range. Give 50 to 99.999."),
        (("3", "4", None, 100), "availability_pct: 100 is out of range. Give 50 to 99.999."),
    ],
)
def test_one_place_is_refused_in_these_words(given: tuple, told: str) -> None:
    lat, lon, altitude_m, availability_pct = (*given, None, None)[:4]
    with pytest.raises(SitesError, match=whole(told)):
        one_site(lat, lon, altitude_m=altitude_m, availability_pct=availability_pct)


def test_one_place_within_its_limits() -> None:
    for altitude_m, availability_pct in ((-500, 50), (9000, 99.999)):
        site = one_site(
            "1°30'S", "36.25E", altitude_m=altitude_m, availability_pct=availability_pct
        )
        assert (site.lat[0], site.lon[0]) == (-1.5, 36.25)
        assert (site.altitude_m[0], site.availability_pct[0]) == (altitude_m, availability_pct)
        assert dict(site.notes) == {}
    bare = one_site("36.25E", "1.5S")
    assert np.isnan(bare.altitude_m[0])
    assert np.isnan(bare.availability_pct[0])
    assert [note.sentence for note in bare.notes[0]] == [
        "lat carried E and lon S: the two were swapped back."
    ]


WRITE = "Write -61, 61W or 299."


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("x", f"satellite: 'x' cannot be read as an angle. {WRITE}"),
        *((t, f"satellite: '{t}' is no orbital position. {WRITE}")
          for t in ("61N", "61S", "61O", "-180.1", "360.1")),
    ],
)  # fmt: skip
def test_an_orbital_position_is_refused_in_these_words(text: str, told: str) -> None:
    with pytest.raises(NetworkError, match=whole(told)):
        orbital_position_deg(text)


@pytest.mark.parametrize(
    ("text", "degrees"),
    [("-61", -61), ("61W", -61), ("61E", 61), ("299", 299), ("-180", -180), ("360", 360)],
)
def test_an_orbital_position_is_read(text: str, degrees: float) -> None:
    assert orbital_position_deg(text) == degrees
