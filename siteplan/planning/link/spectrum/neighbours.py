"""Neighbouring satellites and their earth stations: where they stand, and how strong they are."""

from __future__ import annotations

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.frozen import frozen
from siteplan.network import Carrier, Neighbour, Network
from siteplan.physics.angles.geometry import spreading_loss_db_m2
from siteplan.physics.angles.pointing import neighbours
from siteplan.planning.link.spectrum.lobes import Sides, all_sides

#: Distance of the neighbours' earth stations from our satellite [km]: some 30 degrees of
#: elevation. Nobody knows where they stand.
STATIONS_KM = 38500.0
#: Decibels over one hertz of the bandwidths that densities are stated for.
_MHZ_DB, _40_KHZ_DB = 60.0, float(10 * np.log10(40e3))


@frozen
class Interference:
    """What neighbours do to sites (n,): a row for each neighbour (k, n).

    ``separation_deg`` is the topocentric angle between the neighbour and our satellite, NaN below
    the horizon. ``density_dbw_hz`` (k,) is its EIRP density at the sites, (k, n) where that is a
    site's own, ``stations_dbw_m2_hz`` the flux density that the neighbours' earth stations make at
    our satellite, None where nobody tells any. ``sides`` are the patterns of the network's dishes,
    by number. ``lobes_db`` is how far the sites' side lobes lie over their patterns: nothing, but
    where that is asked.
    """

    separation_deg: FloatArray
    density_dbw_hz: tuple[float, ...] | FloatArray
    stations_dbw_m2_hz: float | None
    sides: tuple[Sides, ...]
    lobes_db: float | FloatArray = 0.0


def interference(
    network: Network, lat: FloatArray, lon: FloatArray, altitude_m: FloatArray
) -> Interference | None:
    """Return what neighbours do to sites (n,); None where the network names no neighbour.

    Parameters
    ----------
    network : Network
    lat, lon, altitude_m : (n,) arrays
        Of the sites [deg, deg, m].
    """
    if not network.neighbours:
        return None
    return Interference(
        separations_deg(network, lat, lon, altitude_m),
        tuple(site_density_dbw_hz(n, network.outbound) for n in network.neighbours),
        stations_dbw_m2_hz(network.neighbours),
        all_sides(network),
    )


def separations_deg(
    network: Network, lat: FloatArray, lon: FloatArray, altitude_m: FloatArray
) -> FloatArray:
    """Return the angle between each neighbour and our satellite at sites (k, n) [deg].

    NaN where either is below the horizon.
    """
    positions = np.array([n.longitude_deg for n in network.neighbours])
    found = neighbours(lat, lon, altitude_m, network.satellite.longitude_deg, positions)
    return np.ascontiguousarray(found.separation_deg.T)


def mean_density_dbw_hz(carrier: Carrier) -> float:
    """Return the mean EIRP density of a transponder [dBW/Hz], its output back-off taken off."""
    width_dbhz = 10 * np.log10(carrier.transponder_mhz) + _MHZ_DB
    return float(carrier.satellite_eirp_dbw - carrier.output_backoff_db - width_dbhz)


def site_density_dbw_hz(of: Neighbour, outbound: Carrier) -> float:
    """Return a neighbour's EIRP density at the sites [dBW/Hz], by its level or as it is told."""
    if of.downlink_dbw_mhz is not None:
        return of.downlink_dbw_mhz - _MHZ_DB
    return mean_density_dbw_hz(outbound) + of.downlink_level_db


def hub_density_dbw_hz(of: Neighbour, network: Network) -> float:
    """Return a neighbour's EIRP density at the hub [dBW/Hz]: told, else as at the sites."""
    if of.hub_level_db is not None:
        return mean_density_dbw_hz(network.inbound) + of.hub_level_db
    if of.downlink_dbw_mhz is not None:
        return of.downlink_dbw_mhz - _MHZ_DB
    return mean_density_dbw_hz(network.inbound) + of.downlink_level_db


def stations_dbw_m2_hz(those: tuple[Neighbour, ...]) -> float | None:
    """Return the flux density that neighbours' earth stations make at our satellite [dBW/m2/Hz].

    None where no density is told of any.
    """
    told = [n.uplink_dbw_40khz for n in those if n.uplink_dbw_40khz is not None]
    if not told:
        return None
    spread = float(spreading_loss_db_m2(np.array([STATIONS_KM]))[0])
    return float(power_sum_dbw(np.array(told)) - _40_KHZ_DB - spread)


def power_sum_dbw(levels_dbw: FloatArray) -> FloatArray:
    """Return the sum of powers (k, ...) [dBW]; what is NaN counts nothing.

    >>> power_sum_dbw(np.array([10.0, 10.0, np.nan])).round(2).item()
    13.01
    """
    with np.errstate(divide="ignore"):
        power = np.where(np.isnan(levels_dbw), 0.0, 10 ** (levels_dbw / 10))
        return np.asarray(10 * np.log10(power.sum(axis=0)))
