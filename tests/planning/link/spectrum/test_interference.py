"""Interference in the link: limiting cases and laws, through the functions that the plan uses."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from siteplan.physics.radio.antennas import wavelength_m
from siteplan.physics.radio.patterns import PATTERNS
from siteplan.planning.link.ends import Dish, Kit, Links
from siteplan.planning.link.hubfade import HubFade, HubLeak, joint_outage_pct
from siteplan.planning.link.outage import margin_db, split_pct
from siteplan.planning.link.spectrum.interference import (
    cross_polar_ci_db,
    outbound_ci_db,
    satellites_ci_db,
)
from siteplan.planning.link.ways import Way, both, outbound
from tests.planning.link.spectrum.given import all_on, links_at, network

LAT, LON = [-3.1, 12.0, 25.0, -30.0, 4.0, -18.0], [-60.0, -48.0, -75.0, -61.0, -90.0, -40.0]
#: A dish of the catalogue's usual size.
DISH = Dish(1.2, 0.65)


def kit(n: int, size_m: float = 1.8, power_w: float = 4.0) -> Kit:
    """Return the same kit at n sites."""
    size, watts = np.full(n, size_m), np.full(n, power_w)
    return Kit(
        size, watts, np.full(n, "picked", dtype=object), size, np.full(n, 0.65), np.zeros(n),
        watts, 10 * np.log10(watts) - 1, np.zeros(n, dtype=np.intp), np.full(n, 30.0),
    )  # fmt: skip


def link(**tables: Any) -> Links:
    return links_at(network(**tables), LAT, LON)


def ways(which: str = "on") -> tuple[Way, Way]:
    """Return both directions of the sites, everything on, or without a key of interference."""
    whole = links_at(all_on() if which == "on" else network(), LAT, LON)
    return both(whole, kit(len(LAT)))


def satellite_deg(away_deg: float) -> Any:
    """Return the separations of one neighbour at the sites (1, n) [deg]."""
    others = link(neighbours=[{"longitude_deg": -61 + away_deg}]).interference
    assert others is not None
    return others.separation_deg


def levels(whole: Links, db: float) -> Links:
    """Return links whose neighbours have a level, whatever the keys' range."""
    others = whole.interference
    assert others is not None
    mean = others.density_dbw_hz[0]
    return replace(
        whole,
        interference=replace(others, density_dbw_hz=(mean + db,) * len(others.density_dbw_hz)),
    )


def test_neighbours_of_no_strength_change_nothing() -> None:
    """A level of -200 dB is that without neighbours, to 1e-6 dB."""
    faint = levels(link(neighbours=[{"longitude_deg": -63}, {"longitude_deg": -59}]), -200.0)
    bare = link()
    found, expected = outbound(faint, DISH).clear_db, outbound(bare, DISH).clear_db
    np.testing.assert_allclose(found, expected, rtol=0, atol=1e-6)
    assert outbound_ci_db(bare, DISH) == bare.outbound.ci_db  # exactly: nothing is added


def test_perfect_isolation_changes_next_to_nothing() -> None:
    """80 dB at satellite and dish, no rain: 2e-5 dB."""
    bare = outbound(link(), DISH)
    across = cross_polar_ci_db(0.0, 80.0, 80.0)
    assert across == pytest.approx(80 - 3.0103, abs=1e-4)
    others = link(outbound={"cross_polar_level_db": 0.0})
    satellite = others.network.satellite.model_copy(update={"xpi_db": 80.0})
    sharp = others.network.model_copy(update={"satellite": satellite})
    isolated = outbound(replace(others, network=sharp), DISH._replace(xpi_db=80.0))
    np.testing.assert_allclose(isolated.clear_db, bare.clear_db, rtol=0, atol=2e-5)


def test_two_neighbours_are_one_twice_as_strong() -> None:
    """Each L dB is one of L + 3.01 dB; the key refuses one position twice, so it is put in here."""
    single = link(neighbours=[{"longitude_deg": -63.0}])
    stronger = levels(single, 10 * np.log10(2.0))
    assert single.interference is not None
    doubled = replace(
        single.interference,
        separation_deg=np.repeat(single.interference.separation_deg, 2, axis=0),
        density_dbw_hz=single.interference.density_dbw_hz * 2,
    )
    np.testing.assert_allclose(
        satellites_ci_db(replace(single, interference=doubled), DISH),
        satellites_ci_db(stronger, DISH),
        rtol=0,
        atol=1e-9,
    )


def test_east_and_west_are_alike_on_the_meridian() -> None:
    """At a site on the satellite's meridian a neighbour does the same from either side."""
    found = [
        satellites_ci_db(
            links_at(
                network(neighbours=[{"longitude_deg": -61 + side * away, "downlink_level_db": db}
                                    for away, db in ((2.0, 0.0), (3.5, 4.0))]),
                [10.0, -35.0], [-61.0, -61.0],
            ),
            DISH,
        )
        for side in (1, -1)
    ]  # fmt: skip
    np.testing.assert_allclose(found[0], found[1], rtol=0, atol=1e-9)


