"""Notes on reading: every sentence of the catalogue is raised, and every one raised is in it."""

from __future__ import annotations

import ast
import pickle
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import siteplan
from siteplan.api import read_network
from siteplan.inputs.sites.read import read_sites, sites_from_frame
from siteplan.messages import Catalogue, english, gaps
from siteplan.model import Note, SiteList, Sites
from siteplan.network import Network
from siteplan.planning.beams.levels import with_known_beams
from siteplan.planning.site.loads import with_design_winds
from tests.inputs.workbook.test_workbook import NETWORK, book_at, changed

AT_30 = {"longitude_deg": 30}

KEYS = {key for key in english() if key.startswith("note.")}
KEY = re.compile(r"note\.[a-z_]+\.[a-z0-9_]+")

OUTSIDE = "taken as unknown; allowed: 0 to 2000 m."
#: Cells of one row, the code of the note, and its sentence.
CELLS = [
    ({"lat": "1.5E", "lon": "2.5N"}, "coordinate_mended",
     "lat carried E and lon N: the two were swapped back."),
    ({"lon": "299.25"}, "coordinate_mended", "lon 299.25 counted 0 to 360: read as -60.75."),
    ({"lat": "12.34.56"}, "coordinate_mended",
     "lat '12.34.56': read as degrees, minutes and seconds: 12°34'56\"."),
    ({"lat": "-12.345S"}, "coordinate_mended", "lat '-12.345S': sign and letter S say the same."),
    ({"site_id": "A\x071"}, "input_mended", "The id: control characters were taken out."),
    ({"name": "A\nB"}, "input_mended", "name: control characters or line ends were taken out."),
    ({"owner": "A\x07B"}, "input_mended", "owner: control characters taken out."),
    ({"cable_m": "999"}, "input_mended", "cable_m 999 looks like a placeholder: taken as unknown."),
    ({"wall_facing_deg": "WSW"}, "input_mended", "wall_facing_deg 'WSW' read as 247.5 deg."),
    ({"cable_m": "1'000"}, "input_mended", "cable_m '1'000': thousands marks left out."),
    ({"cable_m": "100 Ft"}, "input_mended", "cable_m '100 Ft': converted from Ft."),
    ({"cable_ft": "10 m"}, "input_mended", "cable_ft '10 m': taken in m, as the cell says."),
    ({"cable_m": "long"}, "input_mended", f"cable_m 'long' is not a number: {OUTSIDE}"),
    ({"cable_m": "#REF!"}, "input_mended", f"cable_m '#REF!' is a broken formula: {OUTSIDE}"),
    ({"cable_m": "1,650"}, "input_mended",
     f"cable_m '1,650' has two readings, 1.650 and 1650: {OUTSIDE}"),
    ({"cable_m": "2001"}, "input_mended", f"cable_m '2001' is outside 0 to 2000 m: {OUTSIDE}"),
    ({"altitude_m": "9001"}, "input_mended",
     "altitude_m '9001' is outside -500 to 9000 m; in feet? Taken as unknown."),
    ({"availability_pct": "0.995"}, "input_mended",
     "availability_pct '0.995' is no percentage of 50 or more (99.5 %?): taken as unknown;"
     " allowed: 50 to 99.999 %."),
    ({"availability_pct": "100"}, "input_mended",
     "availability_pct '100' cannot be met: taken as unknown; allowed: 50 to 99.999 %."),
    ({"structure": "castle"}, "input_mended",
     "structure 'castle' is not known and was not used (it stands in input_structure);"
     " allowed: ground, flat_roof, pitched_roof, wall."),
    ({"timezone": "Nowhere/{x}"}, "input_mended",
     "timezone 'Nowhere/{x}' is not in the time zone database and was left out;"
     " write a name such as America/Bogota."),
    ({"lat": "-0.5", "lon": "0"}, "coordinate_doubt",
     "Coordinates with one decimal: the position is known to some 10 km only."),
    ({"lat": "12", "lon": "30"}, "coordinate_doubt",
     "Coordinates without decimals: the position is known to some 100 km only."),
    ({"lat": "0", "lon": "30.123"}, "coordinate_doubt",
     "The latitude is exactly 0: a placeholder for unknown?"),
    ({"lat": "10.123", "lon": "-1"}, "coordinate_doubt",
     "The longitude is exactly -1: a placeholder for unknown?"),
    ({"lat": "10.123", "lon": "10.123"}, "coordinate_doubt",
     "Latitude and longitude are the same number."),
]  # fmt: skip

