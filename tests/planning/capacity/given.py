"""Loads, networks and result columns that the tests of capacity share."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.answers.capacity import Capacity, PoolLoad
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.capacity.answer import capacity
from siteplan.planning.capacity.traffic import added, loads_of

Columns = dict[str, NDArray[Any]]


def network(**tables: Any) -> Network:
    return Network.model_validate({"satellite": {"longitude_deg": -61}, **tables})


def sites(n: int, **known: Any) -> Sites:
    return Sites.at(np.linspace(-5, 5, n), np.full(n, -60.0), **known)


def columns(n: int, **other: Any) -> Columns:
    """Return result columns of sites that all have kit and take 0.1 MHz of power each."""
    return {
        "site_id": np.array([f"S{k}" for k in range(n)], dtype=object),
        "antenna_m": np.full(n, 1.2),
        "buc_w": np.full(n, 2.0),
        "power_equivalent_mhz": np.full(n, 0.1),
        **other,
    }


def loads(of: Sites, checked: Network, **other: Any) -> tuple[PoolLoad, ...]:
    return loads_of(of, columns(len(of), **other), checked)


def answer(n: int = 10, known: Any = None, other: Any = None, **tables: Any) -> Capacity:
    """Return the capacity of sites under tables of a network."""
    checked = network(**tables)
    return capacity(added(loads(sites(n, **(known or {})), checked, **(other or {}))), checked)
