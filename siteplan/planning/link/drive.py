"""How hard a remote drives the satellite: its clear-sky level, and what a fade lets it add.

``own`` share: in clear sky the carrier takes at most the power of its bandwidth, so the BUC is
turned down by what is more; in the site's own fade power control gives that back. What a limit on
off-axis radiation takes stays taken.
"""

from __future__ import annotations

import numpy as np

from siteplan.arrays import FloatArray, IntArray, TextColumn
from siteplan.frozen import frozen
from siteplan.physics.radio.antennas import gain_dbi
from siteplan.planning.link import mispointing
from siteplan.planning.link.ends import Dish, Level, Links
from siteplan.planning.link.spectrum import licence

#: What cuts the clear-sky power of a remote where no limit does: its share, or to spare power.
SHARE_CUT, SPARED = "share", "clear_sky_reduction"
#: A cut under this is none [dB].
_NOTHING_DB = 1e-9


@frozen
class Drive:
    """The remotes' drive (n,).

    ``eirp_dbw`` is the clear-sky EIRP after the cut, ``flux_dbw_m2`` what it gives at the
    satellite in clear sky, ``cut_db`` how far the BUC is turned down, ``raise_db`` how far it
    rises again in the site's own fade. ``held_db`` is how far limits on off-axis radiation turn it
    down at least, ``held_by`` the number of the tightest; None where they cut nothing.
    ``lowered_db`` is what of the cut is there to spare satellite power alone; None where the
    network file asks for no such thing.
    """

    eirp_dbw: FloatArray
    flux_dbw_m2: FloatArray
    cut_db: FloatArray
    raise_db: FloatArray
    held_db: FloatArray | None = None
    held_by: IntArray | None = None
    lowered_db: FloatArray | None = None

    @property
    def under_share_db(self) -> Level:
        """How far the carrier stands under where its C/I is told [dB], a number or (n,)."""
        return 0.0 if self.lowered_db is None else self.lowered_db


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
    flux = full - link.site.uplink_loss_db_m2 - link.site.up.gas_db
    more = np.asarray(flux - link.inbound.share_flux_dbw_m2)
    own = link.network.inbound.power_share == "own"
    cut = np.maximum(more, 0.0) if own else np.zeros_like(more) * more
    back, held_db, held_by = cut, None, None
    if (held := licence.held(link, dish, buc_dbw)) is not None:
        held_db = np.where(np.isnan(cut), np.nan, held.db)
        held_by = np.broadcast_to(held.mask, cut.shape)
        cut = np.maximum(cut, held_db)
        back = cut - held_db
    control = link.network.terminal.power_control_db
    back = back if control is None else np.minimum(back, control)
    return Drive(full - cut, flux - cut, cut, back, held_db, held_by)


def cut_by(link: Links, driven: Drive) -> TextColumn:
    """Return what cuts each site's power deepest (n,): the share, or a mask by its name.

    Where neither cuts, what is turned down to spare satellite power has a name of its own.
    """
    before = driven.cut_db - driven.under_share_db
    by = np.where(driven.cut_db > 0, SHARE_CUT, "").astype(object)
    if driven.lowered_db is not None:
        by[(before <= _NOTHING_DB) & (driven.lowered_db > 0)] = SPARED
    if driven.held_db is None or driven.held_by is None or link.limits is None:
        return by
    names = np.array([mask.name for mask in link.limits.masks], dtype=object)
    deepest = (driven.held_db > 0) & (driven.held_db >= before)
    return np.where(deepest, names[driven.held_by], by).astype(object)


def rated_eirp_dbw(link: Links, dish: Dish, buc_dbw: Level) -> FloatArray:
    """Return the remotes' EIRP (n,) [dBW] at the BUC's power after back-off [dBW]."""
    ghz = link.inbound.uplink_ghz
    gain = gain_dbi(dish.diameter_m, dish.efficiency, ghz)
    pointing = mispointing.loss_db(link.network, dish, ghz, link.pointing_more_deg)
    return np.asarray(buc_dbw + gain - link.network.terminal.tx_loss_db - pointing)
