"""Outages that are left out, and outage over time: against sums by hand."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from siteplan.answers.outages import OverTime
from siteplan.model import OUTAGE_CAUSES, OutageLog
from siteplan.planning.operations.events import calendar
from siteplan.planning.operations.listed import MOST_MONTHS, left_out, over_time
from siteplan.planning.operations.outages import tallied
from siteplan.planning.operations.planned import PlannedOutage
from siteplan.planning.operations.rain import Logged, rain_against_plan, whole_years

#: Sums of doubles, relative.
EXACT = 1e-9
RAIN, POWER = (OUTAGE_CAUSES.index(name) for name in ("rain", "power"))
ZONES = np.array(["America/Manaus", "", ""], dtype=object)  # two sites, a hub


def at(text: str) -> int:
    return int(dt.datetime.fromisoformat(f"{text}+00:00").timestamp())


def log_of(rows: list[tuple[int, str, str, int, bool]], since: str, until: str) -> OutageLog:
    site, begin, end, cause, counted = zip(*rows, strict=True)
    moments = ([at(text) for text in column] for column in (begin, end))
    arrays = (np.array(column) for column in (site, *moments, cause, counted))
    return OutageLog(*arrays, np.arange(len(rows)) + 2, at(since), at(until))


ROWS = [
    (0, "2026-03-10T10:00", "2026-03-10T12:00", RAIN, True),
    (0, "2026-04-01T03:00", "2026-04-01T05:00", POWER, True),  # March ends there at 04:00
    (1, "2026-04-02T00:00", "2026-04-02T01:00", POWER, True),
    (0, "2026-03-10T11:00", "2026-03-10T15:00", RAIN, False),
    (-1, "2026-03-10T11:00", "2026-03-10T15:00", POWER, False),
]


def of(log: OutageLog, planned: PlannedOutage) -> OverTime:
    place = np.where(log.site < 0, 1 - log.site, log.site)
    months = calendar(ZONES, log.since, log.until)
    window = whole_years(months, int(months.zone[-1]))
    weather = rain_against_plan(Logged(log, place, months, 2), planned, window, 0.2)
    return over_time(tallied(log, place, months, 2), weather, months)


def planned(pct: list[float], hub: list[float]) -> PlannedOutage:
    return PlannedOutage(np.array(pct), np.array(hub), np.zeros(2, dtype=np.intp))


def test_outages_that_do_not_count_are_listed_with_those_outside() -> None:
    log = log_of(ROWS, "2026-03-01T00:00", "2026-05-01T00:00")
    late = replace(log.take(np.array([1])), source_row=np.array([3]))
    found = left_out(replace(log, outside=late), ZONES, 2)
    assert found.row.tolist() == [3, 5, 6]
    assert found.place.tolist() == [0, 0, -1]
    assert found.why.tolist() == ["outside", "not_counted", "not_counted"]
    assert found.minutes.tolist() == [120, 240, 240]
    assert np.nan_to_num(found.ahead_min).tolist() == [[-240, -240], [-240, -240], [0, 0]]
    assert [OUTAGE_CAUSES[code] for code in found.cause.tolist()] == ["power", "rain", "power"]
    assert len(left_out(log.take(np.arange(3)), ZONES, 2)) == 0


def test_months_are_means_of_all_sites() -> None:
    log = log_of(ROWS, "2026-03-01T04:00", "2026-05-01T00:00")
    found = of(log, planned([0.1, 0.3], [0.0, 0.0]))
    assert found.names == ("2026-03", "2026-04")
    assert found.minutes[:, RAIN].tolist() == [60, 0]
    assert found.minutes[:, POWER].tolist() == [30, 30 + 30]
    assert found.minutes.sum() == 150
    # 31 days of Manaus less none; of UTC less its first four hours, and April until the end.
    logged = np.array([[31 * 1440.0, 30 * 1440 - 240], [31 * 1440 - 240, 30 * 1440]])
    expected = (0.1 * logged[0] + 0.3 * logged[1]) / 100 / 2
    np.testing.assert_allclose(found.planned_min, expected, rtol=EXACT)
    assert (found.planned, found.hub_apart) == (2, False)


def test_sites_without_a_plan_are_left_out_of_the_line() -> None:
    log = log_of(ROWS, "2026-03-01T04:00", "2026-05-01T00:00")
    found = of(log, planned([np.nan, 0.3], [np.nan, 0.0]))
    assert found.planned == 1
    logged = np.array([31 * 1440 - 240, 30 * 1440])
    np.testing.assert_allclose(found.planned_min, 0.003 * logged, rtol=EXACT)
    none = of(log, planned([np.nan, np.nan], [np.nan, np.nan]))
    assert np.isnan(none.planned_min).all()


def test_rain_at_the_hub_is_in_neither() -> None:
    rows = [*ROWS, (-1, "2026-03-10T10:30", "2026-03-10T11:00", RAIN, True)]
    found = of(
        log_of(rows, "2026-03-01T04:00", "2026-05-01T00:00"), planned([0.1, 0.3], [0.1, 0.1])
    )
    assert found.hub_apart
    assert found.minutes[0, RAIN] == pytest.approx(45, rel=EXACT)
    whole = of(
        log_of(ROWS, "2026-03-01T04:00", "2026-05-01T00:00"), planned([0.1, 0.3], [0.1, 0.1])
    )
    assert (found.planned_min < whole.planned_min).all()


def test_a_long_log_is_shown_by_years() -> None:
    assert MOST_MONTHS == 132
    log = log_of(ROWS, "2012-01-01T04:00", "2026-12-31T00:00")
    found = of(log, planned([0.1, 0.3], [0.0, 0.0]))
    assert found.names == tuple(str(year) for year in range(2012, 2027))
    assert found.minutes[-1].sum() == 150
    assert found.planned_min.sum() == pytest.approx(0.002 * (log.until - log.since) / 60, rel=1e-6)
