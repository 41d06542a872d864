"""How many carriers and lines a traffic asks for."""

from __future__ import annotations

import math

import numpy as np
import pytest

from siteplan.answers.capacity import PoolLoad
from siteplan.physics.radio.queues import lines_for
from siteplan.planning.capacity.carriers import need, repeated, whole_up
from siteplan.planning.link.coding import information_rate_kbit_s
from tests.planning.capacity.given import loads, network, sites


def test_inbound_carriers_are_offered_over_what_may_be_used() -> None:
    checked = network()
    rate = information_rate_kbit_s(checked.inbound)
    for n in (1, 11, 12, 100, 1000):
        (load,) = loads(sites(n), checked)
        expected = max(math.ceil(n * 64 * 0.2 / (0.7 * rate)), 1)
        assert need(load, checked).inbound_carriers == expected


def test_a_sum_that_just_fills_carriers_asks_for_no_other() -> None:
    assert whole_up(3 * 0.1 / 0.1) == 3  # a double a hair over 3
    full = PoolLoad("x", 1, offered=(0, 10**9), asked=(0, int(2.1e12)))
    assert need(full, network()).inbound_carriers == 3  # 2.1 / 0.7


def test_the_outbound_carrier_is_overloaded_beyond_all_of_its_time() -> None:
    checked = network()
    (load,) = loads(sites(200), checked)
    found = need(load, checked)
    assert found.outbound_load == pytest.approx(200 * 51.2 / (6000 * 1.487473 * 0.95), rel=1e-9)
    assert found.outbound_carriers == 2


def test_circuits_have_erlang_s_lines() -> None:
    """Fifty sites of 0.2 erlang: 10 erlangs ask for 18 lines at 1 %."""
    checked = network(traffic={"access": "circuit", "inbound_kbit_s": 16})
    (load,) = loads(sites(50), checked)
    found = need(load, checked)
    assert found.lines == 18
    each = math.floor(information_rate_kbit_s(checked.inbound) / 16)
    assert found.inbound_carriers == math.ceil(18 / each)
    assert need(load, checked, 2.0).lines == lines_for(20.0, 0.01) == 30


def test_lines_are_pooled_and_not_counted_group_by_group() -> None:
    checked = network(traffic={"access": "circuit", "inbound_kbit_s": 16})
    one, two = (need(loads(sites(n), checked)[0], checked).lines for n in (50, 100))
    assert one is not None
    assert two is not None
    assert two < 2 * one


def test_a_line_that_no_carrier_holds_is_not_known() -> None:
    checked = network(traffic={"access": "circuit", "inbound_kbit_s": 5000})
    assert need(loads(sites(5), checked)[0], checked).inbound_carriers is None


def test_a_threshold_alone_tells_no_rate() -> None:
    checked = network(outbound={"es_n0_db": 4.0}, inbound={"es_n0_db": 2.0})
    found = need(loads(sites(5), checked)[0], checked)
    assert math.isnan(found.outbound_load)
    assert (found.outbound_carriers, found.inbound_carriers) == (None, None)


def test_no_traffic_keeps_one_carrier_each_way() -> None:
    for access in ("assigned", "contention", "circuit"):
        checked = network(traffic={"activity": 0, "access": access})
        found = need(loads(sites(5), checked)[0], checked)
        assert (found.outbound_load, found.outbound_carriers, found.inbound_carriers) == (0, 1, 1)


def test_chance_carries_less() -> None:
    by_chance = network(traffic={"access": "contention"})
    (load,) = loads(sites(100), by_chance)
    rate = information_rate_kbit_s(by_chance.inbound)
    assert need(load, by_chance).inbound_carriers == math.ceil(100 * 12.8 / (0.25 * rate))
    # G exp(-G) = 0.25: G = 0.3574 sent, 1 - exp(-G) of it meets another.
    assert repeated(by_chance) == pytest.approx(1 - np.exp(-0.357403), abs=1e-6)
