"""Where the hub's fade goes beyond the range of its power control, and where its power is short."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from siteplan.arrays import BoolArray, FloatArray
from siteplan.network import Network
from siteplan.physics.propagation.attenuation import P_RANGE_PCT
from siteplan.planning.link.ends import HubEnd, Links
from siteplan.planning.link.outage import Shares
from siteplan.planning.step import Raised, flag

#: Keys of ``[hub]`` that tell of its power; without any, the range is what the file says.
POWER_KEYS = frozenset(
    ("tx_loss_db", "hpa_w", "hpa_backoff_db", "carriers", "diversity_km", "redundancy")
)
#: Decisions compare decibels to this many decimals.
_DECIMALS = 6


def hub_limits_outbound(split: Shares) -> BoolArray:
    """Return where the hub's end limits the plan outbound (n,)."""
    return np.asarray(split.hub_blamed & ~split.inbound_limits)


def hub_fade_db(hub: HubEnd, split: Shares) -> FloatArray:
    """Return the fade of the hub's uplink (n,) [dB] at its share of each site's outbound outage."""
    share: FloatArray = np.maximum(split.outbound_hub_outage_pct, P_RANGE_PCT[0])
    return np.where(np.isnan(share), np.nan, hub.up_fade.at(share))


def saturated(hub: HubEnd, split: Shares) -> BoolArray:
    """Return where the hub limits outbound and its fade exceeds the range used (n,)."""
    over = np.round(hub_fade_db(hub, split) - hub.control_db, _DECIMALS) > 0
    return np.asarray(hub_limits_outbound(split) & over)


def is_told(network: Network) -> bool:
    """Whether the network file tells of the hub's power."""
    return bool(POWER_KEYS & network.hub.model_fields_set)


def raised(link: Links, split: Shares) -> Iterator[Raised]:
    """Yield the flags of the hub's power, where the network file tells of it.

    A hub without power control has no range that could be exceeded: the plan's caution on its rain
    tells of that.
    """
    hub, network = link.hub, link.network
    if not is_told(network):
        return
    short = np.full(len(link), round(float(hub.short_db), _DECIMALS) > 0)
    yield flag("hub_power_short", short & ~np.isnan(link.site.free_space_db))
    if network.hub.power_control_db > 0:
        yield flag(
            "power_control_saturated",
            saturated(hub, split),
            fade_db=hub_fade_db(hub, split),
            control_db=np.full(len(link), hub.control_db),
        )