PLACE = {"lat": ["-5.1234"], "lon": ["30.1234"]}
MANY = [-37.3621, -37.5255, -38.4102, -39.1143]
#: Columns of a whole file, and what is said of it once.
FILES = [
    (PLACE | {"Cable": ["3"]},
     "Column 'Cable' was not used: it has no unit: rename it 'cable_m' or 'cable_ft'."),
    (PLACE | {"fixed buc": ["3"]},
     "Column 'fixed buc' was not used: it has no unit: rename it 'fixed_buc_w'."),
    (PLACE | {"Wind": ["3"]},
     "Column 'Wind' was not used: it has no unit. Only the DESIGN wind of the mount, 15 m/s or more"
     " and no observed wind, is to be called 'wind_m_s', or 'wind_kmh'."),
    (PLACE | {"Wind (m/s)": ["3.1"]},
     "Column 'Wind (m/s)' is kept and not used for planning: wind_m_s is the DESIGN wind of the"
     " mount, 15 m/s or more, and this holds '3.1': observed winds would take the ballast away."),
    (PLACE | {"Cable (m)": ["coax"]},
     "Column 'Cable (m)' is kept and not used for planning: it holds 'coax', and cable_m is 0 to"
     " 2000 m."),
    (PLACE | {"Elevation": ["3"]},
     "Column 'Elevation' was not used: it may be a height or a look angle: rename a height"
     " 'altitude_m'."),
    (PLACE | {"Elevation (m)": ["3"]}, "Column 'Elevation (m)' read as 'altitude_m'."),
    (PLACE | {"Wind (mph)": ["70"]}, "Column 'Wind (mph)': converted from miles per hour."),
    (PLACE | {"Avail. req. %": ["99,8"]},
     "Column 'Avail. req. %' is kept and not used for planning. It looks like 'availability_pct':"
     " if it is that, rename it so."),
    ({"lat": ["-5,1234"], "lon": ["30.1234"]},
     "Column 'lat': decimal commas were read as points, as in '-5,1234'."),
    (PLACE | {"Elev. (m)": ["183 m"]},
     "Column 'Elev. (m)': numbers with their unit were read without it, as in '183 m'."),
    ({"lat": ["5.12"], "Latitude": ["5.12"], "lon": ["30.12"]},
     "Column 'lat' was read as lat; 'Latitude' may mean the same and is kept, not used."),
    ({"Latitude (S)": ["5.1234"], "lon": ["30.1234"]},
     "Column 'Latitude (S)': values without a sign were read as south, as the heading says."),
    ({"lat": [f"{10000 * v:.0f}" for v in MANY], "lon": ["1213713"] * 4},
     "Columns 'lat' and 'lon' hold degrees, minutes and seconds run together: 1213713 was read as"
     " 121°37'13\"; without a minus as north or east, but for what the headings say."),
    ({"lat_d": ["1"], "lat_m": ["12"], "lon_d": ["36"], "lon_m": ["48"]},
     "The position was joined from the columns lat_d, lat_m, lon_d, lon_m."),
    ({"lat_d": ["1"], "lat_m": ["12"], "lon_d": ["36"], "lon_m": ["48"]},
     "No column tells the hemisphere: degrees without a minus were read as north and east."),
    ({"wkt": ["POINT (36.8221 -1.1134)"]},
     "Column 'wkt' holds points as text, and they are the position."),
    ({"lonlat": ["36.8221 -1.1134"]}, "Column 'lonlat' was read as longitude and then latitude."),
    ({"x": ["36.8221"], "y": ["-1.1134"]},
     "Columns 'x' and 'y' hold degrees: x was read as the longitude, y as the latitude."),
    ({"Easting": ["257300.5"], "Northing": ["9876900.1"], "EPSG:32737 Easting": ["257300.5"]},
     "Columns 'EPSG:32737 Easting' and 'Northing' were read as metres east and north in"
     " EPSG:32737."),
    ({"Easting": ["257300.5"], "Northing": ["9876900.1"], "Zone": ["37 south"]},
     "Columns 'Easting' and 'Northing' were read as metres east and north in the UTM zones of"
     " column 'Zone'."),
    ({"lat": [1.11, 2.22], "lon": [30.12, 31.12], "district code": ["A", "A"],
      "facility code": ["B", "B"]},
     "Column 'facility code' is kept and not used as the id: 1 of its 2 values repeat another."),
    ({**PLACE, "station name": ["A"], "village name": ["B"]},
     "Column 'station name' was read as the name; kept, and not used for it: 'village name'."),
    ({"lat": ["#geo+lat", "-5.1234"], "lon": ["#geo+lon", "30.1234"]},
     "Row 2 is a further line of headings and was left out."),
    (PLACE | {"beds": ["1"], "Beds": ["2"]},
     "Another column is called 'Beds' too: this one is kept as 'Beds_2'."),
]  # fmt: skip

