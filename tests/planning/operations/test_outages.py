"""What a log of outages comes to, against sums by hand, by brute force, and drawn years."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import pytest

from siteplan.answers.outages import OutageReport, OutageRows, WeatherRows
from siteplan.model import OUTAGE_CAUSES, OutageLog, Sites
from siteplan.network import Network
from siteplan.physics.propagation.variability import worst_month_pct, yearly_deviation_pct
from siteplan.planning.operations.events import calendar
from siteplan.planning.operations.outages import outage_report, tallied
from siteplan.planning.operations.planned import PlannedOutage, planned_outage
from siteplan.planning.operations.rain import Logged, rain_against_plan, whole_years
from siteplan.planning.plan import make_plan
from siteplan.results import Plan

#: Minutes, relative: sums of doubles.
EXACT = 1e-9
YEAR_S = 365 * 86_400


def at(text: str) -> int:
    return int(dt.datetime.fromisoformat(f"{text}+00:00").timestamp())


def log_of(rows: list[tuple[Any, ...]], since: str, until: str) -> OutageLog:
    """A log of rows: place, begin, end, cause, and whether it counts."""
    counted = [row[4] if len(row) > 4 else True for row in rows]
    return OutageLog(
        np.array([row[0] for row in rows], dtype=np.int64),
        np.array([at(row[1]) for row in rows], dtype=np.int64),
        np.array([at(row[2]) for row in rows], dtype=np.int64),
        np.array([OUTAGE_CAUSES.index(row[3]) for row in rows], dtype=np.int64),
        np.array(counted, dtype=bool),
        np.arange(len(rows)) + 2,
        at(since),
        at(until),
    )


def rows_of(log: OutageLog, sites: int, zones: list[str] | None = None) -> OutageRows:
    named = np.array(zones or [""] * (sites + 1), dtype=object)
    place = np.where(log.site < 0, sites - 1 - log.site, log.site)
    return tallied(log, place, calendar(named, log.since, log.until), sites)


def row(of: OutageRows, place: int, month: int = -1, cause: str | None = None) -> dict[str, float]:
    code = -1 if cause is None else OUTAGE_CAUSES.index(cause)
    (k,) = np.flatnonzero((of.place == place) & (of.month == month) & (of.cause == code))
    return {name: float(values[k]) for name, values in vars(of).items()}


MARCH = [
    (0, "2026-03-01T00:00", "2026-03-01T01:00", "rain"),
    (0, "2026-03-01T00:30", "2026-03-01T02:00", "rain"),  # overlaps: one outage of two hours
    (0, "2026-03-01T02:00", "2026-03-01T02:30", "power"),  # touches: one with it, of all causes
    (0, "2026-03-31T23:00", "2026-04-01T03:00", "power"),  # over the end of the month
    (0, "2026-03-10T00:00", "2026-03-11T00:00", "maintenance", False),
]


def test_sums_by_hand() -> None:
    found = rows_of(log_of(MARCH, "2026-03-01T00:00", "2026-05-01T00:00"), 2)
    every = row(found, 0)
    assert every["logged_min"] == 61 * 1440
    assert every["outage_min"] == pytest.approx(150 + 240, rel=EXACT)
    assert every["outages"] == 2
    assert every["mean_repair_min"] == pytest.approx(195, rel=EXACT)
    assert every["mean_between_h"] == pytest.approx((61 * 1440 - 390) / 60 / 2, rel=EXACT)
    assert every["longest_min"] == pytest.approx(240, rel=EXACT)
    assert every["availability_pct"] == pytest.approx(100 * (1 - 390 / (61 * 1440)), rel=EXACT)
    assert (every["apart_min"], every["apart"]) == (1440, 1)
    rain = row(found, 0, cause="rain")
    assert (rain["outage_min"], rain["outages"]) == (120, 1)
    # Causes that overlap or touch are told apart.
    power = row(found, 0, cause="power")
    assert (power["outage_min"], power["outages"], power["longest_min"]) == (270, 2, 240)
    apart = row(found, 0, cause="maintenance")
    assert (apart["outage_min"], apart["outages"], apart["apart_min"]) == (0, 0, 1440)
    assert np.isnan(apart["mean_repair_min"])


def test_a_month_has_the_minutes_that_fall_into_it() -> None:
    found = rows_of(log_of(MARCH, "2026-03-01T00:00", "2026-05-01T00:00"), 2)
    march, april = row(found, 0, 0), row(found, 0, 1)
    assert (march["outage_min"], april["outage_min"]) == (210, 180)
    # An outage is counted where it begins, with all of its length.
    assert (march["outages"], april["outages"]) == (2, 0)
    assert march["longest_min"] == 240
    assert np.isnan(april["longest_min"])
    assert (march["logged_min"], april["logged_min"]) == (31 * 1440, 30 * 1440)
    assert april["availability_pct"] == pytest.approx(100 * (1 - 180 / 43_200), rel=EXACT)


def test_a_site_without_outages_was_there_all_the_time() -> None:
    found = rows_of(log_of(MARCH, "2026-03-01T00:00", "2026-05-01T00:00"), 2)
    quiet = row(found, 1)
    assert (quiet["availability_pct"], quiet["outages"], quiet["outage_min"]) == (100, 0, 0)
    assert np.isnan([quiet["mean_between_h"], quiet["longest_min"]]).all()
    assert (found.place == 1).sum() == 1


def test_months_are_the_sites_own() -> None:
    """Manaus is four hours behind UTC: its March ends at 04:00 UTC."""
    log = log_of(MARCH, "2026-03-01T00:00", "2026-05-01T00:00")
    found = rows_of(log, 2, ["America/Manaus", "", ""])
    assert row(found, 0, 0)["outage_min"] == 150  # its last of February
    assert row(found, 0, 1)["outage_min"] == 240


def test_sums_by_brute_force() -> None:
    """Minute by minute, for 40 sites."""
    rng = np.random.default_rng(3)
    n, m, minutes = 40, 900, 90 * 1440
    site, begin = rng.integers(0, n, m), rng.integers(0, minutes - 3000, m)
    length, cause = rng.integers(0, 2500, m), rng.integers(0, len(OUTAGE_CAUSES), m)
    counted = rng.random(m) < 0.8
    base = at("2026-01-01T00:00")
    log = OutageLog(site, base + 60 * begin, base + 60 * (begin + length), cause, counted,
                    np.arange(m), base, base + 60 * minutes)  # fmt: skip
    found = rows_of(log, n)
    edges = np.cumsum([0, 31, 28, 31]) * 1440
    for place in range(n):
        down = np.zeros((len(OUTAGE_CAUSES), minutes), dtype=bool)
        for k in np.flatnonzero((site == place) & counted).tolist():
            down[cause[k], begin[k] : begin[k] + length[k]] = True
        told = row(found, place)
        assert told["outage_min"] == down.any(axis=0).sum()
        for month in range(3):
            part = down[:, edges[month] : edges[month + 1]]
            here = (found.place == place) & (found.month == month)
            own = dict(
                zip(found.cause[here].tolist(), found.outage_min[here].tolist(), strict=True)
            )
            assert own.get(-1, 0) == part.any(axis=0).sum()
            for code in range(len(OUTAGE_CAUSES)):
                assert own.get(code, 0) == part[code].sum()


def test_the_order_of_rows_does_not_count() -> None:
    rng = np.random.default_rng(4)
    order = rng.permutation(len(MARCH))
    span = "2026-03-01T00:00", "2026-05-01T00:00"
    first = rows_of(log_of(MARCH, *span), 2)
    second = rows_of(log_of([MARCH[k] for k in order], *span), 2)
    for name, values in vars(first).items():
        np.testing.assert_array_equal(values, getattr(second, name))


# --- rain against the plan ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("since", "until", "window"),
    [
        ("2024-01-01T00:00", "2025-01-01T00:00", (0, 12)),
        ("2024-01-10T00:00", "2024-12-29T00:00", (0, 12)),  # 354 of 366 days are logged
        ("2024-01-15T00:00", "2024-12-20T00:00", (0, 0)),  # 340 are not enough
        ("2024-01-15T00:00", "2025-01-15T00:00", (0, 12)),  # 17 days of January, not 14
        ("2022-06-01T00:00", "2025-01-01T00:00", (7, 31)),  # two of two and a half years
        ("2015-01-01T00:00", "2025-01-01T00:00", (0, 120)),
        ("2024-01-01T00:00", "2024-02-01T00:00", (0, 0)),
    ],
)
def test_whole_years(since: str, until: str, window: tuple[int, int]) -> None:
    months = calendar(np.array([""], dtype=object), at(since), at(until))
    assert whole_years(months, 0) == window


def planned(pct: list[float], hub_pct: list[float] | None = None) -> PlannedOutage:
    share = np.array(hub_pct or [0.0] * len(pct))
    return PlannedOutage(np.array(pct), share, np.zeros(len(pct), dtype=np.intp))


def rain_of(log: OutageLog, plan: PlannedOutage, ratio: float = 0.2) -> WeatherRows:
    n = len(plan.all_pct)
    months = calendar(np.array([""] * (n + 1), dtype=object), log.since, log.until)
    place = np.where(log.site < 0, n - 1 - log.site, log.site)
    logged = Logged(log, place, months, n)
    return rain_against_plan(logged, plan, whole_years(months, 0), ratio)


TWO_YEARS = "2023-01-01T00:00", "2025-01-01T00:00"


def test_z_is_by_p_678s_spread_over_the_root_of_years() -> None:
    """0.1 % of two years are 1,052.6 minutes of 1,052,640; 30 hours of rain are 0.171 %."""
    rows = [(0, "2024-05-01T00:00", "2024-05-02T06:00", "rain"),
            (0, "2024-07-01T00:00", "2024-07-09T00:00", "power"),
            (0, "2024-08-01T00:00", "2024-08-09T00:00", "rain", False)]  # fmt: skip
    found = rain_of(log_of(rows, *TWO_YEARS), planned([0.1]))
    assert found.observed_min.tolist() == [1800]
    observed = 100 * 1800 / (731 * 1440)
    assert found.observed_pct[0] == pytest.approx(observed, rel=EXACT)
    assert found.ratio[0] == pytest.approx(observed / 0.1, rel=EXACT)
    # P.678-3 (from a public transcription): sigma 3.30489e-4 at p = 1e-3 with r_c 0.2.
    z = (observed - 0.1) / (0.0330489 / np.sqrt(2))
    assert found.z[0] == pytest.approx(z, rel=1e-4)
    assert found.verdict.tolist() == ["more"]
    assert found.largest_month_min.tolist() == [1800]
    worst = float(worst_month_pct(0.1)) / 100 * 43_830
    assert found.worst_month_min[0] == pytest.approx(worst, rel=EXACT)


@pytest.mark.parametrize(
    ("hours", "pct", "verdict"),
    [(30, 0.1, "more"), (17, 0.1, "within"), (0, 0.1, "less"), (0, 0.005, "within"),
     (400, 2.5, "out_of_range"), (1, np.nan, "no_plan")],
)  # fmt: skip
def test_verdicts(hours: int, pct: float, verdict: str) -> None:
    end = (dt.datetime(2024, 5, 1) + dt.timedelta(hours=hours)).isoformat(timespec="minutes")
    found = rain_of(log_of([(0, "2024-05-01T00:00", end, "rain")], *TWO_YEARS), planned([pct]))
    assert found.verdict.tolist() == [verdict]


def test_small_outages_are_spread_as_those_of_0_01_pct() -> None:
    rows = [(0, "2024-05-01T00:00", "2024-05-01T02:00", "rain")]
    found = rain_of(log_of(rows, *TWO_YEARS), planned([0.002]))
    sigma = float(yearly_deviation_pct(0.01, 0.2)) / np.sqrt(2)
    assert found.z[0] == pytest.approx((100 * 120 / (731 * 1440) - 0.002) / sigma, rel=EXACT)


def test_under_a_year_there_is_no_verdict() -> None:
    rows = [(0, "2024-05-01T00:00", "2024-05-01T02:00", "rain"),
            (0, "2024-06-01T00:00", "2024-06-01T03:00", "rain")]  # fmt: skip
    found = rain_of(log_of(rows, "2024-05-01T00:00", "2024-08-01T00:00"), planned([0.1, np.nan]))
    assert found.verdict.tolist() == ["under_a_year", "no_plan"]
    assert np.isnan([*found.z, *found.ratio, *found.observed_pct]).all()
    assert found.observed_min.tolist() == [300, 0]
    assert found.largest_month_min.tolist() == [180, 0]


def test_rain_at_the_hub_is_told_apart() -> None:
    """Of a site's two hours of rain the hub has one; its own is compared with its own share."""
    rows = [(0, "2024-05-01T00:00", "2024-05-01T02:00", "rain"),
            (-1, "2024-05-01T01:30", "2024-05-01T03:30", "rain"),
            (-1, "2024-05-03T00:00", "2024-05-03T00:30", "rain")]  # fmt: skip
    found = rain_of(log_of(rows, *TWO_YEARS), planned([0.1, 0.2], [0.04, 0.02]))
    assert found.place.tolist() == [0, 1, -1]
    assert found.end.tolist() == ["site", "site", "hub"]
    np.testing.assert_allclose(found.planned_pct, [0.06, 0.18, 0.03], rtol=EXACT)
    np.testing.assert_allclose(found.observed_min, [90, 0, 150], rtol=EXACT)
    np.testing.assert_allclose(found.largest_month_min, [90, 0, 150], rtol=EXACT)


