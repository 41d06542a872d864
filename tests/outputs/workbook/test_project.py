"""project.xlsx, made from the types or from another project, reads back as what it was made of."""

import datetime as dt

import numpy as np
import openpyxl
import pytest

from siteplan.errors import OutputError, ProjectError
from siteplan.fields import COLUMNS
from siteplan.jobs.opened import open_project, read_network
from siteplan.jobs.start import new_project
from siteplan.network.reference import (
    choices_of,
    is_list_table,
    list_sheets,
    network_reference,
    table_keys,
)
from siteplan.outputs.workbook.project import Rows, empty_rows, write_project
from tests.samples import LIVE, NAMES


def test_a_starter_workbook_is_the_starter(tmp_path):
    book, files = (
        open_project(new_project(tmp_path / name, workbook=name == "book"))
        for name in ("book", "files")
    )
    assert book.network == files.network
    assert book.site_list.sites.site_id.tolist() == files.site_list.sites.site_id.tolist()
    assert book.site_list.sites.wall_facing_deg[1] == 200
    assert (book.rejects, book.site_list.remarks) == ((), ())
    with pytest.raises(OutputError, match=r"the folder is not empty"):
        new_project(tmp_path / "book", workbook=True)
    with pytest.raises(ProjectError, match=r"Add --workbook"):
        new_project(tmp_path / "other", source=tmp_path / "files")


def test_every_key_and_column_stands_on_its_sheet(tmp_path):
    new_project(tmp_path / "a", workbook=True)
    book = openpyxl.load_workbook(tmp_path / "a" / "project.xlsx")
    assert book.sheetnames == ["Sites", "Network", *list_sheets(), "Obstructions", "Read me"]
    single = [row for row in network_reference() if not row.is_list]
    keys = [cell.value for cell in book["Network"]["A"][1:]]
    assert keys == [f"{row.table}.{row.key}" for row in single]
    for sheet, table in list_sheets().items():
        assert tuple(cell.value for cell in book[sheet][1]) == table_keys(table)
    assert [cell.value for cell in book["Sites"][1]] == list(COLUMNS["sites"])
    assert [cell.value for cell in book["Obstructions"][1]] == list(COLUMNS["obstructions"])
    listed = {
        str(check.sqref): check.formula1
        for check in book["Network"].data_validations.dataValidation
        if check.type == "list"
    }
    for at, row in enumerate(single, 2):
        words = choices_of(row.table, row.key)
        assert listed.get(f"B{at}") == (f'"{",".join(words)}"' if words else None)


@pytest.mark.parametrize("sample", NAMES)
def test_a_sample_as_a_workbook_plans_to_the_same_rows(sample, tmp_path):
    from siteplan.jobs.plan import plan_checked

    folder = new_project(tmp_path / sample, workbook=True, source=LIVE / sample)
    plans = []
    for found in (open_project(LIVE / sample), open_project(folder)):
        plans.append(
            plan_checked(
                found.site_list,
                found.network,
                name="same",
                today=dt.date(2026, 9, 1),
                with_tables=False,
                around=found.around,
            )
        )
    files, book = plans
    assert list(files.columns) == list(book.columns)
    assert list(files.extra) == list(book.extra)
    for values, other in ((files.columns, book.columns), (files.extra, book.extra)):
        for name in values:
            np.testing.assert_array_equal(values[name], other[name], err_msg=name)
    assert files.assumptions == book.assumptions
    again = new_project(tmp_path / "again", workbook=True, source=folder)
    assert (again / "project.xlsx").read_bytes() == (folder / "project.xlsx").read_bytes()


def test_what_a_list_says_is_kept_cell_by_cell(tmp_path):
    """Ids, telephones, blank lines, texts that look like formulas, positions of points."""
    source = tmp_path / "old"
    source.mkdir()
    (source / "network.toml").write_text(
        '[network]\nname = "=x"\ndate = 2026-03-31\n[satellite]\nlongitude_deg = -8\n'
        'neighbours_deg = [-11, -5.5]\n[methods]\ncloud_maps = ""\n'
        "[[antennas]]\ndiameter_m = 1.8\n[coverage]\nland_only = true\n"
        '[[overlays]]\nfile = "own/roads.geojson"\n'
    )
    (source / "own").mkdir()
    roads = '{"type":"FeatureCollection","features":[]}'
    (source / "own" / "roads.geojson").write_text(roads)
    (source / "sites.csv").write_text(
        "site_id,name,lat,lon,phone,beds,remark\n"
        "007,=1+1,38.70690,-9.1355,0034600100200,12,1.50\n\n"
        "1E5,-2,38.7966,-9.3885,600100200,7,x\n"
    )
    folder = new_project(tmp_path / "new", workbook=True, source=source)
    old, new = open_project(source), open_project(folder)
    assert (folder / "own" / "roads.geojson").read_text() == roads
    assert new.network == old.network
    sites, before = new.site_list.sites, old.site_list.sites
    assert sites.site_id.tolist() == before.site_id.tolist() == ["007", "1E5"]
    assert sites.name.tolist() == before.name.tolist() == ["=1+1", "-2"]
    assert sites.source_row.tolist() == before.source_row.tolist()
    assert {k: v.tolist() for k, v in sites.extra.items()} == {
        k: v.tolist() for k, v in before.extra.items()
    }
    sheet = openpyxl.load_workbook(folder / "project.xlsx")["Sites"]
    kinds = [cell.data_type for cell in sheet[2]]
    assert kinds == ["s", "s", "n", "n", "s", "n", "s"]


