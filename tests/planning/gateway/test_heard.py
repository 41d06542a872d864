"""What sites say of their hub is counted by value, and parts add up to the whole."""

from __future__ import annotations

from collections import Counter
from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.gateway.heard import only_of, values_of
from siteplan.planning.plan import make_plan

NETWORK = Network.model_validate(
    {
        "network": {"date": "2026-06-01"},
        "satellite": {"longitude_deg": -61.0},
        "hub": {"lat": -3.1, "lon": -60.0, "antennas_m": [3.8, 9]},
    }
)


def sites() -> Sites:
    rng = np.random.default_rng(5)
    return Sites.at(rng.uniform(-30, 30, 40), rng.uniform(-90, -30, 40))


def test_chunks_add_up(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = make_plan(sites(), NETWORK).facts
    monkeypatch.setattr("siteplan.planning.plan.CHUNK_SITES", 7)
    chunks = make_plan(sites(), NETWORK).facts
    assert chunks.heard == whole.heard
    assert chunks.hubs == whole.hubs


def test_counts_are_the_columns_of_sites_with_kit() -> None:
    plan = make_plan(sites(), NETWORK)
    c, counts = plan.columns, only_of(0, dict(plan.facts.heard))
    given = ~np.isnan(c["antenna_m"]) & ~np.isnan(c["buc_w"])
    told: list[tuple[str, Any, int]] = [
        ("outbound", c["outbound_hub_outage_pct"], 4),
        ("inbound", c["inbound_hub_outage_pct"], 4),
        ("own", c["inbound_margin_db"], 2),
    ]
    for what, values, decimals in told:
        expected = np.sort(np.round(values[given], decimals))
        np.testing.assert_allclose(values_of(counts, what), expected, atol=1e-12, rtol=0)
    assert len(values_of(counts, "9")) == given.sum()
    limited = (c["limiting_direction"] == "outbound") & (c["limiting_end"] == "hub")
    assert counts["limited"] == (limited & given).sum()


def test_larger_antennas_never_buy_less() -> None:
    (hub,) = make_plan(sites(), NETWORK).facts.hubs
    medians = [row.median_db for row in hub.antennas]
    assert [row.antenna_m for row in hub.antennas] == [3.8, 4.5, 9.0]
    assert medians == sorted(medians)


def test_nothing_heard_is_nothing() -> None:
    assert values_of(Counter(), "own").size == 0
