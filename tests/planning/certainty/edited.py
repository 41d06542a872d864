"""Networks with one figure changed in the file, as somebody would edit it, for every item."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.physics.propagation import attenuation
from siteplan.planning import setting
from siteplan.planning.beams.settings import settings
from siteplan.planning.certainty.items import Item
from siteplan.planning.cost.worth import worth
from siteplan.planning.kit.catalogue import installed
from siteplan.planning.kit.pick import Sizing, size
from siteplan.planning.plan import see

#: The key of both carriers that an item changes.
CARRIERS = {
    "eirp": "satellite_eirp_dbw",
    "g_t": "satellite_g_t_db_k",
    "sfd": "sfd_dbw_m2",
    "ci": "ci_db",
}
#: The key of the terminals.
TERMINAL = {"pointing": "pointing_error_deg", "lnb_noise": "lnb_noise_k"}
#: The pattern one class worse.
WORSE = {"s580_any_size": "s580", "s580": "appendix_8", "s465": "appendix_8"}


def edited(network: Network, item: Item, part: float) -> Network:
    """The network file with the item's figure off by a part of its step."""
    data: dict[str, Any] = network.model_dump(exclude_unset=True)
    more = item.step * part
    if item.name in CARRIERS:
        key = CARRIERS[item.name]
        for way in ("outbound", "inbound"):
            data[way] = data.get(way, {}) | {key: getattr(getattr(network, way), key) + more}
    elif item.name in TERMINAL:
        key = TERMINAL[item.name]
        value = getattr(network.terminal, key)
        data["terminal"] = data.get("terminal", {}) | {key: value + more}
    elif item.name == "availability":
        data["network"] = data["network"] | {
            "availability_pct": target(network.network.availability_pct, item.step, part)
        }
    elif item.name == "pattern":
        data["antennas"] = [
            a | {"pattern": WORSE.get(a.get("pattern", "s580"), "appendix_8")}
            for a in data["antennas"]
        ]
    return Network.model_validate(data)


def target(availability_pct: float, step: float, part: float = 1.0) -> float:
    """The target with a part of a tenth of a per cent more or less; the outage at most doubles."""
    outage = 100 - availability_pct
    most = max(outage - step, outage / 2) if step > 0 else min(outage - step, outage * 2)
    return 100 - (outage + part * (most - outage))


@contextmanager
def rain(item: Item, part: float) -> Iterator[None]:
    """The method gives so much more rain attenuation, everywhere."""
    scale = 1 + (item.step * part / 100 if item.name == "rain" else 0)
    real: Callable[..., Any] = attenuation.rain_db
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(attenuation, "rain_db", lambda *of: real(*of) * scale)
        patch.setattr(setting, "_MADE", [])  # a hub's end that was made before knows no such rain
        yield


def run(sites: Sites, network: Network, item: Item, part: float = 1.0) -> Sizing:
    """The plan's own pick with the figure off by a part of its step: all up to the kit."""
    if item.name == "availability":
        own = [target(a, item.step, part) for a in sites.availability_pct.tolist()]
        sites = replace(sites, availability_pct=np.array(own))
    with rain(item, part):
        return sized(sites, edited(network, item, part))


def sized(sites: Sites, network: Network) -> Sizing:
    """The kit that a plan of a network of one beam gives."""
    shared = settings(network)[0]
    seen = see(sites, shared)
    may_pick = (seen.at.elevation_deg >= shared.floor_deg) & seen.reached
    cost = worth(sites, shared.network, shared.kinds)
    return size(seen.link, shared.kinds, installed(sites), seen.p_pct, may_pick, cost=cost)
