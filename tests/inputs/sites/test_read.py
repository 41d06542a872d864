import csv
import tracemalloc

import geopandas as gpd
import numpy as np
import pandas as pd
import pyproj
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from siteplan.errors import SitesError
from siteplan.inputs.sites.read import iter_site_lists, read_sites, sites_from_frame
from siteplan.model import Sites


def write(folder, *lines, encoding="utf-8"):
    path = folder / "sites.csv"
    path.write_bytes("\n".join(lines).encode(encoding))
    return path


def notes_of(found, at):
    return " ".join(f"{n.code}: {n.sentence}" for n in found.sites.notes.get(at, ()))


def assert_counts(found):
    assert len(found.sites) + len(found.rejects) == found.rows_read


def assert_same_sites(a: Sites, b: Sites):
    for name in Sites.__dataclass_fields__:
        if name not in ("notes", "extra"):
            np.testing.assert_array_equal(getattr(a, name), getattr(b, name), err_msg=name)
    assert dict(a.notes) == dict(b.notes)
    assert set(a.extra) == set(b.extra)
    for name, values in a.extra.items():
        np.testing.assert_array_equal(values, b.extra[name], err_msg=name)


def test_a_full_row(tmp_path):
    found = read_sites(
        write(
            tmp_path,
            "site_id,name,lat,lon,altitude_m,availability_pct,structure,wall_facing_deg,"
            "roof_height_m,cable_m,wind_m_s,priority,group,fixed_antenna_m,fixed_buc_w,colour",
            "A1,Hill,-1.2921,36.8219,1650,99.7,wall,200,6,30,32,2,north,1.2,3,red",
        )
    )
    site = found.sites
    row = [getattr(site, f)[0] for f in list(Sites.__dataclass_fields__)[:15]]
    assert row == [
        *("A1", "Hill", -1.2921, 36.8219, 1650, 99.7, "wall", 200, 6, 30, 32, "2", "north"),
        *(1.2, 3),
    ]
    assert site.extra["colour"].tolist() == ["red"]
    assert site.source_row.tolist() == [2]
    assert dict(site.notes) == {}
    assert found.rejects == ()
    assert found.source == "sites.csv"


def test_only_positions(tmp_path):
    found = read_sites(write(tmp_path, "lat,lon", "-1.2921,36.8219", "-4.0512,39.6634"))
    assert found.sites.site_id.tolist() == ["P-kzf0tuub", "P-kzk0ywd0"]
    assert np.isnan(found.sites.altitude_m).all()
    assert found.sites.structure.tolist() == ["", ""]
    assert dict(found.sites.notes) == {}
    assert [note.sentence[:23] for note in found.remarks] == ["2 of 2 rows have no id "]


def test_given_ids_are_never_taken_twice(tmp_path):
    rows = (",Alpha,1.25,36.25", "alpha,Beta,3.25,37.25", "Alpha-sb55zb46,Gamma,5.25,38.25")
    found = read_sites(write(tmp_path, "id,name,lat,lon", *rows))
    ids = found.sites.site_id.tolist()
    assert ids[1:] == ["alpha", "Alpha-sb55zb46"]
    assert ids[0].startswith("Alpha-")
    assert len({text.casefold() for text in ids}) == 3


def test_repeated_ids_name_the_first_row(tmp_path):
    found = read_sites(
        write(
            tmp_path,
            "id,lat,lon,note",
            "A1,1.25,2.25,x",
            "A2,3.25,4.25,x",
            "A1,5.25,6.25,x",
            "A2,3.25,4.25,x",
        )
    )
    assert [(r.row, r.key, r.reason) for r in found.rejects] == [
        (4, "site_id", "the id is already used by row 2"),
        (5, "site_id", "the row is the same as row 3"),
    ]
    assert_counts(found)


def test_a_rejected_row_does_not_hold_its_id(tmp_path):
    found = read_sites(write(tmp_path, "id,lat,lon", "A1,,36.8", "A1,-1.2921,36.8219"))
    assert found.sites.source_row.tolist() == [3]
    assert [r.row for r in found.rejects] == [2]


