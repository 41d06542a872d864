"""Both directions of every site: the budget's terms, in clear sky and in weather.

Outbound is hub to remote, inbound remote to hub.
"""

from __future__ import annotations

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray, TextColumn
from siteplan.frozen import frozen
from siteplan.physics.propagation.attenuation import Attenuation
from siteplan.physics.radio import noise
from siteplan.physics.radio.antennas import gain_dbi
from siteplan.physics.radio.carrier import (
    carrier_backoff_db,
    downlink_es_n0_db,
    es_n0_db,
    inverse_sum_db,
    power_equivalent_mhz,
    uplink_es_n0_db,
)
from siteplan.planning.link import mispointing
from siteplan.planning.link.drive import Drive, cut_by
from siteplan.planning.link.ends import Dish, Kit, Level, Links, hub_noise_k
from siteplan.planning.link.spectrum.interference import inbound_ci_db


def remote_g_t_db_k(link: Links, dish: Dish, sky: Attenuation, wet_db: Level) -> FloatArray:
    """Return the remotes' G/T (n,) [dB/K] under a sky (n,), with the loss of a wet dish."""
    t = link.network.terminal
    system = noise.system_noise_k(
        noise.sky_noise_k(sky.absorption, link.site.radiating_k),
        t.spillover_noise_k,
        t.rx_loss_db,
        t.lnb_noise_k + link.lnb_more_k,
        wet_loss_db=wet_db,
    )
    gain = gain_dbi(dish.diameter_m, dish.efficiency, link.outbound.downlink_ghz)
    return noise.g_over_t_db(gain, t.rx_loss_db, system, wet_loss_db=wet_db)


def outbound_es_n0_db(
    link: Links,
    dish: Dish,
    sky: Attenuation,
    hub_fade_db: Level,
    *,
    ci_db: Level,
    wet_db: Level = 0.0,
) -> FloatArray:
    """Return the outbound Es/(N0+I0) (n,) [dB] under a sky at the sites and a fade at the hub.

    ``ci_db`` is the carrier over all interference at its share of the power, the hub's sky clear.
    What the hub's amplifier is short of counts as a fade at the hub, in every sky.
    """
    carrier = link.outbound
    hub_fade_db = hub_fade_db + link.hub.short_db
    ghz, more_deg = carrier.downlink_ghz, link.pointing_more_deg
    pointing = mispointing.loss_db(link.network, dish, ghz, more_deg)
    return es_n0_db(
        carrier,
        carrier.share_flux_dbw_m2 - hub_fade_db,
        link.site.downlink_loss_db + sky.total + pointing,
        remote_g_t_db_k(link, dish, sky, wet_db),
        ci_db=ci_db,
        uplink_fade_db=hub_fade_db,
    )


def inbound_other_es_n0_db(link: Links, driven: Drive, fade_db: Level = 0.0) -> FloatArray:
    """Return the inbound Es/N0 (n,) [dB] of uplink and interference together.

    ``fade_db`` is what a fade at the sites takes from the carrier, power control taken off.
    """
    up = uplink_es_n0_db(link.inbound, driven.flux_dbw_m2 - fade_db)
    under = driven.under_share_db
    return inverse_sum_db(up, inbound_ci_db(link, driven.flux_dbw_m2, fade_db, under))


def inbound_down_es_n0_db(link: Links, driven: Drive, fade_db: Level = 0.0) -> FloatArray:
    """Return the inbound Es/N0 (n,) [dB] of the hub's downlink alone, the hub's sky clear."""
    hub = link.hub
    system = hub_noise_k(link.network, hub.down_gas_db, hub.radiating_k)
    return downlink_es_n0_db(
        link.inbound,
        driven.flux_dbw_m2 - fade_db,
        hub.free_space_db + hub.down_gas_db,
        noise.g_over_t_db(hub.gain_dbi, 0.0, system),
    )


def inbound_es_n0_db(link: Links, driven: Drive, fade_db: Level = 0.0) -> FloatArray:
    """Return the inbound Es/(N0+I0) (n,) [dB] under a net fade at the sites, the hub clear."""
    return inverse_sum_db(
        inbound_other_es_n0_db(link, driven, fade_db), inbound_down_es_n0_db(link, driven, fade_db)
    )


@frozen(eq=False)
class Levels(Arrays):
    """Levels in clear sky (n,), and how far they lie above what the link needs.

    EIRP and G/T are towards the satellite, pointing loss taken off both; ``peaked_g_t_db_k`` is
    the G/T of a dish that points right [dB/K]. ``share_excess_db`` is by how much the inbound
    carrier, as it is driven in clear sky, exceeds its share of power [dB], ``spared_db`` what is
    turned down besides to spare power.
    """

    outbound_clear_es_n0_db: Column
    inbound_clear_es_n0_db: Column
    outbound_fade_margin_db: Column
    inbound_fade_margin_db: Column
    remote_eirp_dbw: Column
    remote_g_t_db_k: Column
    tx_power_w: Column
    power_cut_db: Column
    power_cut_by: TextColumn
    power_equivalent_mhz: Column
    fade_margin_db: Column
    share_excess_db: FloatArray
    spared_db: FloatArray
    peaked_g_t_db_k: FloatArray


def levels(
    link: Links, kit: Kit, driven: Drive, *, ci_db: Level, inbound_limits: BoolArray
) -> Levels:
    """Return the clear-sky levels of each site with its kit.

    Parameters
    ----------
    link, kit, driven : Links, Kit, Drive
        Of n sites.
    ci_db : float or (n,) array
        The outbound carrier over all interference [dB].
    inbound_limits : (n,) array of bool
        Where the inbound direction is the limiting one.
    """
    out = outbound_es_n0_db(link, kit.dish, link.site.down.clear, 0.0, ci_db=ci_db)
    back = inbound_es_n0_db(link, driven)
    out_fade, back_fade = out - link.outbound_required_db, back - link.inbound_required_db
    seen = ~np.isnan(out)
    peaked = remote_g_t_db_k(link, kit.dish, link.site.down.clear, 0.0)
    return Levels(
        outbound_clear_es_n0_db=out,
        inbound_clear_es_n0_db=back,
        outbound_fade_margin_db=out_fade,
        inbound_fade_margin_db=back_fade,
        remote_eirp_dbw=np.where(seen, driven.eirp_dbw, np.nan),
        remote_g_t_db_k=peaked
        - mispointing.loss_db(link.network, kit.dish, link.outbound.downlink_ghz),
        tx_power_w=np.where(seen, 10 ** ((kit.buc_dbw - driven.cut_db) / 10), np.nan),
        power_cut_db=driven.cut_db,
        power_cut_by=cut_by(link, driven),
        power_equivalent_mhz=power_equivalent_of(link, driven),
        fade_margin_db=np.where(inbound_limits, back_fade, out_fade),
        share_excess_db=np.asarray(driven.flux_dbw_m2 - link.inbound.share_flux_dbw_m2),
        spared_db=np.broadcast_to(driven.under_share_db, out.shape),
        peaked_g_t_db_k=peaked,
    )


def power_equivalent_of(link: Links, driven: Drive) -> FloatArray:
    """Return the bandwidth (n,) [MHz] whose share of power the inbound carrier takes."""
    carrier = link.network.inbound
    backoff = carrier_backoff_db(link.inbound, driven.flux_dbw_m2)
    return power_equivalent_mhz(carrier.transponder_mhz, carrier.output_backoff_db, backoff)
