"""Small networks and sites that the planning tests share."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.results import Plan

Maker = Callable[..., Plan]


@pytest.fixture(scope="session")
def tropical() -> Network:
    """A network over the Amazon basin, hub on a rainy coast."""
    return Network.model_validate(
        {
            "network": {"date": "2026-06-01"},
            "satellite": {"longitude_deg": -61.0},
            "hub": {"lat": -15.8, "lon": -47.9, "power_control_db": 5},
        }
    )


@pytest.fixture(scope="session")
def basin() -> Sites:
    """Forty places from the equator to mid latitudes, some below the horizon."""
    rng = np.random.default_rng(11)
    lat, lon = rng.uniform(-35, 60, 40), rng.uniform(-120, 20, 40)
    lat[0], lon[0] = 50.0, 90.0  # far below the horizon
    lat[1], lon[1] = 0.0, -61.0  # at the sub-satellite point
    return Sites.at(lat, lon)


@pytest.fixture(scope="session")
def plan_of() -> Maker:
    """Plan points with changes to a network, as ``plan_of(lat, lon, network, hub={...})``."""

    def make(lat: Any, lon: Any, start: Network, known: Any = None, **tables: Any) -> Plan:
        base = start.model_dump(exclude_unset=True)
        changed = {k: v if isinstance(v, list) else base.get(k, {}) | v for k, v in tables.items()}
        sites = Sites.at(np.atleast_1d(np.float64(lat)), np.atleast_1d(np.float64(lon)),
                         **(known or {}))  # fmt: skip
        return make_plan(sites, Network.model_validate(base | changed))

    return make
