"""What others do to the carriers of each site, and its own rain to them: the results told.

A field is there only where a key of the network file makes it count; what is not known is blank.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray
from siteplan.frozen import frozen
from siteplan.physics.radio.antennas import wavelength_m
from siteplan.physics.radio.carrier import inverse_sum_db, uplink_es_n0_db
from siteplan.physics.radio.patterns import first_angle_deg
from siteplan.planning.link import mispointing
from siteplan.planning.link.budget import inbound_down_es_n0_db, outbound_es_n0_db
from siteplan.planning.link.ends import Dish, Level, Links
from siteplan.planning.link.outage import Shares
from siteplan.planning.link.spectrum.interference import (
    hub_satellites_ci_db,
    inbound_ci_db,
    inbound_cross_polar_db,
    outbound_cross_polar_db,
    satellites_ci_db,
    stations_ci_db,
)
from siteplan.planning.link.ways import Inbound, Outbound
from siteplan.planning.step import Columns, Raised, Told, flag

_NOTHING = float("inf")


@frozen(eq=False)
class Interfered(Arrays):
    """Carrier over interference in clear sky (n,) [dB], discrimination in rain, separation [deg].

    ``counted`` are the fields that the network file makes count. ``limited`` is where a
    direction's interference is stronger than its own noise at the target: (n,) each, outbound and
    inbound; ``own_db`` is Es/N0 of that noise, ``target_ci_db`` the carrier over all interference,
    what the site's rain depolarizes with it. ``near`` is where a neighbour stands nearer than the
    side lobes of the dish begin, ``first_deg`` where they do; ``beyond`` where the error of
    pointing that is given leaves the half-power beam.
    """

    neighbour_separation_deg: Column
    outbound_ci_adjacent_db: Column
    inbound_ci_adjacent_db: Column
    outbound_ci_cross_polar_db: Column
    inbound_ci_cross_polar_db: Column
    outbound_xpd_db: Column
    uplink_xpd_db: Column
    outbound_ci_db: Column
    inbound_ci_db: Column
    counted: frozenset[str]
    limited: tuple[BoolArray, BoolArray]
    own_db: tuple[FloatArray, FloatArray]
    target_ci_db: tuple[FloatArray, FloatArray]
    near: BoolArray
    first_deg: FloatArray
    beyond: BoolArray

    def columns(self) -> Columns:
        """Return the result fields that count, by name."""
        return {name: v for name, v in super().columns().items() if name in self.counted}


def interfered(ways: tuple[Outbound, Inbound], split: Shares) -> Interfered:
    """Return what others do to both directions of n sites with their kit.

    ``split`` is how the target's outage falls on the two ends.
    """
    out, back = ways
    link, flux = out.link, back.driven.flux_dbw_m2
    n, seen, short = len(link), ~np.isnan(link.site.downlink_loss_db), link.hub.short_db
    sat, stations = satellites_ci_db(link, out.dish), _stations_out(link)
    at = split.outbound_site_outage_pct, split.inbound_site_outage_pct
    rained = out.rained_ci_db(out.sky(at[0]), at[0]) - short
    own = _own_noise_db(out, back, at[0])
    under = back.driven.under_share_db
    inward = inbound_ci_db(link, flux, under_share_db=under)
    at_target = tuple(np.broadcast_to(x, n) for x in (rained, inward))
    counted = _counted(link)
    first = _first_deg(out)
    nearest = _nearest_deg(link, n)
    return Interfered(
        neighbour_separation_deg=nearest,
        outbound_ci_adjacent_db=_told(seen, sat, stations) - short,
        inbound_ci_adjacent_db=_told(
            seen, stations_ci_db(link, link.inbound, flux), hub_satellites_ci_db(link, flux)
        ),
        outbound_ci_cross_polar_db=_told(seen, outbound_cross_polar_db(link, out.dish)) - short,
        inbound_ci_cross_polar_db=_told(seen, inbound_cross_polar_db(link, under)),
        outbound_xpd_db=link.site.down.xpd_db(out.sky(at[0]).rain, at[0]),
        uplink_xpd_db=link.site.up.xpd_db(back.sky(at[1]).rain, at[1]),
        outbound_ci_db=_told(seen, out.ci_db) - short,
        inbound_ci_db=_told(seen, inward),
        counted=counted,
        limited=(
            seen & (at_target[0] < own[0]) & ("outbound_ci_db" in counted),
            seen & (at_target[1] < own[1]) & ("inbound_ci_db" in counted),
        ),
        own_db=own,
        target_ci_db=(at_target[0], at_target[1]),
        near=seen & (nearest < first),
        first_deg=first,
        beyond=seen & ~mispointing.within_beam(link.network, out.dish),
    )


def _counted(link: Links) -> frozenset[str]:
    """Return the fields that the network file makes count."""
    network = link.network
    found = set()
    if network.neighbours:
        found |= {"neighbour_separation_deg", "outbound_ci_adjacent_db", "outbound_ci_db"}
        if link.hub.neighbours_dbw_hz is not None or _stations_out(link) is not None:
            found |= {"inbound_ci_adjacent_db", "inbound_ci_db"}
    if network.outbound.cross_polar_level_db is not None:
        found |= {"outbound_ci_cross_polar_db", "outbound_xpd_db", "outbound_ci_db"}
    if network.inbound.cross_polar_level_db is not None:
        found |= {"inbound_ci_cross_polar_db", "uplink_xpd_db", "inbound_ci_db"}
    return frozenset(found)


def _stations_out(link: Links) -> Level | None:
    return stations_ci_db(link, link.outbound, link.outbound.share_flux_dbw_m2)


def _told(seen: BoolArray, *terms: Level | None) -> FloatArray:
    """Return the power sum of the terms that count (n,) [dB], blank where none does."""
    counted = [np.broadcast_to(term, seen.shape) for term in terms if term is not None]
    if not counted:
        return np.full(seen.shape, np.nan)
    total = inverse_sum_db(*counted) if len(counted) > 1 else counted[0]
    return np.where(seen & (total < _NOTHING), total, np.nan)


def _nearest_deg(link: Links, n: int) -> FloatArray:
    """Return the least separation of a neighbour above the horizon (n,) [deg], NaN without one."""
    if link.interference is None:
        return np.full(n, np.nan)
    each = link.interference.separation_deg
    least = np.min(np.where(np.isnan(each), _NOTHING, each), axis=0)
    return np.where(least < _NOTHING, least, np.nan)


def _first_deg(out: Outbound) -> FloatArray:
    """Return where the side lobes of the receiving dishes begin (n,) [deg]."""
    x = out.dish.diameter_m / wavelength_m(out.link.outbound.downlink_ghz)
    return np.broadcast_to(first_angle_deg(x), len(out.link))


def _own_noise_db(
    out: Outbound, back: Inbound, site_pct: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return both directions' Es/N0 of their own noise alone at the target, the sites faded.

    Inbound what the fade takes is left out: it takes as much from the carrier over interference.
    """
    link, down = out.link, out.link.site.down
    wet = down.wet_loss_db(site_pct)
    outward = outbound_es_n0_db(link, out.dish, out.sky(site_pct), 0.0, ci_db=_NOTHING, wet_db=wet)
    inward = inverse_sum_db(
        uplink_es_n0_db(link.inbound, back.driven.flux_dbw_m2),
        inbound_down_es_n0_db(link, back.driven),
    )
    return outward, inward


def raised(of: Interfered, out_dish: Dish) -> Iterator[Raised]:
    """Yield the flags that neighbours, the other polarization and pointing decide."""
    keys = "flag.interference_limited.outbound", "flag.interference_limited.inbound"
    for key, where, ratio, own in zip(keys, of.limited, of.target_ci_db, of.own_db, strict=True):
        told = Told(key, where, {"ci_db": ratio, "own_db": own})
        yield Raised("interference_limited", told)
    yield flag(
        "neighbours_near",
        of.near,
        separation_deg=of.neighbour_separation_deg,
        first_deg=of.first_deg,
    )
    yield flag("pointing_coarse", of.beyond, dish_m=out_dish.diameter_m)
