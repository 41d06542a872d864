"""How sure a margin is: derivatives, deviations, what is assumed, the chance."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from siteplan.arrays import FloatArray
from siteplan.inputs.network.assumed import assumptions
from siteplan.model import Sites
from siteplan.network import Network, Uncertainty
from siteplan.physics.propagation import attenuation
from siteplan.planning import setting
from siteplan.planning.beams.settings import settings
from siteplan.planning.certainty.chance import ASSUMED_TIMES, assumed, chance, confidence_pct
from siteplan.planning.certainty.items import Stand
from siteplan.planning.certainty.sure import CHANCE_CLASSES, chance_rows
from siteplan.planning.kit.catalogue import installed
from siteplan.planning.kit.pick import Sizing, size
from siteplan.planning.plan import see

NOTHING = dict.fromkeys(Uncertainty.model_fields, 0.0)
GIVEN: dict[str, Any] = {
    "network": {"date": "2026-06-01", "availability_pct": 99.7},
    "satellite": {"longitude_deg": -61.0},
    "hub": {"lat": -15.8, "lon": -47.9, "power_control_db": 5},
    "outbound": {"satellite_eirp_dbw": 46.5, "satellite_g_t_db_k": 1.0, "sfd_dbw_m2": -88.0},
    "inbound": {"symbol_rate_msps": 0.4, "satellite_eirp_dbw": 48, "satellite_g_t_db_k": 1.0,
                "sfd_dbw_m2": -88.0},
    "terminal": {"pointing_error_deg": 0.1, "lnb_noise_k": 75},
    "antennas": [{"diameter_m": d, "efficiency": 0.65, "pattern": "s580"} for d in (1.2, 1.8, 2.4)],
    "neighbours": [{"longitude_deg": -58.5, "downlink_level_db": 0}],
    "uncertainty": NOTHING,
}  # fmt: skip


@cache
def sites() -> Sites:
    rng = np.random.default_rng(3)
    found = Sites.at(rng.uniform(-25, 8, 30), rng.uniform(-75, -42, 30))
    dish, share = found.fixed_antenna_m.copy(), found.fixed_efficiency.copy()
    dish[:4], share[:2] = 1.3, 0.6  # two of a size that the catalogue lacks tell their efficiency
    return replace(found, fixed_antenna_m=dish, fixed_efficiency=share)


def network(**tables: Any) -> Network:
    return Network.model_validate(GIVEN | tables)


def stood(of: Network) -> tuple[Sizing, Stand]:
    shared = settings(of)[0]
    seen = see(sites(), shared)
    may_pick = seen.at.elevation_deg >= shared.floor_deg
    sizing = size(seen.link, shared.kinds, installed(sites()), seen.p_pct, may_pick)
    return sizing, Stand(seen.link, seen.p_pct, shared)


def spread_db(of: Network) -> FloatArray:
    return chance(*stood(of), sites()).margin_spread_db


def with_kit(of: Network, sizing: Sizing) -> Sizing:
    """The margins of a plan's kit, installed, in another network."""
    kit = replace(
        sites(),
        fixed_antenna_m=sizing.kit.dish_m,
        fixed_buc_w=sizing.kit.tried_w,
    )
    shared = settings(of)[0]
    seen = see(kit, shared)
    every = np.ones(len(kit), dtype=bool)
    return size(seen.link, shared.kinds, installed(kit), seen.p_pct, every)


def limiting_db(of: Sizing, like: Sizing) -> FloatArray:
    return np.where(like.inbound_limits, of.inbound_margin_db, of.outbound_margin_db)


#: A figure of [uncertainty], its deviation, and the network with the figure off by an amount.
CASES: dict[str, tuple[float, Any]] = {
    "eirp_db": (0.7, lambda x: {way: GIVEN[way] | {"satellite_eirp_dbw":
                GIVEN[way]["satellite_eirp_dbw"] + x} for way in ("outbound", "inbound")}),
    "g_t_db": (0.4, lambda x: {way: GIVEN[way] | {"satellite_g_t_db_k": 1.0 + x}
               for way in ("outbound", "inbound")}),
    "sfd_db": (0.6, lambda x: {way: GIVEN[way] | {"sfd_dbw_m2": -88.0 + x}
               for way in ("outbound", "inbound")}),
    "gain_db": (0.3, lambda x: {"antennas": [a | {"efficiency": 0.65 * 10 ** (x / 10)}
                for a in GIVEN["antennas"]]}),
    "noise_k": (12.0, lambda x: {"terminal": GIVEN["terminal"] | {"lnb_noise_k": 75 + x}}),
    "pointing_deg": (0.04, lambda x: {"terminal": GIVEN["terminal"]
                     | {"pointing_error_deg": 0.1 + x}}),
}  # fmt: skip
#: The step of the difference here: the margins of plans hold to 1e-11 dB.
STEPS = {"noise_k": 0.1, "pointing_deg": 1e-3}


@pytest.mark.parametrize("key", CASES)
def test_the_spread_of_one_figure_is_derivative_times_deviation(key: str) -> None:
    """The derivative from plans with the key edited; sites whose own dish stands apart."""
    deviation, tables = CASES[key]
    ours = spread_db(network(uncertainty=NOTHING | {key: deviation}))
    sizing, _ = stood(network())
    step = STEPS.get(key, 0.005)
    above, below = (
        limiting_db(with_kit(network(**tables(s * step)), sizing), sizing) for s in (1, -1)
    )
    expected = np.abs(above - below) / (2 * step) * deviation
    known = sizing.given["kit"] & np.isnan(sites().fixed_antenna_m)
    assert known.sum() > 15
    assert_allclose(ours[known], expected[known], rtol=2e-3, atol=1e-6)
    assert (expected[known] > 1e-4).any()


