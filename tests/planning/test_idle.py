"""Keys that are given in vain are told with what they need; those that count are not."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.idle import idle
from siteplan.planning.plan import make_plan

PLACED = {"lat": -15.8, "lon": -47.9}
#: Tables, the keys that count for nothing in them, and what makes them count.
CASES: list[tuple[dict[str, Any], str, dict[str, Any]]] = [
    ({"hub": {"diversity_km": 10}}, "[hub] diversity_km", {"hub": {"diversity_km": 10} | PLACED}),
    (
        {"hub": PLACED | {"diversity_bearing_deg": 40}},
        "[hub] diversity_bearing_deg",
        {"hub": PLACED | {"diversity_bearing_deg": 40, "diversity_km": 10}},
    ),
    (
        {"outbound": {"max_modcod": "QPSK 9/10"}},
        "[outbound] max_modcod",
        {"outbound": {"max_modcod": "QPSK 9/10", "adaptive": True}},
    ),
    (
        {"inbound": {"modcods": ["QPSK 1/2"]}},
        "[inbound] modcods",
        {"inbound": {"modcods": ["QPSK 1/2"], "adaptive": True}},
    ),
    (
        {"inbound": {"clear_sky_reduction_db": 2}, "terminal": {"power_control_db": 0}},
        "[inbound] clear_sky_reduction_db",
        {"inbound": {"clear_sky_reduction_db": 2}, "terminal": {"power_control_db": 3}},
    ),
    (
        {"traffic": {"blocking_pct": 2}},
        "[traffic] blocking_pct",
        {"traffic": {"blocking_pct": 2}, "applications": [{"name": "v", "profile": "voice"}]},
    ),
    (
        {"traffic": {"growth_pct": 3, "years": 0}},
        "[traffic] growth_pct",
        {"traffic": {"growth_pct": 3}},
    ),
    (
        {"rollout": {"start": "2026-10-05"}},
        "[rollout] start",
        {"rollout": {"start": "2026-10-05", "sites_per_week": 2}},
    ),
    (
        {"costs": {"line_fixed": 3}},
        "[costs] line_fixed",
        {"costs": {"line_fixed": 3, "line_per_km": 1}},
    ),
]


def network(tables: dict[str, Any]) -> Network:
    return Network.model_validate({"satellite": {"longitude_deg": -61.0}} | tables)


@pytest.mark.parametrize(("given", "key", "mended"), CASES, ids=[key for _, key, _ in CASES])
def test_a_key_in_vain(given: dict[str, Any], key: str, mended: dict[str, Any]) -> None:
    assert [found for found, _ in idle(network(given))] == [key]
    assert list(idle(network(mended))) == []


def test_nothing_given_is_nothing_in_vain() -> None:
    assert list(idle(network({}))) == []


def test_the_plan_tells_of_them_in_one_sentence() -> None:
    sites = Sites.at(np.array([-3.1]), np.array([-60.0]))
    given = {"rollout": {"start": "2026-10-05"}, "traffic": {"years": 0, "growth_pct": 4}}
    (_, told) = make_plan(sites, network(given)).facts.cautions
    assert told == (
        "Given, but without effect as the network file stands: [traffic] growth_pct (counts only"
        " with years over 0); [rollout] start (counts only with sites a week). Give what they"
        " need, or take them out."
    )
