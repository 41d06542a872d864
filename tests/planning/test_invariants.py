"""What a change must do, and what it must leave alone, for any network and place."""

from __future__ import annotations

from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.model import Sites
from siteplan.physics.propagation.mapped.cloud_maps import OLDER
from siteplan.planning.place import place
from siteplan.results import Plan
from tests.planning.drawn import Drawn, drawn, sixty_fourths, wrapped

#: What each direction shows of the link.
OUTBOUND = (
    "outbound_margin_db", "outbound_clear_es_n0_db", "outbound_fade_margin_db",
    "outbound_availability_pct", "remote_g_t_db_k", "downlink_attenuation_db",
    "downlink_gas_db", "downlink_cloud_db", "downlink_rain_db", "downlink_scintillation_db",
)  # fmt: skip
INBOUND = (
    "inbound_margin_db", "inbound_clear_es_n0_db", "inbound_fade_margin_db",
    "inbound_availability_pct", "remote_eirp_dbw", "uplink_attenuation_db",
    "uplink_gas_db", "uplink_cloud_db", "uplink_rain_db", "uplink_scintillation_db",
)  # fmt: skip
ANGLES = ("azimuth_true_deg", "elevation_deg", "slant_range_km", "skew_deg")
#: Rounding that an order of two margins must survive [dB].
ROUNDING_DB = 1e-9
#: Along the horizon, attenuation has no bounds: levels are held at -1000 dB.
DROWNED_DB = -300.0


def equal(a: Plan, b: Plan, names: tuple[str, ...], why: str) -> None:
    """The fields are the same to the last bit."""
    for name in names:
        np.testing.assert_array_equal(a.columns[name], b.columns[name], err_msg=f"{why}: {name}")


def rises(a: Plan, b: Plan, name: str, why: str) -> None:
    """The field is nowhere smaller in the second plan, and blank at the same sites."""
    before, after = a.columns[name], b.columns[name]
    np.testing.assert_array_equal(np.isnan(before), np.isnan(after), err_msg=f"{why}: {name}")
    assert not np.any(after < before - ROUNDING_DB), f"{why}: {name}"


def strictly(a: Plan, b: Plan, name: str, why: str) -> None:
    """The field is larger in the second plan, but where a path that skims the horizon drowns it."""
    before, after = a.columns[name], b.columns[name]
    there = before > DROWNED_DB
    assert np.all(after[there] > before[there]), f"{why}: {name}"


@given(case=drawn(), more=st.floats(0.1, 5))
@settings(max_examples=8)
def test_what_helps_one_direction_leaves_the_other_alone(case: Drawn, more: float) -> None:
    base = case.plan()
    eirp = {way: case.tables[way]["satellite_eirp_dbw"] + more for way in ("outbound", "inbound")}

    better = case.changed("outbound", satellite_eirp_dbw=eirp["outbound"]).plan()
    rises(base, better, "outbound_margin_db", "more EIRP outbound")
    strictly(base, better, "outbound_clear_es_n0_db", "more EIRP outbound")
    equal(base, better, INBOUND, "more EIRP outbound")

    better = case.changed("inbound", satellite_eirp_dbw=eirp["inbound"]).plan()
    rises(base, better, "inbound_margin_db", "more EIRP inbound")
    strictly(base, better, "inbound_clear_es_n0_db", "more EIRP inbound")
    equal(base, better, OUTBOUND, "more EIRP inbound")

    noisy = case.changed("hub", lna_noise_k=70.0 + 20 * more).plan()
    strictly(noisy, base, "inbound_margin_db", "more noise at the hub")
    strictly(noisy, base, "inbound_clear_es_n0_db", "more noise at the hub")
    equal(base, noisy, OUTBOUND, "more noise at the hub")

    noisy = case.changed("terminal", lnb_noise_k=75.0 + 20 * more).plan()
    strictly(noisy, base, "remote_g_t_db_k", "more noise at the LNB")
    rises(noisy, base, "outbound_margin_db", "more noise at the LNB")
    equal(base, noisy, INBOUND, "more noise at the LNB")

    power = case.tables["hub"]["power_control_db"] + more
    held = case.changed("hub", power_control_db=power).plan()
    rises(base, held, "outbound_margin_db", "more power control")
    equal(base, held, (*INBOUND, "outbound_clear_es_n0_db"), "more power control")

    strong = case._replace(tables=case.tables | {"bucs": [{"rated_w": 20.0 + more}]}).plan()
    rises(base, strong, "inbound_margin_db", "more power")
    equal(base, strong, OUTBOUND, "more power")


@given(case=drawn(), other=drawn())
@settings(max_examples=8)
def test_a_directions_carrier_changes_nothing_in_the_other(case: Drawn, other: Drawn) -> None:
    base = case.plan()
    out = case.changed("outbound", **other.tables["outbound"]).plan()
    equal(base, out, INBOUND, "another outbound carrier")
    back = case.changed("inbound", **other.tables["inbound"]).plan()
    equal(base, back, OUTBOUND, "another inbound carrier")