def test_rain_is_scaled_at_the_sites_and_at_the_hub(monkeypatch: pytest.MonkeyPatch) -> None:
    ours = spread_db(network(uncertainty=NOTHING | {"rain_pct": 25.0}))
    sizing, _ = stood(network())
    real, found = attenuation.rain_db, []
    for scale in (1.002, 0.998):
        monkeypatch.setattr(attenuation, "rain_db", lambda *of, k=scale: real(*of) * k)
        monkeypatch.setattr(setting, "_MADE", [])  # no hub's end made before
        found.append(limiting_db(with_kit(network(), sizing), sizing))
    expected = np.abs(found[0] - found[1]) / 0.4 * 25.0
    known = sizing.given["kit"] & np.isnan(sites().fixed_antenna_m)
    assert_allclose(ours[known], expected[known], rtol=5e-3)


def test_spreads_add_as_squares() -> None:
    keys = {"eirp_db": 0.7, "g_t_db": 0.4, "pattern_db": 2.0, "rain_pct": 20.0}
    each = [spread_db(network(uncertainty=NOTHING | {k: v})) for k, v in keys.items()]
    both = spread_db(network(uncertainty=NOTHING | keys))
    assert_allclose(both, np.sqrt(sum(one**2 for one in each)), rtol=1e-9)
    assert np.nanmax(each[2]) > 0.01  # a neighbour makes side lobes count


def test_no_deviation_no_spread() -> None:
    sizing, stand = stood(network())
    found = chance(sizing, stand, sites())
    known = sizing.given["kit"]
    assert_allclose(found.margin_spread_db[known], 0.0, atol=1e-12)
    margin = sizing.margin_db[known]
    assert_allclose(found.margin_confidence_pct[known], np.where(margin >= 0, 100.0, 0.0))


def test_chance_is_half_where_there_is_no_margin() -> None:
    margin = np.array([0.0, 0.0, 1.0, -1.0, 2.0, np.nan])
    spread = np.array([1.0, 0.0, 1.0, 1.0, 1.0, 1.0])
    found = confidence_pct(margin, spread)
    # The normal distribution's table: 84.1345 and 97.7250 % at one and two deviations.
    assert_allclose(found[:5], [50.0, 50.0, 84.1345, 15.8655, 97.7250], atol=1e-4)
    assert math.isnan(found[5])


#: The figure, and the tables without the key that gives it.
ASSUMED: dict[str, dict[str, Any]] = {
    "eirp_db": {"outbound": {}, "inbound": {"symbol_rate_msps": 0.4}},
    "g_t_db": {"outbound": {}, "inbound": {"symbol_rate_msps": 0.4}},
    "sfd_db": {"outbound": {}, "inbound": {"symbol_rate_msps": 0.4}},
    "noise_k": {"terminal": {"pointing_error_deg": 0.1}},
    "pointing_deg": {"terminal": {"lnb_noise_k": 75}},
    "gain_db": {"antennas": [{"diameter_m": d, "pattern": "s580"} for d in (1.2, 1.8, 2.4)]},
    "pattern_db": {"antennas": [{"diameter_m": d, "efficiency": 0.65} for d in (1.2, 1.8, 2.4)]},
}
#: How the list of assumed figures names each.
TOLD = {
    "eirp_db": "satellite_eirp_dbw", "g_t_db": "satellite_g_t_db_k", "sfd_db": "sfd_dbw_m2",
    "noise_k": "lnb_noise_k", "pointing_deg": "pointing_loss_db", "gain_db": "efficiency",
    "pattern_db": "pattern",
}  # fmt: skip


@pytest.mark.parametrize("key", ASSUMED)
def test_what_is_assumed_counts_twice(key: str) -> None:
    """By the same list as the outputs': once where the key is given, twice where it is not."""
    own = np.zeros(30, dtype=bool)
    own[:2] = key == "gain_db"  # their efficiency is told
    lent = np.zeros(30, dtype=bool)
    lent[2:4] = key == "gain_db"  # theirs is lent by the nearest size
    for tables, missing in (({}, False), (ASSUMED[key], True)):
        of = network(**tables)
        listed = {a.key.split(".")[-1] for a in assumptions(of) if not a.key.startswith("hub.")}
        assert (TOLD[key] in listed) == missing
        sizing, stand = stood(of)
        found = assumed(key, stand, sizing, sites())
        np.testing.assert_array_equal(found, (missing & ~own) | lent)
    once, twice = (
        spread_db(network(uncertainty=NOTHING | {key: 0.05}, **tables))
        for tables in ({}, {"antennas": GIVEN["antennas"]} | ASSUMED[key])
    )
    if key in ("gain_db", "pattern_db", "noise_k"):  # nothing else changes with the keys
        here = (once > 0) & ~own & ~lent
        assert here.any()
        assert_allclose(twice[here], ASSUMED_TIMES * once[here], rtol=1e-6)


def test_a_level_that_contours_tell_is_not_assumed() -> None:
    beam = {"lat": -5, "lon": -60, "major_deg": 12, "minor_deg": 12, "edge_db": 3}
    tables = ASSUMED["eirp_db"] | {"contours": [{"direction": "down", "peak": 50.0, **beam}]}
    sizing, stand = stood(network(neighbours=[], **tables))
    found = assumed("eirp_db", stand, sizing, sites())
    np.testing.assert_array_equal(found, sizing.inbound_limits)


def test_classes_count_the_sites_with_kit() -> None:
    pct = np.array([10.0, 50.0, 79.9, 80.0, 95.0, 99.0, np.nan])
    assert chance_rows({"margin_confidence_pct": pct}) == tuple(
        zip(CHANCE_CLASSES, (1, 2, 1, 2), strict=True)
    )