def test_without_rain_at_the_hub_both_shares_are_compared() -> None:
    rows = [(0, "2024-05-01T00:00", "2024-05-01T02:00", "rain"),
            (-1, "2024-05-01T01:00", "2024-05-01T03:00", "power")]  # fmt: skip
    found = rain_of(log_of(rows, *TWO_YEARS), planned([0.1], [0.04]))
    assert found.end.tolist() == ["both"]
    assert found.planned_pct.tolist() == [0.1]
    assert found.observed_min.tolist() == [120]


def cut_up(rng: np.random.Generator, seconds: float) -> list[tuple[int, int]]:
    """Outages of random length that together last so long in a year, none over another."""
    parts: list[float] = []
    while sum(parts) < seconds:
        parts.append(min(float(rng.exponential(1800)) + 1, seconds - sum(parts)))
    whole = [round(x) for x in np.diff(np.round(np.cumsum([0.0, *parts])))]
    gaps = np.sort(rng.integers(0, YEAR_S - int(sum(whole)) - 1, len(whole)))
    begins = gaps + np.cumsum([0, *whole[:-1]])
    return [(int(b), int(b) + int(n)) for b, n in zip(begins, whole, strict=True)]


@pytest.mark.parametrize("years", [1, 3])
def test_drawn_years_lie_within_the_weathers_own_variation(years: int) -> None:
    """Of 1,000 sites whose years are drawn from gamma distributions 93 to 98 % are within 2."""
    rng, n = np.random.default_rng(678), 1000
    pct = np.exp(rng.uniform(np.log(0.02), np.log(1.0), n))
    sigma = np.asarray(yearly_deviation_pct(pct, 0.2))
    shape, scale = (pct / sigma) ** 2, sigma**2 / pct
    base, rows = at("2021-01-01T00:00"), []
    starts = [at(f"{2021 + y}-01-01T00:00") for y in range(years)]
    for site in range(n):
        for start in starts:
            drawn = float(rng.gamma(shape[site], scale[site]))
            own = cut_up(rng, min(drawn / 100, 0.5) * YEAR_S)
            rows += [(site, start + b, start + e) for b, e in own]
    mixed = rng.permutation(len(rows))
    site, begin, end = np.array(rows, dtype=np.int64)[mixed].T
    cause = np.full(len(site), OUTAGE_CAUSES.index("rain"))
    until = at(f"{2021 + years}-01-01T00:00")
    counted = np.ones(len(site), dtype=bool)
    log = OutageLog(site, begin, end, cause, counted, np.arange(len(site)), base, until)
    found = rain_of(log, planned(pct.tolist()))
    # The sums of what was drawn come back: half a second an outage is rounded.
    within = float(np.mean(np.abs(found.z) < 2))
    assert 0.93 <= within <= 0.98
    assert set(found.verdict.tolist()) == {"within", "more", "less"}
    assert float(np.mean(found.ratio)) == pytest.approx(1, abs=0.03)


