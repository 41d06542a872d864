"""Tables for what-if questions: margins at a few outages, and where the margin goes.

Both are worked out with the kit that the plan gave (or judged), so that they answer 'what if the
target moved', not 'what kit would another target need'.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.network import Network
from siteplan.physics.radio.carrier import inverse_sum_db, uplink_es_n0_db
from siteplan.planning.link.budget import (
    inbound_es_n0_db,
    inbound_margin_db,
    outbound_es_n0_db,
    outbound_margin_db,
    remote_eirp_dbw,
)
from siteplan.planning.link.ends import Kit, Links
from siteplan.planning.link.outage import site_share
from siteplan.planning.link.weather import Weather, clear, hub_clear, weather, with_scintillation

#: What attenuation, noise and the hub's rain take (n,) [dB].
Losses = tuple[FloatArray, FloatArray, FloatArray]
#: Names of the tables in ``Plan.tables``.
MARGINS: Final = "whatif_margin_db"
BUDGET: Final = "budget_db"
#: Outages of an average year [%] at which the margins are tabulated, rising: close enough for
#: straight lines in ln p to hold within 0.3 dB.
OUTAGES_PCT: Final = (
    *(0.01, 0.014, 0.02, 0.03, 0.05, 0.08, 0.13, 0.2),
    *(0.3, 0.45, 0.65, 0.9, 1.8, 3.0, 4.0, 5.0),
)
#: ITU-R P.618's rain exponent has a corner at this percentage of the site's time.
_CORNER_PCT: Final = 1.0
#: The directions along axis 1 of both tables.
DIRECTIONS: Final = ("outbound", "inbound")
#: The steps along axis 2 of the budget: see `budget`.
STEPS: Final = ("hop", "attenuation", "noise", "hub")


def tables(link: Links, kit: Kit, at: Weather) -> dict[str, FloatArray]:
    """Return the tables of n sites by name, sites along axis 0.

    ``at`` is the weather at the sites' targets.
    """
    return {MARGINS: margins_db(link, kit), BUDGET: budget_db(link, kit, at)}


def outages_pct(network: Network) -> tuple[float, ...]:
    """Return the outages (k,) [%] of the table: ``OUTAGES_PCT`` and the corner of the method."""
    corner = _CORNER_PCT / site_share(network)
    found = {*OUTAGES_PCT, corner} if corner < OUTAGES_PCT[-1] else {*OUTAGES_PCT}
    return tuple(sorted(found))


def margins_db(link: Links, kit: Kit) -> FloatArray:
    """Return the margins (n, 2, k) [dB] of both directions at each of `outages_pct`.

    The plan's method and kit at other targets; NaN below the horizon.

    References
    ----------
    The margin at the target: `siteplan.planning.link.budget`.
    """
    outages = outages_pct(link.network)
    found = np.empty((len(link), 2, len(outages)))
    for k, p_pct in enumerate(outages):
        at = weather(link, np.full(len(link), p_pct))
        found[:, 0, k] = outbound_margin_db(link, kit.dish, at)
        found[:, 1, k] = inbound_margin_db(link, kit.dish, kit.buc_dbw, at)
    return found


def budget_db(link: Links, kit: Kit, at: Weather) -> FloatArray:
    """Return the steps from the site's own hop to the margin at the target (n, 2, 4) [dB].

    ``hop`` is the clear-sky Es/N0 of the site's own hop alone: the satellite's downlink outbound,
    the site's uplink inbound. What the other hop and interference take from it leads to the
    clear-sky Es/(N0+I0); less threshold and implementation loss that is the fade margin. The
    fade margin less ``attenuation`` (what reaches the receiver), ``noise`` (rise of the sky's
    noise, wet dish) and ``hub`` is the margin. Rain takes one end at a time: where the hub's
    rain is the worse, ``hub`` alone is not zero.
    """
    hop = np.stack([_down_hop_db(link, kit), _up_hop_db(link, kit)], axis=1)
    ways = [_outbound_losses_db(link, kit, at), _inbound_losses_db(link, kit, at)]
    losses = np.stack([np.stack(way, axis=1) for way in ways], axis=1)
    return np.concatenate([hop[:, :, None], losses], axis=2)


def _down_hop_db(link: Links, kit: Kit) -> FloatArray:
    """Return the outbound Es/N0 (n,) [dB] of the downlink alone in clear sky."""
    carrier = link.outbound
    total = outbound_es_n0_db(link, kit.dish, clear(link.site.down), 0.0)
    others = inverse_sum_db(uplink_es_n0_db(carrier, carrier.share_flux_dbw_m2), carrier.ci_db)
    return np.asarray(-10 * np.log10(10 ** (-total / 10) - 10 ** (-others / 10)))


def _up_hop_db(link: Links, kit: Kit) -> FloatArray:
    """Return the inbound Es/N0 (n,) [dB] of the uplink alone in clear sky."""
    sky = clear(link.site.up).total
    flux = remote_eirp_dbw(link, kit.dish, kit.buc_dbw) - link.site.spreading_db_m2 - sky
    return uplink_es_n0_db(link.inbound, flux)


def _outbound_losses_db(link: Links, kit: Kit, at: Weather) -> Losses:
    """Return what attenuation, noise and the hub's rain take outbound (n,) [dB]."""
    dish, sky = kit.dish, clear(link.site.down)
    start = outbound_es_n0_db(link, dish, sky, 0.0)
    faded = with_scintillation(link.site.down, at.down, at.factor, dish)
    wet = link.network.terminal.wet_loss_db
    site = outbound_es_n0_db(link, dish, faded, 0.0, wet_db=wet)
    hub = outbound_es_n0_db(link, dish, sky, at.hub_up_fade_db)
    # The downlink's level falls by the attenuation; the rest is noise and the wet dish.
    carrier = link.outbound
    others = inverse_sum_db(uplink_es_n0_db(carrier, carrier.share_flux_dbw_m2), carrier.ci_db)
    dimmed = inverse_sum_db(_down_hop_db(link, kit) - (faded.total - sky.total), others)
    return _worse(start, dimmed, site, hub)


def _inbound_losses_db(link: Links, kit: Kit, at: Weather) -> Losses:
    """Return what attenuation, a wet dish and the hub's rain take inbound (n,) [dB]."""
    eirp = remote_eirp_dbw(link, kit.dish, kit.buc_dbw)
    sky, hub_sky = clear(link.site.up), hub_clear(link)
    start = inbound_es_n0_db(link, eirp, sky, hub_sky)
    faded = with_scintillation(link.site.up, at.up, at.factor, kit.dish)
    wet = link.network.terminal.wet_loss_db
    dimmed = inbound_es_n0_db(link, eirp, faded, hub_sky)
    site = inbound_es_n0_db(link, eirp, faded, hub_sky, wet_db=wet)
    hub = inbound_es_n0_db(link, eirp, sky, at.hub_down)
    return _worse(start, dimmed, site, hub)


def _worse(start: FloatArray, dimmed: FloatArray, site: FloatArray, hub: FloatArray) -> Losses:
    """Return the losses [dB] of the worse end: attenuation and noise, or the hub's rain."""
    at_site = site <= hub
    none = np.where(np.isnan(start), np.nan, 0.0)
    return (
        np.where(at_site, start - dimmed, none),
        np.where(at_site, dimmed - site, none),
        np.where(at_site, none, start - hub),
    )
