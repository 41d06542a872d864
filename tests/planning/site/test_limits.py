"""Limits of sky, exposure and cable from both sides, many sites in one call and in no order."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from siteplan.messages import english
from siteplan.model import Sites, Surroundings
from siteplan.network import Network
from siteplan.planning.plan import build, equip, see
from siteplan.planning.setting import setting
from siteplan.planning.site import cable, exposure, sky
from siteplan.planning.step import text_field

NAN = float("nan")
#: One cable: 20 dB and 50 ohm over a kilometre of loop at 1 GHz, all levels in easy numbers.
CABLE = {"name": "one", "loss_db_100m": 20.0, "core_mm": 1.0, "shield_ohm_km": 28.0484}
#: Copper of 1 mm has 17.241 / 0.785398 = 21.9519 ohm/km, with the shield 50.0003.
OHM_KM = 17.241 / (np.pi / 4) + 28.0484


def network(**tables: Any) -> Network:
    return Network.model_validate({"satellite": {"longitude_deg": 0}} | tables)


def test_clearance_at_zero_and_at_what_is_wanted() -> None:
    rules = network(network={"date": "2026-06-01"}, site={"clearance_deg": 2.0})
    clear = np.array([2.0, -1e-9, NAN, 0.0, 1.999999, -5.0, 2.000001, 1e-9])
    sites, shared = Sites.at(np.full(8, 30.0), np.full(8, 5.0)), setting(rules)
    seen = see(sites, shared)
    of = build(sites, seen, equip(sites, seen, shared), Surroundings(), shared).clears
    found = list(sky.raised(replace(of, clearance_deg=clear), seen.at, rules))
    blocked, tight = (
        np.logical_or.reduce([told.where for code, told in found if code == wanted])
        for wanted in ("blocked", "sky_tight")
    )
    assert blocked.tolist() == [False, True, False, False, False, True, False, False]
    assert tight.tolist() == [False, False, False, True, True, False, False, True]


def test_reach_into_the_beam_ends_at_head_height_and_at_the_limit() -> None:
    """2.5 m; and 10 W/m2 on the aperture: 4 P / A of OET-65, so P = 2.8274 W behind 1.2 m.

    Within 0.85 m of the dish, an arm's reach, nobody stands in the beam but holds on to the dish.
    """
    edge_w = 10 * (np.pi / 4 * 1.44) / 4
    power = np.array([40.0, edge_w - 1e-6, edge_w + 1e-6, 40.0, 40.0, edge_w + 1e-6, 0.5, 40.0])
    rim = np.array([2.5, 1.0, 1.0, 1.649999, 1.0, 2.5, 0.3, 1.650001])
    elevation = np.array([30.0, 30.0, 45.0, 45.0, NAN, 30.0, 30.0, 45.0])
    source = exposure.Radiator(power, np.full(8, 1.2), np.full(8, 0.65), elevation, rim)
    found = exposure.exposures(source, network())
    expected = [False, False, True, True, False, False, False, False]
    assert found.reachable.tolist() == expected
    on_the_ground, at_the_edge = exposure.raised(found)
    assert on_the_ground.told.where.tolist() == expected
    assert not at_the_edge.told.where.any()
    np.testing.assert_allclose(found.aperture_w_m2[1:3], 10.0, rtol=1e-6)
    # The beam rises 1 m for each metre at 45 degrees: 2.5 less 1; 2.5 less 1.65 is under 1.2 m.
    far = on_the_ground.told.numbers["far"][[2, 3]]
    np.testing.assert_allclose(far, [1.5, 1.2], rtol=1e-12)
    np.testing.assert_allclose(found.beam_over_head_m[3], 0.85, atol=2e-6)


def need(**columns: Any) -> cable.Demand:
    """Return demands (n,): 30 m, 1 dBW after back-off, 10 W, -118 dBW, but for what is given."""
    start = {"length_m": 30.0, "buc_dbw": 1.0, "buc_dc_w": 10.0, "lnb_input_dbw": -118.0}
    n = max(np.size(v) for v in columns.values())
    filled = {k: np.broadcast_to(np.float64(v), n).copy() for k, v in (start | columns).items()}
    return cable.Demand(**filled)


#: Loss of 30 m at 2150 MHz: 6 dB x sqrt(2.15). A modem sends 31 - 60 + loss dBm for 1 dBW.
HIGH_DB = 6 * 2.15**0.5
#: Slope of a metre: 0.2 dB x (sqrt(2.15) - sqrt(0.95)); 12 dB are allowed.
SLOPE_DB_M = 0.2 * (2.15**0.5 - 0.95**0.5)
#: 18 V are left of 24 V where the loop takes 6 V at P / 18 V: P = 108 / R, R of 30 m.
STARVED_W = 108 / (OHM_KM * 0.03)


@pytest.mark.parametrize(
    ("name", "works", "fails", "key"),
    [
        ("buc_dc_w", STARVED_W - 1e-4, STARVED_W + 1e-4, "cable.starved"),
        ("length_m", 12 / SLOPE_DB_M - 1e-4, 12 / SLOPE_DB_M + 1e-4, "cable.deaf"),
        # 0 dBm at most: 30 + P - 60 + loss.
        ("buc_dbw", 30 - HIGH_DB - 1e-6, 30 - HIGH_DB + 1e-6, "cable.deaf"),
        # -70 dBm at least: level + 30 + 60 - loss.
        ("lnb_input_dbw", -160 + HIGH_DB + 1e-6, -160 + HIGH_DB - 1e-6, "cable.deaf"),
    ],
)
def test_a_cable_works_up_to_its_limit(name: str, works: float, fails: float, key: str) -> None:
    rules = network(cables=[CABLE])
    which = np.array([True, False, False, True, False, True])
    # Where the length is the question, the levels are not: 0.1 W and a strong carrier.
    easy = {"buc_dbw": -15.0, "lnb_input_dbw": -90.0, "buc_dc_w": 1.0} if "length" in name else {}
    found = cable.cabling(need(**easy | {name: np.where(which, fails, works)}), rules)
    assert found.none.tolist() == which.tolist()
    assert found.cable_class.tolist() == ["" if w else "one" for w in which]
    told = {t.key: t.where.tolist() for t in cable.told(found, rules)}
    assert told.pop(key) == which.tolist()
    assert not any(any(where) for where in told.values())
    texts = text_field(cable.told(found, rules), english(), 6)
    assert [text != "" for text in texts] == which.tolist()


@pytest.mark.parametrize(
    ("name", "inside", "beyond"),
    [
        # -35 dBm at least: 30 + P - 60 + loss.
        ("buc_dbw", -5 - HIGH_DB + 1e-6, -5 - HIGH_DB - 1e-6),
        # -20 dBm at most: level + 90 - loss.
        ("lnb_input_dbw", -110 + HIGH_DB - 1e-6, -110 + HIGH_DB + 1e-6),
    ],
)
def test_a_pad_is_asked_for_beyond_the_modems_range(
    name: str, inside: float, beyond: float
) -> None:
    rules = network(cables=[CABLE])
    which = np.array([False, True, False, True, True, False])
    found = cable.cabling(need(**{name: np.where(which, beyond, inside)}), rules)
    assert found.none.tolist() == [False] * 6
    raised = {r.code: r.told.where.tolist() for r in cable.raised(found, ())}
    assert raised == {"drive_range": which.tolist()}