def test_all_faults_of_a_row_are_told_at_once(tmp_path):
    found = read_sites(write(tmp_path, "id,lat,lon,altitude_m", "A1,x,200 km,high"))
    (reject,) = found.rejects
    for word in ("lat", "lon", "altitude_m"):
        assert word in reject.reason
    assert (reject.key, reject.value) == ("lat", "x")


def test_repeated_heading_line_has_its_own_reason(tmp_path):
    found = read_sites(write(tmp_path, "id,lat,lon", "A1,1.25,2.25", "id,lat,lon"))
    assert found.rejects[0].reason == "the row repeats the heading"


def test_eaten_zeros_are_doubted_only_where_clear(tmp_path):
    clear = read_sites(write(tmp_path, "id,lat,lon", "0012,1.25,32.25", "345,3.25,34.25"))
    assert "0345?" in notes_of(clear, 1)
    assert notes_of(clear, 0) == ""
    open_case = read_sites(write(tmp_path, "id,lat,lon", "12,1.25,32.25", "345,3.25,34.25"))
    assert dict(open_case.sites.notes) == {}


def test_altitude_in_feet(tmp_path):
    found = read_sites(
        write(tmp_path, "id,lat,lon,altitude_ft", "A1,1.25,32.25,1000", "A2,3.25,34.25,")
    )
    np.testing.assert_allclose(found.sites.altitude_m, [304.8, np.nan], rtol=1e-12)
    assert "converted from feet" in found.remarks[0].sentence
    assert notes_of(found, 1) == ""


def test_a_column_not_used_is_told(tmp_path):
    found = read_sites(write(tmp_path, "id,lat,lon,alt", "A1,1.25,2.25,1000"))
    assert "Column 'alt' was not used" in found.remarks[0].sentence
    assert found.sites.extra["alt"].tolist() == ["1000"]


HOSTILE = [
    "=cmd|' /C calc'!A0",
    "<script>alert(1)</script>",
    'He said "no", twice',
    "Ωμέγα Ärger 東京 العربية",
    "🛰️📡",
    "\u202eevil",
    "x" * 300,
    "../../etc/passwd",
    "'; DROP TABLE sites; --",
    " ends in space ",
]


def test_hostile_texts_pass_untouched(tmp_path):
    path = tmp_path / "sites.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(["site_id", "name", "lat", "lon", "free"])
        for i, text in enumerate(HOSTILE):
            writer.writerow([f"A{i}", text, f"{i}.7234", f"{i}.8678", text])
    found = read_sites(path)
    assert found.sites.name.tolist() == HOSTILE
    assert found.sites.extra["free"].tolist() == HOSTILE
    assert dict(found.sites.notes) == {}


def test_control_characters_are_taken_out_with_a_note():
    found = sites_from_frame(
        {
            "site_id": ["A\x001", "A2"],
            "name": ["one\ntwo\x07", "lone \ud800 surrogate"],
            "lat": [1.25, 3.25],
            "lon": [2.25, 4.25],
            "free": ["a\nb\x1b", "ok"],
        }
    )
    assert found.sites.site_id.tolist() == ["A1", "A2"]
    assert found.sites.name.tolist() == ["one two", "lone  surrogate"]
    assert found.sites.extra["free"].tolist() == ["a\nb", "ok"]
    for word in ("The id", "name", "free"):
        assert f"{word}: control characters" in notes_of(found, 0)


def test_file_wide_doubts_become_notes(tmp_path):
    rows = [f"A{i},-1.{2000 + 37 * i},36.{8000 + 41 * i}" for i in range(12)]
    found = read_sites(write(tmp_path, "id,lat,lon", *rows, "B,-1.3333,-36.8211"))
    assert "sign of the longitude" in notes_of(found, 12)
    assert found.sites.notes[12][0].code == "coordinate_doubt"
    assert set(found.sites.notes) == {12}


def test_letter_o_in_a_file(tmp_path):
    known = read_sites(write(tmp_path, "id,lat,lon", "A,48.25N,16.25O", "B,43.25N,5.25W"))
    np.testing.assert_array_equal(known.sites.lon, [16.25, -5.25])
    open_case = read_sites(write(tmp_path, "id,lat,lon", "A,48.25N,16.25O", "B,43.25N,5.25O"))
    assert len(open_case.rejects) == 2


