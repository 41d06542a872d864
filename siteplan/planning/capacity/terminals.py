"""What the terminals of a pool send, counted by type: the greatest counts, so that parts add up."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.answers.transmission import TerminalType
from siteplan.arrays import Arrays, FloatArray, IntArray
from siteplan.frozen import frozen
from siteplan.planning.capacity.pools import Pool
from siteplan.planning.link.drive import Drive
from siteplan.planning.link.ends import Kit, Links


@frozen(eq=False)
class Sending(Arrays):
    """What remotes (n,) send beside their result fields.

    Aperture efficiency; flux at the satellite in clear sky, and the flux that saturates the
    transponder from there [dBW/m2]; how far power control raises them in their own fade [dB].
    """

    efficiency: FloatArray
    flux_dbw_m2: FloatArray
    sfd_dbw_m2: FloatArray
    raise_db: FloatArray


def sending(link: Links, kit: Kit, driven: Drive) -> Sending:
    """Return what remotes (n,) send with their kit.

    The link tells flux by the network file's SFD; from a site whose beam has a higher G/T the
    satellite saturates at as much less.
    """
    site = link.site
    above = 0.0 if site.beam_up_db is None else site.beam_up_db
    flux = driven.eirp_dbw - site.spreading_db_m2 - site.up.gas_db
    return Sending(
        efficiency=kit.efficiency,
        flux_dbw_m2=flux,
        sfd_dbw_m2=np.broadcast_to(link.inbound.sfd_dbw_m2 - above, flux.shape),
        raise_db=np.broadcast_to(driven.raise_db, flux.shape),
    )


def types_of(
    columns: Mapping[str, NDArray[Any]], pool: Pool, of: Sending, rows: IntArray
) -> tuple[TerminalType, ...]:
    """Return the types of the terminals of a pool at ``rows`` (k,), by size.

    Those that do not see the satellite are left out.
    """
    seen = rows[~np.isnan(of.flux_dbw_m2[rows])]
    kit = columns["antenna_m"][seen], columns["buc_w"][seen], of.efficiency[seen]
    kinds, each = np.unique(np.column_stack(kit), axis=0, return_inverse=True)
    places = each.reshape(-1)
    loss_db = pool.network.terminal.tx_loss_db
    return tuple(
        _type(columns, of, loss_db, seen[places == number]) for number in range(len(kinds))
    )


def _type(
    columns: Mapping[str, NDArray[Any]], of: Sending, tx_loss_db: float, rows: IntArray
) -> TerminalType:
    """Return the type of terminals with the same kit."""
    power, eirp = columns["tx_power_w"][rows], columns["remote_eirp_dbw"][rows]
    feed = power * 10 ** (-tx_loss_db / 10)
    raised = of.raise_db[rows]
    taken = columns["power_equivalent_mhz"][rows]
    strong = rows[np.lexsort((of.sfd_dbw_m2[rows], of.flux_dbw_m2[rows], taken))[-1]]
    low, high = _ends(columns.get("satellite_eirp_dbw"), rows)
    return TerminalType(
        antenna_m=float(columns["antenna_m"][rows[0]]),
        buc_w=float(columns["buc_w"][rows[0]]),
        efficiency=float(of.efficiency[rows[0]]),
        sites=len(rows),
        feed_w=float(feed.max()),
        faded_feed_w=float((feed * 10 ** (raised / 10)).max()),
        allowed_feed_w=_ends(columns.get("allowed_feed_w"), rows)[0],
        eirp_dbw=float(eirp.max()),
        faded_eirp_dbw=float((eirp + raised).max()),
        g_t_db_k=float(columns["remote_g_t_db_k"][rows].min()),
        power_equivalent_mhz=float(columns["power_equivalent_mhz"][strong]),
        flux_dbw_m2=float(of.flux_dbw_m2[strong]),
        sfd_dbw_m2=float(of.sfd_dbw_m2[strong]),
        least_satellite_eirp_dbw=low,
        satellite_eirp_dbw=high,
    )


def _ends(values: NDArray[Any] | None, rows: IntArray) -> tuple[float, float]:
    """Return the least and the greatest of a field; NaN where the plan has it not."""
    if values is None:
        return np.nan, np.nan
    return float(values[rows].min()), float(values[rows].max())