@given(case=drawn(), factor=st.floats(1.01, 3), lost=st.floats(0.1, 3))
@settings(max_examples=8)
def test_what_moves_both_directions(case: Drawn, factor: float, lost: float) -> None:
    base = case.plan()
    size = case.tables["antennas"][0]["diameter_m"] * factor
    larger = case._replace(tables=case.tables | {"antennas": [{"diameter_m": size}]}).plan()
    wet = case.tables["terminal"]["wet_loss_db"] + lost
    wetter = case.changed("terminal", wet_loss_db=wet).plan()
    # At one outage of the site: as it falls, the hub's part moves with the dish, and with it p.
    fixed = case.changed("rules", hub_outage_share=0.2)
    fixed_larger = fixed._replace(tables=fixed.tables | {"antennas": [{"diameter_m": size}]})
    for end in ("uplink", "downlink"):
        rises(fixed_larger.plan(), fixed.plan(), f"{end}_scintillation_db", "a larger dish")
    for way in ("outbound", "inbound"):
        rises(base, larger, f"{way}_margin_db", "a larger dish")
        # A remote that is held to its share of power gains nothing in clear sky.
        grows = (
            rises if way == "inbound" and case.network.inbound.power_share == "own" else strictly
        )
        grows(base, larger, f"{way}_clear_es_n0_db", "a larger dish")
        rises(wetter, base, f"{way}_margin_db", "a wetter dish")
        equal(base, wetter, (f"{way}_clear_es_n0_db",), "a wetter dish")


@given(case=drawn(), rarer=st.floats(1.01, 5))
@settings(max_examples=12)
def test_a_higher_target_never_raises_a_margin(case: Drawn, rarer: float) -> None:
    outage = 100 - case.tables["network"]["availability_pct"]
    target = 100 - max(outage / rarer, 0.001)
    base, hard = case.plan(), case.changed("network", availability_pct=target).plan()
    for way in ("outbound", "inbound"):
        rises(hard, base, f"{way}_margin_db", "a higher target")
        equal(base, hard, (f"{way}_clear_es_n0_db",), "a higher target")


@given(case=drawn())
@settings(max_examples=15)
def test_a_margin_of_zero_or_more_is_a_target_met(case: Drawn) -> None:
    plan = case.plan()
    for way in ("outbound", "inbound"):
        margin = plan.columns[f"{way}_margin_db"]
        met = plan.columns[f"{way}_availability_pct"] >= case.tables["network"]["availability_pct"]
        assert np.all(met[margin >= 0]), way
        assert not np.any(met[margin < -1e-6]), way


@given(case=drawn())
@settings(max_examples=8)
def test_a_hub_whose_rain_is_not_counted_does_nothing_outbound(case: Drawn) -> None:
    dry = case.changed("rules", hub_outage_share=0.0)
    there = {"lat": -case.tables["hub"]["lat"], "power_control_db": 3.0}
    equal(dry.plan(), dry.changed("hub", **there).plan(), OUTBOUND, "another hub")


@given(case=drawn())
@settings(max_examples=40)
def test_the_south_mirrors_the_north(case: Drawn) -> None:
    """Elevation and range stay; azimuth and skew turn over."""
    level = {"altitude_m": np.zeros(len(case.lat))}
    feed = case.changed("outbound", downlink_polarization="vertical")  # else there is no skew
    north, south = (_angles(feed._replace(lat=lat), level) for lat in (case.lat, -case.lat))
    for name in ("elevation_deg", "slant_range_km"):
        np.testing.assert_allclose(south[name], north[name], rtol=0, atol=1e-9, err_msg=name)
    _same_turn(south["azimuth_true_deg"], 180 - north["azimuth_true_deg"], 360)
    _same_turn(south["skew_deg"], -north["skew_deg"], 180)


@given(case=drawn(), turn=sixty_fourths(-180, 180))
@settings(max_examples=40)
def test_angles_depend_on_the_longitude_between_site_and_satellite_alone(
    case: Drawn, turn: float
) -> None:
    level = {"altitude_m": np.zeros(len(case.lat))}
    feed = case.changed("outbound", downlink_polarization="vertical")
    position = float(wrapped(feed.tables["satellite"]["longitude_deg"] + turn))
    hub = float(wrapped(feed.tables["hub"]["lon"] + turn))
    turned = feed.changed("satellite", longitude_deg=position).changed("hub", lon=hub)
    here = _angles(feed, level)
    there = _angles(turned._replace(lon=wrapped(feed.lon + turn)), level)
    for name in ANGLES:
        np.testing.assert_array_equal(there[name], here[name], err_msg=name)


@given(case=drawn())
@settings(max_examples=8)
def test_a_longitude_written_with_360_more_is_the_same_place(case: Drawn) -> None:
    """The link to the last bit, all else to rounding (the magnetic model, the sun)."""
    position, hub = case.tables["satellite"]["longitude_deg"], case.tables["hub"]["lon"]
    east = case.changed("satellite", longitude_deg=position + 360 * (position <= 0))
    east = east.changed("hub", lon=hub + 360 * (hub <= 0))._replace(lon=case.lon + 360)
    here, there = case.plan(), east.plan()
    for name, values in here.columns.items():
        if name == "lon":
            continue
        if values.dtype == object:
            assert values.tolist() == there.columns[name].tolist(), name
        else:
            np.testing.assert_allclose(
                there.columns[name], values, rtol=1e-9, atol=1e-9, err_msg=name
            )
    equal(here, there, (*ANGLES, *OUTBOUND, *INBOUND), "360 degrees more")


def _angles(case: Drawn, known: dict[str, Any]) -> dict[str, np.ndarray]:
    """Return what the plan's first step says of the angles."""
    at = place(Sites.at(case.lat, case.lon, **known), case.network, OLDER)
    return {name: getattr(at, name) for name in ANGLES}


def _same_turn(a: np.ndarray, b: np.ndarray, period: float) -> None:
    """The angles are the same but for whole turns; blank at the same sites."""
    np.testing.assert_array_equal(np.isnan(a), np.isnan(b))
    apart = (a - b + period / 2) % period - period / 2
    assert not np.any(np.abs(apart) > 1e-7)