def test_pairs_frames_and_mappings_agree():
    pairs = [(-1.2921, 36.8219), (-4.0512, 39.6634)]
    lat, lon = zip(*pairs, strict=True)
    frame = pd.DataFrame({"lat": lat, "lon": lon}, index=[7, 9])
    shapes = gpd.GeoDataFrame(geometry=gpd.points_from_xy(lon, lat), crs="EPSG:4326")
    results = [
        sites_from_frame(data)
        for data in (pairs, iter(pairs), np.array(pairs), frame, {"lat": lat, "lon": lon}, shapes)
    ]
    for result in results:
        assert_same_sites(result.sites, results[0].sites)
        assert_counts(result)


def test_geodataframe_is_transformed():
    """From UTM zone 37S, within 1e-8 degree (about a millimetre)."""
    to_zone = pyproj.Transformer.from_crs("EPSG:4326", "EPSG:32737", always_xy=True)
    there = shapely.Point(to_zone.transform(36.8219, -1.2921))
    shapes = gpd.GeoDataFrame({"site_id": ["A"]}, geometry=[there], crs="EPSG:32737")
    found = sites_from_frame(shapes)
    np.testing.assert_allclose(found.sites.lat, [-1.2921], rtol=0, atol=1e-8)
    np.testing.assert_allclose(found.sites.lon, [36.8219], rtol=0, atol=1e-8)


def test_frame_types_survive():
    frame = pd.DataFrame(
        {
            "id": pd.array([1, 2, None], dtype="Int64"),
            "lat": pd.array([1.25, 2.25, 3.25], dtype="Float64"),
            "lon": np.array([1.5, 2.5, 3.75], dtype=np.float32),
            "structure": pd.Categorical(["wall", None, "ground"]),
            "altitude_m": ["100", None, 250],
            "count": [1, 2, 3],
            "day": pd.to_datetime(["2026-01-01"] * 3),
        }
    )
    found = sites_from_frame(frame)
    assert found.sites.site_id.tolist() == ["1", "2", "P-s0ddmrds"]
    assert found.sites.lon.tolist() == [1.5, 2.5, 3.75]
    assert found.sites.structure.tolist() == ["wall", "", "ground"]
    np.testing.assert_array_equal(found.sites.altitude_m, [100, np.nan, 250])
    assert found.sites.extra["count"].tolist() == [1, 2, 3]


def test_ids_in_the_index_are_used():
    frame = pd.DataFrame({"lat": [1.25], "lon": [2.25]}, index=pd.Index(["K7"], name="site_id"))
    assert sites_from_frame(frame).sites.site_id.tolist() == ["K7"]


@pytest.mark.parametrize(
    ("data", "message"),
    [
        ([], "no rows of sites"),
        ([(1, 2, 3)], "item 0 is no pair"),
        ([(1, 2), 3], "item 1 is no pair"),
        ("sites", "str is no table"),
        (7, "int is no table"),
        ({"lat": [1, 2], "lon": [1]}, "unequal lengths: 'lat' 2, 'lon' 1"),
        ({"lat": 1, "lon": 2}, "one column of values"),
        ({}, "one column of values"),
        ({"lat": [1.5], "x": [2]}, "no column for lon"),
        (pd.DataFrame({"lat": []}), "no rows of sites"),
        (gpd.GeoDataFrame(geometry=[shapely.Point(1, 2)]), "no reference system"),
    ],
)
def test_tables_that_cannot_be_used(data, message):
    with pytest.raises(SitesError, match=message):
        sites_from_frame(data)


@pytest.fixture
def messy(tmp_path):
    lines = ["id;name;lat;lon;altitude_m;structure;free"]
    for i in range(40):
        lines.append(f"A{i};N{i};-1,{2000 + 37 * i};36,{8000 + 41 * i};{100 + i};Wall;f{i}")
    lines[5] = "A4;dup;1°17'S;36,8111;;;x"
    lines[9:9] = ["A0;again;-1,5;36,5;1;;", ";no id;-1,5555;36,5555;;castle;", ";;;;;;"]
    lines[20:20] = [
        "B1;stray;-1,2777;-36,8222;;;",
        "B2;;0;0;;;",
        "B3;;-1,2;36,81;1,2 x;;",
        "C;1;2;3;4;5;6;7",
    ]
    lines[30:30] = [lines[12], "E1;twin;-1,5555;36,5555;;;", "E2;O;1,2 S;36,77 O;1.234;;"]
    lines.append("E3;W;1,2 S;1,77 W;;;")
    return write(tmp_path, *lines)


