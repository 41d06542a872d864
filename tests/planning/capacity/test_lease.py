"""What is leased: never less than bandwidth or power, rounded up once, side by side."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.planning.capacity.lease import leased_mhz, rounded_up_mhz
from tests.planning.capacity.given import answer


@given(st.floats(0.001, 40), st.floats(0.001, 40), st.floats(0, 100))
def test_never_less_than_either(occupied: float, power: float, guard_pct: float) -> None:
    found = leased_mhz(occupied, power, guard_pct)
    assert found >= power
    assert found >= occupied * (1 + guard_pct / 100)
    assert found in (power, occupied * (1 + guard_pct / 100))


@given(st.floats(0.01, 500), st.sampled_from([0.1, 0.25, 0.5, 1.0, 3.0]))
def test_rounded_up_to_a_step(total: float, step: float) -> None:
    found = rounded_up_mhz(total, step)
    assert found / step == pytest.approx(round(found / step), abs=1e-6)
    assert total - 1e-5 * step <= found + 1e-9
    assert found < total + step


def test_what_doubles_add_asks_for_no_other_step() -> None:
    assert rounded_up_mhz(10.8000001, 0.1) == 10.8
    assert rounded_up_mhz(math.fsum([0.3] * 36), 0.1) == 10.8
    assert rounded_up_mhz(36 * 0.3, 0.1) == 10.8
    assert rounded_up_mhz(10.8001, 0.1) == 10.9


def test_a_pool_is_rounded_up_once() -> None:
    """One outbound carrier of 7.56 MHz, six inbound ones of 0.32256: 9.49536 in all."""
    traffic = {"inbound_kbit_s": 64.0 * 1.3}
    (pool,) = answer(62, {}, {"power_equivalent_mhz": np.full(62, 0.1)}, traffic=traffic).pools
    count = len(pool.of("inbound"))
    assert count > 3
    assert pool.leased_mhz == rounded_up_mhz(7.2 * 1.05 + count * 0.3072 * 1.05, 0.1)
    each = rounded_up_mhz(7.56, 0.1) + count * rounded_up_mhz(0.32256, 0.1)
    assert pool.leased_mhz < each
    assert pool.leased_mhz >= math.fsum(c.leased_mhz for c in pool.carriers) - 1e-6


def test_a_slot_is_leased_for_the_strongest_terminal() -> None:
    power = np.array([0.05, 0.9, 0.2])
    found = answer(3, {}, {"power_equivalent_mhz": power})
    (inbound,) = found.pools[0].of("inbound")
    assert inbound.power_equivalent_mhz == inbound.leased_mhz == 0.9
    assert inbound.balance_db == pytest.approx(10 * math.log10(0.9 / 0.3072), abs=1e-9)


def test_the_worked_inbound_carrier_is_worth_less_power_than_bandwidth() -> None:
    """1.2 m and 2 W: 141.02 kHz of 307.2, worked outside the project; 3.38 dB under balance."""
    (inbound,) = answer(3, {}, {"power_equivalent_mhz": np.full(3, 0.14102)}).pools[0].of("inbound")
    assert inbound.leased_mhz == pytest.approx(0.3072 * 1.05, abs=1e-12)
    assert inbound.balance_db == pytest.approx(-3.3815, abs=1e-4)
    assert inbound.balancing_change_db == pytest.approx(3.3815, abs=1e-4)
    # Its power kept, a carrier of so many symbols takes just as much bandwidth.
    assert inbound.balancing_msps * 1.2 == pytest.approx(0.14102, abs=1e-9)


def test_the_outbound_carrier_balances_at_its_share() -> None:
    for level in (-4.0, 0.0, 3.0):
        (out,) = answer(outbound={"level_db": level}).pools[0].of("outbound")
        assert out.balance_db == pytest.approx(level, abs=1e-9)
        assert out.power_equivalent_mhz == pytest.approx(7.2 * 10 ** (level / 10), rel=1e-9)
        assert out.leased_mhz == pytest.approx(max(7.2 * 1.05, out.power_equivalent_mhz), rel=1e-12)
        assert out.balancing_msps == pytest.approx(6 * 10 ** (level / 10), rel=1e-9)


@pytest.mark.parametrize("n", [1, 30, 200, 333])
def test_carriers_stand_side_by_side_around_the_middle(n: int) -> None:
    (pool,) = answer(n).pools
    for way in ("outbound", "inbound"):
        carriers = pool.of(way)
        assert [c.number for c in carriers] == list(range(1, len(carriers) + 1))
        places = np.array([c.centre_offset_mhz for c in carriers])
        assert places.mean() == pytest.approx(0, abs=1e-9)
        np.testing.assert_allclose(np.diff(places), carriers[0].leased_mhz, rtol=1e-9)


def test_without_a_terminal_the_bandwidth_is_leased() -> None:
    none = {"antenna_m": np.full(2, np.nan), "power_equivalent_mhz": np.full(2, np.nan)}
    (pool,) = answer(2, {}, none).pools
    (inbound,) = pool.of("inbound")
    assert math.isnan(inbound.power_equivalent_mhz)
    assert inbound.leased_mhz == pytest.approx(0.3072 * 1.05, abs=1e-12)
    assert any("No site has kit" in note for note in pool.notes)
