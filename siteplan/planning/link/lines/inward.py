"""The parts of the inbound budget: site to satellite to hub."""

from __future__ import annotations

import numpy as np

from siteplan.answers.budget import BudgetLine, BudgetPart
from siteplan.arrays import FloatArray
from siteplan.physics.radio import noise
from siteplan.physics.radio.antennas import gain_dbi
from siteplan.physics.radio.carrier import (
    carrier_backoff_db,
    isotropic_aperture_dbm2,
    uplink_es_n0_db,
)
from siteplan.planning.link.budget import inbound_down_es_n0_db
from siteplan.planning.link.drive import SHARE_CUT, SPARED, cut_by
from siteplan.planning.link.ends import Dish, hub_noise_k
from siteplan.planning.link.lines.parts import (
    Hop,
    beam_keys,
    c_n0_lines,
    free_space,
    gap_line,
    pointing_line,
    remote_gain,
    satellite_eirp,
    satellite_g_t,
    sky_lines,
    wet_line,
)
from siteplan.planning.link.lines.terms import columns, part
from siteplan.planning.link.ways import Inbound

#: What is smaller is nothing [dB].
_NOTHING_DB = 1e-9


def site_eirp(way: Inbound, hop: Hop) -> BudgetPart:
    """Return the site's EIRP in clear sky, as the plan drives it."""
    known, t, of = hop.known, way.link.network.terminal, hop.remote
    rated = 10 * np.log10(of.buc_w)
    backoff, whose = rated - of.buc_dbw, "own" if of.own_buc else "catalogue"
    source = known.words(f"budget.from.buc_{whose}", buc_w=of.buc_w)
    slack = known.words(f"budget.from.buc_backoff_{whose}")
    return part(
        "site_eirp",
        known.told("buc", "+", "dBW", rated, source, rests_on=f"{of.buc}.rated_w"),
        known.told("buc_backoff", "-", "dB", backoff, slack, rests_on=f"{of.buc}.backoff_db"),
        known.key("tx_loss", "-", "dB", t.tx_loss_db, "terminal.tx_loss_db"),
        remote_gain(hop, way.link.inbound.uplink_ghz),
        pointing_line(hop, Dish(of.dish_m, of.efficiency), way.link.inbound.uplink_ghz),
        _power_cut(way, hop),
        *_spared(way, hop),
        known.computed("site_eirp", "=", "dBW", way.driven.eirp_dbw[0]),
    )


def _power_cut(way: Inbound, hop: Hop) -> BudgetLine:
    """Return how far the BUC is turned down, by what cuts deepest."""
    cut = np.ravel(way.driven.cut_db - way.driven.under_share_db)[0]
    (by,) = cut_by(way.link, way.driven).tolist()
    if by in ("", SHARE_CUT, SPARED):
        return hop.known.computed("power_cut", "-", "dB", cut, ("inbound.power_share",))
    rests = (f"{hop.remote.antenna}.pattern",)
    return hop.known.computed("power_cut_mask", "-", "dB", cut, rests, numbers={"mask": by})


def _spared(way: Inbound, hop: Hop) -> tuple[BudgetLine, ...]:
    """Return what is turned down besides, where the network file asks for it."""
    lowered = way.driven.lowered_db
    if lowered is None:
        return ()
    keys = "inbound.clear_sky_reduction_db", "terminal.power_control_db"
    return (hop.known.computed("power_spared", "-", "dB", lowered[0], keys),)


def inbound_up(way: Inbound, hop: Hop) -> BudgetPart:
    """Return the hop from the site to the satellite."""
    known, carrier, site = hop.known, way.link.inbound, way.link.site
    loss = site.spreading_db_m2[0] - isotropic_aperture_dbm2(carrier.uplink_ghz)
    flux = way.driven.flux_dbw_m2 - hop.net_db
    return part(
        "inbound_up",
        known.computed("site_eirp", "+", "dBW", way.driven.eirp_dbw[0]),
        known.computed("power_control", "+", "dB", hop.raised_db, ("terminal.power_control_db",)),
        free_space(known, loss, carrier.uplink_ghz),
        *sky_lines(known, hop.sky),
        *wet_line(hop),
        satellite_g_t(known, carrier, "inbound", site.beam_up_db),
        *c_n0_lines(known, uplink_es_n0_db(carrier, flux), carrier),
    )