@pytest.mark.parametrize("rows", [1, 4, 17, 1000])
def test_streaming_equals_whole_reading(messy, rows):
    whole = read_sites(messy)
    parts = list(iter_site_lists(messy, rows))
    assert_counts(whole)
    assert sum(p.rows_read for p in parts) == whole.rows_read
    assert [r for p in parts for r in p.rejects] == list(whole.rejects)
    start = 0
    for part in parts:
        assert_counts(part)
        expected = whole.sites.take(np.arange(start, start + len(part.sites)))
        assert_same_sites(part.sites, expected)
        start += len(part.sites)
    assert start == len(whole.sites)


def test_messy_file_ends_as_expected(messy):
    found = read_sites(messy)
    reasons = {r.site_id or r.row: r.reason for r in found.rejects}
    assert "already used" in reasons["A0"]
    assert "placeholder" in reasons["B2"]
    assert "is not a number" in reasons["B3"]
    assert "two readings" in reasons["E2"]
    assert any("8 cells" in reason for reason in reasons.values())
    codes = {n.code for notes in found.sites.notes.values() for n in notes}
    assert codes == {"coordinate_doubt", "input_mended"}


CELLS = st.one_of(
    st.sampled_from(
        ["", " ", "0", "-1", "999", "-9999", "n/a", "A1", "1,5", "12°30'S", "36W", "lat"]
    ),
    st.floats(-400, 400).map(repr),
    st.text(max_size=8),
)
GARBAGE = st.lists(st.lists(CELLS, min_size=6, max_size=6), min_size=1, max_size=12)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150)
@given(GARBAGE)
def test_no_row_of_garbage_is_lost(rows):
    keys = ["site_id", "lat", "lon", "altitude_m", "structure", "free"]
    columns = dict(zip(keys, (list(c) for c in zip(*rows, strict=True)), strict=True))
    filled = sum(any(cell.strip() for cell in row) for row in rows)
    if not filled:
        with pytest.raises(SitesError, match="no rows of sites"):
            sites_from_frame(columns)
        return
    found = sites_from_frame(columns)
    assert found.rows_read == filled
    assert_counts(found)
    seen = sorted([*found.sites.source_row.tolist(), *(r.row for r in found.rejects)])
    assert len(set(seen)) == filled
    assert len(set(found.sites.site_id)) == len(found.sites)
    assert (np.abs(found.sites.lat) <= 90).all()
    assert (np.abs(found.sites.lon) <= 180).all()


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(rows=GARBAGE)
def test_garbage_in_a_file_is_not_lost_either(tmp_path, rows):
    path = tmp_path / "sites.csv"
    rows = [[c.replace("\0", "").replace("\n", " ").replace("\r", " ") for c in r] for r in rows]
    rows = [[c.encode("utf-8", "ignore").decode() for c in r] for r in rows]
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([["id", "lat", "lon", "altitude_m", "structure", "z"], *rows])
    filled = sum(any(cell.strip() for cell in row) for row in rows)
    if filled:
        whole = read_sites(path)
        assert whole.rows_read == filled
        assert_counts(whole)
        parts = list(iter_site_lists(path, 3))
        assert [r for p in parts for r in p.rejects] == list(whole.rejects)


def test_streaming_holds_less_than_the_whole(tmp_path):
    """A chunk must not bring the whole file along; positions and ids of all rows stay."""
    remark = "a remark of some length that nobody needs twice"
    rows = [f"A{i},{i % 80}.12345,{i % 170}.54321,{remark} {i}" for i in range(4_000)]
    path = write(tmp_path, "site_id,lat,lon,remark", *rows)
    read_sites(path)  # imports are done before measuring

    def peak(job):
        tracemalloc.start()
        job()
        size = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return size

    def stream():
        assert sum(len(part.sites) for part in iter_site_lists(path, 200)) == 4_000

    assert peak(stream) < 0.7 * peak(lambda: read_sites(path))
