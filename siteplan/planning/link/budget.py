"""Both directions of every site: the budget's terms, in clear sky and in weather.

Outbound is hub to remote, inbound remote to hub.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray
from siteplan.physics.propagation.attenuation import Attenuation
from siteplan.physics.radio import noise
from siteplan.physics.radio.antennas import gain_dbi
from siteplan.physics.radio.carrier import es_n0_db
from siteplan.planning.link.ends import Dish, Kit, Level, Links
from siteplan.planning.link.weather import Weather, clear, hub_clear, with_scintillation


def remote_g_t_db_k(link: Links, dish: Dish, sky: Attenuation, wet_db: float) -> FloatArray:
    """Return the remotes' G/T (n,) [dB/K] under a sky (n,), with the loss of a wet dish."""
    t = link.network.terminal
    system = noise.system_noise_k(
        noise.sky_noise_k(sky.absorption, link.site.radiating_k),
        t.spillover_noise_k,
        t.rx_loss_db,
        t.lnb_noise_k,
        wet_loss_db=wet_db,
    )
    gain = gain_dbi(dish.diameter_m, dish.efficiency, link.outbound.downlink_ghz)
    return noise.g_over_t_db(gain, t.rx_loss_db, system, wet_loss_db=wet_db)


def remote_eirp_dbw(link: Links, dish: Dish, buc_dbw: Level) -> FloatArray:
    """Return the remotes' clear-sky EIRP (n,) [dBW] from the BUC's power after back-off [dBW]."""
    t = link.network.terminal
    gain = gain_dbi(dish.diameter_m, dish.efficiency, link.inbound.uplink_ghz)
    return np.asarray(buc_dbw + gain - t.tx_loss_db - t.pointing_loss_db)


def outbound_es_n0_db(
    link: Links, dish: Dish, sky: Attenuation, hub_fade_db: Level, *, wet_db: float = 0.0
) -> FloatArray:
    """Return the outbound Es/(N0+I0) (n,) [dB] under a sky at the sites and a fade at the hub."""
    loss = link.site.free_space_db + sky.total + link.network.terminal.pointing_loss_db
    return es_n0_db(
        link.outbound,
        link.outbound.share_flux_dbw_m2 - hub_fade_db,
        loss,
        remote_g_t_db_k(link, dish, sky, wet_db),
        uplink_fade_db=hub_fade_db,
    )


def inbound_es_n0_db(
    link: Links,
    eirp_dbw: FloatArray,
    sky: Attenuation,
    hub_sky: Attenuation,
    *,
    wet_db: float = 0.0,
) -> FloatArray:
    """Return the inbound Es/(N0+I0) (n,) [dB] under a sky at the sites and one at the hub."""
    hub = link.hub
    system = noise.system_noise_k(
        noise.sky_noise_k(hub_sky.absorption, hub.radiating_k),
        0.0,
        0.0,
        link.network.hub.lna_noise_k,
    )
    fade = sky.total - link.site.up.gas_db + wet_db
    return es_n0_db(
        link.inbound,
        eirp_dbw - link.site.spreading_db_m2 - sky.total - wet_db,
        hub.free_space_db + hub_sky.total,
        noise.g_over_t_db(hub.gain_dbi, 0.0, system),
        uplink_fade_db=fade,
    )


def outbound_margin_db(link: Links, dish: Dish, at: Weather) -> FloatArray:
    """Return the outbound margin (n,) [dB]: the worse of a faded site and a faded hub."""
    wet = link.network.terminal.wet_loss_db
    faded = with_scintillation(link.site.down, at.down, at.factor, dish)
    site = outbound_es_n0_db(link, dish, faded, 0.0, wet_db=wet)
    hub = outbound_es_n0_db(link, dish, clear(link.site.down), at.hub_up_fade_db)
    return np.minimum(site, hub) - link.outbound_required_db


def inbound_margin_db(link: Links, dish: Dish, buc_dbw: Level, at: Weather) -> FloatArray:
    """Return the inbound margin (n,) [dB]: the worse of a faded site and a faded hub."""
    return inbound_margins_db(link, dish, [buc_dbw], at)[0]


def inbound_margins_db(
    link: Links, dish: Dish, bucs_dbw: Sequence[Level], at: Weather
) -> list[FloatArray]:
    """Return the inbound margin (n,) [dB] with each of several BUCs behind one dish."""
    wet = link.network.terminal.wet_loss_db
    faded = with_scintillation(link.site.up, at.up, at.factor, dish)
    sky, hub_sky = clear(link.site.up), hub_clear(link)
    margins = []
    for power in bucs_dbw:
        eirp = remote_eirp_dbw(link, dish, power)
        site = inbound_es_n0_db(link, eirp, faded, hub_sky, wet_db=wet)
        hub = inbound_es_n0_db(link, eirp, sky, at.hub_down)
        margins.append(np.minimum(site, hub) - link.inbound_required_db)
    return margins


def pair_margin_db(link: Links, dish: Dish, buc_dbw: FloatArray, at: Weather) -> FloatArray:
    """Return the smaller of the two directions' margins (n,) [dB]."""
    return np.minimum(
        outbound_margin_db(link, dish, at), inbound_margin_db(link, dish, buc_dbw, at)
    )


@dataclass(frozen=True, eq=False)
class Levels(Arrays):
    """Levels in clear sky (n,), and how far they lie above what the link needs.

    ``share_excess_db`` is by how much the inbound carrier exceeds its share of power [dB].
    """

    outbound_clear_es_n0_db: Column
    inbound_clear_es_n0_db: Column
    outbound_fade_margin_db: Column
    inbound_fade_margin_db: Column
    remote_eirp_dbw: Column
    remote_g_t_db_k: Column
    fade_margin_db: Column
    share_excess_db: FloatArray


def levels(link: Links, kit: Kit, *, inbound_limits: BoolArray) -> Levels:
    """Return the clear-sky levels of each site with its kit.

    ``inbound_limits`` (n,) says where the inbound direction is the limiting one.
    """
    eirp = remote_eirp_dbw(link, kit.dish, kit.buc_dbw)
    out = outbound_es_n0_db(link, kit.dish, clear(link.site.down), 0.0)
    back = inbound_es_n0_db(link, eirp, clear(link.site.up), hub_clear(link))
    out_fade, back_fade = out - link.outbound_required_db, back - link.inbound_required_db
    flux = eirp - link.site.spreading_db_m2 - link.site.up.gas_db
    return Levels(
        outbound_clear_es_n0_db=out,
        inbound_clear_es_n0_db=back,
        outbound_fade_margin_db=out_fade,
        inbound_fade_margin_db=back_fade,
        remote_eirp_dbw=np.where(np.isnan(out), np.nan, eirp),
        remote_g_t_db_k=remote_g_t_db_k(link, kit.dish, clear(link.site.down), 0.0),
        fade_margin_db=np.where(inbound_limits, back_fade, out_fade),
        share_excess_db=np.asarray(flux - link.inbound.share_flux_dbw_m2),
    )
