"""The parts of the outbound budget: hub to satellite to site."""

from __future__ import annotations

import numpy as np

from siteplan.answers.budget import BudgetLine, BudgetPart
from siteplan.arrays import FloatArray
from siteplan.physics.constants import REFERENCE_TEMPERATURE_K
from siteplan.physics.radio import noise
from siteplan.physics.radio.carrier import isotropic_aperture_dbm2, uplink_es_n0_db
from siteplan.planning.link.budget import remote_g_t_db_k
from siteplan.planning.link.ends import hub_eirp_dbw, hub_spreading_db_m2
from siteplan.planning.link.lines.parts import (
    AMPLIFIER,
    Hop,
    c_n0_lines,
    free_space,
    gap_line,
    pointing_line,
    remote_gain,
    satellite_eirp,
    satellite_g_t,
    share_lines,
    short_line,
    sky_lines,
    wet_line,
)
from siteplan.planning.link.lines.terms import part
from siteplan.planning.link.ways import Outbound


def hub_power(way: Outbound, hop: Hop) -> BudgetPart:
    """Return what EIRP of the hub gives the carrier its share of the transponder in clear sky."""
    known, carrier, told = hop.known, way.link.outbound, way.link.network.outbound
    spread = hub_spreading_db_m2(way.link.network, way.link.hub)
    gas = hop.hub_sky.gas[0]
    return part(
        "hub_power",
        known.key("sfd", "+", "dBW/m2", carrier.sfd_dbw_m2, "outbound.sfd_dbw_m2"),
        *share_lines(known, told, carrier, "outbound"),
        gap_line(known, carrier, "outbound"),
        known.computed("flux", "=", "dBW/m2", carrier.share_flux_dbw_m2),
        known.computed("spreading", "+", "dB m2", spread, _HUB_PLACE),
        known.computed("gas", "+", "dB", gas),
        *short_line(hop),
        known.computed("hub_eirp", "=", "dBW", hub_eirp_dbw(way.link.network, way.link.hub, gas)),
    )


def outbound_up(way: Outbound, hop: Hop) -> BudgetPart:
    """Return the hop from the hub to the satellite."""
    known, carrier = hop.known, way.link.outbound
    level = uplink_es_n0_db(carrier, carrier.share_flux_dbw_m2 - hop.net_db)
    spread = hub_spreading_db_m2(way.link.network, way.link.hub)
    loss = spread - float(isotropic_aperture_dbm2(carrier.uplink_ghz))
    eirp = hub_eirp_dbw(way.link.network, way.link.hub, float(hop.hub_sky.gas[0]))
    return part(
        "outbound_up",
        known.computed("hub_eirp", "+", "dBW", eirp),
        known.computed("power_control", "+", "dB", hop.raised_db, _control_keys(way)),
        free_space(known, loss, carrier.uplink_ghz, _HUB_PLACE),
        *sky_lines(known, hop.hub_sky),
        satellite_g_t(known, carrier, "outbound"),
        *c_n0_lines(known, level, carrier),
    )


def _control_keys(way: Outbound) -> tuple[str, ...]:
    """Return what the range of the hub's power control rests on: where it limits, the amplifier."""
    network = way.link.network
    if way.link.hub.control_db < network.hub.power_control_db:
        return "hub.power_control_db", *AMPLIFIER
    return ("hub.power_control_db",)


def site_noise(way: Outbound, hop: Hop) -> BudgetPart:
    """Return the noise of the site's receiver, each part as it reaches the LNB [K]."""
    known, t = hop.known, way.link.network.terminal
    through = 10 ** (-(t.rx_loss_db + hop.wet_db) / 10)
    sky = noise.sky_noise_k(hop.sky.parts.absorption, way.link.site.radiating_k)
    line = REFERENCE_TEMPERATURE_K * (1 - through)
    loss = ("terminal.rx_loss_db",)
    return part(
        "site_noise",
        known.computed("sky_noise", "+", "K", sky * through, loss),
        known.computed(
            *("spillover_noise", "+", "K", t.spillover_noise_k * through),
            ("terminal.spillover_noise_k", *loss),
            numbers={"spillover_k": t.spillover_noise_k},
        ),
        known.computed("line_noise", "+", "K", line, loss),
        known.key("lnb_noise", "+", "K", t.lnb_noise_k, "terminal.lnb_noise_k"),
        known.computed("system_noise", "=", "K", _site_noise_k(way, hop)),
    )


#: What the distance of the hub rests on.
_HUB_PLACE = "hub.lat", "hub.lon"
_NOISE_KEYS = tuple(f"terminal.{k}" for k in ("spillover_noise_k", "lnb_noise_k", "rx_loss_db"))


def _site_noise_k(way: Outbound, hop: Hop) -> FloatArray:
    t = way.link.network.terminal
    sky = noise.sky_noise_k(hop.sky.parts.absorption, way.link.site.radiating_k)
    return noise.system_noise_k(
        sky, t.spillover_noise_k, t.rx_loss_db, t.lnb_noise_k, wet_loss_db=hop.wet_db
    )


def site_g_t(way: Outbound, hop: Hop) -> BudgetPart:
    """Return the site's G/T."""
    known, t = hop.known, way.link.network.terminal
    system = 10 * np.log10(_site_noise_k(way, hop))
    found = remote_g_t_db_k(way.link, way.dish, hop.sky.parts, hop.wet_db)
    return part(
        "site_g_t",
        remote_gain(hop, way.link.outbound.downlink_ghz),
        known.key("rx_loss", "-", "dB", t.rx_loss_db, "terminal.rx_loss_db"),
        *wet_line(hop),
        known.computed("system_noise_db", "-", "dBK", system, _NOISE_KEYS),
        known.computed("g_t", "=", "dB/K", found),
    )


def outbound_down(way: Outbound, hop: Hop, es_n0_db: FloatArray) -> BudgetPart:
    """Return the hop from the satellite to the site; ``es_n0_db`` (3,) is that of it alone."""
    known, carrier, told = hop.known, way.link.outbound, way.link.network.outbound
    beam = way.link.site.beam_down_db
    eirp = carrier.satellite_eirp_dbw - carrier.share_backoff_db - hop.net_db
    eirp = eirp if beam is None else eirp + beam[0]
    return part(
        "outbound_down",
        satellite_eirp(known, carrier, "outbound", beam),
        *share_lines(known, told, carrier, "outbound"),
        known.computed("drive_loss", "-", "dB", hop.net_db - hop.short_db),
        *short_line(hop),
        known.computed("carrier_eirp", "=", "dBW", eirp),
        free_space(known, way.link.site.free_space_db[0], carrier.downlink_ghz),
        *sky_lines(known, hop.sky),
        pointing_line(hop, way.dish, carrier.downlink_ghz),
        _own_g_t(way, hop),
        *c_n0_lines(known, es_n0_db, carrier),
    )


def _own_g_t(way: Outbound, hop: Hop) -> BudgetLine:
    found = remote_g_t_db_k(way.link, way.dish, hop.sky.parts, hop.wet_db)
    return hop.known.computed("g_t", "+", "dB/K", found)
