"""Networks under limits off the axis, plans of them, and what is allowed, worked out by hand."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.results import Plan

#: A site near the equator, by the network's satellite.
HERE = (-3.1, -60.0)
#: 47 CFR 25.218(f), per 4 kHz, as parts [from, to, a, b]: read in a public copy of 47 CFR 25.226.
KU = ((1.5, 7, 15, 25), (7, 9.2, -6, 0), (9.2, 19.1, 18, 25), (19.1, 180, -14, 0))
#: ITU-R S.728-1, per 40 kHz, from memory.
S728 = ((2.5, 7, 33, 25), (7, 9.2, 12, 0), (9.2, 48, 36, 25), (48, 180, -6, 0))
LIGHT_M_S = 299_792_458.0

BASE: Mapping[str, Any] = {
    "network": {"date": "2026-06-01"},
    "satellite": {"longitude_deg": -61.0},
    "inbound": {"symbol_rate_msps": 0.256, "power_share": "free"},
    "regulation": {"masks": ["47cfr25_ku"]},
    "antennas": [{"diameter_m": d} for d in (1.2, 1.8, 2.4)],
    "bucs": [{"rated_w": w} for w in (1, 2, 3)],
}


def ruled(**tables: Any) -> Network:
    """Return the network with keys of its tables changed, as ``inbound={...}``; lists whole."""
    changed = {k: v if isinstance(v, list) else BASE.get(k, {}) | v for k, v in tables.items()}
    return Network.model_validate({**BASE, **changed})


def own_mask(
    segments: Any, khz: float = 4, angle_from: str = "satellite", name: str = "own"
) -> Any:
    """Return a row of ``[[masks]]``."""
    return {"name": name, "reference_khz": khz, "angle_from": angle_from,
            "segments": [list(map(float, s)) for s in segments]}  # fmt: skip


def planned(network: Network, lat: Any = HERE[0], lon: Any = HERE[1], **known: Any) -> Plan:
    """Return the plan of points; what is known of the sites may be one figure for all."""
    lat, lon = np.atleast_1d(np.float64(lat)), np.atleast_1d(np.float64(lon))
    columns = {k: np.broadcast_to(np.float64(v), len(lat)).copy() for k, v in known.items()}
    return make_plan(Sites.at(lat, lon, **columns), network)


def standing(network: Network, dish_m: Any, buc_w: Any, **known: Any) -> Mapping[str, Any]:
    """Return the columns of sites, side by side, where pairs stand."""
    n = np.broadcast(dish_m, buc_w).size
    kit = {"fixed_antenna_m": dish_m, "fixed_buc_w": buc_w}
    return planned(network, np.full(n, HERE[0]), np.full(n, HERE[1]), **kit, **known).columns


def gain_dbi(dish_m: float, ghz: float = 14.25, efficiency: float = 0.65) -> float:
    return 10 * math.log10(efficiency * (math.pi * dish_m * ghz * 1e9 / LIGHT_M_S) ** 2)


def side_dbi(phi: float, dish_m: float, ghz: float = 14.25, efficiency: float = 0.65) -> float:
    """Return the gain off the axis by S.580-6 with the Bureau's extension, D/lambda 50 to 100."""
    x, gm = dish_m * ghz * 1e9 / LIGHT_M_S, gain_dbi(dish_m, ghz, efficiency)
    assert 50 <= x < 100
    shoulder = -21 + 25 * math.log10(x)
    if phi < 20 / x * math.sqrt(gm - shoulder):
        return gm - 0.0025 * (x * phi) ** 2
    if phi < 100 / x:
        return shoulder
    return max(29 - 25 * math.log10(phi), min(-3.5, 32 - 25 * math.log10(phi)), -10.0)


def allowed_dbw(
    segments: Any, dish_m: float, *, khz: float = 4, rate: float = 256e3, away: float = 0.0,
    efficiency: float = 0.65,
) -> float:  # fmt: skip
    """Return the power at the feed that a mask allows: the least over a fine row of angles."""
    spread = 10 * math.log10(max(rate, khz * 1e3) / (khz * 1e3))
    least = math.inf
    for start, end, a, b in segments:
        for phi in np.append(np.geomspace(start, end, 4000), end).tolist():
            gain = side_dbi(abs(phi - away), dish_m, efficiency=efficiency)
            least = min(least, a - b * math.log10(phi) - gain)
    return least + spread
