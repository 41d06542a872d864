import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.inputs.sites.coordinates import meaning_of_letter_o, parse_coordinates


def column(*cells):
    out = np.empty(len(cells), dtype=object)
    out[:] = cells
    return out


def parse_one(lat, lon, **options):
    read = parse_coordinates(column(lat), column(lon), **options)
    faults = "; ".join(f.reason for f in read.findings.faults.get(0, []))
    notes = " ".join(n.sentence for n in read.findings.notes.get(0, []))
    return read.lat[0], read.lon[0], faults, notes


@pytest.mark.parametrize(
    ("lat", "lon", "expected"),
    [
        ("-1.2921", "36.8219", (-1.2921, 36.8219)),
        (" -1.2921 ", "\t36.8219", (-1.2921, 36.8219)),
        ("1°17'31.56\"S", "36W", (-1.2921, -36.0)),
        ("90", "-180", (90.0, -180.0)),
        ("-1,2921", "36,8219", (-1.2921, 36.8219)),
    ],
)
def test_pairs_that_need_no_mending(lat, lon, expected):
    *got, faults, notes = parse_one(lat, lon)
    assert got == pytest.approx(expected, abs=1e-12)
    assert (faults, notes) == ("", "")


@pytest.mark.parametrize(
    ("lat", "lon", "expected", "note"),
    [
        ("-8.05", "325.1", (-8.05, -34.9), "counted 0 to 360: read as -34.9"),
        ("-8.05", "360", (-8.05, 0.0), "counted 0 to 360"),
        ("36.8E", "1.3S", (-1.3, 36.8), "swapped back"),
        ("W 34.9", "S 8.05", (-8.05, -34.9), "swapped back"),
        ("12.34.56", "1.5", (12.582222222, 1.5), "degrees, minutes and seconds"),
    ],
)
def test_pairs_with_one_reading_are_mended_with_a_note(lat, lon, expected, note):
    *got, faults, notes = parse_one(lat, lon)
    assert got == pytest.approx(expected, abs=1e-9)
    assert faults == ""
    assert note in notes


@pytest.mark.parametrize(
    ("lat", "lon", "reason"),
    [
        ("", "36.8", "lat is missing"),
        ("n/a", "?", "lat is missing; lon is missing"),
        ("0", "0", "placeholder"),
        ("0.0", "0.000", "placeholder"),
        ("-1", "-1", "placeholder"),
        ("0", "-1", "placeholder"),
        ("999", "36.8", "placeholder"),
        ("-1.3", "9999", "placeholder"),
        ("-9999", "-9999", "placeholder"),
        ("-99", "-99", "placeholder"),
        ("136.8", "-1.3", "lat and lon look swapped"),
        ("-122.4", "37.8", "lat and lon look swapped"),
        ("36.8E", "-1.3", "lat and lon look swapped"),
        ("-1.3", "36.8N", "lat and lon look swapped"),
        ("9857000", "257000", "projected grid"),
        ("-12921", "368219", "projected grid"),
        ("-12345678", "36821946", "decimal mark looks lost"),
        ("91", "100", "outside -90 to 90"),
        ("-1.3", "400", "outside -180 to 360"),
        ("-1.3", "-190", "170 if counted westward"),
        ("#REF!", "36.8", "broken formula"),
        ("1°61'", "36.8", "minutes end at 59"),
        ("-1.3", "36O", "Ost"),
        ("inf", "36", "cannot be read"),
        ("TRUE", "36", "cannot be read"),
    ],
)
def test_pairs_without_one_reading_are_faults(lat, lon, reason):
    got_lat, got_lon, faults, _ = parse_one(lat, lon)
    assert reason in faults
    assert np.isnan(got_lat)
    assert np.isnan(got_lon)


@pytest.mark.parametrize(("lat", "lon"), [("0", "36.8219"), ("-1", "36.8219"), ("45.2", "-99")])
def test_a_lone_zero_or_minus_one_or_minus_99_can_be_a_place(lat, lon):
    got_lat, got_lon, faults, _ = parse_one(lat, lon)
    assert (got_lat, got_lon) == (float(lat), float(lon))
    assert faults == ""


@pytest.mark.parametrize(
    ("letters", "meaning"),
    [({"O", "W"}, "E"), ({"O", "E", "N"}, "W"), ({"O"}, ""), ({"O", "E", "W"}, "")],
)
def test_letter_o_takes_its_meaning_from_the_other_letters(letters, meaning):
    assert meaning_of_letter_o(frozenset(letters)) == meaning


@pytest.mark.parametrize(("meaning", "lon"), [("E", 16.25), ("W", -16.25)])
def test_letter_o_is_read_with_a_note_where_its_meaning_is_known(meaning, lon):
    _, got, faults, notes = parse_one("48,5N", "16,25O", letter_o=meaning)
    assert got == lon
    assert faults == ""
    assert "O read as" in notes


def test_numbers_are_taken_as_they_are():
    lat, lon = np.array([-1.2921, np.nan, 95.0]), np.array([36, 36, 12])
    read = parse_coordinates(lat, lon)
    assert read.lat[0] == -1.2921
    assert read.lon[0] == 36.0
    assert set(read.findings.faults) == {1, 2}
    assert "95 is outside" in read.findings.faults[2][0].reason


def test_decimals_are_counted_from_the_text():
    read = parse_coordinates(
        column("1.50", "1.5", "1", "1°30'"), column("2.25", "2.0", "2", "2.25")
    )
    assert read.decimals.tolist() == [[2, 2], [1, 1], [0, 0], [-1, 2]]


@given(st.lists(st.tuples(st.floats(-90, 90), st.floats(-179.9, 180)), min_size=1, max_size=20))
def test_columns_equal_cells(pairs):
    """A whole column gives what its cells give one by one (exact, no tolerance)."""
    lat = column(*[repr(a) for a, _ in pairs])
    lon = column(*[repr(b) for _, b in pairs])
    whole = parse_coordinates(lat, lon)
    for i in range(len(pairs)):
        one = parse_coordinates(lat[i : i + 1], lon[i : i + 1])
        np.testing.assert_array_equal(one.lat[0], whole.lat[i])
        np.testing.assert_array_equal(one.lon[0], whole.lon[i])


@given(st.floats(-90, 90), st.floats(-180, 180))
def test_plain_decimals_are_read_exactly(lat, lon):
    text_lat, text_lon = f"{lat:.9f}", f"{lon:.9f}"
    got_lat, got_lon, faults, _ = parse_one(text_lat, text_lon)
    if not faults:
        assert (got_lat, got_lon) == (float(text_lat), float(text_lon))
    else:
        assert "placeholder" in faults


@given(st.text(max_size=12), st.text(max_size=12))
def test_every_pair_is_a_position_or_a_fault(lat, lon):
    got_lat, got_lon, faults, _ = parse_one(lat, lon)
    assert bool(faults) == bool(np.isnan(got_lat))
    if not faults:
        assert -90 <= got_lat <= 90
        assert -180 <= got_lon <= 180
