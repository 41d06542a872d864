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
    clad_steel_told,
    classes,
    core_told,
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


def core_of(of: Cabling, plan: Network | None = None) -> str:
    return str(text_field(core_told(of, plan or network()), english(), len(of.pick))[0])


def steel_of(of: Cabling, plan: Network | None = None) -> str:
    return str(text_field(clad_steel_told(of, plan or network()), english(), len(of.pick))[0])


@pytest.mark.parametrize(
    ("length", "core"),
    [
        (20, "solid copper core, at most 33.2 ohm/km; shield at most 20 ohm/km"),
        (80, "solid copper core, at most 20.9 ohm/km; shield at most 15 ohm/km"),
        (130, "solid copper core, at most 8.28 ohm/km; shield at most 9 ohm/km"),
    ],
)
def test_a_voltage_tells_the_copper_that_it_rests_on(length: float, core: str) -> None:
    """Gauges 20, 18 and 14 by ASTM B258 have 33.3, 20.95 and 8.28 ohm/km."""
    assert core_of(found(length)) == core


@pytest.mark.parametrize("ohm", [20.96, 33.349, 8.2849, 0.1239, 158.96, 7.0])
def test_a_core_bought_by_the_sentence_is_never_worse_than_reckoned(ohm: float) -> None:
    """At most 21.0 ohm/km would let a cable in that is worse than the 20.96 of the plan."""
    plan = network(cables=[{"name": "c", "core_ohm_km": ohm}])
    told_ohm = float(core_of(found(10, plan), plan).split("at most ")[1].split(" ohm")[0])
    assert ohm * 0.99 < told_ohm <= ohm


def test_a_core_of_clad_steel_is_told_as_such() -> None:
    plan = network(cables=[{"name": "c", "core": "clad_steel", "core_mm": 1.024}])
    x = found(10, plan)
    assert core_of(x, plan).startswith("copper-clad steel core, at most 99.6 ohm/km; ")
    assert steel_of(x, plan) == ""


def test_the_resistance_of_the_data_sheet_goes_before_the_diameter() -> None:
    kinds = classes(network(cables=[{"name": "c", "core_mm": 1.0, "core_ohm_km": 24.0}]))
    np.testing.assert_allclose(kinds.ohm_km, [24.0 + 15.0], rtol=1e-12)


def test_40_m_that_copper_serves_starve_a_buc_behind_clad_steel() -> None:
    """30 W over 40 m of series 59: copper leaves 20.9 V, steel collapses: 24^2 < 4 x 30 x 7.15."""
    x = found(40, watts=30.0)
    assert x.cable_class[0] == "75 ohm, series 59"
    assert x.buc_voltage_v[0] == pytest.approx(12 + np.sqrt(144 - 0.04 * 53.29 * 30), abs=0.01)
    assert steel_of(x) == (
        "A copper-clad steel core as thick (159 ohm/km; ASTM B869, from memory) would let the"
        " supply collapse over 40 m: with it the supply reaches 20 m."
    )


def test_what_clad_steel_leaves_of_the_voltage_by_hand() -> None:
    """Series 59: (33.3 / 0.21 + 20) ohm/km over 20 m are 3.57 ohm; V = V0 - R P / V."""
    ohm = 0.020 * (17.241 / (np.pi / 4 * 0.812**2) / 0.21 + 20)
    x = found(20, watts=20.0)
    volts = float(steel_of(x).split("the BUC ")[1].split(" V")[0])
    exact = 12 + np.sqrt(144 - ohm * 20)
    assert exact - 0.1 < volts <= exact
    assert "which do" in steel_of(x)


def test_a_voltage_under_the_least_never_reads_like_it() -> None:
    """17.96 V are less than 18 V: the sentence may not say '18.0 V, less than the 18 V'."""
    loop = 0.7 * (classes(network()).core_ohm_km[0] / 0.21 + 20.0) / 1e3
    run = (24 - 17.96) * 17.96 / 20.0 / loop * 0.7  # the length that leaves 17.96 V
    x = found(run, watts=20.0)
    assert "would leave the BUC 17.9 V, less than the 18 V that it accepts" in steel_of(x)


@pytest.mark.parametrize("watts", [10.0, 20.0, 33.0, 60.0])
def test_the_run_told_for_clad_steel_holds_and_three_metres_more_do_not(watts: float) -> None:
    run = float(steel_of(found(10, watts=watts)).split("reaches ")[1].split(" m")[0])
    steel = {"name": "s", "core_mm": 0.812, "core": "clad_steel", "shield_ohm_km": 20.0}
    plan = network(cables=[steel | {"loss_db_100m": 1.0}])
    assert found(run, plan, watts=watts).cable_class[0] == "s"
    assert found(run + 3, plan, watts=watts).cable_class[0] == ""


def test_an_unseen_satellite_has_no_core() -> None:
    x = found(20, lnb=np.nan)
    assert (core_of(x), steel_of(x)) == ("", "")


def test_advice_names_the_metal_of_the_class_of_least_resistance() -> None:
    plan = network(ifl={"buc_gain_db": 97, "max_slope_db": 60})
    x = found(300, plan, watts=60.0, lnb=-90.0)
    assert "(solid copper core, at most 8.28 ohm/km)" in advice(x, plan)
    only = network(ifl={"buc_gain_db": 97, "max_slope_db": 60},
                   cables=[{"name": "s", "core": "clad_steel", "core_mm": 2.0,
                             "loss_db_100m": 10.0}])  # fmt: skip
    y = found(300, only, watts=60.0, lnb=-90.0)
    assert "(copper-clad steel core, at most 26.1 ohm/km)" in advice(y, only)
