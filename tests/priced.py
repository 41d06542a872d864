"""Prices for a network of a test: all that a site may need has one, unlike all others."""

from __future__ import annotations

from typing import Any

from siteplan.network import Network

#: Prices of mounts, and of the work on each.
MOUNTS = {"pole": 181.0, "wall": 92.0, "non_penetrating": 263.0, "ground": 314.0}
MOUNTS |= {"engineered": 5005.0}
INSTALLATION = {"pole": 306.0, "wall": 207.0, "non_penetrating": 258.0, "ground": 409.0}
INSTALLATION |= {"engineered": 2010.0}
COSTS = {"modem": 911.0, "lnb": 122.0, "visit": 153.0}
CABLE_M = 1.25
#: An antenna costs so much for each metre, a BUC for each watt.
ANTENNA_FOR_M, BUC_FOR_W = 500.0, 240.0


def with_prices(network: Network, *, without: tuple[str, ...] = (), **costs: Any) -> Network:
    """Return a network with prices for all but ballast; ``costs`` are more keys of its table.

    ``without`` names tables whose entries go without.
    """
    work = {f"installation_{kind}": price for kind, price in INSTALLATION.items()}
    prices: dict[str, Any] = {
        "antennas": [(a, a.diameter_m * ANTENNA_FOR_M) for a in network.antennas],
        "bucs": [(b, b.rated_w * BUC_FOR_W) for b in network.bucs],
        "cables": [(c, CABLE_M) for c in network.cables],
    }
    listed = {
        table: tuple(entry.model_copy(update={"price": price}) for entry, price in entries)
        for table, entries in prices.items()
        if table not in without
    }
    tables = {
        "mounts": [{"kind": kind, "price": price} for kind, price in MOUNTS.items()],
        "costs": {**COSTS, **work, **costs},
    }
    kept = {name: table for name, table in tables.items() if name not in without}
    checked = Network.model_validate({"satellite": {"longitude_deg": 0.0}, **kept})
    return network.model_copy(update={**listed, "mounts": checked.mounts, "costs": checked.costs})


#: What a site costs month by month, and a line that is dearer than any satellite.
RUNS = {"lease_mhz_month": 100.0, "recurring_site_month": 5.0, "line_month": 90_000.0}


def with_costs(network: Network, **costs: Any) -> Network:
    """Return a network with all prices and costs over the years that picks kit by cost."""
    priced = with_prices(network, **(RUNS | costs))
    rules = priced.rules.model_copy(update={"pick": "cost"})
    return priced.model_copy(update={"rules": rules})
