"""How hard a remote drives the satellite: its clear-sky level, and what a fade lets it add.

``own`` share: in clear sky the carrier takes at most the power of its bandwidth, so the BUC is
turned down by what is more; in the site's own fade power control gives that back. What a limit on
off-axis radiation takes stays taken.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.physics.radio.antennas import gain_dbi
from siteplan.planning.link import mispointing
from siteplan.planning.link.ends import Dish, Level, Links
from siteplan.planning.link.spectrum import licence


@dataclass(frozen=True)
class Drive:
    """The remotes' drive (n,).

    ``eirp_dbw`` is the clear-sky EIRP after the cut, ``flux_dbw_m2`` what it gives at the
    satellite in clear sky, ``cut_db`` how far the BUC is turned down, ``raise_db`` how far it
    rises again in the site's own fade. ``held_db`` is how far limits on off-axis radiation turn it
    down at least; None where none does.
    """

    eirp_dbw: FloatArray
    flux_dbw_m2: FloatArray
    cut_db: FloatArray
    raise_db: FloatArray
    held_db: FloatArray | None = None


def drive(link: Links, dish: Dish, buc_dbw: Level) -> Drive:
    """Return how each site drives the satellite with its dish and BUC.

    Parameters
    ----------
    link : Links
        Of n sites.
    dish : Dish
        Numbers, or one a site.
    buc_dbw : float or (n,) array
        Power of the BUC after its back-off [dBW].
    """
    full = rated_eirp_dbw(link, dish, buc_dbw)
    flux = full - link.site.spreading_db_m2 - link.site.up.gas_db
    more = np.asarray(flux - link.inbound.share_flux_dbw_m2)
    own = link.network.inbound.power_share == "own"
    cut = np.maximum(more, 0.0) if own else np.zeros_like(more) * more
    held, back = licence.cut_db(link, dish, buc_dbw), cut
    if held is not None:
        held = np.where(np.isnan(cut), np.nan, held)
        cut = np.maximum(cut, held)
        back = cut - held
    control = link.network.terminal.power_control_db
    back = back if control is None else np.minimum(back, control)
    return Drive(full - cut, flux - cut, cut, back, held)


def rated_eirp_dbw(link: Links, dish: Dish, buc_dbw: Level) -> FloatArray:
    """Return the remotes' EIRP (n,) [dBW] at the BUC's power after back-off [dBW]."""
    ghz = link.inbound.uplink_ghz
    gain = gain_dbi(dish.diameter_m, dish.efficiency, ghz)
    pointing = mispointing.loss_db(link.network, dish, ghz)
    return np.asarray(buc_dbw + gain - link.network.terminal.tx_loss_db - pointing)
