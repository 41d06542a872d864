"""plan.xlsx: what stands on its sheets, typed and never live; the same plan, the same bytes."""

import dataclasses
import math
from pathlib import Path

import numpy as np
import openpyxl
import pytest

from siteplan.answers import Bill, BillLine, GroupCost, KindSet, Remedy
from siteplan.fields import FIELDS
from siteplan.model import Called, Note, NoteLine, Reject
from siteplan.outputs.workbook.plan import Beside, write_plan
from siteplan.outputs.workbook.sites import FRONT, class_fills
from siteplan.planning.report.summary import summarize

SHEETS = ["Summary", "Sites", "Kit", "What it takes", "Assumptions", "Rejects", "Notes", "Methods"]
KIT = (
    ("rows", "site_id", "name", "part", "kind", "quantity", "supplier_code", "note"),
    ("site", "007", "'=cmd()", "antenna", "1.20 m", "1", "00123", ""),
    ("total", "", "", "antenna", "1.20 m", "2.5", "", "'-x"),
)
SETS = (("outbound", "modcod", "QPSK 3/5"), ("sites", "availability_pct", 99.5))


@pytest.fixture(scope="module")
def nasty(worked_plan):
    """Return a plan whose texts look like formulas, numbers and errors."""
    columns = dict(worked_plan.columns)
    texts = ["=1+1", "+34 600 1", "@sum", "-2", "#N/A", "007", "a\x1bb", "é\n=x"]
    columns["name"] = np.resize(np.array(texts, dtype=object), len(worked_plan))
    extra = {
        "telephone": np.resize(np.array(["0034600100200"], dtype=object), len(worked_plan)),
        "=SUM(A1)": np.arange(len(worked_plan), dtype=np.float64),
    }
    return dataclasses.replace(worked_plan, columns=columns, extra=extra)


def written(plan, path, *, all_fields=False, **beside) -> openpyxl.Workbook:
    write_plan(plan, Beside(summarize(plan), **beside), path, all_fields=all_fields)
    return openpyxl.load_workbook(path)


def column(sheet, heading):
    """Return the cells below a heading."""
    (at,) = [cell.column for cell in sheet[1] if cell.value == heading]
    return [row[at - 1] for row in sheet.iter_rows(min_row=2)]


def test_sheets_and_what_they_do(worked_plan, tmp_path):
    book = written(worked_plan, tmp_path / "plan.xlsx")
    assert book.sheetnames == SHEETS
    sites = book["Sites"]
    assert sites.freeze_panes == "C2"
    assert sites.auto_filter.ref == sites.dimensions
    assert sites.max_row == len(worked_plan) + 1
    headings = [cell.value for cell in sites[1]]
    assert headings[:3] == ["Site", "Name", "Group"]
    assert {"Elevation [°]", "Margin [dB]"} <= set(headings)
    assert not [heading for heading in headings if heading in FIELDS]


def test_numbers_are_typed_and_equal_the_table(worked_plan, tmp_path):
    sites = written(worked_plan, tmp_path / "plan.xlsx")["Sites"]
    for name in ("margin_db", "elevation_deg", "lat", "antenna_m"):
        field = FIELDS[name]
        unit = {"deg": "°"}.get(field.unit, field.unit)
        cells = column(sites, f"{field.label} [{unit}]")
        for cell, value in zip(cells, worked_plan.columns[name].tolist(), strict=True):
            if math.isnan(value):
                assert cell.value is None
                continue
            assert cell.data_type == "n"
            assert cell.value == pytest.approx(round(value, field.decimals), abs=1e-9)
            assert cell.number_format == f"{0:.{field.decimals}f}"


def test_no_text_of_a_user_is_live(nasty, tmp_path):
    book = written(nasty, tmp_path / "plan.xlsx", kit=KIT)
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert not [c for c in cells if c.data_type in ("f", "e")]
    names = column(book["Sites"], "Name")
    assert {cell.data_type for cell in names} == {"s"}
    assert [cell.value for cell in names[:6]] == nasty.columns["name"].tolist()[:6]
    assert [bool(names[at].quotePrefix) for at in (0, 5)] == [True, False]
    assert names[6].value == r"a\x1bb"
    assert {c.value for c in column(book["Sites"], "telephone")} == {"0034600100200"}
    assert [c.value for c in column(book["Sites"], "=SUM(A1)")][:3] == [0, 1, 2]
    kit = book["Kit"]
    assert [cell.value for cell in column(kit, "Quantity")] == [1, 2.5]
    assert [cell.value for cell in column(kit, "Supplier code")] == ["00123", None]
    assert [cell.value for cell in column(kit, "Name")] == ["=cmd()", None]
    assert [cell.value for cell in column(kit, "Note")] == [None, "-x"]