# --- the plan's side ------------------------------------------------------------------------


def network(**tables: Any) -> Network:
    base: dict[str, Any] = {
        "network": {"date": "2026-06-01", "timezone": "America/Manaus"},
        "satellite": {"longitude_deg": -61.0},
        "hub": {"lat": -15.8, "lon": -47.9, "power_control_db": 5},
    }
    return Network.model_validate(base | tables)


def basin(n: int = 30, **known: Any) -> Sites:
    rng = np.random.default_rng(5)
    lat, lon = rng.uniform(-35, 10, n), rng.uniform(-80, -40, n)
    lat[0], lon[0] = 50.0, 90.0  # below the horizon
    return Sites.at(lat, lon, **known)


def test_the_planned_outage_is_what_availability_leaves() -> None:
    plan = make_plan(basin(), network())
    found = planned_outage(plan)
    achieved = plan.columns["availability_achieved_pct"]
    kit = ~np.isnan(plan.columns["antenna_m"]) & ~np.isnan(plan.columns["buc_w"])
    np.testing.assert_allclose(found.all_pct[kit], 100 - achieved[kit], atol=1e-9)
    assert np.isnan(found.all_pct[~kit]).all()
    assert found.hub[~kit].tolist() == [-1] * int((~kit).sum())
    assert (found.hub_pct[kit] >= 0).all()
    assert (found.hub_pct[kit] <= found.all_pct[kit]).all()
    assert (found.hub_pct[kit] > 0.001).any()