@settings(max_examples=60, deadline=None)
@given(
    pattern=st.sampled_from(PATTERNS),
    size=st.floats(0.5, 6.0),
    away=st.floats(1.5, 8.0),
    loss=st.floats(0.0, 1.0),
)
def test_a_larger_dish_never_hears_more_of_them(
    pattern: str, size: float, away: float, loss: float
) -> None:
    """Where the neighbour stands among the side lobes.

    Nearer, on the plateau of S.580 between 50 and 100 wavelengths, the lobe grows as 25 log and the
    gain as 20 log of the diameter.
    """
    x = size / wavelength_m(11.95)
    nearest = np.min(satellite_deg(away)) - 70 / x * np.sqrt(loss / 12)
    assume(nearest > max(100 / x, 2.0, 114 * x**-1.09))  # where each pattern's side lobes begin
    whole = link(neighbours=[{"longitude_deg": -61 + away}], terminal={"pointing_loss_db": loss})
    number = PATTERNS.index(pattern)
    small, large = (satellites_ci_db(whole, Dish(d, 0.65, number)) for d in (size, size * 1.05))
    assert small is not None
    assert large is not None
    assert (large >= small - 1e-9).all()


@pytest.mark.parametrize("index", [[0], [1, 4], [0, 2, 3, 5], []])
def test_taken_sites_are_the_wholes_rows(index: list[int]) -> None:
    at = np.array(index, dtype=np.intp)
    p_pct = np.geomspace(0.01, 4.0, len(LAT))
    whole = links_at(all_on(), LAT, LON)
    part = both(whole.take(at), kit(len(at)))
    for way, taken, anew in zip(ways(), (w.take(at) for w in ways()), part, strict=True):
        expected = margin_db(way, p_pct)[at]
        for found in (taken, anew):
            np.testing.assert_array_equal(found.clear_db, way.clear_db[at])
            np.testing.assert_array_equal(margin_db(found, p_pct[at]), expected)


@pytest.mark.parametrize("which", ["on", "off"])
def test_the_hubs_outage_gives_its_level_back(which: str) -> None:
    """Outage of a level, and level of that outage, to 1e-9 dB where the outage is within range."""
    for way in ways(which):
        for below_db in (0.05, 0.4, 1.5, 4.0, 9.0):
            level = way.clear_db - below_db
            p = way.hub_outage_pct(level)
            inside = (p > 0) & np.isfinite(p)
            back = way.hub_db(np.where(inside, p, 1.0))
            np.testing.assert_allclose(back[inside], level[inside], rtol=0, atol=1e-9)
            # What holds always holds at the least percentage; what never does, not at the most.
            assert (way.hub_db(0.001)[p == 0] >= level[p == 0] - 1e-9).all()
            assert (way.hub_db(50.0)[np.isinf(p)] < level[np.isinf(p)] + 1e-9).all()


def test_some_outages_of_the_hub_lie_within_range() -> None:
    inbound = ways()[1]
    p = inbound.hub_outage_pct(inbound.clear_db - 1.5)
    assert ((p > 0) & np.isfinite(p)).all()


def test_a_leak_that_is_nothing_leaves_the_fade_s_own_outage() -> None:
    ln_p = np.log(np.geomspace(0.001, 50, 400))
    fade = HubFade(ln_p, np.linspace(20.0, 0.0, 400) ** 1.3)
    leak = HubLeak(ln_p, np.full(400, 300.0))
    down = np.full(5, 18.0)
    lost = np.array([0.0, 0.3, 4.0, 30.0, 60.0])
    found = joint_outage_pct(fade, leak, down, 10 ** ((lost - down) / 10))
    np.testing.assert_allclose(found, fade.outage_pct(lost), rtol=1e-9)


@pytest.mark.parametrize("level_db", [-20.0, 0.0, 10.0])
def test_less_outage_never_buys_margin(level_db: float) -> None:
    """Both ends' margins rise with the outage that they may have."""
    carriers = {w: {"cross_polar_level_db": level_db} for w in ("outbound", "inbound")}
    whole = links_at(all_on(**carriers), LAT, LON)
    p = np.geomspace(0.001, 50, 160)
    for way in both(whole, kit(len(LAT))):
        wide = way.beyond_frozen()
        for end in (wide.site_db, wide.hub_db):
            found = np.stack([end(np.full(len(LAT), x)) for x in p])
            assert (np.diff(found, axis=0) >= -1e-9).all()


def test_the_strongest_leak_buys_a_hair_of_margin_at_most() -> None:
    """20 dB above ours, circular: canting and ice make up 0.02 dB under 0.003 % of time."""
    turned = {"uplink_polarization": "circular", "downlink_polarization": "circular"}
    carriers = {w: {"cross_polar_level_db": 20.0} | turned for w in ("outbound", "inbound")}
    way = both(links_at(all_on(**carriers), LAT, LON), kit(len(LAT)))[0].beyond_frozen()
    p = np.geomspace(0.001, 50, 400)
    found = np.stack([way.site_db(np.full(len(LAT), x)) for x in p])
    least = np.minimum.accumulate(found[::-1], axis=0)[::-1]
    assert (found - least).max() < 0.03
    np.testing.assert_array_equal(found[p > 0.01], least[p > 0.01])


@pytest.mark.parametrize("allowed_pct", [0.05, 0.5, 3.0, 8.0])
@pytest.mark.parametrize("level_db", [-2.0, 12.0])
def test_the_split_sums_up_and_gives_the_margin_back(level_db: float, allowed_pct: float) -> None:
    carriers = {w: {"cross_polar_level_db": level_db} for w in ("outbound", "inbound")}
    whole = links_at(all_on(**carriers), LAT, LON)
    p = np.full(len(LAT), allowed_pct)
    for way in both(whole, kit(len(LAT))):
        wide = way.beyond_frozen()
        margin = margin_db(wide, p)
        site, hub = split_pct(wide, margin, p)
        np.testing.assert_allclose(site + hub, p, rtol=0, atol=1e-12)
        again = np.minimum(wide.site_db(site), np.where(hub > 0, wide.hub_db(hub), np.inf))
        np.testing.assert_allclose(again, margin, rtol=0, atol=1e-4)
