"""Keys that were given and that change nothing as the network file stands: told of the plan."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.messages import english
from siteplan.network import Network

#: Keys that count only where another one says so.
_ADAPTIVE = ("modcods", "max_modcod")
_GROWTH = ("growth_pct", "sites_growth_pct")


def cautions(network: Network) -> Iterator[str]:
    """Yield one sentence that names the keys given in vain, each with what it needs to count."""
    found = [f"{key} ({english()[f'idle.{code}']})" for key, code in idle(network)]
    if found:
        yield english().one("caution.idle", keys="; ".join(found))


def idle(network: Network) -> Iterator[tuple[str, str]]:
    """Yield the keys given in vain, and a code for what each of them needs to count."""
    yield from _of_hub(network)
    for table in ("outbound", "inbound"):
        for key in _ADAPTIVE:
            if _given(network, table, key) and not getattr(network, table).adaptive:
                yield f"[{table}] {key}", "adaptive"
    reduced = network.inbound.clear_sky_reduction_db > 0
    if reduced and network.terminal.power_control_db == 0:
        yield "[inbound] clear_sky_reduction_db", "terminal_control"
    yield from _of_traffic(network)
    if network.rollout.start is not None and network.rollout.sites_per_week is None:
        yield "[rollout] start", "sites_per_week"
    if network.costs.line_fixed is not None and network.costs.line_per_km is None:
        yield "[costs] line_fixed", "line_per_km"


def _of_hub(network: Network) -> Iterator[tuple[str, str]]:
    hub = network.hub
    if hub.diversity_km and hub.lat is None:
        yield "[hub] diversity_km", "hub_place"
    if hub.diversity_bearing_deg is not None and not hub.diversity_km:
        yield "[hub] diversity_bearing_deg", "diversity"


def _of_traffic(network: Network) -> Iterator[tuple[str, str]]:
    traffic = network.traffic
    circuits = {traffic.access, *(of.access for of in network.applications)}
    voice = any(of.profile == "voice" for of in network.applications)
    if _given(network, "traffic", "blocking_pct") and "circuit" not in circuits and not voice:
        yield "[traffic] blocking_pct", "circuit"
    for key in _GROWTH:
        if getattr(traffic, key) and traffic.years == 0:
            yield f"[traffic] {key}", "years"


def _given(network: Network, table: str, key: str) -> bool:
    return key in getattr(network, table).model_fields_set
