"""Outages a year of the limiting direction at the site's end."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.physics.propagation.fade_duration import YEAR_S, fades_longer
from siteplan.planning.certainty.figures import lasting
from siteplan.planning.link.outage import site_outage_pct
from siteplan.planning.plan import equip, make_plan, see
from siteplan.planning.setting import setting

BASE: dict[str, Any] = {"network": {"date": "2026-06-01", "availability_pct": 99.7},
                        "satellite": {"longitude_deg": -61.0}}  # fmt: skip
LAT = np.array([-3.1, 20.0, 33.0, 45.0, 50.0])
LON = np.array([-60.0, -75.0, -80.0, -74.0, 100.0])


def network(**tables: Any) -> Network:
    return Network.model_validate(BASE | tables)


@pytest.mark.parametrize("limits", ["outbound", "inbound"])
def test_counts_are_those_of_the_method_at_the_sites_outage(limits: str) -> None:
    """P.1623-1 with the fade beyond gas that the site's end just holds, and its time a year."""
    strong = {"satellite_eirp_dbw": 60} if limits == "inbound" else {"satellite_eirp_dbw": 43}
    shared = setting(network(outbound=strong))
    sites = Sites.at(LAT, LON)
    seen = see(sites, shared)
    of = equip(sites, seen, shared)
    found = lasting(seen.at, of.sizing, of.achieved).fades
    way = of.sizing.ways[int(limits == "inbound")]
    share = site_outage_pct(way, 0.0)
    sky = way.sky(np.clip(share, 0.001, 5.0))
    ghz = 14.25 if limits == "inbound" else 11.95
    judged = of.sizing.limiting_direction == limits
    ours = judged & (share >= 0.001) & (share <= 5) & (seen.at.elevation_deg <= 60)
    assert np.count_nonzero(ours) >= 2
    for seconds, counts in ((10, found.outages_over_10_s), (600, found.outages_over_10_min)):
        expected = fades_longer(
            seconds, sky.total - sky.gas, seen.at.elevation_deg, ghz, share / 100 * YEAR_S
        )
        np.testing.assert_allclose(counts[ours], expected[ours], rtol=1e-12)
    assert (found.outages_over_10_min < found.outages_over_10_s)[ours].all()


def test_blank_and_told_where_the_method_ends() -> None:
    columns = make_plan(Sites.at(LAT, LON), network()).columns
    told, counts = columns["year_notes"], columns["outages_over_10_s"]
    steep = columns["elevation_deg"] > 60
    assert steep.any()
    assert np.isnan(counts[steep]).all()
    assert all("elevations from 5 to 60 degrees" in text for text in told[steep])
    assert not any("elevations from" in text for text in told[~steep])
    assert told[-1] == ""  # below the horizon there is nothing to tell
    assert np.isnan(counts[-1])


def test_a_carrier_under_10_ghz_has_none() -> None:
    carriers = {
        "outbound": {"uplink_ghz": 6.1, "downlink_ghz": 3.9},
        "inbound": {"uplink_ghz": 6.2, "downlink_ghz": 4.0},
    }
    columns = make_plan(Sites.at(LAT, LON), network(**carriers)).columns
    assert np.isnan(columns["outages_over_10_min"]).all()
    seen = ~np.isnan(columns["margin_db"])
    assert all("not at " in text and " GHz" in text for text in columns["year_notes"][seen])
    assert "not at " not in columns["year_notes"][-1]


def test_an_end_that_never_misses_is_counted_for_the_methods_least() -> None:
    strong = {"satellite_eirp_dbw": 75, "satellite_g_t_db_k": 10}
    huge = {"antennas": [{"diameter_m": 9.0}], "bucs": [{"rated_w": 500}]}
    free = {"power_share": "free", "symbol_rate_msps": 0.064}
    columns = make_plan(
        Sites.at(LAT[3:4], LON[3:4]), network(outbound=strong, inbound=strong | free, **huge)
    ).columns
    assert "upper bound: they are counted for 0.001 %" in columns["year_notes"][0]
    assert 0 < columns["outages_over_10_s"][0] < 100


def test_an_end_that_misses_in_dry_weather_has_none() -> None:
    weak = {"satellite_eirp_dbw": 30}
    small = {"antennas": [{"diameter_m": 0.6}]}
    columns = make_plan(Sites.at(LAT[2:4], LON[2:4]), network(outbound=weak, **small)).columns
    assert np.isnan(columns["outages_over_10_s"]).all()
    assert all("more than 5 % of an average year" in text for text in columns["year_notes"])
