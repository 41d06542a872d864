"""The sun in a plan: seasons, tables, zones, bearings."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.physics.angles.sun import sun_position
from siteplan.physics.angles.sun_outage import next_sun_outages
from siteplan.physics.radio.noise import sky_noise_k, system_noise_k
from siteplan.planning.plan import make_plan
from siteplan.planning.site.sun import hub_transits, system_noise_of_k
from siteplan.planning.site.zones import local_times, midnights, offsets_min, texts

DATE = dt.date(2026, 6, 1)


def network(**general: object) -> Network:
    return Network.model_validate(
        {
            "network": {"date": "2026-06-01", **general},
            "satellite": {"longitude_deg": -61.0, "neighbours_deg": [-63.0, -58.0]},
            "hub": {"lat": -15.8, "lon": -47.9},
        }
    )


@pytest.fixture(scope="module")
def sites() -> Sites:
    rng = np.random.default_rng(4)
    lat, lon = rng.uniform(-40, 40, 12), rng.uniform(-90, -30, 12)
    lat[0], lon[0] = 10.0, 100.0  # below the horizon
    zone = np.array(["", "America/New_York", *[""] * 10], dtype=object)
    return Sites.at(lat, lon, timezone=zone)


def test_columns_and_tables_agree(sites: Sites) -> None:
    plan = make_plan(sites, network(), with_tables=True)
    c, t = plan.columns, plan.tables
    assert (c["sun_first_day"][0], c["sun_peak_utc"][0], c["sun_outage"][0]) == ("", "", "")
    assert np.isnan(c["sun_depth_db"][0])
    assert 0 not in t["sun_site"]
    for k in range(1, len(sites)):
        peaks = t["sun_peak"][t["sun_site"] == k]
        assert str(peaks[0])[:10] == c["sun_first_day"][k]
        days = int(c["sun_days"][k])
        assert str(peaks[days - 1])[:10] == c["sun_last_day"][k]
        assert c["sun_peak_utc"][k] in [str(p) for p in peaks[:days]]
        depth = t["sun_depth_db"][t["sun_site"] == k][:days]
        assert c["sun_depth_db"][k] == pytest.approx(depth.max(), abs=1e-6)


def test_depth_by_hand(sites: Sites) -> None:
    """Sun 120000 f^-0.75 K fills 1 - 2^-(0.53/b)^2 of the beam (Maral and Bousquet, chapter 5)."""
    plan = make_plan(sites, network())
    c = plan.columns
    k = 3
    beam = 70 * 0.299792458 / 11.95 / c["antenna_m"][k]
    gain = 10 * np.log10(0.65 * (np.pi * c["antenna_m"][k] * 11.95 / 0.299792458) ** 2)
    # 0.2 dB of loss before the receiver; the G/T told has 0.3 dB of pointing loss taken off.
    system = 10 ** ((gain - 0.2 - (c["remote_g_t_db_k"][k] + 0.3)) / 10)
    sun = 120_000 * 11.95**-0.75 * (1 - 2 ** -((0.53 / beam) ** 2)) * 10**-0.02
    deepest = 10 * np.log10(1 + sun / system)
    # The sun's centre passes the axis by up to half a day's motion in declination, 0.2 degree.
    assert deepest - 1.0 < c["sun_depth_db"][k] <= deepest + 1e-9
    assert c["sun_outage"][k] == "yes"


def test_the_noise_that_a_clear_sky_s_g_t_rests_on() -> None:
    """G/T is the gain less the loss before the receiver less 10 log T: unlike dishes and noises."""
    plan = Network.model_validate(
        {
            "satellite": {"longitude_deg": 0},
            "terminal": {"rx_loss_db": 0.7},
            "outbound": {"downlink_ghz": 19.7},
        }
    )
    dish, efficiency = np.array([0.75, 1.2, 2.4]), np.array([0.6, 0.65, 0.7])
    kelvin = np.array([95.0, 150.0, 310.0])
    gain = 10 * np.log10(efficiency * (np.pi * dish * 19.7e9 / 299_792_458) ** 2)
    g_t = gain - 0.7 - 10 * np.log10(kelvin)
    np.testing.assert_allclose(system_noise_of_k(g_t, dish, efficiency, plan), kelvin, rtol=1e-12)


def test_zones(sites: Sites) -> None:
    plan = make_plan(sites, network(timezone="America/Manaus"), with_tables=True)
    t = plan.tables
    assert set(t["sun_offset_min"][t["sun_site"] == 2]) == {-240}
    # New York: summer time in September and October, and at the spring season too.
    assert set(t["sun_offset_min"][t["sun_site"] == 1]) <= {-240, -300}
    alone = make_plan(sites, network(), with_tables=True).tables
    assert np.isnan(alone["sun_offset_min"][alone["sun_site"] == 2]).all()


def test_offsets_follow_summer_time() -> None:
    times = np.array(["2026-03-29T00:30:00", "2026-03-29T01:30:00"], dtype="datetime64[s]")
    zones = np.array(["Europe/Oslo", "Europe/Oslo"], dtype=object)
    assert offsets_min(times, zones).tolist() == [60, 120]
    assert np.isnan(offsets_min(times, np.array(["", "Not/There"], dtype=object))).all()


def test_offsets_are_looked_up_within_the_hour() -> None:
    """Lord Howe changes its clocks at 15:30 UTC."""
    times = np.array(["2026-10-03T15:20:00", "2026-10-03T15:40:00", "NaT"], dtype="datetime64[s]")
    found = offsets_min(times, np.array(["Australia/Lord_Howe"] * 3, dtype=object))
    np.testing.assert_array_equal(found, [630, 660, np.nan])


def test_local_times_carry_their_offset() -> None:
    times = np.array(["2026-03-01T10:20:30"] * 3 + ["NaT"], dtype="datetime64[s]")
    zones = np.array(["Asia/Kathmandu", "", "America/St_Johns", "Asia/Kathmandu"], dtype=object)
    assert local_times(times, zones).texts().tolist() == [
        "2026-03-01T16:05:30+05:45",
        "2026-03-01T10:20:30+00:00",
        "2026-03-01T06:50:30-03:30",
        "",
    ]


@pytest.mark.parametrize(
    ("zone", "begins"),
    [
        ("", "2026-03-29T00:00:00"),
        ("Europe/Berlin", "2026-03-28T23:00:00"),  # clocks go forward three hours later
        ("Pacific/Tongatapu", "2026-03-28T11:00:00"),
        ("Pacific/Honolulu", "2026-03-29T10:00:00"),
    ],
)
def test_a_day_begins_at_its_zones_midnight(zone: str, begins: str) -> None:
    found = midnights(dt.date(2026, 3, 29), np.array([zone], dtype=object))
    assert str(found[0]) == begins


def test_days_of_transit_are_those_of_the_sites_zone() -> None:
    """Tonga is 13 hours ahead: at 175 W the sun passes at 23:40 UTC, the next day there."""
    lat, lon = np.array([-21.0]), np.array([-175.0])
    of = {"network": {"date": "2026-02-01"}, "satellite": {"longitude_deg": -175.0}}
    own = make_plan(
        Sites.at(lat, lon, timezone=np.array(["Pacific/Tongatapu"], dtype=object)),
        Network.model_validate(of),
    )
    none = make_plan(Sites.at(lat, lon), Network.model_validate(of))
    days = [np.datetime64(plan.columns["sun_first_day"][0]) for plan in (none, own)]
    assert days[1] - days[0] == np.timedelta64(1, "D")
    assert none.columns["sun_peak_utc"][0] == own.columns["sun_peak_utc"][0]
    assert own.columns["sun_peak_local"][0].endswith("+13:00")


def test_a_hub_of_9_m_sees_the_whole_disc_off_its_axis() -> None:
    """Each transit's depth against the lobe summed over the disc, ring by ring."""
    large = network().model_dump(exclude_unset=True)
    large["hub"] = {"lat": -15.8, "lon": -47.9, "antenna_m": 9.0, "lna_noise_k": 70}
    large["inbound"] = {"downlink_ghz": 11.95}
    of = Network.model_validate(large)
    beam = 70 * 0.299792458 / 11.95 / 9
    place = (-15.8, -47.9, 0.0, -61.0, beam / 2 + 0.265)
    apart = next_sun_outages(*place, after=DATE, seasons=2).separation_deg
    transits = hub_transits(of, DATE)
    assert len(transits) == len(apart) >= 2
    system = float(system_noise_k(sky_noise_k(np.zeros(1)), 0.0, 0.0, 70.0)[0])
    for transit, separation in zip(transits, apart, strict=True):
        ring, turn = np.meshgrid((np.arange(800) + 0.5) / 800 * 0.265, np.arange(720) * np.pi / 360)
        off2 = separation**2 + ring**2 + 2 * separation * ring * np.cos(turn)
        lobe = 2 ** (-4 * off2 / beam**2) * ring
        share = lobe.sum() * 0.265 / 800 * np.pi / 360 / (np.pi * beam**2 / (4 * np.log(2)))
        depth = 10 * np.log10(1 + 120_000 * 11.95**-0.75 * share / system)
        assert transit["depth_db"] == pytest.approx(depth, abs=0.06)  # told to 0.1 dB


