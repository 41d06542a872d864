"""outages.csv: what is read of it, what is refused and why, and that no row is lost."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import numpy as np
import pytest

from siteplan.errors import SitesError
from siteplan.inputs.outages import WHOLE, Places, Span, read_outages
from siteplan.model import OUTAGE_CAUSES, OutageLog, Reject

PLACES = Places(
    np.array(["A1", "007", "=x"], dtype=object),
    np.array(["Europe/Berlin", "", "America/Manaus"], dtype=object),
    ("hub",),
    "America/New_York",
)
HEAD = "site_id,from,to,cause,counted\n"


def read(
    folder: Path,
    text: str,
    span: Span = WHOLE,
    *,
    encoding: str = "utf-8",
    places: Places = PLACES,
) -> tuple[OutageLog, tuple[Reject, ...]]:
    path = folder / "outages.csv"
    path.write_bytes(text.encode(encoding))
    return read_outages(path, places, span)


def at(text: str) -> int:
    return int(dt.datetime.fromisoformat(text).timestamp())


def test_a_row_is_read(tmp_path: Path) -> None:
    text = f"{HEAD}A1,2026-03-01T08:00:00+01:00,2026-03-01T09:30Z,Rain,no\n"
    log, rejects = read(tmp_path, text)
    assert rejects == ()
    assert (log.site.tolist(), log.counted.tolist(), log.source_row.tolist()) == ([0], [False], [2])
    assert log.begin.tolist() == [at("2026-03-01T07:00+00:00")]
    assert log.end.tolist() == [at("2026-03-01T09:30+00:00")]
    assert OUTAGE_CAUSES[log.cause[0]] == "rain"
    assert (log.since, log.until) == (log.begin[0], log.end[0])
    (told,) = log.remarks
    assert "from 2026-03-01 07:00 UTC to 2026-03-01 09:30 UTC" in told


def test_a_log_whose_span_is_given_needs_no_word(tmp_path: Path) -> None:
    text = f"{HEAD}A1,2026-03-01T08:00:00Z,2026-03-01T09:30Z,rain,\n"
    log, _ = read(tmp_path, text, Span("2026-01-01T00:00Z", "2027-01-01T00:00Z"))
    assert log.remarks == ()


def test_nothing_happened(tmp_path: Path) -> None:
    """A log of headings alone is that of a quiet year, where its span is given."""
    span = Span("2026-01-01T00:00Z", "2027-01-01T00:00Z")
    log, rejects = read(tmp_path, HEAD, span)
    assert (len(log), rejects, log.remarks) == (0, (), ())
    assert (log.since, log.until) == (at("2026-01-01T00:00+00:00"), at("2027-01-01T00:00+00:00"))
    with pytest.raises(SitesError, match=r"no outage in it.*--from and --until"):
        read(tmp_path, HEAD, Span("2026-01-01T00:00Z", ""))


def test_rows_told_again_are_counted_and_kept(tmp_path: Path) -> None:
    row = "A1,2026-03-01T08:00Z,2026-03-01T09:00Z,rain,\n"
    others = [row.replace("rain", "power"), row.replace("A1", "007"), row.replace("09:", "10:"),
              row.replace(",\n", ",no\n"), row.replace("08:", "07:")]  # fmt: skip
    log, rejects = read(tmp_path, HEAD + row + "".join(others) + row + row)
    assert (len(log), rejects) == (8, ())
    assert [text for text in log.remarks if "of another row again: 2." in text]
    log, _ = read(tmp_path, HEAD + row + "".join(others))
    assert not [text for text in log.remarks if "again" in text]


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        ("site;begin;end;reason\r\nA1;2026-03-01 08:00;2026-03-01 09:00;power\r\n", "cp1252"),
        (
            "\ufeffSITE ID\tFrom\tTo\tCause\nA1\t2026-03-01 08:00\t2026-03-01 09:00\tPOWER\n",
            "utf-16",
        ),
        (
            '"site_id","from","to","cause"\n"A1","2026-03-01 8:00","2026-03-01 9:00"," power "\n',
            "utf-8",
        ),
        ("note,to,site_id,from,cause\nx,2026-03-01 09:00,A1,2026-03-01 08:00,power\n", "utf-8-sig"),
    ],
)
def test_files_come_as_they_come(tmp_path: Path, text: str, encoding: str) -> None:
    log, rejects = read(tmp_path, text, encoding=encoding)
    assert rejects == ()
    assert log.begin.tolist() == [at("2026-03-01T08:00+01:00")]
    assert OUTAGE_CAUSES[log.cause[0]] == "power"


def test_a_workbook_is_read(tmp_path: Path) -> None:
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    book.active.append(["Log of the operations room, March"])
    book.create_sheet("Log")
    book.active = 1
    book.active.append(["site_id", "from", "to", "cause"])
    book.active.append(["A1", dt.datetime(2026, 3, 1, 8), dt.datetime(2026, 3, 1, 9, 15), "sun"])
    book.save(tmp_path / "log.xlsx")
    log, rejects = read_outages(tmp_path / "log.xlsx", PLACES)
    assert rejects == ()
    assert (log.end - log.begin).tolist() == [75 * 60]


def test_moments_without_offset_are_by_the_sites_clock_and_told(tmp_path: Path) -> None:
    rows = "A1,2026-07-01 08:00,2026-07-01 09:00,,\n007,2026-07-01 08:00,2026-07-01T09:00Z,,\n"
    log, _ = read(
        tmp_path,
        f"{HEAD}{rows}'=x,2026-07-01 08:00,2026-07-01 09:00,,\n"
        "hub,2026-07-01 08:00,2026-07-01 09:00,rain,\n",
    )
    utc = [at(f"2026-07-01T{hour:02d}:00+00:00") for hour in (6, 8, 12, 12)]
    assert log.begin.tolist() == utc
    assert log.site.tolist() == [0, 1, 2, -1]
    assert [text for text in log.remarks if "without an offset from UTC: 4." in text]


def test_clocks_put_forward_and_back_are_told(tmp_path: Path) -> None:
    """Berlin 2026: 02:30 skipped on 29 March, shown twice on 25 October."""
    rows = [
        "A1,2026-03-29 02:30,2026-03-29 04:00,,",  # 01:30 to 02:00 UTC
        "A1,2026-10-25 01:50,2026-10-25 02:10,,",  # 20 minutes, not 80
        "A1,2026-10-25 02:50,2026-10-25 02:10,,",  # across the change
        "A1,2026-10-25 02:50,2026-10-25 03:10,,",  # 20 minutes, not 80
    ]
    log, rejects = read(tmp_path, HEAD + "\n".join(rows) + "\n")
    assert rejects == ()
    assert ((log.end - log.begin) / 60).tolist() == [30, 20, 20, 20]
    assert log.begin[0] == at("2026-03-29T01:30+00:00")
    assert any("skipped" in text and ": 1." in text for text in log.remarks)
    assert any("showed twice" in text and ": 3." in text for text in log.remarks)


def test_a_title_may_stand_above(tmp_path: Path) -> None:
    title = "Outages of the network,,,,\n,,,,\n"
    log, rejects = read(tmp_path, f"{title}{HEAD}A1,2026-03-01,2026-03-02,rain,\n")
    assert (len(log), rejects, log.source_row.tolist()) == (1, (), [4])


@pytest.mark.parametrize(
    ("row", "key", "reason"),
    [
        ("B9,2026-03-01,2026-03-02,rain,", "site_id", "no site 'B9'"),
        ("7,2026-03-01,2026-03-02,rain,", "site_id", "left of '007'"),
        (",2026-03-01,2026-03-02,rain,", "site_id", "names no site"),
        ("A1,2026-03-02,2026-03-01,rain,", "to", "ends before it begins"),
        ("A1,,2026-03-01,rain,", "from", "no beginning"),
        ("A1,1.3.26 8 Uhr,2026-03-01,rain,", "from", "read two ways"),
        ("A1,8 Uhr,2026-03-01,rain,", "from", "no moment"),
        ("A1,46082.5,2026-03-01,rain,", "from", "bare number"),
        ("A1,2026-03-01 08:00 EST,2026-03-02,rain,", "from", "name of a zone"),
        ("a1,2026-03-01,2026-03-02,rain,", "site_id", "but 'A1'"),
        ("A1,2026-03-01,never,rain,", "to", "no moment"),
        ("A1,2026-03-01,,rain,", "to", "has no end"),
        ("A1,2026-03-01,2026-03-02,flood,", "cause", "no cause"),
        ("A1,2026-03-01,2026-03-02,rain,maybe", "counted", "whether the outage counts"),
        ("A1,2026-03-01,2026-03-02,rain,no,more", "", "6 cells"),
    ],
)
def test_rows_that_cannot_be_used_are_rejects(
    tmp_path: Path, row: str, key: str, reason: str
) -> None:
    log, rejects = read(tmp_path, f"{HEAD}A1,2026-01-01,2026-01-02,rain,\n{row}\n")
    assert len(log) == 1
    (reject,) = rejects
    assert (reject.row, reject.key) == (3, key)
    assert reason in reject.reason
    assert reject.fix


def test_no_row_is_lost(tmp_path: Path) -> None:
    rows = [
        f"{site},{begin},{end},{cause},{counted}"
        for site in ("A1", "hub", "B9")
        for begin in ("2026-03-01 08:00", "2026-03-01T08:00Z", "x", "")
        for end in ("2026-03-01 12:00", "2026-02-01", "", "y")
        for cause in ("rain", "", "z")
        for counted in ("", "no", "?")
    ]
    log, rejects = read(tmp_path, HEAD + "\n".join(rows) + "\n")
    assert len(log) + len(rejects) == len(rows)
    assert sorted([*log.source_row.tolist(), *(r.row for r in rejects)]) == list(
        range(2, len(rows) + 2)
    )


def test_open_ends_run_to_until(tmp_path: Path) -> None:
    rows = "A1,2026-03-01T08:00Z,,power,\nA1,2026-03-05T08:00Z,,power,\n"
    log, rejects = read(tmp_path, HEAD + rows, Span("", "2026-03-02T00:00-05:00"))
    assert log.end.tolist() == [at("2026-03-02T05:00+00:00")] == [log.until]
    assert "begins after --until" in rejects[0].reason
    assert any("without an end: 1." in text for text in log.remarks)


def test_the_span_cuts_and_tells(tmp_path: Path) -> None:
    """Moments of the span without an offset are by the hub's clock: New York."""
    rows = (
        "A1,2026-02-27T00:00Z,2026-03-02T00:00Z,rain,\nA1,2026-02-01T00:00Z,2026-02-02T00:00Z,,\n"
    )
    log, rejects = read(tmp_path, HEAD + rows, Span("2026-03-01", "2026-04-01"))
    assert rejects == ()
    assert log.begin.tolist() == [at("2026-03-01T05:00+00:00")] == [log.since]
    assert log.until == at("2026-04-01T04:00+00:00")
    assert any("reach over the ends of the log: 1." in text for text in log.remarks)
    assert any("outside the span of the log: 1." in text for text in log.remarks)
    assert log.outside is not None
    assert (log.source_row.tolist(), log.outside.source_row.tolist()) == ([2], [3])
    assert log.outside.begin.tolist() == [at("2026-02-01T00:00+00:00")]


