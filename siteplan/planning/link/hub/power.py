"""What the hub's amplifier has to give, and what range of power control it leaves."""

from __future__ import annotations

import math
from typing import NamedTuple

from siteplan.network import Hub


class HubPower(NamedTuple):
    """The hub's amplifier against what one carrier needs at the feed.

    ``drive_dbw`` is its rated power [dBW] that all carriers need in clear sky, line loss and
    back-off included, ``needed_dbw`` that with the range of power control that is asked for.
    ``control_db`` is the range used: the smaller of the one asked for and the amplifier's headroom;
    ``short_db`` how far the amplifier falls short of clear sky [dB]. ``headroom_db`` is negative
    there, and infinite where no amplifier is given.
    """

    drive_dbw: float
    needed_dbw: float
    headroom_db: float
    control_db: float
    short_db: float


def hub_power(hub: Hub, feed_dbw: float) -> HubPower:
    """Return what the hub's amplifier has to give for its carriers, and what it has left.

    Parameters
    ----------
    hub : Hub
        ``[hub]``.
    feed_dbw : float
        Power of one carrier at the antenna's feed in clear sky. [dBW]

    Notes
    -----
    Common practice, no source: carriers of equal power add, the amplifier is rated at saturation
    and backed off for all of them, and uplink power control raises all alike.
    """
    drive = feed_dbw + 10 * math.log10(hub.carriers) + hub.tx_loss_db + hub.hpa_backoff_db
    headroom = math.inf if hub.hpa_w is None else 10 * math.log10(hub.hpa_w) - drive
    return HubPower(
        drive_dbw=drive,
        needed_dbw=drive + hub.power_control_db,
        headroom_db=headroom,
        control_db=min(hub.power_control_db, max(headroom, 0.0)),
        short_db=max(-headroom, 0.0),
    )