def test_a_fixed_share_is_the_hubs() -> None:
    found = planned_outage(make_plan(basin(), network(rules={"hub_outage_share": 0.3})))
    known = ~np.isnan(found.all_pct)
    assert known.any()
    np.testing.assert_allclose(found.hub_pct[known], 0.3 * found.all_pct[known], rtol=EXACT)


def test_without_a_hubs_place_all_is_the_sites() -> None:
    found = planned_outage(make_plan(basin(), network(hub={})))
    known = ~np.isnan(found.all_pct)
    assert (found.hub_pct[known] == 0).all()


def report(plan: Plan, rows: list[tuple[Any, ...]]) -> OutageReport:
    return outage_report(plan, log_of(rows, *TWO_YEARS))


def test_a_report_puts_all_together() -> None:
    plan = make_plan(basin(5), network())
    rows = [(1, "2024-05-01T00:00", "2024-05-01T02:00", "rain"),
            (-1, "2024-05-01T01:00", "2024-05-01T03:00", "hub")]  # fmt: skip
    found = report(plan, rows)
    # 2023-01-01 UTC is still December in Manaus, where the hub's clock stands.
    assert found.months[0] == "2022-12"
    assert (found.years, found.months[found.window[1] - 1]) == (2, "2024-12")
    assert found.hubs == ("hub",)
    assert set(found.rows.place.tolist()) == {0, 1, 2, 3, 4, -1}
    assert found.weather.place.tolist() == [0, 1, 2, 3, 4]
