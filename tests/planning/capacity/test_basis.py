"""Which figures rest on a key: each that a key moves knows it, or would stand there unmarked."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import fields
from typing import Any

import numpy as np
import pytest

from siteplan.answers.transmission import Transmission
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.capacity.transmission import transmission
from siteplan.planning.plan import make_plan

#: Keys of a carrier's table, of others, and what each is changed to.
OWN = {
    "uplink_ghz": 13.9, "downlink_ghz": 12.4, "symbol_rate_msps": 0.3, "roll_off": 0.25,
    "modcod": "8PSK 3/5", "implementation_loss_db": 1.5, "frame_efficiency": 0.7,
    "transponder_mhz": 30.0, "input_backoff_db": 7.0, "output_backoff_db": 4.0,
    "sfd_dbw_m2": -89.0, "satellite_eirp_dbw": 51.0, "satellite_g_t_db_k": 3.0,
    "uplink_polarization": "vertical", "downlink_polarization": "horizontal",
}  # fmt: skip
OTHERS = {
    "terminal.tx_loss_db": 0.9, "terminal.pointing_loss_db": 0.5, "terminal.power_control_db": 0.1,
    "terminal.lnb_noise_k": 90.0, "terminal.spillover_noise_k": 30.0, "terminal.rx_loss_db": 0.4,
    "hub.antenna_m": 5.0, "hub.efficiency": 0.6, "hub.lna_noise_k": 90.0, "hub.tx_loss_db": 1.5,
    "hub.power_control_db": 5.0, "hub.hpa_backoff_db": 4.0, "hub.carriers": 2,
    "lease.guard_pct": 9.0, "regulation.emission_class": "D7W",
}  # fmt: skip
#: What is no figure, is marked as another one, or is never marked since masks decide it.
UNMARKED = {
    *("basis", "beams", "direction", "name", "type", "modcods", "redundancy", "mask", "lat", "lon"),
    *("least_satellite_eirp_dbw", "least_carrier_eirp_dbw", "sites", "efficiency", "centres"),
    "allowed_feed_w",
}
CALLED = {"uplink_ghz": "uplink", "downlink_ghz": "downlink"}


def planned(tables: dict[str, Any]) -> Transmission:
    """Return the plan of two sites whose kit stands there, so that no pick moves."""
    sites = Sites.at(
        np.array([-3.0, -4.0]), np.array([-60.0, -61.0]),
        fixed_antenna_m=np.array([1.2, 2.4]), fixed_buc_w=np.array([2.0, 6.0]),
    )  # fmt: skip
    plan = make_plan(sites, Network.model_validate(tables))
    found = transmission(plan.facts, plan.network)
    assert found is not None
    return found


def figures(of: Any) -> dict[str, Any]:
    """Return the figures of a row that may be marked; those of a type stand among them."""
    rows = (of, of.type) if hasattr(of, "type") else (of,)
    found = {f.name: getattr(row, f.name) for row in rows for f in fields(row)}
    return {name: value for name, value in found.items() if name not in UNMARKED}


def moved(one: Transmission, other: Transmission) -> Iterator[tuple[str, Any]]:
    """Yield each figure that differs between two plans, and its row in the first."""
    for kind in ("groups", "hubs", "terminals"):
        for old, new in zip(getattr(one, kind), getattr(other, kind), strict=True):
            after = figures(new)
            for name, value in figures(old).items():
                if not same(value, after[name]):
                    yield CALLED.get(name, name), old


def same(one: Any, other: Any) -> bool:
    """Whether two figures show alike: a hundredth of a decibel is the least that is told."""
    if isinstance(one, float) and isinstance(other, float):
        return (math.isnan(one) and math.isnan(other)) or abs(one - other) < 5e-3
    return bool(one == other)


KEYS = [*(f"{way}.{key}" for way in ("outbound", "inbound") for key in OWN), *OTHERS]
#: What the hub's levels rest on where its amplifier is given, and falls short.
OF_SHORT = ("hub.tx_loss_db", "hub.hpa_backoff_db", "hub.carriers", "hub.antenna_m")


@pytest.mark.parametrize(
    ("key", "hpa_w"), [*((k, None) for k in KEYS), *((k, w) for k in OF_SHORT for w in (4, 40))]
)
def test_a_figure_that_a_key_moves_knows_the_key(key: str, hpa_w: float | None) -> None:
    table, name = key.split(".")
    value = "8PSK 2/3" if key == "inbound.modcod" else OTHERS.get(key, OWN.get(name))
    hub = {"lat": -15.8, "lon": -47.9}
    if hpa_w is not None:
        hub |= {"hpa_w": hpa_w, "power_control_db": 12}
    tables: dict[str, Any] = {
        "satellite": {"longitude_deg": -61}, "traffic": {"activity": 0.0}, "hub": hub
    }  # fmt: skip
    own = {**tables.get(table, {}), name: value}
    without, given = planned(tables), planned({**tables, table: own})
    found = list(moved(without, given))
    assert found
    for figure, row in found:
        assert figure in row.basis[0], figure
        assert key in row.basis[1], figure
    for row in (*given.groups, *given.hubs, *given.terminals):
        assert key not in row.basis[1]
