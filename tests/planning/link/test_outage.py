"""The outage rule: a sum of both ends', against brute force over every split."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.link.outage import margin_db, site_outage_pct, split_pct
from siteplan.planning.link.ways import Way
from siteplan.planning.plan import make_plan
from siteplan.planning.setting import setting
from tests.planning.link.spectrum.given import ALL_ON
from tests.planning.worked import work_out

#: Bands, hubs with and without power control, dry and rainy.
NETWORKS: dict[str, dict[str, Any]] = {
    "Ku, rainy hub": {"hub": {"lat": 1.35, "lon": 103.8}, "satellite": {"longitude_deg": 95}},
    "Ku, power control": {
        "hub": {"lat": 50.1, "lon": 8.7, "power_control_db": 5},
        "satellite": {"longitude_deg": 13},
    },
    "Ka, power control": {
        "hub": {"lat": 1.35, "lon": 103.8, "power_control_db": 10},
        "satellite": {"longitude_deg": 95},
        "outbound": {"uplink_ghz": 29.0, "downlink_ghz": 19.2, "satellite_eirp_dbw": 58},
        "inbound": {"uplink_ghz": 29.3, "downlink_ghz": 19.5, "satellite_g_t_db_k": 14},
    },
    "Ku, interference": ALL_ON
    | {"hub": {"lat": -15.8, "lon": -47.9}, "satellite": {"longitude_deg": -61}},
    "wet dish": {
        "hub": {"lat": -15.8, "lon": -47.9},
        "satellite": {"longitude_deg": -61},
        "terminal": {"wet_loss_db": 1.5},
    },
}
TARGETS = (60.0, 89.0, 93.0, 94.9, 95.0, 99.5, 99.9)


def network(name: str, **tables: Any) -> Network:
    return Network.model_validate(NETWORKS[name] | tables)


def places(checked: Network, n: int) -> Sites:
    """Random places at 5 degrees of elevation and above."""
    rng = np.random.default_rng(7)
    lat = np.rad2deg(np.arcsin(rng.uniform(-0.97, 0.97, 4 * n)))
    lon = checked.satellite.longitude_deg + rng.uniform(-75, 75, 4 * n)
    sites = Sites.at(lat, (lon + 180) % 360 - 180)
    high = np.flatnonzero(make_plan(sites, checked).columns["elevation_deg"] >= 5)
    return sites.take(high[:n])


def brute_db(way: Way, p_pct: float) -> np.ndarray[Any, Any]:
    """The best of 200 splits, then of those about the best, twice.

    Below 0.001 % an end is flat: of equal splits both the first and the last are looked at.
    """
    ends = (zoomed_db(way, np.linspace(*ends, 201)) for ends in ((0, p_pct), (p_pct, 0)))
    return np.maximum(*ends)


def zoomed_db(way: Way, splits: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    n, p_pct = len(way.link), splits.max()
    at = splits[:, None] * np.ones(n)
    step = np.full(n, p_pct / (len(splits) - 1))
    for _ in range(3):
        worse = np.stack([np.minimum(way.site_db(p_pct - hub), way.hub_db(hub)) for hub in at])
        best = np.argmax(worse, axis=0)
        centre = at[best, np.arange(n)]
        at = np.clip(centre + np.linspace(-1, 1, 61)[:, None] * step, 0, p_pct)
        step = step / 30
    return np.asarray(worse.max(axis=0))


@pytest.mark.parametrize("name", NETWORKS)
def test_no_split_of_the_outage_gives_more(name: str) -> None:
    checked = network(name)
    done = work_out(places(checked, 30), setting(checked))
    for target in TARGETS:
        p = 100 - target
        for way in done.ways:
            soaked = way.beyond_frozen()
            found = margin_db(soaked, np.full(len(done.link), p))
            np.testing.assert_allclose(found, brute_db(soaked, p), atol=0.005)


@pytest.mark.parametrize("name", NETWORKS)
@pytest.mark.parametrize("target", [93.0, 95.0, 99.5])
def test_the_split_told_sums_up_and_gives_the_margin_back(name: str, target: float) -> None:
    checked = network(name, network={"availability_pct": target})
    sites = places(checked, 12)
    c = make_plan(sites, checked).columns
    for way in ("outbound", "inbound"):
        site, hub = c[f"{way}_site_outage_pct"], c[f"{way}_hub_outage_pct"]
        np.testing.assert_allclose(site + hub, 100 - target, rtol=0, atol=1e-9)
        for i in range(len(sites)):
            kit = {"fixed_antenna_m": c["antenna_m"][[i]], "fixed_buc_w": c["buc_w"][[i]]}
            if np.isnan(c["antenna_m"][i]):
                continue
            rules = {"rules": {"hub_outage_share": float(hub[i] / (100 - target))}}
            alone = Sites.at(sites.lat[[i]], sites.lon[[i]], **kit)
            again = make_plan(alone, network(name, network={"availability_pct": target}, **rules))
            same = again.columns[f"{way}_margin_db"][0]
            assert same == pytest.approx(c[f"{way}_margin_db"][i], abs=0.001)


#: Margins, required diameter and availability by brute force over splits with an independent
#: prototype of the same rule: place, target, the network's figures, then what must come out.
TROPICAL, EUROPEAN = (1.35, 103.8, 95.0), (50.1, 8.7, 13.0)
CASES: list[Any] = [
    (TROPICAL, "Ku", 0, 0, 1.3, 110.35, 99.5, 49, 4,
     (1.8, 1, 1.502, 0.3274, 6.886, 0.0103, 1.6231, 99.6636, 99.8959)),
    (TROPICAL, "Ku", 0, 0, -33.9, 115.9, 99.7, 52, 4,
     (1.8, 1, 1.825, 0.2982, 10.427, 0.0884, 1.2673, 99.8067, 99.9979)),
    (TROPICAL, "Ku", 10, 0, 28.6, 77.2, 99.9, 46, 4,
     (2.4, 1, 2.478, 0.0451, 7.682, 0.0061, 1.8953, 99.9511, 99.9865)),
    (EUROPEAN, "Ku", 0, 0, 52.5, 13.4, 99.7, 45, 4,
     (1.2, 1, 1.184, 0.1212, 7.369, 0.0041, 1.1696, 99.8713, 99.9931)),
    (EUROPEAN, "Ku", 0, 1.5, -1.29, 36.82, 99.9, 52, 2,
     (1.2, 1, 2.573, 0.0242, 1.590, 0.0, 1.1124, 99.9738, 99.9525)),
    (TROPICAL, "Ka", 10, 0, -25.3, 131.0, 99.0, 55, 6,
     (1.2, 1, 3.830, 0.8420, 6.268, 0.0499, 0.7162, 99.2957, 99.7904)),
    (EUROPEAN, "Ku", 5, 0, 59.9, 10.75, 99.95, 46, 4,
     (1.8, 1, 2.536, 0.0072, 7.403, 0.0, 1.4512, 99.9843, 99.9958)),
    (TROPICAL, "Ku", 5, 0, -6.2, 106.8, 99.0, 44, 4,
     (1.8, 1, 2.549, 0.2188, 9.631, 0.0409, 1.4450, 99.5704, 99.9349)),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case[4]:g} N {case[5]:g} E")
def test_worked_cases(case: Any) -> None:
    (hub_lat, hub_lon, slot), band, control, wet, lat, lon, target, eirp, g_t, expected = case
    out: dict[str, Any] = {"satellite_eirp_dbw": eirp}
    back = {"satellite_eirp_dbw": 52, "satellite_g_t_db_k": g_t, "power_share": "free"}
    if band == "Ka":
        out |= {"uplink_ghz": 29.0, "downlink_ghz": 19.2, "satellite_g_t_db_k": 14}
        out |= {"sfd_dbw_m2": -95}
        back |= {"uplink_ghz": 29.3, "downlink_ghz": 19.5, "satellite_eirp_dbw": 58}
        back |= {"sfd_dbw_m2": -95}
    checked = Network.model_validate(
        {
            "network": {"availability_pct": target},
            "satellite": {"longitude_deg": slot},
            "hub": {"lat": hub_lat, "lon": hub_lon, "antenna_m": 7, "power_control_db": control},
            "outbound": out,
            "inbound": back,
            "terminal": {"wet_loss_db": wet},
        }
    )
    c = {k: v[0] for k, v in make_plan(Sites.at(np.array([lat]), np.array([lon])), checked)
         .columns.items()}  # fmt: skip
    antenna, buc, out_db, out_hub, in_db, in_hub, required, out_pct, in_pct = expected
    assert (c["antenna_m"], c["buc_w"]) == (antenna, buc)
    assert c["outbound_margin_db"] == pytest.approx(out_db, abs=0.003)
    assert c["inbound_margin_db"] == pytest.approx(in_db, abs=0.003)
    tolerance = 0.005 * (100 - target)
    assert c["outbound_hub_outage_pct"] == pytest.approx(out_hub, abs=tolerance)
    assert c["inbound_hub_outage_pct"] == pytest.approx(in_hub, abs=tolerance)
    assert c["required_antenna_m"] == pytest.approx(required, abs=1e-4)
    assert c["outbound_availability_pct"] == pytest.approx(out_pct, abs=1e-4)
    assert c["inbound_availability_pct"] == pytest.approx(in_pct, abs=1e-4)


def test_without_a_hub_the_sites_get_the_whole_outage() -> None:
    checked = Network.model_validate({"satellite": {"longitude_deg": -61}})
    c = make_plan(Sites.at(np.array([-3.1]), np.array([-60.0])), checked).columns
    for way in ("outbound", "inbound"):
        assert c[f"{way}_site_outage_pct"][0] == pytest.approx(0.5, abs=1e-12)
        assert c[f"{way}_hub_outage_pct"][0] == 0
    assert c["limiting_end"][0] == "site"


def test_below_the_horizon_there_is_no_split() -> None:
    c = make_plan(Sites.at(np.array([50.0]), np.array([90.0])), network("wet dish")).columns
    assert np.isnan(c["outbound_hub_outage_pct"][0])
    assert np.isnan(c["inbound_site_outage_pct"][0])
    assert c["limiting_end"][0] == ""


def test_an_outage_of_nought_and_one_without_end() -> None:
    checked = network("Ku, rainy hub")
    way = work_out(places(checked, 5), setting(checked)).ways[0]
    assert site_outage_pct(way, -200.0).tolist() == [0.0] * 5
    assert np.isinf(site_outage_pct(way, 200.0)).all()
    p = np.full(5, 0.5)
    site, hub = split_pct(way, margin_db(way, p), p)
    assert np.all((hub > 0) & (site > 0))


def test_a_dish_is_wet_only_while_it_rains() -> None:
    """At 23 N 30 E it rains five millionths of the year: nothing is taken off there."""
    tables: dict[str, Any] = {"satellite": {"longitude_deg": 30}}
    dry, wet = (
        make_plan(
            Sites.at(np.array([23.0, 0.0]), np.array([30.0, 30.0])),
            Network.model_validate(tables | {"terminal": {"wet_loss_db": loss}}),
        ).columns
        for loss in (0.0, 2.0)
    )
    for name in ("outbound_margin_db", "inbound_margin_db"):
        assert wet[name][0] == pytest.approx(dry[name][0], abs=1e-9)
        assert wet[name][1] < dry[name][1] - 1.0


def test_a_dish_is_dry_in_more_time_than_it_rains() -> None:
    tables: dict[str, Any] = {"satellite": {"longitude_deg": 30},
                              "terminal": {"wet_loss_db": 2.0}}  # fmt: skip
    way = work_out(
        Sites.at(np.array([0.0]), np.array([30.0])), setting(Network.model_validate(tables))
    ).ways[0]
    rains = float(way.link.site.down.wet_until_pct[0])
    assert 1 < rains < 5
    just, beyond = (way.site_db(np.array([rains * x]))[0] for x in (1.0, 1 + 1e-9))
    assert beyond - just > 2.0  # the loss and its noise


@pytest.mark.parametrize("name", NETWORKS)
def test_levels_beyond_a_doubles_range_are_held_by_the_hub(name: str) -> None:
    """Grazing paths fade by thousands of decibels; no warning, and nothing asked of the hub."""
    checked = network(name)
    done = work_out(places(checked, 4), setting(checked))
    for way in done.ways:
        for level in (-2950.0, -4000.0, -1e5):
            np.testing.assert_array_equal(way.hub_outage_pct(np.full(4, level)), np.zeros(4))
