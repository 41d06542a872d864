"""Carrier over interference: neighbours and the other polarization, in clear sky and in rain.

Every term stands in the bandwidth of the symbol rate and in clear sky; all are power sums. What
rain at the transmitting end takes from the carrier each of them loses alike, so that they are
summed before. Rain on the receiving path depolarizes: that term hangs on the percentage of time.
Without a key that makes one count nothing is added, not even an infinite ratio.
"""

from __future__ import annotations

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.physics.propagation.depolarization import ISOLATION_RANGE_DB
from siteplan.physics.radio.antennas import gain_dbi, wavelength_m
from siteplan.physics.radio.carrier import CarrierPlan, carrier_backoff_db, inverse_sum_db
from siteplan.planning.link import mispointing
from siteplan.planning.link.ends import Dish, Level, Links
from siteplan.planning.link.spectrum.lobes import side_gain_dbi
from siteplan.planning.link.spectrum.neighbours import power_sum_dbw


def cross_polar_ci_db(level_db: float, *isolations_db: Level) -> Level:
    """Return the carrier over the other polarization [dB], from isolations [dB] along the way.

    ``level_db`` is the density of the carriers there over ours. Isolations count from 0 to 80 dB.
    """
    held = [np.clip(isolation, *ISOLATION_RANGE_DB) for isolation in isolations_db]
    return np.asarray(inverse_sum_db(*held) - level_db)


def satellites_ci_db(link: Links, dish: Dish) -> FloatArray | None:
    """Return the outbound carrier over neighbouring satellites at the sites' dishes (n,) [dB].

    The axis may be displaced along the arc by the error of pointing, east or west: each neighbour
    is taken on the side that is worse for it, the nearer one. Infinite where no neighbour stands
    above the horizon; None without neighbours.
    """
    of, carrier = link.interference, link.outbound
    if of is None:
        return None
    ghz = carrier.downlink_ghz
    gain = gain_dbi(dish.diameter_m, dish.efficiency, ghz)
    wavelengths = np.asarray(dish.diameter_m / wavelength_m(ghz))
    pointing = link.network, dish, ghz, link.pointing_more_deg
    nearer_deg = np.maximum(of.separation_deg - mispointing.error_deg(*pointing), 0.0)
    side = side_gain_dbi(
        of.sides, "rx", dish.pattern, nearer_deg, gain_dbi=gain, wavelengths=wavelengths
    )
    density = np.asarray(of.density_dbw_hz)
    each = density if density.ndim > 1 else density[:, None]
    others = power_sum_dbw(each + side + of.lobes_db)
    own: Level = carrier.satellite_eirp_dbw - carrier.share_backoff_db - carrier.symbol_rate_dbhz
    if (beam := link.site.beam_down_db) is not None:
        own = own + beam  # theirs stays over the network file's EIRP, wherever the site is
    return np.asarray(own - mispointing.loss_db(*pointing) + gain - others)


def stations_ci_db(link: Links, carrier: CarrierPlan, flux_dbw_m2: Level) -> Level | None:
    """Return a carrier over neighbours' earth stations at our satellite [dB], from its flux.

    None where no density of theirs is told.
    """
    of = link.interference
    if of is None or of.stations_dbw_m2_hz is None:
        return None
    return flux_dbw_m2 - carrier.symbol_rate_dbhz - of.stations_dbw_m2_hz


def hub_satellites_ci_db(link: Links, flux_dbw_m2: Level) -> FloatArray | None:
    """Return the inbound carrier over neighbouring satellites at the hub [dB], from its flux.

    None without neighbours, or without a hub that is placed.
    """
    density, carrier = link.hub.neighbours_dbw_hz, link.inbound
    if density is None:
        return None
    eirp = carrier.satellite_eirp_dbw - carrier_backoff_db(carrier, flux_dbw_m2)
    return np.asarray(eirp - carrier.symbol_rate_dbhz - density)


def outbound_cross_polar_db(link: Links, dish: Dish) -> Level | None:
    """Return the outbound carrier over the other polarization in clear sky [dB]; None if empty."""
    level = outbound_cross_level_db(link)
    if level is None:
        return None
    return cross_polar_ci_db(level, link.network.satellite.xpi_db, dish.xpi_db)


def outbound_cross_level_db(link: Links) -> float | None:
    """Return the density of the other polarization over our outbound carrier [dB].

    It is told over the transponder's mean, which our carrier may stand above. None if empty.
    """
    carrier = link.network.outbound
    if carrier.cross_polar_level_db is None:
        return None
    return carrier.cross_polar_level_db - carrier.over_share_db


def inbound_cross_polar_db(link: Links, under_share_db: Level = 0.0) -> Level | None:
    """Return the inbound carrier over the other polarization in clear sky [dB]; None if empty.

    ``under_share_db`` is how far it stands under the level that the other's is told over.
    """
    level = link.network.inbound.cross_polar_level_db
    if level is None:
        return None
    isolation = link.network.satellite.xpi_db, link.network.hub.xpi_db
    return cross_polar_ci_db(level, *isolation) - under_share_db


def outbound_ci_db(link: Links, dish: Dish) -> Level:
    """Return the outbound carrier over all interference in clear sky [dB], numbers or (n,)."""
    carrier = link.outbound
    terms = [
        satellites_ci_db(link, dish),
        stations_ci_db(link, carrier, carrier.share_flux_dbw_m2),
        outbound_cross_polar_db(link, dish),
    ]
    return _with(carrier.ci_db, *terms)


def inbound_ci_db(
    link: Links, flux_dbw_m2: Level, fade_db: Level = 0.0, under_share_db: Level = 0.0
) -> Level:
    """Return the inbound carrier over all interference [dB], from its flux in clear sky (n,).

    Parameters
    ----------
    link : Links
        Of n sites.
    flux_dbw_m2 : float or (n,) array
        Flux density at the satellite in clear sky [dBW/m2].
    fade_db : float or (n,) array
        What a fade at the sites takes from the carrier, power control taken off [dB].
    under_share_db : float or (n,) array
        How far the carrier stands in clear sky under the level that C/I is told of [dB].
    """
    carrier, flux = link.inbound, flux_dbw_m2 - fade_db
    across = inbound_cross_polar_db(link, under_share_db)
    return _with(
        carrier.ci_db - under_share_db - fade_db,
        stations_ci_db(link, carrier, flux),
        hub_satellites_ci_db(link, flux),
        None if across is None else across - fade_db,
    )


def _with(ci_db: Level, *terms: Level | None) -> Level:
    """Return the power sum of those ratios that count [dB]."""
    counted = [term for term in terms if term is not None]
    return inverse_sum_db(ci_db, *counted) if counted else ci_db


def rain_leak_db(link: Links, rain_db: FloatArray, p_pct: FloatArray) -> FloatArray | None:
    """Return the outbound carrier over what the sites' rain depolarizes (n,) [dB].

    ``rain_db`` (n,) is the rain's part of the sky at the percentages of time. None where there is
    nothing on the other polarization.
    """
    level = outbound_cross_level_db(link)
    return None if level is None else link.site.down.xpd_db(rain_db, p_pct) - level
