"""Sun outages: seasons, order and limits."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from siteplan.physics.angles.sun_outage import (
    next_season,
    next_sun_outages,
    outage_half_angle_deg,
    sun_outages,
)

MINUTE = np.timedelta64(60, "s")


@pytest.fixture(scope="module")
def outages():
    """Return a year's outages of 40 sites around 19 E."""
    rng = np.random.default_rng(8)
    lat, lon = rng.uniform(-60, 60, 40), rng.uniform(-20, 58, 40)
    return lat, lon, sun_outages(lat, lon, 0, 19, 0.9, year=2026)


def test_start_peak_and_end_are_in_order_and_symmetric(outages):
    _, _, out = outages
    assert (out.start < out.peak).all()
    assert (out.peak < out.end).all()
    early, late = (out.peak - out.start) / MINUTE, (out.end - out.peak) / MINUTE
    # The declination's drift during the outage and rounding to the second skew it a little.
    np.testing.assert_allclose(early, late, atol=0.2)
    # 0.9 degree is 3.6 minutes of the sun's motion, stretched by 1 / cos(declination).
    assert early.max() < 3.8


def test_entries_come_by_site_and_time_and_name_days_once(outages):
    _, _, out = outages
    key = out.site * 10**6 + (out.peak.astype("datetime64[D]").astype(int) - 20_000)
    assert (np.diff(key) > 0).all()


def test_each_site_has_two_seasons_of_three_to_nine_days(outages):
    # ITU-R S.1525: transits run 3 to 9 days twice a year.
    lat, _, out = outages
    month = out.peak.astype("datetime64[M]").astype(int) % 12 + 1
    for site in range(len(lat)):
        mine = month[out.site == site]
        spring, autumn = np.sum(mine <= 4), np.sum(mine >= 8)
        assert spring + autumn == len(mine)
        assert 3 <= spring <= 9
        assert 3 <= autumn <= 9


def test_northern_sites_come_before_the_spring_equinox_and_after_the_autumn_one(outages):
    lat, _, out = outages
    day = out.peak.astype("datetime64[D]")
    spring = day < np.datetime64("2026-06-01")
    far_north, far_south = lat[out.site] > 15, lat[out.site] < -15
    assert (day[spring & far_north] < np.datetime64("2026-03-20")).all()
    assert (day[spring & far_south] > np.datetime64("2026-03-20")).all()
    assert (day[~spring & far_north] > np.datetime64("2026-09-23")).all()
    assert (day[~spring & far_south] < np.datetime64("2026-09-23")).all()


def test_many_sites_equal_each_site_alone(outages):
    lat, lon, out = outages
    for site in (0, 17, 39):
        alone = sun_outages(lat[site], lon[site], 0, 19, 0.9, year=2026)
        mine = out.site == site
        np.testing.assert_array_equal(alone.peak, out.peak[mine])
        np.testing.assert_array_equal(alone.start, out.start[mine])
        np.testing.assert_allclose(alone.separation_deg, out.separation_deg[mine], atol=1e-9)


def test_a_wider_beam_holds_the_narrower_one_s_outages():
    narrow = sun_outages(45, 10, 0, 19, 0.5, year=2027)
    wide = sun_outages(45, 10, 0, 19, 4.9, year=2027)
    in_both = np.isin(narrow.peak, wide.peak)
    assert in_both.all()
    widened = wide.start[np.isin(wide.peak, narrow.peak)]
    assert (widened < narrow.start).all()
    # 4.9 degrees over 0.36 to 0.4 degree a day: 25 to 28 days a season.
    assert 2 * 24 <= len(wide.peak) <= 2 * 28


def test_sites_that_do_not_see_the_satellite_have_no_outage():
    out = sun_outages([50, 50, np.nan], [10, 190, 10], 0, 19, 0.9, year=2026)
    assert set(out.site) == {0}
    assert len(sun_outages(50, 190, 0, 19, 0.9, year=2026).site) == 0