def test_bearings_of_the_day(sites: Sites) -> None:
    plan = make_plan(sites, network(install_date="2026-09-15"), with_tables=True)
    assert plan.facts.install_date == "2026-09-15"
    azimuth = plan.tables["sun_hour_azimuth_deg"]
    assert azimuth.shape == (len(sites), 24)
    begins = plan.tables["sun_hour_from"]
    assert str(begins[0]) == "2026-09-15T00:00:00"
    assert str(begins[1]) == "2026-09-15T04:00:00"  # midnight in New York
    noon = sun_position(begins + np.timedelta64(16, "h"), sites.lat, sites.lon)
    up = noon.elevation_deg > 0
    np.testing.assert_allclose(azimuth[up, 16], noon.azimuth_true_deg[up], atol=1e-3)
    for k, times in enumerate(plan.tables["sun_on_azimuth"]):
        for time in times[~np.isnat(times)]:
            there = sun_position(time, sites.lat[k], sites.lon[k])
            assert float(there.azimuth_true_deg) == pytest.approx(
                plan.columns["azimuth_true_deg"][k], abs=0.05
            )


def test_neighbours(sites: Sites) -> None:
    plan = make_plan(sites, network(), with_tables=True)
    apart = plan.tables["neighbour_separation_deg"]
    assert apart.shape == (len(sites), 2)
    # Two and three degrees along the orbit look some 8 to 17 % wider from the earth.
    seen = ~np.isnan(apart[:, 0])
    assert ((apart[seen, 0] > 2.0) & (apart[seen, 0] < 2.4)).all()
    assert ((apart[seen, 1] > 3.0) & (apart[seen, 1] < 3.6)).all()