def test_neighbours_limits_and_files_of_patterns_come_along(tmp_path):
    source = new_project(tmp_path / "old")
    (source / "own").mkdir()
    (source / "own" / "dish.csv").write_text("angle_deg,rx_gain_dbi,tx_gain_dbi\n0,41,43\n9,5,4\n")
    (source / "network.toml").write_text(
        "[satellite]\nlongitude_deg = -8\n[[neighbours]]\nlongitude_deg = -5\nname = 'East'\n"
        "[[neighbours]]\nlongitude_deg = -11.5\ndownlink_dbw_mhz = 20\n"
        "[outbound]\ncross_polar_level_db = 0\n"
        "[regulation]\nmasks = ['own', 's524_9']\nemission_class = 'd7w'\n"
        "[[masks]]\nname = 'own'\ndate = 2026-03-31\nreference_khz = 40\n"
        "segments = [[1.5, 7, 15, 25], [7, 9.2, -6, 0]]\n"
        "[[antennas]]\ndiameter_m = 1.8\npattern = 'file'\npattern_file = 'own/dish.csv'\n"
    )
    folder = new_project(tmp_path / "new", workbook=True, source=source)
    old, new = open_project(source), open_project(folder)
    assert new.network == old.network
    assert new.network.antennas[0].pattern_gains.tx_gain_dbi == (43, 4)
    sheet = openpyxl.load_workbook(folder / "project.xlsx")["Masks"]
    at = table_keys("masks").index("segments")
    assert sheet[2][at].value == "1.5; 7; 15; 25 | 7; 9.2; -6; 0"


def test_rows_that_would_be_lost_are_refused(tmp_path):
    source = new_project(tmp_path / "old")
    with (source / "sites.csv").open("a") as file:
        file.write("A06,Extra,38,-9,ground,,north,one more\n")
    with pytest.raises(ProjectError, match=r"1 rows of it cannot be read.*row 7.*siteplan check"):
        new_project(tmp_path / "new", workbook=True, source=source)
    assert not (tmp_path / "new").exists()


def test_a_key_of_any_kind_reads_back(tmp_path):
    """Every key that has a default, given as that default, is given in the workbook too."""
    from siteplan.inputs.network.read import network_from_mapping
    from siteplan.network import Network

    network = network_from_mapping({"satellite": {"longitude_deg": 13.0}})
    given = {}
    for row in network_reference():
        if is_list_table(row.table):
            continue
        value = getattr(getattr(network, row.table), row.key)
        idle = row.key in ("es_n0_db", "eb_n0_db", "bits_per_symbol")
        if value is not None and not idle:
            given.setdefault(row.table, {})[row.key] = value
    for table in ("antennas", "bucs", "cables"):
        given[table] = [entry.model_dump(exclude_none=True) for entry in getattr(network, table)]
    write_project(
        tmp_path / "project.xlsx",
        Rows(("lat", "lon"), [(2, (1.0, 2.0))]),
        given,
        empty_rows("obstructions"),
    )
    found = read_network(tmp_path / "project.xlsx")
    assert found == network
    for table in given:
        assert table in found.model_fields_set
    keys = {(t, k) for t in given if not is_list_table(t) for k in given[t]}
    assert {(t, k) for t, k in keys if k not in getattr(found, t).model_fields_set} == set()
    assert isinstance(found, Network)


@pytest.mark.parametrize(
    ("cell", "columns"),
    [
        ("[]", ()),
        ("contact; access", ("contact", "access")),
        ('["contact", "access"]', ("contact", "access")),
        ("door, key", ("door, key",)),
    ],
)
def test_a_list_of_texts_is_read_as_it_is_written(tmp_path, cell, columns):
    given = {"satellite": {"longitude_deg": 13.0}, "sheets": {"columns": ["XYZZY"]}}
    path = tmp_path / "project.xlsx"
    write_project(path, Rows(("lat", "lon"), [(2, (1.0, 2.0))]), given, empty_rows("obstructions"))
    book = openpyxl.load_workbook(path)
    (at,) = [c for row in book["Network"] for c in row if c.value == "XYZZY"]
    at.value = cell
    book.save(path)
    assert read_network(path).sheets.columns == columns
