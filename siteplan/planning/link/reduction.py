"""What remotes turn down in clear sky to spare the satellite's power, besides any cut.

A remote with power control need not send in clear sky what only its rain asks for. It is turned
down as long as clear sky keeps the threshold and the reserve, by no more than its power control
raises again in its own fade. In the hub's fade it stays turned down: it does not see that.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from siteplan.planning.link.budget import inbound_es_n0_db
from siteplan.planning.link.drive import Drive
from siteplan.planning.link.ends import Links

#: Left above the reserve, so that a decision on the reserve cannot hang on the last bits [dB].
_HAIR_DB = 1e-6


def lowered(link: Links, driven: Drive) -> Drive:
    """Return how remotes are driven that spare power in clear sky; as before without the key.

    Uplink, downlink and interference fall alike, dB for dB, but where a carrier saturates the
    transponder: there less is lost than is turned down.

    Parameters
    ----------
    link : Links
        Of n sites.
    driven : Drive
        After the cuts to the share and to the limits off axis. Power control first gives back
        what is not a limit's of these; what is left of its range may be turned down besides.
    """
    asked = link.network.inbound.clear_sky_reduction_db
    if asked == 0:
        return driven
    margin = inbound_es_n0_db(link, driven) - link.inbound_required_db
    room = np.maximum(margin - link.network.rules.reserve_db - _HAIR_DB, 0.0)
    by = np.minimum(asked, room)
    if (control := link.network.terminal.power_control_db) is not None:
        by = np.minimum(by, np.maximum(control - driven.raise_db, 0.0))
    return replace(
        driven,
        eirp_dbw=driven.eirp_dbw - by,
        flux_dbw_m2=driven.flux_dbw_m2 - by,
        cut_db=driven.cut_db + by,
        raise_db=driven.raise_db + by,
        lowered_db=by,
    )
