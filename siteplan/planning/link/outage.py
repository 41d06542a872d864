"""How an outage is shared between the two ends, and what follows from it for the methods.

Rain takes one end at a time: the site faded with the hub clear, or the hub faded with the site
clear; the outage is shared between them.
"""

from __future__ import annotations

from siteplan.arrays import FloatArray
from siteplan.network import Network
from siteplan.physics.propagation.climate import FROZEN_P_PCT

#: Attenuation is monotone in p above this percentage; below, reversals are seen.
MONOTONE_ABOVE_PCT = 0.006


def shares_pct(network: Network, p_pct: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the sites' and the hub's share of outages ``p_pct`` (n,) [%]."""
    hub = network.rules.hub_outage_share * p_pct
    return p_pct - hub, hub


def site_share(network: Network) -> float:
    """Return the sites' part of every outage, 0 to 1."""
    return 1 - network.rules.hub_outage_share


def rain_ends_pct(network: Network) -> float:
    """Return the outage up to which both ends' shares are within rain's 5 % [%]."""
    share = network.rules.hub_outage_share
    return FROZEN_P_PCT / max(share, 1 - share)


def monotone_above_pct(network: Network, *, hub_placed: bool) -> float:
    """Return the outage above which both ends' shares are in the monotone range [%]."""
    share = network.rules.hub_outage_share
    counted = hub_placed and share > 0
    smaller = min(share, 1 - share) if counted else 1 - share
    return min(MONOTONE_ABOVE_PCT / smaller, 1.0)