BASE = [(-5.29 - 0.07 * i, 36.82 + 0.05 * i) for i in range(8)]


def cluster(lat: float, lon: float, count: int = 8) -> list[tuple[float, float]]:
    """Return points beside one another, from one on."""
    return [(lat - 0.07 * i, lon + 0.05 * i) for i in range(count)]


BASE = cluster(-5.29, 36.82)
KENYA, ALGERIA, CHAD, ANGOLA = (cluster(*at) for at in ((-1.12, 36.81), (28.3, 2.9), (16.3, 19.9),
                                                        (-12.1, 15.2)))  # fmt: skip
ATOLLS, PAKISTAN = cluster(7.3, 149.4), cluster(33.0, 71.5)
#: Three sites in each of four countries.
MIXED = [p for at in ((39.1, 32.9), (-13.8, 33.6), (9.1, 7.2), (33.0, 71.5))
         for p in cluster(*at, 3)]  # fmt: skip
#: Positions of a whole file, and a sentence that its last site gets.
PLACES = [
    ([*KENYA, (1.24, 36.91)], "Far from the other sites, but among them if the sign of the latitude"
     " is flipped."),
    ([*ALGERIA, (28.11, -3.1)], "Far from the other sites, but among them if the sign of the"
     " longitude is flipped."),
    ([*CHAD, (20.05, 16.1)], "Far from the other sites, but among them if latitude and longitude"
     " are swapped."),
    ([*ATOLLS, (-7.21, -149.5)], "Far from the other sites, but among them if both signs are"
     " flipped."),
    ([*BASE, (-7.61, 36.93)], "Far from the other sites, but among them if lat is -5.61: one digit"
     " off?"),
    ([*BASE, (60.21, 24.9)], "Far from all other sites: some 7,400 km from the nearest."),
    ([*BASE, (5.31, 36.9)], "In another country than the other sites by the basemap (good to 2 km),"
     " but among them if the sign of the latitude is flipped."),
    ([*BASE, (-5.31, -36.9)], "In another country than the other sites by the basemap (good to"
     " 2 km), but among them if the sign of the longitude is flipped."),
    ([*BASE, (36.91, -5.3)], "In another country than the other sites by the basemap (good to"
     " 2 km), but among them if latitude and longitude are swapped."),
    ([*PAKISTAN, (-32.91, -71.1)], "In another country than the other sites by the basemap (good to"
     " 2 km), but among them if both signs are flipped."),
    ([*ANGOLA, (-12.21, -15.31)], "At sea by the basemap (good to 2 km), but among the"
     " other sites if the sign of the longitude is flipped."),
    ([*cluster(6.41, -1.21), (-6.31, -1.11)], "At sea by the basemap (good to 2 km), but among the"
     " other sites if the sign of the latitude is flipped."),
    ([*KENYA, (36.85, -1.2)], "At sea by the basemap (good to 2 km), but among the other sites if"
     " latitude and longitude are swapped."),
    ([*KENYA, (1.24, -36.91)], "At sea by the basemap (good to 2 km), but among the other sites if"
     " both signs are flipped."),
    ([*BASE, (-5.31, 46.83)], "At sea by the basemap (good to 2 km), but among the other sites if"
     " lon is 36.83: one digit off?"),
    ([*BASE, (-8.81, 43.37)], "At sea by the basemap (good to 2 km; small islands may be missing),"
     " some 300 km from land."),
    ([*MIXED, (13.91, 33.7)], "Apart from the other sites, and among them if the sign of the"
     " latitude is flipped; they are spread so wide that it may be right as it is."),
    ([*MIXED, (9.11, -7.2)], "Apart from the other sites, and among them if the sign of the"
     " longitude is flipped; they are spread so wide that it may be right as it is."),
    ([*MIXED, (32.91, 39.1)], "Apart from the other sites, and among them if latitude and longitude"
     " are swapped; they are spread so wide that it may be right as it is."),
    ([*MIXED, (-32.91, -71.1)], "Apart from the other sites, and among them if both signs are"
     " flipped; they are spread so wide that it may be right as it is."),
    ([(1.11, 30.21), (1.11, 30.21)], "At exactly the same point as site S1 (row 2)."),
    ([(1.11, 30.21)] * 3, "At exactly the same point as site S1 (row 2) and 1 more."),
]  # fmt: skip
#: The same, with a column that says that all sites are in one country.
IN_ONE_COUNTRY = [
    ([*BASE, (-5.31, 26.83)], "In another country than the other sites by the basemap (good to"
     " 2 km), but among them if lon is 36.83: one digit off?"),
    ([*BASE, (-8.84, 26.61)], "In another country than the other sites that are told to be in its"
     " country, by the basemap (good to 2 km)."),
]  # fmt: skip
#: Positions of a whole file, and what is said of it once.
OF_FILES = [
    ([(k + 0.1 * k + 0.03, k + 30 + 0.1 * k + 0.03) for k in range(6)] * 2,
     "are below 60, by chance about 1 in 460: minutes typed as decimals?"),
    ([(k + 0.1 * (k % 6) + 0.03, k + 14 + 0.1 * (k % 6) + 0.02) for k in range(25)],
     "by chance about 1 in a thousand million or less: minutes typed as decimals?"),
    ([*BASE, (-8.81, 43.37), (-8.93, 44.16), (-9.12, 43.78)],
     "3 of 11 sites lie at sea by the basemap, which is too coarse for islands and reefs: are the"
     " signs right?"),
]  # fmt: skip