def test_classes_are_coloured_and_in_words(worked_plan, tmp_path):
    cells = column(written(worked_plan, tmp_path / "plan.xlsx")["Sites"], "Margin class")
    served = ~np.isnan(worked_plan.columns["antenna_m"]) & ~np.isnan(worked_plan.columns["buc_w"])
    looks = {}
    for cell, kit, words in zip(cells, served, worked_plan.columns["margin_class"], strict=True):
        assert cell.value == (words or "no margin")
        assert (words == "no kit") == (not kit and words != "")
        looks.setdefault(cell.value, set()).add(cell.fill.fgColor.rgb)
    assert all(len(colours) == 1 for colours in looks.values())
    bare = {word for word in looks if word.startswith("no ")}  # all of one look
    assert bare == {"no kit", "no margin"}
    assert len({*map(frozenset, looks.values())}) == len(looks) - len(bare) + 1
    assert len(set(class_fills([0, 1, 3, 6]).values())) == 5


def test_the_front_alone_or_every_field(worked_plan, tmp_path):
    front = written(worked_plan, tmp_path / "a.xlsx")["Sites"]
    every = written(worked_plan, tmp_path / "b.xlsx", all_fields=True)["Sites"]
    there = [name for name in FRONT if name in worked_plan.columns]
    own = len(worked_plan.extra) + 3  # and the worst flag, flags, notes
    assert front.max_column == len(there) + own
    assert every.max_column == len(worked_plan.columns) + len(worked_plan.extra) + 1
    assert set(FRONT) - {"site_cost"} <= set(FIELDS)


def test_answers_stand_where_they_are_filled(worked_plan, tmp_path):
    bare = dataclasses.replace(worked_plan.facts, remedies=())
    book = written(dataclasses.replace(worked_plan, facts=bare), tmp_path / "a.xlsx")
    assert book["What it takes"]["A2"].value.startswith("None: ")
    first = str(worked_plan.columns["site_id"][0])
    facts = dataclasses.replace(
        worked_plan.facts,
        remedies=(
            Remedy(first, "antenna", "=a larger antenna", 2.25, -0.5, False, 2.4, 3.0),
            Remedy(
                *(first, "modcods", "less", 1.0, -0.5, False, 1.8, 3.0, SETS),
                *("pole", True, "ground"),
            ),
        ),
        called=Called((("availability_pct", "Avail. req. %"),), "Sites"),
        fewest=(KindSet(1, ((1.8, 3.0),), (4,), 4, 5, 10.17, math.nan, False),),
        bill=Bill(
            (BillLine("antenna", "1.8 m", "pieces", 4, 0, 1, 5, "X-1", 100.0, 500.0),),
            (GroupCost("north", 4, 400.0),),
            True,
            500.0,
            ("BUC 3 W",),
            spares=100.0,
        ),
    )
    book = written(dataclasses.replace(worked_plan, facts=facts), tmp_path / "b.xlsx")
    row = [cell.value for cell in book["What it takes"][2]]
    assert [row[0], *row[2:]] == [first, "=a larger antenna", None, 2.25, -0.5, "no", 2.4, 3, None]
    row = [cell.value for cell in book["What it takes"][3]]
    assert row[3] == (
        "On a pole instead of a frame on the ground, to be surveyed; for the whole network: plan"
        " anew."
    )
    assert row[7:] == [1.8, 3, "sheet Network: outbound.modcod = QPSK 3/5; "
                       "sheet Sites: Avail. req. % = 99.5"]  # fmt: skip
    told = [[v for v in row if v is not None] for row in book["Summary"].values]
    assert ["1.8 m with 3 W (a good set, perhaps not the best)", 4, 5, 10.2] in told
    assert ["antenna, 1.8 m", 4, "pieces", 1, 5, "X-1", 100, 500] in told
    assert ["Total, spares included", 500] in told
    assert ["Group north, spares apart", 4, "sites", 400] in told
    assert ["Spares", 100] in told
    assert ["No price is given for: BUC 3 W."] in told


def test_counts_of_the_summary_are_those_of_the_sites(worked_plan, tmp_path):
    book = written(worked_plan, tmp_path / "plan.xlsx")
    told = {row[0]: row[1] for row in book["Summary"].values if row[0]}
    margins = [cell.value for cell in column(book["Sites"], "Margin class")]
    for label in class_fills(worked_plan.network.rules.margin_classes_db):
        assert told[label] == margins.count(label)
    served = [
        margin is not None and margin >= 0 and antenna is not None
        for margin, antenna in zip(
            [c.value for c in column(book["Sites"], "Margin [dB]")],
            [c.value for c in column(book["Sites"], "Antenna [m]")],
            strict=True,
        )
    ]
    assert told["Sites served as planned"] == sum(served)
    assert told["Sites not served"] == len(served) - sum(served)