def test_hub_transits() -> None:
    hub = hub_transits(network(), DATE)
    assert len(hub) >= 4
    assert all(t["start"] < t["peak"] < t["end"] and t["depth_db"] > 3 for t in hub)
    none = network().model_copy(update={"hub": Network.model_validate(
        {"satellite": {"longitude_deg": 0}}).hub})  # fmt: skip
    assert hub_transits(none, DATE) == []


def test_texts_of_times() -> None:
    times = np.array(["2026-03-01T10:20:30", "NaT"], dtype="datetime64[s]")
    assert texts(times, "D").tolist() == ["2026-03-01", ""]
    assert texts(times, "s").tolist() == ["2026-03-01T10:20:30", ""]


def test_large_plans_go_without_tables_and_say_so(
    sites: Sites, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("siteplan.planning.site.tables.MOST_SITES", 5)
    plan = make_plan(sites, network(), with_tables=True)
    assert "sun_site" not in plan.tables
    assert "go without" in plan.facts.site_tables
    assert plan.columns["sun_first_day"][1] != ""
    small = make_plan(sites.take(np.arange(5)), network(), with_tables=True)
    assert small.facts.site_tables == ""


def test_chunks_keep_the_sites_apart(sites: Sites, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = make_plan(sites, network(), with_tables=True).tables
    monkeypatch.setattr("siteplan.planning.plan.CHUNK_SITES", 5)
    pieces = make_plan(sites, network(), with_tables=True).tables
    np.testing.assert_array_equal(pieces["sun_site"], whole["sun_site"])
    np.testing.assert_array_equal(pieces["sun_peak"], whole["sun_peak"])


@pytest.mark.parametrize("date", ["2060-03-01", "1940-01-01"])
def test_dates_beyond_the_series_have_no_answer(sites: Sites, date: str) -> None:
    plan = make_plan(sites, network(date=date), with_tables=True)
    assert set(plan.columns["sun_first_day"]) == {""}
    assert len(plan.tables["sun_site"]) == 0
    assert plan.facts.hub_sun == ()


def test_beams_too_wide_for_the_search_have_no_answer(sites: Sites) -> None:
    low = network().model_dump(exclude_unset=True)
    low |= {"outbound": {"uplink_ghz": 1.6, "downlink_ghz": 1.5}}
    low |= {"inbound": {"uplink_ghz": 1.6, "downlink_ghz": 1.5}}
    plan = make_plan(sites, Network.model_validate(low), with_tables=True)
    assert set(plan.columns["sun_first_day"]) == {""}