def unknown_beams() -> list[tuple[Note, ...]]:
    """Return the notes on a site of a beam where there are others, and where there are none."""
    sites = Sites.at(np.zeros(1), np.zeros(1), beam=np.array(["west"], dtype=object))
    wide = {"lat": 0, "lon": 0, "major_deg": 9, "minor_deg": 9, "peak": 50}
    east = {"contours": [{"direction": "down", "beam": "east", **wide}]}
    networks = [Network.model_validate({"satellite": {"longitude_deg": 0}} | x) for x in ({}, east)]
    return [with_known_beams(sites, network).notes[0] for network in networks]


def low_wind() -> Sites:
    """Return a site whose wind is too low for a design wind, as planning takes it."""
    low = row({"wind_m_s": "2.5"}).sites
    return with_design_winds(low, read_network({"satellite": AT_30}))


def test_a_wind_too_low_for_a_design_wind_is_noted() -> None:
    assert [note.sentence for note in low_wind().notes[0]] == [
        "wind_m_s 2.5 m/s is less than the 15 m/s that a design wind has at least (an observed"
        " speed?): not used, the design wind of 25 m/s counts."
    ]


def notes_of(found: SiteList) -> list[Note]:
    return [note for notes in found.sites.notes.values() for note in notes] + list(found.remarks)


def row(cells: dict[str, str]) -> SiteList:
    given = {"site_id": "A1", "lat": "-5.1234", "lon": "30.1234", **cells}
    return sites_from_frame({name: [text] for name, text in given.items()})


def places(points: list[tuple[float, float]], country: str = "") -> SiteList:
    lat, lon = zip(*points, strict=True)
    table: dict[str, Any] = {"lat": lat, "lon": lon}
    table["site_id"] = [f"S{i + 1}" for i in range(len(points))]
    return sites_from_frame(table | ({"country": [country] * len(lat)} if country else {}))


def nameless() -> SiteList:
    return sites_from_frame({"name": ["", "Ridge", "Ford"], "lat": ["1.11", "1.11", "2.71"],
                             "lon": ["30.21"] * 3, "site_id": ["", "B", ""]})  # fmt: skip


@pytest.mark.parametrize(("cells", "code", "sentence"), CELLS)
def test_a_row_is_noted(cells: dict[str, str], code: str, sentence: str) -> None:
    assert (code, sentence) in [(note.code, note.sentence) for note in notes_of(row(cells))]