def test_what_only_touches_the_span_lies_outside(tmp_path: Path) -> None:
    rows = [
        "A1,2026-02-28T23:00Z,2026-03-01T00:00Z,rain,",
        "A1,2026-03-01T00:00Z,2026-03-01T00:00Z,rain,",  # an outage that lasted no time
        "A1,2026-04-01T00:00Z,2026-04-01T01:00Z,rain,",
        "A1,2026-04-01T00:00Z,2026-04-01T00:00Z,rain,",
    ]
    span = Span("2026-03-01T00:00Z", "2026-04-01T00:00Z")
    log, _ = read(tmp_path, HEAD + "\n".join(rows) + "\n", span)
    assert log.outside is not None
    assert (log.source_row.tolist(), log.outside.source_row.tolist()) == ([3, 5], [2, 4])


def test_many_rows_are_read_as_few_are(tmp_path: Path) -> None:
    """A long file is read by its bytes, cell for cell as a short one is read by Python's texts."""
    rng = np.random.default_rng(8)
    sites = ("A1", "007", "'=x", "hub", "nowhere")
    ends = ("2026-03-0{}T08:00:00+01:00", "2026-03-0{} 08:00", "2026-03-0{}T08:00Z", "",
            "2026-03-0{}T08:00:00.5Z", "soon \u00e9", "2026-03-0{}T08", "2026-10-25 02:3{}",
            " 2026-03-0{} 09:00", "2026-03-0{} 09:00:00-03:30")  # fmt: skip
    picked = rng.integers(0, [len(sites), len(ends), len(ends), 4, 4], (12_000, 5)).tolist()
    rows = [
        ",".join((sites[a], ends[b].format(a + 1), ends[c].format(b), *pair))
        for a, b, c, d, e in picked
        for pair in [(("rain", "Power", "", "flood")[d], ("", "no", "YES", "?")[e])]
    ]
    span = Span("2026-01-01T00:00Z", "2027-01-01T00:00Z")
    whole, refused = read(tmp_path, HEAD + "\n".join(rows) + "\n", span)
    got = {row: (site, begin, end, cause) for row, site, begin, end, cause in zip(
        *(getattr(whole, name).tolist() for name in
          ("source_row", "site", "begin", "end", "cause")), strict=True)}  # fmt: skip
    assert len(got) + len(refused) == len(rows)
    assert len(got) > 500
    for at_row in range(0, 600, 60):
        few = rows[at_row : at_row + 60]
        # A quote within a cell sends a file the slow way.
        text = HEAD + 'A1,2026-05-01,2026-05-02,rain,"y""es"\n' + "\n".join(few) + "\n"
        log, rejects = read(tmp_path, text, span)
        assert len(log) + len(rejects) == len(few) + 1
        for row, site, begin, end, cause in zip(
            *(getattr(log, name).tolist() for name in
              ("source_row", "site", "begin", "end", "cause")), strict=True):  # fmt: skip
            assert got[row - 1 + at_row] == (site, begin, end, cause)


