"""Blocks of regular lines give what reading record by record gives."""

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.errors import SitesError
from siteplan.inputs.bytewise.lines import read_lines, regular_columns
from siteplan.inputs.files import textfiles
from siteplan.inputs.sites.read import iter_site_lists, read_sites

CELLS = [
    *(
        "",
        " ",
        "a",
        " a ",
        "Nord,Süd",
        'the "old" post',
        '"',
        "two\nlines",
        "-12.5",
        "+7.25",
        "95.1",
    ),
    *("12,5", "12° 30' 15\" N", '="007"', "n/a", "abc", "lat", "\x07", "\xa0x", "\ufeff", "é", "٣"),
]


@pytest.mark.parametrize(
    "text",
    [
        "a,b\n\nc,d\n",
        "\na,b\n",
        "a,b\n\r\nc,d\n",
        "a,b\rc,d\n",
        'a"b,c\n',
        '"a"b,c\n',
        '"a,b\nc,d\n',
        '"a\nb",c\n',
        "a,b,c\n",
        "a\n",
        "\ufeffa,b\n",
        "a\0,b\n",
        "",
    ],
)
def test_lines_that_are_not_regular(text):
    assert regular_columns(text.encode(), ",", 2) is None


@pytest.mark.parametrize("end", ["\n", "\r\n", ""])
def test_lines_that_are_regular(end):
    data = '"a","b ""c"", d"\r\n é,\r\n"",+1'.replace("\r\n", end or "\n") + end
    columns = regular_columns(data.encode(), ",", 2)
    assert [c.to_pylist() for c in columns] == [["a", " é", ""], ['b "c", d', "", "+1"]]


@given(st.lists(st.lists(st.sampled_from(CELLS), min_size=3, max_size=3), min_size=1), st.data())
def test_regular_lines_are_read_as_the_csv_module_reads_them(rows, data):
    text = io.StringIO()
    quoting = data.draw(st.sampled_from([csv.QUOTE_ALL, csv.QUOTE_MINIMAL]))
    delimiter = data.draw(st.sampled_from(",;\t|"))
    csv.writer(text, delimiter=delimiter, quoting=quoting).writerows(rows)
    columns = regular_columns(text.getvalue().encode(), delimiter, 3)
    if not any("\n" in cell for row in rows for cell in row):
        assert columns is not None or text.getvalue().startswith("\ufeff")
    if columns is not None:
        assert [list(row) for row in zip(*(c.to_pylist() for c in columns), strict=True)] == rows


def test_lines_are_counted_over_blocks(tmp_path, monkeypatch):
    monkeypatch.setattr("siteplan.inputs.bytewise.lines._BLOCK", 7)
    data = b"".join(b"line %d\n" % i for i in range(40)) + b"rest"
    for lines in (1, 3, 39, 40, 41, None):
        expected = b"".join(data.splitlines(keepends=True)[:lines])
        assert read_lines(io.BytesIO(data), lines) == expected


def _written(cells):
    text = io.StringIO()
    csv.writer(text, lineterminator="").writerow(cells)
    return text.getvalue()


ENDS = st.sampled_from(["\n", "\r\n"])
LINES = st.one_of(
    st.tuples(*[st.sampled_from(CELLS)] * 2, st.floats(-60, 60), st.floats(-60, 60)).map(
        lambda t: _written([t[0], t[1], f"{t[2]:.5f}", f"{t[3]:.4f}"])
    ),
    st.lists(st.sampled_from(CELLS), min_size=2, max_size=5).map(_written),
    st.sampled_from(["", ",,,", " , , , ", "x,y,1", "x,y,1,2,,", "x,y,1,2,3", 'x,"y"z,1,2', '"x']),
)


def _told(path, rows):
    """Return all that is read of a file, or the message."""
    try:
        lists = list(iter_site_lists(path, rows)) if rows else [read_sites(path)]
    except SitesError as error:
        return str(error)
    told = []
    for one in lists:
        columns = {k: v.tolist() for k, v in one.sites.extra.items()}
        sites = {k: getattr(one.sites, k).tolist() for k in ("site_id", "name", "lat", "lon")}
        sites |= {k: getattr(one.sites, k).tolist() for k in ("altitude_m", "source_row")}
        said = (dict(one.sites.notes), one.rejects, one.rows_read, one.columns, one.remarks)
        told.append(repr((sites, columns, said)))
    return told


@settings(deadline=None)
@given(
    st.lists(LINES, max_size=12),
    ENDS,
    st.sampled_from(["", "\ufeff", "Posts of the north\n", "sep=,\n", "\n"]),
    st.sampled_from(
        ["site_id,name,lat,lon\n", "name,remark,lat,altitude_m\n", "x,name,lat,lon\r\n"]
    ),
    st.sampled_from([None, 1, 3, 50]),
)
def test_a_file_reads_the_same_in_blocks_and_record_by_record(
    tmp_path_factory, lines, end, top, head, rows
):
    path = tmp_path_factory.getbasetemp() / "sites.csv"
    path.write_bytes((top + head + end.join(lines)).encode())
    in_blocks = _told(path, rows)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(textfiles, "_may_be_regular", lambda layout: False)
        patch.setattr(textfiles, "hold", lambda texts, arrow=None: texts)
        assert _told(path, rows) == in_blocks


def test_irregular_blocks_stand_between_regular_ones(tmp_path, monkeypatch):
    read = []
    found = textfiles.regular_columns
    monkeypatch.setattr(
        textfiles, "regular_columns", lambda *a: read.append(found(*a) is not None) or found(*a)
    )
    path = tmp_path / "sites.csv"
    rows = [f"P{i},Käl {i},{i / 7:.5f},{i / 9:.5f}" for i in range(1, 13)]
    rows[4] = 'P5,"Käl\r\n5",0.5,0.5'
    path.write_bytes(("\ufeffsite_id,name,lat,lon\r\n" + "\r\n".join(rows)).encode())
    lists = list(iter_site_lists(path, 3))
    assert [i for one in lists for i in one.sites.source_row.tolist()] == list(range(2, 14))
    assert [n for one in lists for n in one.sites.name][:6] == [
        *("Käl 1", "Käl 2", "Käl 3", "Käl 4", "Käl 5", "Käl 6")
    ]
    assert read[:5] == [True, False, True, True, False]


def test_an_open_quote_is_told_with_its_line_behind_regular_blocks(tmp_path):
    path = tmp_path / "sites.csv"
    path.write_text("lat,lon\n" + "1,2\n" * 6 + '3,"4\n')
    with pytest.raises(SitesError, match="a quote opened in line 8 is never closed"):
        list(iter_site_lists(path, 2))
