"""The cable: the lightest class that works, and what is said where none does."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.messages import english
from siteplan.network import Network
from siteplan.planning.site.cable import (
    Cabling,
    Demand,
    buc_dc_w,
    cabling,
    classes,
    longest_m,
    told,
)
from siteplan.planning.step import text_field


def network(**tables: Any) -> Network:
    return Network.model_validate({"satellite": {"longitude_deg": 0}} | tables)


def demand(length: float, *, watts: float = 20.0, power_dbw: float = 2.0, lnb: float = -118.0):
    return Demand(*(np.array([x]) for x in (length, power_dbw, watts, lnb)))


def found(length: float, plan: Network | None = None, **known: float) -> Cabling:
    return cabling(demand(length, **known), plan or network())


def advice(of: Cabling, plan: Network | None = None) -> str:
    return str(text_field(told(of, plan or network()), english(), 1)[0])


def test_the_lightest_comes_first() -> None:
    names = classes(network()).name
    assert names == ["75 ohm, series 59", "75 ohm, series 6", "75 ohm, series 11"]


@pytest.mark.parametrize(
    ("length", "name"),
    [(20, "75 ohm, series 59"), (80, "75 ohm, series 6"), (130, "75 ohm, series 11"), (400, "")],
)
def test_longer_runs_need_heavier_cables(length: float, name: str) -> None:
    assert found(length).cable_class[0] == name


def test_loss_at_both_ends_by_hand() -> None:
    """Series 59, 26.6 dB at 1 GHz: 10 m lose 2.66 sqrt(0.95) and 2.66 sqrt(2.15)."""
    x = found(10)
    assert x.cable_loss_low_db[0] == pytest.approx(2.66 * 0.95**0.5, rel=1e-9)
    assert x.cable_loss_high_db[0] == pytest.approx(2.66 * 2.15**0.5, rel=1e-9)
    assert x.cable_slope_db[0] == pytest.approx(
        x.cable_loss_high_db[0] - x.cable_loss_low_db[0], abs=1e-12
    )


def test_voltage_solves_the_quadratic() -> None:
    """V = V0 - R P / V, whatever the class."""
    x = found(60, watts=25.0)
    kinds = classes(network())
    ohm = kinds.ohm_km[kinds.name.index(x.cable_class[0])] * 0.06
    assert x.buc_voltage_v[0] == pytest.approx(24 - ohm * 25 / x.buc_voltage_v[0], rel=1e-9)
    assert x.buc_current_a[0] == pytest.approx(25 / x.buc_voltage_v[0], rel=1e-12)


def test_a_supply_that_collapses_is_told_with_what_would_do() -> None:
    """60 W at 24 V over 100 m at 31 ohm/km has no solution: 24^2 < 4 x 60 x 3.1."""
    cable = {"name": "thin", "core_mm": 1.024, "core": "copper", "shield_ohm_km": 10.07}
    plan = network(cables=[cable], ifl={"buc_gain_db": 70})
    x = found(100, plan, watts=60.0)
    assert x.cable_class[0] == ""
    assert np.isnan(x.buc_voltage_v[0])
    assert "No class carries the BUC's 60 W over 100 m" in advice(x, plan)
    assert "a local supply" in advice(x, plan)


def test_the_advice_holds() -> None:
    """The run and the voltage that the advice names do work."""
    plan = network(ifl={"buc_gain_db": 97, "max_slope_db": 60})
    x = found(300, plan, watts=60.0, lnb=-90.0)
    run = float(advice(x, plan).split("at most ")[1].split(" m")[0])
    volts = float(advice(x, plan).split("supply of ")[1].split(" V")[0])
    assert found(run, plan, watts=60.0, lnb=-90.0).cable_class[0] != ""
    assert found(run + 3, plan, watts=60.0, lnb=-90.0).cable_class[0] == ""
    higher = network(ifl={"buc_gain_db": 97, "max_slope_db": 60, "supply_v": volts})
    assert found(300, higher, watts=60.0, lnb=-90.0).cable_class[0] != ""
    lower = network(ifl={"buc_gain_db": 97, "max_slope_db": 60, "supply_v": volts - 1.5})
    assert found(300, lower, watts=60.0, lnb=-90.0).cable_class[0] == ""


def test_the_voltage_that_stays_stable_is_told() -> None:
    """Where the BUC accepts less than the cable's stable half, 2 sqrt(P R) is what is needed."""
    given = {"buc_gain_db": 97, "max_slope_db": 60, "buc_min_v": 6}
    plan = network(ifl=given | {"supply_v": 20})
    x = found(300, plan, watts=60.0, lnb=-90.0)
    volts = float(advice(x, plan).split("supply of ")[1].split(" V")[0])
    ohm = 0.3 * classes(network()).ohm_km.min()
    assert volts == np.ceil(2 * np.sqrt(60 * ohm))
    enough, short = (
        found(300, network(ifl=given | {"supply_v": v}), watts=60.0, lnb=-90.0)
        for v in (volts, volts - 1.5)
    )
    assert enough.cable_class[0] != ""
    assert short.cable_class[0] == ""


def test_a_signal_that_does_not_carry_is_told() -> None:
    x = found(200, watts=1.0)
    assert x.cable_class[0] == ""
    assert "the signal does not carry" in advice(x).lower()
    assert "line amplifier" in advice(x)


def test_longest_run_is_where_the_choice_ends() -> None:
    need = demand(50)
    kinds = classes(network())
    supply, signal = longest_m(need, kinds, network())
    least = np.minimum(supply, signal)[0]
    for length in (*(least - 0.01), *(least + 0.01)):
        # The lightest whose longest run is not passed; none beyond the longest of all.
        enough = [name for name, run in zip(kinds.name, least, strict=True) if run >= length]
        assert found(length).cable_class[0] == (enough[0] if enough else "")


def test_levels_too_high_are_flagged_not_refused() -> None:
    x = found(5, lnb=-80.0)
    assert x.cable_class[0] != ""
    assert x.out_of_range[0]
    assert not found(20).out_of_range[0]


def test_supply_power_given_or_reckoned() -> None:
    plan = network(bucs=[{"rated_w": 2, "dc_w": 30}, {"rated_w": 3}])
    np.testing.assert_allclose(buc_dc_w(np.array([2.0, 3.0]), plan), [30, 3 / 0.15 + 8], rtol=1e-12)


def test_clad_steel_starves_the_buc_sooner() -> None:
    copper, steel = (
        network(cables=[{"name": "c", "core": core}]) for core in ("copper", "clad_steel")
    )
    assert found(50, steel).buc_voltage_v[0] < found(50, copper).buc_voltage_v[0]


def test_an_unseen_satellite_gives_no_answer() -> None:
    x = found(20, lnb=np.nan)
    assert (x.cable_class[0], advice(x)) == ("", "")
    assert np.isnan(x.buc_voltage_v[0])
