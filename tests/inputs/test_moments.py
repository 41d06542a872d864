"""Moments as people write them: ISO 8601's forms, and clocks that are put forward and back."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.inputs.bytewise.held import hold
from siteplan.inputs.moments import (
    NO_MOMENT,
    changes,
    in_zone,
    in_zones,
    no_moment,
    read_moments,
)

#: 2026-03-01 08:00 by a clock without a zone, as if it were UTC.
EIGHT = int(dt.datetime(2026, 3, 1, 8, tzinfo=dt.UTC).timestamp())
ZONES = ("Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu",
         "Pacific/Chatham", "Africa/Casablanca", "America/Manaus")  # fmt: skip


@pytest.mark.parametrize(
    ("text", "offset_min"),
    [
        ("2026-03-01T08:00:00+01:00", 60),
        ("2026-03-01T08:00+0100", 60),
        ("2026-03-01 08:00 +01:00", 60),
        ("2026-03-01T08:00Z", 0),
        ("2026-03-01T08:00:00z", 0),
        ("2026-03-01 08:00", None),
        ("2026-03-01 8:00", None),
        ("2026-03-01T08", None),
        ("20260301T080000", None),
        ("20260301T080000-0330", -210),
        ("2026-03-01T08:00:00.25", None),
        ("2026-03-01T08:00:00,250", None),
        ("2026-W09-7T08:00", None),
    ],
)
def test_forms_of_the_standard_are_read(text: str, offset_min: int | None) -> None:
    read = read_moments([text])
    assert read.clock.tolist() == [EIGHT]
    found = None if np.isnan(read.offset[0]) else read.offset[0] / 60
    assert found == offset_min


def test_midnight_has_two_names() -> None:
    read = read_moments(["2026-02-28T24:00", "2026-03-01", "2026-02-28T24:00:00Z", "20260228T2400"])
    assert set(read.clock.tolist()) == {EIGHT - 8 * 3600}


@pytest.mark.parametrize(
    "text",
    [
        "",
        "soon",
        "2026-02-29",
        "2025-13-01",
        "08:00",
        "46000",
        "2026-03",
        "0226-03-01",
        "24:00",
        "2026-03-01 08.50",
        "2026-03-01T08:30.5",
        "2026-03-01-08:00",
        "2026-03-01x08:00",
        "2026-03-01 08:00 EST",
        "20260301080000",
        "2026-W09",
    ],
)
def test_what_is_no_moment_is_none(text: str) -> None:
    assert read_moments([text]).clock.tolist() == [NO_MOMENT]


@pytest.mark.parametrize(
    ("text", "reason", "fix"),
    [
        ("1.3.2026 08:00", "two ways", "year first"),
        ("3/1/26 8:00 AM", "two ways", "year first"),
        ("31-12-2026", "two ways", "year first"),
        ("46082.333", "bare number", "Format the cell"),
        ("1772352000", "bare number", "Format the cell"),
        ("2026-03-01 08:00 EST", "name of a zone", "offset in figures"),
        ("2026-03-01T08:00[Europe/Berlin]", "name of a zone", "offset in figures"),
        ("1926-03-01T08:00Z", "1980 to 2100", "2026-03-01T08:00:00-05:00"),
        ("soon", "no moment", "2026-03-01T08:00:00-05:00"),
    ],
)
def test_what_is_no_moment_is_told_why(text: str, reason: str, fix: str) -> None:
    assert read_moments([text]).clock.tolist() == [NO_MOMENT]
    told = no_moment(text)
    assert reason in told[0]
    assert fix in told[1]


def test_held_bytes_are_read_as_texts_are() -> None:
    texts = ["2026-03-01T08:00:00+01:00", "2026-03-01 08:00", "", "soon", "2026-03-01T08:00Z",
             "2026-03-01T08:00Z ", "2026-03-01T08:00:00+01:001", "\u0662026-03-01 08:00",
             "2026-03-01 08:00\u00e9", "2026-03-01T08:00:00-03:30"]  # fmt: skip
    column = np.empty(len(texts), dtype=object)
    column[:] = texts
    by_text, by_byte = read_moments(texts), read_moments(hold(column.copy()))
    assert by_byte.clock.tolist() == by_text.clock.tolist()
    np.testing.assert_array_equal(by_byte.offset, by_text.offset)
    assert (by_text.clock != NO_MOMENT).sum() == 5


@given(
    moment=st.datetimes(dt.datetime(1980, 1, 1), dt.datetime(2100, 12, 31, 23, 59, 59)),
    offset=st.none() | st.integers(-14 * 60, 14 * 60),
    form=st.sampled_from(["T", " "]),
    seconds=st.booleans(),
)
@settings(max_examples=300, deadline=None)
def test_the_usual_form_is_read_as_python_reads_it(
    moment: dt.datetime, offset: int | None, form: str, seconds: bool
) -> None:
    moment = moment.replace(microsecond=0, second=moment.second if seconds else 0)
    if offset is not None:
        moment = moment.replace(tzinfo=dt.timezone(dt.timedelta(minutes=offset)))
    text = moment.isoformat(form, "seconds" if seconds else "minutes")
    read = read_moments([text])
    assert read.clock.tolist() == [int(moment.replace(tzinfo=dt.UTC).timestamp())]
    found = None if np.isnan(read.offset[0]) else read.offset[0] / 60
    assert found == offset


@pytest.mark.parametrize(
    "text",
    [
        *("2026-03-01T08:00:0x", "2026-03-01T08:0é", "2026-02-30 08:00", "2026-13-01 08:00"),
        *("2026-03-01 25:00", "2026-03-01T08:00+1:00", "2026-03-01T08:00Zulu", "2026-03-00 08:00"),
        "2026/03/01 08:00",
    ],
)
def test_near_the_usual_form_is_no_moment(text: str) -> None:
    assert read_moments([text]).clock.tolist() == [NO_MOMENT]


def test_leap_days_are_days() -> None:
    read = read_moments(["2024-02-29T00:00Z", "2024-03-01T00:00Z"])
    assert int(np.diff(read.clock)[0]) == 86_400


def python(clock: int, zone: str, fold: int) -> int:
    """The same by Python's own rules (PEP 495)."""
    naive = dt.datetime.fromtimestamp(clock, dt.UTC).replace(tzinfo=ZoneInfo(zone), fold=fold)
    return int(naive.timestamp())


