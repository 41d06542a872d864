"""What sites offer and ask of a carrier: harmonic means, sums that are exact, what is left out."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.arrays import IntArray
from siteplan.planning.capacity.carriers import offered_kbit_s, rate_kbit_s
from siteplan.planning.capacity.traffic import PER_CARRIER, added, load_from, loads_of
from siteplan.planning.link.coding import information_rate_kbit_s
from tests.planning.capacity.given import columns, loads, network, sites


def test_offered_is_the_rate_while_active_times_activity() -> None:
    checked = network(traffic={"outbound_kbit_s": 512, "inbound_kbit_s": 128, "activity": 0.25})
    (found,) = loads(sites(4), checked)
    assert offered_kbit_s(found, 0) == pytest.approx(4 * 512 * 0.25, abs=1e-9)
    assert offered_kbit_s(found, 1) == pytest.approx(4 * 128 * 0.25, abs=1e-9)
    assert (found.sites, found.left_out, found.told) == (4, 0, (0, 0))


def test_a_site_may_have_traffic_of_its_own() -> None:
    own = {"outbound_kbit_s": np.array([1000.0, np.nan, 0.0])}
    (found,) = loads(sites(3, **own), network())
    assert offered_kbit_s(found, 0) == pytest.approx((1000 + 256) * 0.2, abs=1e-9)
    assert found.told == (2, 0)


def test_a_fixed_carrier_asks_for_bits_over_its_rate() -> None:
    checked = network()
    (found,) = loads(sites(7), checked)
    rate = information_rate_kbit_s(checked.outbound)
    assert rate == pytest.approx(6000 * 1.487473 * 0.95, rel=1e-9)  # EN 302 307-1, QPSK 3/4
    assert found.asked[0] / PER_CARRIER == pytest.approx(7 * 256 * 0.2 / rate, rel=1e-9)
    assert rate_kbit_s(found, 0) == pytest.approx(rate, rel=1e-9)


def test_two_sites_of_efficiency_one_and_three_have_one_and_a_half() -> None:
    """Equal bits: the slow one takes three quarters of the time."""
    rates = np.array([1.0, 3.0]) * 6000 * 0.95
    (found,) = loads(sites(2), network(), outbound_mean_kbit_s=rates)
    assert rate_kbit_s(found, 0) / (6000 * 0.95) == pytest.approx(1.5, rel=1e-9)


def test_a_site_to_which_nothing_gets_through_is_told() -> None:
    rates = np.array([3000.0, 0.0, np.nan])
    (found,) = loads(sites(3), network(), outbound_mean_kbit_s=rates)
    assert found.unrated == (2, 0)
    assert found.asked[0] / PER_CARRIER == pytest.approx(51.2 / 3000, rel=1e-9)


def test_sites_without_kit_are_left_out() -> None:
    antennas, power = np.array([1.2, np.nan, 1.8]), np.array([0.1, np.nan, 0.3])
    (found,) = loads(sites(3), network(), antenna_m=antennas, power_equivalent_mhz=power)
    assert (found.sites, found.left_out) == (2, 1)
    assert found.power_equivalent_mhz == 0.3
    assert offered_kbit_s(found, 0) == pytest.approx(2 * 51.2, abs=1e-9)


def test_totals_of_ten_thousand_sites_are_the_sums_of_their_groups() -> None:
    rng, n = np.random.default_rng(3), 10_000
    own = {"outbound_kbit_s": rng.uniform(0, 3e4, n), "inbound_kbit_s": rng.uniform(0, 99, n)}
    everyone, checked = sites(n, **own), network()
    made = columns(n, power_equivalent_mhz=rng.uniform(0, 1, n))

    def of(index: IntArray) -> object:
        return loads_of(everyone.take(index), {k: v[index] for k, v in made.items()}, checked)[0]

    whole = of(np.arange(n))
    groups = np.array_split(rng.permutation(n), 37)
    assert added(of(index) for index in groups) == (whole,)  # to the last unit


def test_the_largest_of_traffics_is_summed_without_loss() -> None:
    own = {"outbound_kbit_s": np.full(20_000, 1e6)}
    (found,) = loads(sites(20_000, **own), network(traffic={"activity": 1}))
    assert offered_kbit_s(found, 0) == pytest.approx(2e10, rel=1e-12)


def test_a_beam_is_a_pool() -> None:
    beams = np.array(["north", "south", "north", ""], dtype=object)
    found = loads(sites(4), network(), beam=beams)
    assert [(load.pool, load.sites) for load in found] == [("north", 2), ("south", 1)], (
        "what lies in no beam is in no pool"
    )


def test_a_load_comes_back_from_plain_data() -> None:
    import json
    from dataclasses import asdict

    (found,) = loads(sites(5), network())
    assert load_from(json.loads(json.dumps(asdict(found)))) == found