def file(columns: dict[str, list[object]]) -> SiteList:
    return sites_from_frame(columns)


@pytest.mark.parametrize(("columns", "sentence"), FILES)
def test_a_file_is_spoken_of_once(columns: dict[str, list[object]], sentence: str) -> None:
    assert [note.sentence for note in file(columns).remarks].count(sentence) == 1


@pytest.mark.parametrize(("points", "sentence"), PLACES)
def test_places_are_doubted(points: list[tuple[float, float]], sentence: str) -> None:
    last = places(points).sites.notes[len(points) - 1]
    assert [(n.code, n.sentence) for n in last] == [("coordinate_doubt", sentence)]


@pytest.mark.parametrize(("points", "sentence"), IN_ONE_COUNTRY)
def test_places_are_doubted_by_their_country(
    points: list[tuple[float, float]], sentence: str
) -> None:
    last = places(points, "Tanzania").sites.notes[len(points) - 1]
    assert [n.sentence for n in last] == [sentence]


@pytest.mark.parametrize(("points", "sentence"), OF_FILES)
def test_a_doubt_about_the_whole_file_is_told_once(
    points: list[tuple[float, float]], sentence: str
) -> None:
    found = places(points)
    assert [n.code for n in found.remarks] == ["coordinate_doubt"]
    assert found.remarks[0].sentence.endswith(sentence)
    assert not any(note in found.remarks for notes in found.sites.notes.values() for note in notes)


def test_ids_that_are_made_are_told_once() -> None:
    found = nameless()
    assert found.sites.site_id.tolist()[1:] == ["B", "Ford"]
    assert [note.sentence for note in found.remarks] == [
        f"2 of 3 rows have no id and got one from name, group or place, such as"
        f" '{found.sites.site_id[0]}'; siteplan check PROJECT --write-ids writes them into a copy"
        " of the list."
    ]
    assert "no_id" not in str(found.sites.notes)


def test_a_site_without_an_id_at_the_same_point() -> None:
    found = nameless()
    made = found.sites.site_id[0]
    told = [notes[-1].sentence for _, notes in sorted(found.sites.notes.items())]
    assert told[-1] == f"At exactly the same point as site {made} (row 2)."


@pytest.mark.parametrize(("letter", "word"), [("W", "east"), ("E", "west")])
def test_the_letter_o_is_read_by_the_others(letter: str, word: str) -> None:
    table = {"lat": ["1.11", "2.22"], "lon": ["30.21O", f"31.32{letter}"]}
    sites = sites_from_frame(table).sites
    told = f"lon '30.21O': O read as {word}, as the file's other letters show."
    assert told in [note.sentence for note in sites.notes[0]]


def test_leading_zeros_that_a_spreadsheet_ate() -> None:
    sites = sites_from_frame({"site_id": ["001", "2"], "lat": [1.1, 2.3], "lon": [3.4, 4.5]}).sites
    told = [note.sentence for note in sites.notes[1]]
    assert "The id 2 may have lost leading zeros: 002?" in told


def file_notes(folder: Path) -> list[Note]:
    """Return what is told of kinds of files: encodings and points."""
    old = folder / "sites.csv"
    told = []
    for text in (b"Val\xe9rie", b"Cr\xeate", "Å".encode() * 4 + b"\xe5"):
        old.write_bytes(b"site_id,name,lat,lon\nA,%s,1.11,30.21\n" % text)
        found = read_sites(old)
        told += notes_of(found)
    placed = folder / "sites.geojson"
    placed.write_text(
        '{"type": "FeatureCollection", "features": [{"type": "Feature", "properties":'
        ' {"site_id": "A", "lat": 2.0, "lon": 30.0}, "geometry":'
        ' {"type": "Point", "coordinates": [30.21, 1.11, 50.0]}}]}'
    )
    told += notes_of(read_sites(placed))
    drawn = folder / "sites.kml"
    ring = "<coordinates>1,2 1.5,2 1.5,2.5</coordinates>"
    drawn.write_text(
        f"<kml><Placemark><Polygon><outerBoundaryIs><LinearRing>{ring}</LinearRing>"
        "</outerBoundaryIs></Polygon></Placemark><Placemark><LineString><coordinates>3.125,4"
        " 3.125,4.25</coordinates></LineString></Placemark></kml>"
    )
    notes = notes_of(read_sites(drawn))
    return told + [note for note in notes if note.code == "coordinate_mended"]