def backoff(way: Inbound, hop: Hop) -> BudgetPart:
    """Return the back-off of the inbound carrier, from its flux density at the satellite."""
    known, carrier = hop.known, way.link.inbound
    flux = way.driven.flux_dbw_m2 - hop.net_db
    into = carrier.sfd_dbw_m2 - flux
    found = carrier_backoff_db(carrier, flux)
    held = found - (into - carrier.backoff_gap_db)
    beyond = held > _NOTHING_DB
    return part(
        "backoff",
        _sfd(way, hop),
        known.computed("site_flux", "-", "dBW/m2", flux - _beam_up_db(way)),
        known.computed("carrier_input_backoff", "=", "dB", into),
        gap_line(known, carrier, "inbound"),
        *((known.computed("saturated", "+", "dB", held),) if beyond.any() else ()),
        known.computed("carrier_backoff", "=", "dB", found),
    )


def _beam_up_db(way: Inbound) -> float:
    """Return by how much the beam's G/T at the site lies over the network file's [dB]."""
    beam = way.link.site.beam_up_db
    return 0.0 if beam is None else float(beam[0])


def _sfd(way: Inbound, hop: Hop) -> BudgetLine:
    """Return the flux that saturates the transponder, from where the site is."""
    known, carrier, rests = hop.known, way.link.inbound, beam_keys(hop.known, "up")
    if way.link.site.beam_up_db is None or rests is None:
        return known.key("sfd", "+", "dBW/m2", carrier.sfd_dbw_m2, "inbound.sfd_dbw_m2")
    keys = ("inbound.sfd_dbw_m2", "inbound.satellite_g_t_db_k", *rests)
    return known.computed("beam_sfd", "+", "dBW/m2", carrier.sfd_dbw_m2 - _beam_up_db(way), keys)


def hub_noise(way: Inbound, hop: Hop) -> BudgetPart:
    """Return the noise of the hub's receiver [K]."""
    known, hub = hop.known, way.link.network.hub
    sky = noise.sky_noise_k(hop.hub_sky.parts.absorption, way.link.hub.radiating_k)
    return part(
        "hub_noise",
        known.computed("hub_sky_noise", "+", "K", sky),
        known.key("hub_receiver", "+", "K", hub.lna_noise_k, "hub.lna_noise_k"),
        known.computed("hub_system_noise", "=", "K", _hub_noise_k(way, hop)),
    )


def _hub_noise_k(way: Inbound, hop: Hop) -> FloatArray:
    absorbed = hop.hub_sky.parts.absorption
    return hub_noise_k(way.link.network, absorbed, way.link.hub.radiating_k)


def hub_g_t(way: Inbound, hop: Hop) -> BudgetPart:
    """Return the hub's G/T."""
    known, hub, carrier = hop.known, way.link.network.hub, way.link.inbound
    gain = gain_dbi(hub.antenna_m, hub.efficiency, carrier.downlink_ghz)
    numbers = {
        "dish_m": hub.antenna_m,
        "efficiency_pct": 100 * hub.efficiency,
        "ghz": carrier.downlink_ghz,
    }
    antenna = "hub.antenna_m", "hub.efficiency"
    noise_db = 10 * np.log10(_hub_noise_k(way, hop))
    return part(
        "hub_g_t",
        known.computed("hub_gain", "+", "dBi", gain, antenna, numbers=numbers),
        known.computed("hub_noise_db", "-", "dBK", noise_db, ("hub.lna_noise_k",)),
        _hub_own_g_t(way, hop, "="),
    )


def _hub_own_g_t(way: Inbound, hop: Hop, sign: str) -> BudgetLine:
    found = noise.g_over_t_db(way.link.hub.gain_dbi, 0.0, _hub_noise_k(way, hop))
    return hop.known.computed("hub_g_t", sign, "dB/K", found)


def inbound_down(way: Inbound, hop: Hop, es_n0_db: FloatArray) -> BudgetPart:
    """Return the hop from the satellite to the hub; ``es_n0_db`` (3,) is that of it alone."""
    known, carrier, hub = hop.known, way.link.inbound, way.link.hub
    taken = carrier_backoff_db(carrier, way.driven.flux_dbw_m2 - hop.net_db)
    return part(
        "inbound_down",
        satellite_eirp(known, carrier, "inbound"),
        known.computed("carrier_backoff", "-", "dB", taken),
        known.computed("carrier_eirp", "=", "dBW", carrier.satellite_eirp_dbw - taken),
        free_space(known, hub.free_space_db[0], carrier.downlink_ghz, ("hub.lat", "hub.lon")),
        *sky_lines(known, hop.hub_sky),
        _hub_own_g_t(way, hop, "+"),
        *c_n0_lines(known, es_n0_db, carrier),
    )


def inbound_down_db(way: Inbound, hop: Hop, p_pct: float) -> FloatArray:
    """Return the Es/N0 (3,) [dB] of the hub's downlink alone, its rain counted at ``p_pct``."""
    level = inbound_down_es_n0_db(way.link, way.driven, hop.net_db)
    return level - columns(0.0, 0.0, way.fade.at(p_pct))
