"""The settings of a network's beams: one for each pass of the chain of steps."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from siteplan.arrays import IntArray, TextArray
from siteplan.errors import NetworkError
from siteplan.network import Network
from siteplan.planning.beams.footprints import Footprints, footprints, seen_centre_deg
from siteplan.planning.beams.levels import SiteBeams, levels
from siteplan.planning.beams.passes import Pass, passes
from siteplan.planning.gateway.names import hub_names, spoken
from siteplan.planning.place import Place
from siteplan.planning.setting import Setting, setting


def settings(network: Network, today: dt.date | None = None) -> tuple[Setting, ...]:
    """Return what the sites of each pass share, in the file's order of the beams.

    Raises
    ------
    NetworkError
        As `siteplan.planning.setting.setting`, for any of the beams.
    MapsError
        If the cloud maps of the user's own cannot be used.
    """
    if not network.beams:
        return (setting(network, today),)
    _check_areas(network)
    told = footprints(network) or Footprints(network.satellite.longitude_deg, {})
    found = [
        replace(_setting(network, one, today), own=one.own, footprints=told)
        for one in passes(network)
    ]
    names = hub_names([[shared] for shared in found])
    return tuple(
        replace(shared, hub=replace(shared.hub, spoken=spoken(name)))
        for shared, name in zip(found, names, strict=True)
    )


def _setting(network: Network, one: Pass, today: dt.date | None) -> Setting:
    """Return the setting of a pass; what is wrong with it is told with the beam that brings it."""
    try:
        return setting(one.network, today)
    except NetworkError as error:
        name = next(iter(one.own))
        beam = next(beam for beam in network.beams if beam.name == name)
        if not any(getattr(beam, table).model_fields_set for table in _OWN):
            raise
        where = f"{error.where}, as beam {name!r} has it"
        raise NetworkError(error.what, where=where, fix=error.fix) from None


#: Tables of which a beam may have keys of its own.
_OWN = ("outbound", "inbound", "hub")


def _check_areas(network: Network) -> None:
    """Raise where a service area is in a file that nobody has read, or out of sight."""
    for number, beam in enumerate(network.beams, 1):
        place = f"network.toml, [[beams]] no. {number}"
        if beam.is_ellipse:
            what = f", the centre of beam {beam.name!r}"
            seen_centre_deg(beam, network.satellite.longitude_deg, place, what)
        if beam.lacks_area:
            raise NetworkError(
                "the file of its service area was not read.",
                where=f"{place} area",
                fix="Read the network with siteplan.read_network(path), or give area_wkt.",
            )


def site_beams(shared: Setting, beam: TextArray, at: Place) -> SiteBeams:
    """Return what sites (n,) have of their beams beyond what those of their pass share.

    Parameters
    ----------
    shared : Setting
        Of a pass.
    beam : (n,) array of str
        The beam of each; '' for a site in none, which has no levels.
    at : Place
        The sites.
    """
    assert shared.footprints is not None
    eirp, g_t, sfd = (np.full(len(beam), np.nan) for _ in range(3))
    for name, own in shared.own.items():
        rows = np.flatnonzero((beam == name) & at.seen)
        found = levels(own, shared.footprints, name, at.lat[rows], at.lon[rows])
        eirp[rows], g_t[rows], sfd[rows] = found.eirp_dbw, found.g_t_db_k, found.sfd_dbw_m2
    common = shared.network.inbound
    up = g_t - common.satellite_g_t_db_k
    beyond = np.round(sfd - common.sfd_dbw_m2 + up, 9) + 0.0
    return SiteBeams(
        beam=np.where(np.isnan(eirp) & at.seen, "", beam).astype(object),
        satellite_eirp_dbw=eirp,
        satellite_g_t_db_k=g_t,
        satellite_sfd_dbw_m2=sfd,
        outside=np.isnan(eirp) & at.seen,
        down_db=eirp - shared.network.outbound.satellite_eirp_dbw,
        up_db=up,
        named=True,
        sfd_db=beyond if np.any(beyond[~np.isnan(beyond)]) else None,
    )


def by_pass(of: Sequence[Setting], beam: TextArray) -> Iterator[tuple[Setting, IntArray]]:
    """Yield each setting that serves any site, and the sites (k,) whose beams ``beam`` (n,) it has.

    Sites in no beam go with the first.
    """
    left = np.ones(len(beam), dtype=bool)
    found = []
    for one in of[1:]:
        mine = np.isin(beam.astype(str), list(one.own))
        left &= ~mine
        found.append((one, np.flatnonzero(mine)))
    for one, rows in ((of[0], np.flatnonzero(left)), *found):
        if len(rows) or (one is of[0] and not len(beam)):
            yield one, rows
