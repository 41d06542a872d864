"""The part of a budget that tells the carrier over interference, each source on a line of its own.

Where neighbours or the other polarization count the part is a power sum, so labelled; else the
figure of the network file stands alone.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from siteplan.answers.budget import BudgetLine, BudgetPart
from siteplan.arrays import FloatArray
from siteplan.physics.radio.carrier import CarrierPlan, inverse_sum_db
from siteplan.planning.link.ends import Level
from siteplan.planning.link.lines.parts import Hop
from siteplan.planning.link.lines.terms import columns, part
from siteplan.planning.link.spectrum.interference import (
    hub_satellites_ci_db,
    inbound_cross_polar_db,
    outbound_cross_polar_db,
    rain_leak_db,
    satellites_ci_db,
    stations_ci_db,
)
from siteplan.planning.link.ways import Inbound, Outbound

#: Sources by the code of their line; None where one does not count.
Sources = dict[str, Level | None]
#: What the lines of sources rest on.
_KEYS = {
    "ci_satellites": ("neighbours.1.downlink_level_db", "antennas.1.pattern"),
    "ci_hub_satellites": ("neighbours.1.hub_level_db", "hub.pattern"),
    "ci_stations": ("neighbours.1.uplink_dbw_40khz",),
    "ci_cross_polar": ("satellite.xpi_db", "antennas.1.xpi_db"),
    "ci_hub_cross_polar": ("satellite.xpi_db", "hub.xpi_db"),
}


def outbound_sources(way: Outbound, p_pct: float) -> Sources:
    """Return the outbound carrier over each source [dB], numbers or (3,), as in clear sky.

    ``p_pct`` is the site's share of the outage.
    """
    link, at = way.link, np.array([p_pct])
    leak = rain_leak_db(link, way.sky(at).rain, at)
    return {
        "ci_satellites": satellites_ci_db(link, way.dish),
        "ci_stations": stations_ci_db(link, link.outbound, link.outbound.share_flux_dbw_m2),
        "ci_cross_polar": outbound_cross_polar_db(link, way.dish),
        "ci_rain": None if leak is None else columns(np.nan, leak, np.nan),
    }


def inbound_sources(way: Inbound, net_db: FloatArray, p_pct: float) -> Sources:
    """Return the inbound carrier over each source (3,) [dB], what its own fade takes added again.

    ``net_db`` (3,) is that fade, ``p_pct`` the hub's share of the outage.
    """
    link, flux = way.link, way.driven.flux_dbw_m2 - net_db
    satellites, stations = (
        hub_satellites_ci_db(link, flux),
        stations_ci_db(link, link.inbound, flux),
    )
    leak, under = link.hub.depolarized, way.driven.under_share_db
    return {
        "ci_hub_satellites": None if satellites is None else satellites + net_db,
        "ci_stations": None if stations is None else stations + net_db,
        "ci_hub_cross_polar": inbound_cross_polar_db(link, under),
        "ci_rain": None if leak is None else columns(np.nan, np.nan, leak.at(p_pct) - under),
    }


def _counted(sources: Sources) -> Iterator[tuple[str, FloatArray]]:
    for code, value in sources.items():
        if value is not None:
            yield code, np.broadcast_to(np.asarray(value, dtype=float), 3)


def ci_db(own_db: float, sources: Sources) -> FloatArray:
    """Return the carrier over all interference (3,) [dB], before what a fade takes from it.

    ``own_db`` is what the network file tells, at the level that the carrier has.
    """
    terms = [np.where(np.isnan(value), np.inf, value) for _, value in _counted(sources)]
    own = np.full(3, own_db)
    return inverse_sum_db(own, *terms) if terms else own


def inbound_own_ci_db(way: Inbound) -> float:
    """Return the inbound C/I of the network file [dB], at the level that one site's carrier has."""
    return float(np.squeeze(way.link.inbound.ci_db - way.driven.under_share_db))


def interference(
    hop: Hop, carrier: CarrierPlan, table: str, sources: Sources, own_db: float
) -> BudgetPart:
    """Return the carrier to interference; it falls with the carrier in its transmitter's rain."""
    known, rate, all_db = hop.known, carrier.symbol_rate_dbhz, ci_db(own_db, sources)
    terms = tuple(_lines(hop, sources))
    own = _own(hop, table, "" if terms else "+", own_db)
    together = (known.computed("ci_all", "sum", "dB", all_db),) if terms else ()
    return part(
        "interference",
        own,
        *terms,
        *together,
        known.computed("ci_fall", "-", "dB", hop.net_db),
        known.key("symbol_rate", "+", "dBHz", rate, f"{table}.symbol_rate_msps"),
        known.computed("c_i0", "=", "dBHz", all_db - hop.net_db + rate),
    )


def _own(hop: Hop, table: str, sign: str, own_db: float) -> BudgetLine:
    """Return the C/I of the network file, as it is where the carrier's level moves it."""
    key, told = f"{table}.ci_db", getattr(hop.known.network, table).ci_db
    if own_db == told:
        return hop.known.key("ci", sign, "dB", told, key)
    moved = {"outbound": "level_db", "inbound": "clear_sky_reduction_db"}[table]
    numbers = {"ci_db": told, "moved_db": own_db - told}
    return hop.known.computed(
        "ci_moved", sign, "dB", own_db, (key, f"{table}.{moved}"), numbers=numbers
    )


def _lines(hop: Hop, sources: Sources) -> Iterator[BudgetLine]:
    own = f"{hop.remote.antenna}."
    for code, value in _counted(sources):
        keys = tuple(key.replace("antennas.1.", own) for key in _KEYS.get(code, ()))
        yield hop.known.computed(code, "", "dB", value, keys)