def test_no_beam_no_outage():
    assert len(sun_outages(50, 10, 0, 19, 0.0, year=2026).site) == 0


@pytest.mark.parametrize("half", [-0.1, 5.1])
def test_impossible_half_angle_is_refused(half):
    with pytest.raises(ValueError, match="half_angle_deg must lie within 0 to 5"):
        sun_outages(50, 10, 0, 19, half, year=2026)


def test_year_outside_the_series_is_refused():
    with pytest.raises(ValueError, match="year 2051"):
        sun_outages(50, 10, 0, 19, 0.9, year=2051)


def test_half_angle_is_half_the_beam_and_the_sun_s_radius():
    np.testing.assert_allclose(outage_half_angle_deg([1.0, 2.0]), [0.765, 1.265], atol=1e-12)


def test_the_next_seasons_are_those_of_the_years() -> None:
    """The following two seasons equal the years' outages from the date on."""
    place = (np.array([52.0, -26.0]), np.array([5.0, 28.0]), 0.0, 19.0, 0.9)
    after = dt.date(2026, 6, 1)
    ours = next_sun_outages(*place, after=after, seasons=2)
    years = [sun_outages(*place, year=y) for y in (2026, 2027)]
    every = np.concatenate([y.peak for y in years])
    site = np.concatenate([y.site for y in years])
    for k in (0, 1):
        wanted = np.sort(every[(site == k) & (every > np.datetime64(after))])
        got = ours.peak[ours.site == k]
        assert len(got) >= 8
        np.testing.assert_array_equal(got, wanted[: len(got)])


@pytest.mark.parametrize("day", ["2026-01-02", "2026-03-01", "2026-03-10", "2026-12-20"])
def test_a_season_in_short_is_its_outages(day: str) -> None:
    after = dt.date.fromisoformat(day)
    rng = np.random.default_rng(2)
    place = (rng.uniform(-60, 60, 30), rng.uniform(-50, 90, 30), 0.0, 19.0, 0.8)
    short = next_season(*place, after=after)
    full = next_sun_outages(*place, after=after, seasons=1)
    np.testing.assert_array_equal(short.passages, np.bincount(full.site, minlength=30))
    for k in np.flatnonzero(short.passages):
        of = full.site == k
        assert short.first[k] == full.peak[of].min()
        assert short.last[k] == full.peak[of].max()
        assert short.peak[k] == full.peak[of][full.separation_deg[of].argmin()]
        minutes = (full.end[of] - full.start[of]) / np.timedelta64(60, "s")
        assert short.longest_min[k] == pytest.approx(minutes.max(), abs=0.05)
        assert short.last[k] >= np.datetime64(after) - np.timedelta64(36, "h")


def test_a_season_under_way_is_given_whole() -> None:
    place = (np.array([52.0]), np.array([5.0]), 0.0, 19.0, 0.9)
    season = next_season(*place, after=dt.date(2026, 1, 2))
    middle = season.peak[0].astype("datetime64[D]").item()
    again = next_season(*place, after=middle)
    assert again.first[0] == season.first[0]


def test_sites_that_see_nothing_have_no_season():
    season = next_season(
        np.array([52.0, 0.0]), np.array([5.0, -150.0]), 0, 19.0, 0.9, after=dt.date(2026, 5, 1)
    )
    assert season.passages.tolist()[1] == 0
    assert np.isnat(season.first[1])
    assert np.isnan(season.longest_min[1])
    assert season.passages[0] > 3


@pytest.mark.parametrize("half", [-0.1, 5.1])
def test_seasons_refuse_beams_they_cannot_search(half):
    with pytest.raises(ValueError, match="half_angle_deg"):
        next_season(0, 0, 0, 10, half, after=dt.date(2026, 5, 1))


def test_seasons_refuse_years_beyond_the_series():
    with pytest.raises(ValueError, match="1950 to 2050"):
        next_season(0, 0, 0, 10, 1.0, after=dt.date(2050, 5, 1))
