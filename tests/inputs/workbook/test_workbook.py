"""Projects in one workbook, made by hand: what is read, what is mended, what is told of a cell."""

import datetime as dt
import io
import zipfile

import openpyxl
import pytest

from siteplan.errors import NetworkError, ProjectError, SiteplanError
from siteplan.inputs.project import find_project, root_and_name
from siteplan.inputs.sites.read import read_sites
from siteplan.inputs.workbook.network import WORDING, gathered
from siteplan.jobs.check.project import check_project
from siteplan.jobs.opened import open_project, read_network

SITES = (
    ("site_id", "name", "lat", "lon"),
    ("007", "Harbour", 38.7069, -9.1355),
    ("A02", "Hill", 38.7966, -9.3885),
)
NETWORK = (("Key", "Value", "Meaning"), ("satellite.longitude_deg", -8, "Orbital position"))


def book_at(folder, network=NETWORK, sites=SITES, *, name="project.xlsx", **others):
    """Write a workbook of sheets of rows and return the project's folder."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for title, rows in {"Sites": sites, "Network": network, **others}.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
    book.save(folder / name)
    return folder


def changed(folder, change):
    """Let a function change the workbook of a folder."""
    book = openpyxl.load_workbook(folder / "project.xlsx")
    change(book)
    book.save(folder / "project.xlsx")
    return folder


def network_with(folder, *rows, **others):
    book_at(folder, (*NETWORK, *rows), **others)
    return read_network(folder / "project.xlsx")


def test_the_workbook_is_found_in_its_folder_and_by_itself(tmp_path):
    folder = tmp_path / "coast"
    folder.mkdir()
    book_at(folder)
    for given in (folder, folder / "project.xlsx"):
        found = find_project(given)
        assert (found.name, found.workbook) == ("coast", folder / "project.xlsx")
        assert found.sites_path == found.network_path == folder / "project.xlsx"
        assert found.obstructions_path is None
    book_at(folder, name="north.xlsx")
    assert root_and_name(folder / "north.xlsx") == (folder, "north")
    assert find_project(folder / "north.xlsx").workbook == folder / "north.xlsx"


@pytest.mark.parametrize("name", ["sites.csv", "network.toml"])
def test_a_workbook_and_files_of_the_same_are_refused(tmp_path, name):
    book_at(tmp_path)
    (tmp_path / name).write_text("site_id,lat,lon\n")
    with pytest.raises(ProjectError, match=rf"project\.xlsx, and also {name}.*Keep either"):
        find_project(tmp_path)


def test_obstructions_stand_on_a_sheet_or_in_a_file(tmp_path):
    rows = (("site_id", "azimuth_deg", "elevation_deg"), ("7", 190, 12), ("A02", "x", 3))
    book_at(tmp_path, Obstructions=rows)
    found = open_project(tmp_path)
    assert found.around.obstructions is not None
    told = {(r.cell, r.site_id) for r in found.rejects}
    assert told == {("Obstructions!A2", "7"), ("Obstructions!B3", "A02")}
    # A spreadsheet has eaten the zeros.
    assert "'007'" in next(r.reason for r in found.rejects if r.site_id == "7")
    (tmp_path / "obstructions.csv").write_text("site_id,azimuth_deg,elevation_deg\n")
    with pytest.raises(ProjectError, match=r"obstructions\.csv, and project\.xlsx has a sheet"):
        find_project(tmp_path)
    book_at(tmp_path, Obstructions=rows[:1])
    assert find_project(tmp_path).obstructions_path == tmp_path / "obstructions.csv"


# --- values ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "cell", "table", "value"),
    [
        ("network.availability_pct", "99,7", "network", 99.7),
        ("network.availability_pct", " 99.7 ", "network", 99.7),
        ("[network] availability_pct", 99.7, "network", 99.7),
        ("availability_pct", 99.7, "network", 99.7),
        ("Network.Availability-pct", 99.7, "network", 99.7),
        ("network.date", dt.datetime(2026, 3, 31), "network", dt.date(2026, 3, 31)),
        ("network.date", dt.date(2026, 3, 31), "network", dt.date(2026, 3, 31)),
        ("network.date", "2026-03-31", "network", dt.date(2026, 3, 31)),
        ("network.name", 2026, "network", "2026"),
        ("site.terrain_category", 0, "site", "0"),
        ("coverage.land_only", True, "coverage", True),
        ("coverage.land_only", "true", "coverage", True),
        ("methods.cloud_maps", '""', "methods", ""),
        ("rules.margin_classes_db", "0; 1,5; 3", "rules", (0.0, 1.5, 3.0)),
        ("rules.margin_classes_db", "[0, 1, 3]", "rules", (0.0, 1.0, 3.0)),
        ("satellite.neighbours_deg", -11, "satellite", (-11.0,)),
        ("outbound.downlink_polarization", '"horizontal"', "outbound", "horizontal"),
        ("rules.hub_outage_share", None, "rules", None),
        ("rules.hub_outage_share", "  ", "rules", None),
    ],
)
def test_a_cell_is_read_as_its_key_asks(tmp_path, key, cell, table, value):
    network = network_with(tmp_path, (key, cell))
    name = key.split()[-1].split(".")[-1].lower().replace("-", "_")
    assert getattr(getattr(network, table), name) == value


@pytest.mark.parametrize(
    ("key", "cell", "told"),
    [
        ("satellite.longitud_deg", 13, r"Network!A3: .*unknown key\. Did you mean longitude_deg\?"),
        (
            "satelite.name",
            "x",
            r"Network!A3: unknown table \[satelite\]\. Did you mean \[satellite",
        ),
        ("uplink_ghz", 14, r"Network!A3: .*Write outbound\.uplink_ghz or inbound\.uplink_ghz"),
        ("availabilty_pct", 99, r"Network!A3: .*Did you mean network\.availability_pct\?"),
        ("antennas.diameter_m", 2, r"Network!A3: .*Write it on the sheet Antennas"),
        ("satellite.longitude_deg", 13, r"Network!B3: .*given twice, in Network!B2 too"),
        (
            "network.availability_pct",
            30,
            r"Network!B3: \[network\] availability_pct = 30 is out of",
        ),
        (
            "network.availability_pct",
            "lots",
            r"Network!B3: .*Write a plain number without its unit",
        ),
        ("network.availability_pct", True, r"Network!B3: .*or empty the cell"),
        ("network.date", 46112, r"Network!B3: .*is no date\. Write year-month-day: "),
        ("network.name", dt.datetime(2026, 4, 3), r"Network!B3: .*must be text, such as"),
        ("coverage.land_only", "perhaps", r"Network!B3: .*must be true or false\.$"),
        ("rules.margin_classes_db", "0,5", r"Network!B3: .*such as 0; 1; 3; 6\."),
        ("hub.lat", 40.4, r"Network!B3: \[hub\] give both lat and lon"),
        ("hub.antenna_m", "#REF!", r"Network!B3: the cell holds the error #REF!"),
        ("hub.lna_noise_k", "1,234", r"Network!B3: .*1,234.* is text .*not as text\."),
        ("outbound.modcod", "#N/A", r"Network!B3: the cell holds the error #N/A"),
        (None, 4, r"Network!B3: a value stands there without a key"),
    ],
)
def test_what_is_wrong_is_told_of_the_cell(tmp_path, key, cell, told):
    with pytest.raises(NetworkError, match=rf"project\.xlsx, {told}"):
        network_with(tmp_path, (key, cell))


def test_lists_stand_on_sheets_of_their_own(tmp_path):
    antennas = (
        ("Diameter m", "efficiency", "offset_angle_deg"),
        (1.2, None, 22.5),
        (None, None, None),
        ("1,8", 0.7, None),
    )
    network = network_with(tmp_path, Antennas=antennas, BUCs=(("rated_w",),))
    assert [(a.diameter_m, a.efficiency, a.offset_angle_deg) for a in network.antennas] == [
        (1.2, 0.65, 22.5),
        (1.8, 0.7, 0.0),
    ]
    assert "bucs" not in network.model_fields_set


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ((("diameter_m", "efficency"), (1.2, 0.6)), r"Antennas!B1: .*Did you mean efficiency\?"),
        ((("diameter_m", "efficiency"), (None, 0.6)), r"Antennas!A2: .*diameter_m is missing"),
        ((("diameter_m",), (1.2,), (1.2,)), r"Antennas: antennas: two of the same diameter_m"),
        ((("diameter_m",), (1.2, 5)), r"Antennas!B2: a value stands there without a heading"),
        (((1.2, 1.8),), r"Antennas!A1: there is no line of headings"),
        (
            (("diameter_m",), (1.2,), (99,)),
            r"Antennas!A3: .*no\. 2 diameter_m = 99 is out of range",
        ),
    ],
)
def test_what_is_wrong_in_a_list_is_told_of_the_cell(tmp_path, rows, told):
    with pytest.raises(NetworkError, match=rf"project\.xlsx, {told}"):
        network_with(tmp_path, Antennas=rows)


MASKS = ("name", "reference_khz", "segments")


@pytest.mark.parametrize(
    "cell",
    [
        "1.5; 7; 15; 25 | 7; 9.2; -6; 0",
        "1,5; 7; 15; 25 |7;9,2;-6;0|",
        "1.5 7 15 25\n7 9.2 -6 0\n",
        "[[1.5, 7, 15, 25], [7, 9.2, -6, 0]]",
        "[[1.5,7,15,25],[7,9.2,-6,0]]",
        "[[1.5; 7; 15; 25]; [7; 9.2; -6; 0]]",
    ],
)
def test_parts_of_a_limit_stand_in_one_cell(tmp_path, cell):
    rows = (MASKS, ("own", 40, cell))
    found = network_with(tmp_path, ("regulation.masks", "s524_9; own"), Masks=rows)
    assert found.regulation.masks == ("s524_9", "own")
    assert found.masks[0].segments == ((1.5, 7, 15, 25), (7, 9.2, -6, 0))


@pytest.mark.parametrize(
    ("cell", "told"),
    [
        ("1.5; 7; 15", r"C2: .*lists of four numbers, such as 1\.5; 7; 15; 25 \| 7; 9\.2; -6; 0\."),
        ("1.5; 7; 15; x", r"C2: .*lists of four numbers"),
        (5, r"C2: .*lists of four numbers"),
        ("7; 1; 15; 25", r"C2: \[\[masks\]\] no\. 1 segments no\. 1 goes from 7 to 1 deg"),
        (None, r"C2: \[\[masks\]\] no\. 1 segments is missing"),
    ],
)
def test_parts_that_are_wrong_are_told_of_their_cell(tmp_path, cell, told):
    with pytest.raises(NetworkError, match=rf"project\.xlsx, Masks!{told}"):
        network_with(tmp_path, ("regulation.masks", "own"), Masks=(MASKS, ("own", 40, cell)))


def test_neighbours_and_limits_are_told_of_their_cells(tmp_path):
    rows = (("name", "longitude_deg"), ("East", -5), ("Own", -8))
    told = r"project\.xlsx, Neighbours!B3: .* is where your own satellite is"
    with pytest.raises(NetworkError, match=told):
        network_with(tmp_path, Neighbours=rows)
    told = r"project\.xlsx, Network!B3: \[regulation\] masks: en301459 holds at 29\.5-30 GHz"
    with pytest.raises(NetworkError, match=told):
        network_with(tmp_path, ("regulation.masks", "en301459"))
    found = network_with(tmp_path, Neighbours=rows[:2])
    assert [(n.name, n.longitude_deg) for n in found.neighbours] == [("East", -5)]


def test_a_pattern_s_file_that_is_not_there_is_told_of_its_cell(tmp_path):
    keys = (("hub.pattern", "file"), ("hub.pattern_file", "hub.csv"))
    book_at(tmp_path, (*NETWORK, *keys))
    told = r"project\.xlsx, Network!B4 \(\[hub\] pattern_file\): there is no file 'hub\.csv'"
    with pytest.raises(NetworkError, match=told):
        open_project(tmp_path)
    (tmp_path / "hub.csv").write_text("angle_deg,rx_gain_dbi,tx_gain_dbi\n0,50,52\n9,5,5\n")
    assert open_project(tmp_path).network.hub.pattern_gains.rx_gain_dbi == (50, 5)


def test_all_faults_are_told_at_once(tmp_path):
    with pytest.raises(NetworkError, match=r"B3: .*out of range") as caught:
        network_with(tmp_path, ("hub.efficiency", 7), ("hub.nonsense", 1), (None, 1))
    assert [line.split(":")[0] for line in str(caught.value).splitlines()] == [
        "project.xlsx, Network!B5",
        "project.xlsx, Network!B3",
        "project.xlsx, Network!A4",
    ]


def test_headings_and_comments_of_the_planner_do_not_disturb(tmp_path):
    rows = (
        ("Network of the coast", None, None, None),
        (None, None, None, None),
        ("Note", "VALUE", "key"),
        ("ours", -8, "satellite.longitude_deg"),
        (None, None, "hub"),
        (None, 4.5, "antenna_m"),
        (None, None, "to be asked for"),
    )
    book_at(tmp_path, rows)
    network = read_network(tmp_path / "project.xlsx")
    assert (network.satellite.longitude_deg, network.hub.antenna_m) == (-8, 4.5)
    assert "antenna_m" in network.hub.model_fields_set


def test_the_wording_replaced_is_that_of_the_text_files():
    from pathlib import Path

    from siteplan.inputs.network import read

    source = Path(read.__file__).read_text(encoding="utf-8")
    for toml, _ in WORDING:
        assert toml.strip() in source, toml


def test_text_that_was_read_as_a_number_is_told(tmp_path):
    book_at(tmp_path, (*NETWORK, ("hub.antenna_m", "4,5")))
    told = [note.sentence for note in read_sites(tmp_path / "project.xlsx").remarks]
    assert told == ["Network!B3: the text '4,5' was read as 4.5."]


# --- sheets ---------------------------------------------------------------------------------


def test_rejects_name_their_cell_and_ids_stay_as_they_are(tmp_path):
    sites = (*SITES, (None,) * 4, ("A04", "Plain", "none", -7.9), ("A05", "Far", 38, 999))
    found = read_sites(book_at(tmp_path, sites=sites) / "project.xlsx")
    assert found.sites.site_id.tolist() == ["007", "A02"]
    assert [(r.row, r.cell) for r in found.rejects] == [(5, "Sites!C5"), (6, "Sites!D6")]
    assert found.source == "project.xlsx, Sites"


def test_headings_in_other_languages_are_read(tmp_path):
    sites = (("Standort", "Breite", "Länge"), ("A", 38.7, -9.1), ("B", 38.8, -9.3))
    found = read_sites(book_at(tmp_path, sites=sites) / "project.xlsx")
    assert found.sites.lat.tolist() == [38.7, 38.8]


def test_what_is_said_of_a_column_names_the_cell_of_its_heading(tmp_path):
    heads = ("", "Site", "Latitud", "Longitud", "Elev. (m)", "Avail. req. %")
    book_at(tmp_path, sites=(("Our list",), heads, (1, "A", 38.7, -9.1, "183 m", "99,8")))
    told = {line.note.sentence: line.cell for line in check_project(tmp_path).lines if not line.row}
    assert {cell for text, cell in told.items() if "'Elev. (m)'" in text} == {"Sites!E2"}
    assert {cell for text, cell in told.items() if "'Avail. req. %'" in text} == {"Sites!F2"}
    assert not any("elev_m" in text for text in told)


def test_merged_cells_hold_their_value_in_each_row(tmp_path):
    sites = (
        ("site_id", "group", "lat", "lon"),
        ("A", "coast", 38.7, -9.1),
        ("B", None, 38.8, -9.3),
    )
    book_at(tmp_path, sites=sites)
    changed(tmp_path, lambda book: book["Sites"].merge_cells("B2:B3"))
    found = read_sites(tmp_path / "project.xlsx")
    assert found.sites.group.tolist() == ["coast", "coast"]
    assert ["B2:B3" in note.sentence for note in found.remarks] == [True]


def test_formulas_count_by_the_value_that_was_kept(tmp_path):
    book_at(tmp_path, (*NETWORK, ("hub.antenna_m", 4.5)))
    path = tmp_path / "project.xlsx"
    parts = {}
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    sheet = parts["xl/worksheets/sheet2.xml"]
    kept = sheet.replace(b"<v>4.5</v>", b"<f>9/2</f><v>4.5</v>")
    assert kept != sheet
    for xml, good in ((kept, True), (kept.replace(b"<v>4.5</v>", b""), False)):
        with zipfile.ZipFile(path, "w") as archive:
            for name, data in (parts | {"xl/worksheets/sheet2.xml": xml}).items():
                archive.writestr(name, data)
        if good:
            assert read_network(path).hub.antenna_m == 4.5
            continue
        with pytest.raises(ProjectError, match=r"Network!B3: the formula =9/2 has no value yet"):
            read_network(path)


def test_hidden_sheets_of_ours_are_refused_and_others_passed_over(tmp_path):
    book_at(tmp_path, Costs2025=(("lat", "lon"), (1, 2)), Scrap=(("a",),))

    def hide(*names):
        def change(book):
            for name in names:
                book[name].sheet_state = "hidden"

        return change

    changed(tmp_path, hide("Scrap"))
    (told,) = [note.sentence for note in read_sites(tmp_path / "project.xlsx").remarks]
    assert "not read: Costs2025." in told
    changed(tmp_path, hide("Network"))
    with pytest.raises(ProjectError, match=r"the sheet Network is hidden.*Show it, or delete it"):
        find_project(tmp_path)


def test_sites_may_stand_on_a_sheet_of_another_name(tmp_path):
    book_at(tmp_path)
    changed(tmp_path, lambda book: setattr(book["Sites"], "title", "Liste 2026"))
    assert read_sites(tmp_path / "project.xlsx").sites.site_id.tolist() == ["007", "A02"]
    changed(tmp_path, lambda book: book.remove(book["Liste 2026"]))
    with pytest.raises(ProjectError, match=r"no sheet of sites\. Call it Sites"):
        read_sites(tmp_path / "project.xlsx")


def test_a_workbook_without_a_network_says_so(tmp_path):
    book_at(tmp_path)
    changed(tmp_path, lambda book: book.remove(book["Network"]))
    with pytest.raises(NetworkError, match=r"there is no sheet Network\..*--workbook"):
        gathered(tmp_path / "project.xlsx")


@pytest.mark.parametrize("keep", [0, 40, 2000])
def test_a_damaged_workbook_is_told_plainly(tmp_path, keep):
    path = book_at(tmp_path) / "project.xlsx"
    path.write_bytes(path.read_bytes()[:keep])
    with pytest.raises(SiteplanError, match=r"project\.xlsx: this is no \.xlsx workbook"):
        find_project(tmp_path)


def test_a_sheet_that_is_damaged_is_told_plainly(tmp_path):
    path = book_at(tmp_path) / "project.xlsx"
    made = io.BytesIO(path.read_bytes())
    with zipfile.ZipFile(made) as source, zipfile.ZipFile(path, "w") as target:
        for name in source.namelist():
            data = source.read(name)
            target.writestr(name, data[:300] if name.endswith("sheet2.xml") else data)
    with pytest.raises(ProjectError, match=r"project\.xlsx: this is no \.xlsx workbook"):
        read_network(path)


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        (
            (("satellite.longitude_deg", 171),),
            r"Network!B2 \(\[satellite\] longitude_deg\): the satellite",
        ),
        ((("outbound.modcod", "QPSK 7/9"),), r"Network!B3 \(\[outbound\] modcod\)"),
        (
            (("coverage.area", "nowhere.gpkg"),),
            r"Network!B3 \(\[coverage\] area\): there is no file",
        ),
    ],
)
def test_what_planning_refuses_is_told_of_the_cell(tmp_path, rows, told):
    head = NETWORK[:1] if rows[0][0].startswith("satellite") else NETWORK
    book_at(tmp_path, (*head, *rows))
    with pytest.raises(SiteplanError, match=rf"project\.xlsx, {told}"):
        open_project(tmp_path).check()