@pytest.mark.parametrize(
    ("text", "span", "match"),
    [
        ("site_id,to\nA1,2026-03-01\n", Span(), r"no column for from"),
        ("site_id,from,start,to\nA1,2026-03-01,x,y\n", Span(), r"two columns may be from"),
        (
            f"{HEAD}B9,2026-03-01,2026-03-02,rain,\n",
            Span(),
            r"none of its one row can be used. Row 2, site_id = 'B9': the project has no site 'B9'",
        ),
        (
            f"{HEAD}A1,2026-03-01,2026-03-02,rain,?\nA1,x,y,,\n",
            Span("2026-01-01", "2027-01-01"),
            r"none of its 2 rows can be used. Row 2, counted = '\?': it does not say",
        ),
        (
            f"{HEAD}A1,2026-03-01,2026-03-02,rain,\n",
            Span("x", ""),
            r"--from: 'x': that is no moment",
        ),
        (
            f"{HEAD}A1,2026-03-01,2026-03-02,rain,\n",
            Span("", "2020-01-01"),
            r"ends before it begins",
        ),
        ("", Span(), r"the file is empty"),
    ],
)
def test_logs_that_cannot_be_used(tmp_path: Path, text: str, span: Span, match: str) -> None:
    with pytest.raises(SitesError, match=match):
        read(tmp_path, text, span)


def test_a_site_called_hub_is_the_site(tmp_path: Path) -> None:
    places = PLACES._replace(site_id=np.array(["hub", "b", "c"], dtype=object))
    log, _ = read(tmp_path, f"{HEAD}hub,2026-03-01,2026-03-02,rain,\n", places=places)
    assert log.site.tolist() == [0]


def test_hubs_are_named_where_there_are_several(tmp_path: Path) -> None:
    places = PLACES._replace(hubs=("hub of west", "hub of east"))
    text = f"{HEAD}hub of east,2026-03-01,2026-03-02,rain,\nhub,2026-03-01,2026-03-02,rain,\n"
    log, rejects = read(tmp_path, text, places=places)
    assert log.site.tolist() == [-2]
    assert "hub of west or hub of east" in rejects[0].fix