def test_the_summary_says_what_console_and_report_say(worked_plan, tmp_path):
    """The range of the targets, tight sites, grades, coordinates to check."""
    targets = np.resize([99.7, 99.9], len(worked_plan))
    columns = worked_plan.columns | {"availability_target_pct": targets}
    plan = dataclasses.replace(worked_plan, columns=columns)
    book = written(plan, tmp_path / "plan.xlsx", tight=(3, 0.5))
    told = {row[0]: row[1] for row in book["Summary"].values if row[0]}
    summary = summarize(plan)
    assert told["Availability target"] == "99.7 to 99.9 %"
    assert told["of these tight: under 0.5 dB after reserve"] == 3
    assert told["Coordinates to check, sites"] == summary["verdict"]["coordinates_to_check"]
    grades = {k: n for k, n in told.items() if len(str(k)) == 1}
    assert grades == summary["counts"]["certainty"]
    assert sum(grades.values()) == len(plan)


def test_rejects_and_notes_stand_with_their_rows(worked_plan, tmp_path):
    rejects = [
        Reject(4, "A3", "lat", "=9", "no latitude", "Mend it.", "Sites!C4"),
        Reject(5, "A4", "lon", "x", "no longitude", "Mend it."),
    ]
    note = Note.of("note.input_mended.text_controls", column="name")
    lines = [NoteLine(None, "", note), NoteLine(7, "A6", note)]
    book = written(worked_plan, tmp_path / "plan.xlsx", rejects=rejects, lines=lines)
    assert [cell.value for cell in column(book["Rejects"], "Row")] == ["Sites!C4", 5]
    assert [cell.value for cell in column(book["Rejects"], "Value")] == ["=9", "x"]
    assert [cell.value for cell in column(book["Notes"], "Row")] == ["the file", 7]
    assert book["Assumptions"]["A2"].value == "None."
    assert book["Methods"].max_row == len(summarize(worked_plan)["methods"]) + 1


def test_assumptions_are_typed(worked_plan, tmp_path):
    from siteplan.inputs.network.assumed import assumptions

    known = dataclasses.replace(worked_plan, assumptions=assumptions(worked_plan.network))
    sheet = written(known, tmp_path / "plan.xlsx")["Assumptions"]
    assert sheet.max_row == len(known.assumptions) + 1
    told = {row[3]: row[1] for row in sheet.iter_rows(min_row=2, values_only=True)}
    assert (told["hub.antenna_m"], told["outbound.modcod"]) == (4.5, "QPSK 3/4")


def test_the_same_plan_gives_the_same_bytes(worked_plan, tmp_path, monkeypatch):
    written(worked_plan, tmp_path / "a.xlsx")
    monkeypatch.setenv("TZ", "Pacific/Chatham")
    from openpyxl.writer import excel

    class Later(excel.datetime.datetime):
        @classmethod
        def now(cls, tz=None):
            return cls(2040, 2, 3, 4, 5, 6, tzinfo=tz)

    monkeypatch.setattr(excel.datetime, "datetime", Later)
    written(worked_plan, tmp_path / "b.xlsx")
    assert Path(tmp_path / "a.xlsx").read_bytes() == Path(tmp_path / "b.xlsx").read_bytes()


def test_another_reader_finds_the_same(worked_plan, tmp_path):
    """GDAL's reader of workbooks knows nothing of the library that writes them."""
    import pyogrio

    if "XLSX" not in pyogrio.list_drivers(read=True):
        pytest.fail("this GDAL has no reader of workbooks")
    written(worked_plan, tmp_path / "plan.xlsx")
    assert pyogrio.list_layers(tmp_path / "plan.xlsx")[:, 0].tolist() == SHEETS
    table = pyogrio.read_dataframe(tmp_path / "plan.xlsx", layer="Sites")
    assert table.iloc[:, 0].astype(str).tolist() == [
        str(site) for site in worked_plan.columns["site_id"]
    ]


def test_a_mount_that_is_open_is_to_be_surveyed_as_everywhere_else(worked_plan, tmp_path):
    book = written(worked_plan, tmp_path / "plan.xlsx", all_fields=True)
    texts = [str(c.value) for sheet in book for row in sheet.iter_rows() for c in row if c.value]
    assert "provisional" in worked_plan.columns["mount_certainty"]
    assert "to be surveyed" in texts
    assert "provisional" not in texts