def book_notes(folder: Path) -> list[Note]:
    """Return what is told of a project in one workbook."""
    sites = (("site_id", "group", "lat", "lon"), ("A", "coast", 38.7, -9.1), ("B", None, 38.8, -9))
    network = (*NETWORK, ("hub.antenna_m", "4,5"))
    book_at(folder, network, sites, Costs2025=(("lat", "lon"), (1, 2)))
    changed(folder, lambda book: book["Sites"].merge_cells("B2:B3"))
    return list(read_sites(folder / "project.xlsx").remarks)


def test_kinds_of_files_are_noted(tmp_path: Path) -> None:
    assert [note.sentence for note in file_notes(tmp_path)] == [
        "The file is not UTF-8 and was read as Windows-1252: check the accented letters, or save"
        " it as UTF-8.",
        "The file is not UTF-8 and was read as Windows-1252 (Crête); it may be Windows-1250"
        " (Cręte): check the letters, or save it as UTF-8.",
        "A letter of the row is no UTF-8 and is lost: write it anew where \ufffd stands.",
        "The height of the point was not used: it may be ellipsoidal. Give the altitude above"
        " sea level instead.",
        "The point and the columns lat and lon lie apart; the point was used.",
        "The shape is a polygon: a point inside was taken. Give the point where the dish is to"
        " stand.",
        "The shape is a line: its middle was taken. Give the point where the dish is to stand.",
    ]


def test_every_sentence_is_raised_with_the_gaps_that_it_has(tmp_path: Path) -> None:
    raised = [note for cells, _, _ in CELLS for note in notes_of(row(cells))]
    raised += [note for columns, _ in FILES for note in file(columns).remarks]
    raised += [note for points, _ in PLACES + OF_FILES for note in notes_of(places(points))]
    raised += [n for points, _ in IN_ONE_COUNTRY for n in notes_of(places(points, "Tanzania"))]
    raised += [note for notes in low_wind().notes.values() for note in notes]
    raised += [note for notes in unknown_beams() for note in notes]
    raised += notes_of(nameless()) + file_notes(tmp_path)
    (tmp_path / "book").mkdir()
    raised += book_notes(tmp_path / "book")
    for lon in (["30.21O", "31.32W"], ["30.21O", "31.32E"]):
        raised += notes_of(sites_from_frame({"lat": ["1.11", "2.22"], "lon": lon}))
    frame = {"site_id": ["001", "2"], "lat": [1.1, 2.3], "lon": [3.4, 4.5]}
    raised += notes_of(sites_from_frame(frame))
    assert {note.key for note in raised} == KEYS
    for note in raised:
        # A column of ours is called by its heading where the file has another.
        given = {k for k, _ in note.values} - (
            {"heading"} if "{column}" in english()[note.key] else set()
        )
        assert tuple(sorted(given)) == gaps(english()[note.key])


def test_the_code_raises_what_the_catalogue_has() -> None:
    """A key in the code is a whole text, so that it can be found by searching."""
    found = set()
    for path in Path(siteplan.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                found |= {node.value} if KEY.fullmatch(node.value) else set()
    assert found == KEYS


def test_a_note_in_another_language_and_another_process() -> None:
    note = Note.of("note.input_mended.no_id")
    assert note.told(Catalogue("xx", {note.key: "autre"})) == "autre"
    sites = row({"cable_m": "long"}).sites
    again = pickle.loads(pickle.dumps(sites))
    assert dict(again.notes) == dict(sites.notes)
    assert again.notes[0][0].sentence == sites.notes[0][0].sentence


def test_the_note_of_a_chance_too_small_for_a_float() -> None:
    """A file all over the quarter of the Earth: 0.6 to the power of its 1620 draws is 0."""
    k = np.arange(1080)
    lat = np.round(k % 90 + 0.1 * (k // 90 % 6) + 0.03, 2)
    lon = np.round(k // 6 + 0.1 * (k % 6) + 0.02, 2)
    remarks = sites_from_frame({"lat": lat, "lon": lon}).remarks
    assert any("thousand million" in note.sentence for note in remarks)