@given(
    zone=st.sampled_from(ZONES),
    day=st.dates(dt.date(2019, 1, 1), dt.date(2030, 12, 31)),
    minute=st.integers(0, 1439),
)
@settings(max_examples=300, deadline=None)
def test_clocks_mean_what_python_says(zone: str, day: dt.date, minute: int) -> None:
    clock = int(dt.datetime.combine(day, dt.time(), dt.UTC).timestamp()) + minute * 60
    found = in_zone(np.array([clock]), zone)
    folds = [python(clock, zone, fold) for fold in (0, 1)]
    if found.skipped[0]:
        # A skipped time by the offset before the change is the later of Python's two.
        assert int(found.first[0]) == int(found.last[0]) == folds[0]
        assert folds[0] > folds[1]
    else:
        assert [int(found.first[0]), int(found.last[0])] == folds


def test_a_skipped_hour_is_read_as_if_clocks_had_not_moved() -> None:
    """Berlin, 29 March 2026: 02:30 is never shown; by the old offset it is 01:30 UTC."""
    clock = int(dt.datetime(2026, 3, 29, 2, 30, tzinfo=dt.UTC).timestamp())
    found = in_zone(np.array([clock]), "Europe/Berlin")
    assert found.skipped.tolist() == [True]
    assert found.first.tolist() == [clock - 3600]


def test_a_repeated_hour_has_two_readings() -> None:
    """Berlin, 25 October 2026: 02:30 is shown at 00:30 and at 01:30 UTC."""
    clock = int(dt.datetime(2026, 10, 25, 2, 30, tzinfo=dt.UTC).timestamp())
    found = in_zone(np.array([clock]), "Europe/Berlin")
    assert (found.first.tolist(), found.last.tolist()) == ([clock - 7200], [clock - 3600])


def test_each_place_has_its_own_clock() -> None:
    zones = ("America/Manaus", "Europe/Berlin", "Asia/Kathmandu", "")
    found = in_zones(np.full(3, EIGHT), zones, np.array([2, 3, 0]))
    assert found.first.tolist() == [EIGHT - 20_700, EIGHT, EIGHT + 14_400]


def test_changes_are_found_to_the_second() -> None:
    """New York, 2026: on 8 March at 07:00 UTC and on 1 November at 06:00 UTC."""
    since, until = (int(dt.datetime(y, 1, 1, tzinfo=dt.UTC).timestamp()) for y in (2026, 2027))
    begins, ahead = changes("America/New_York", since, until)
    moments = [
        dt.datetime(2026, 3, 8, 7, tzinfo=dt.UTC),
        dt.datetime(2026, 11, 1, 6, tzinfo=dt.UTC),
    ]
    assert begins.tolist()[1:] == [int(m.timestamp()) for m in moments]
    assert ahead.tolist() == [-18_000, -14_400, -18_000]
