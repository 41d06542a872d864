"""What the satellite gives at each site inside its beam: EIRP, G/T and SFD."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray, TextArray, TextColumn
from siteplan.frozen import frozen
from siteplan.model import Note, Sites
from siteplan.network import Network
from siteplan.planning.beams.footprints import Footprints
from siteplan.planning.step import Columns, Raised, flag


@frozen
class BeamLevels:
    """Levels of one beam at places (n,): EIRP [dBW], G/T [dB/K], SFD [dBW/m2].

    ``outside`` is where contours of the beam tell none; all three are NaN there.
    """

    eirp_dbw: FloatArray
    g_t_db_k: FloatArray
    sfd_dbw_m2: FloatArray
    outside: BoolArray


def levels(
    network: Network, of: Footprints, beam_name: str, lat: FloatArray, lon: FloatArray
) -> BeamLevels:
    """Return the levels of a beam at places.

    Parameters
    ----------
    network : Network
        Whose figures hold in a direction without contours, and tell SFD at which G/T.
    of : Footprints
        Its footprints.
    beam_name : str
        The beam; '' for the only one.
    lat, lon : (n,) arrays
        The places [deg], any turn.

    Returns
    -------
    BeamLevels
        SFD falls by as many decibels as G/T rises. A place beyond the limb is taken on it.
    """
    out, back, n = network.outbound, network.inbound, len(lat)
    down, up = (of.level(beam_name, way, lat, lon) for way in ("down", "up"))
    eirp = np.full(n, out.satellite_eirp_dbw) if down is None else down
    g_t = np.full(n, back.satellite_g_t_db_k) if up is None else up
    outside = np.isnan(eirp) | np.isnan(g_t)
    sfd = back.sfd_dbw_m2 - (g_t - back.satellite_g_t_db_k)
    eirp, g_t, sfd = (np.where(outside, np.nan, x) for x in (eirp, g_t, sfd))
    return BeamLevels(eirp, g_t, sfd, outside)


@frozen(eq=False)
class SiteBeams(Arrays):
    """The beam of each site (n,) and its levels there; ``outside`` is where it gives none.

    ``down_db`` and ``up_db`` are how far EIRP and G/T lie over the network file's, ``named`` is
    whether the beam has a name. ``sfd_db`` is how far SFD lies over it beyond what it falls by
    where G/T rises; None where that is nowhere.
    """

    beam: TextColumn
    satellite_eirp_dbw: Column
    satellite_g_t_db_k: Column
    satellite_sfd_dbw_m2: Column
    outside: BoolArray
    down_db: FloatArray
    up_db: FloatArray
    named: bool
    sfd_db: FloatArray | None = None

    def columns(self) -> Columns:
        """Return the result fields by name; without the beam's, where it has none."""
        found = super().columns()
        return {name: v for name, v in found.items() if name != "beam" or self.named}


def site_beams(
    network: Network, of: Footprints, lat: FloatArray, lon: FloatArray, seen: BoolArray
) -> SiteBeams:
    """Return what the network's only beam gives at sites (n,).

    ``seen`` (n,) is where the satellite stands above the horizon; elsewhere nothing is told.
    """
    name = network.beam_names[0]
    found = levels(network, of, name, lat, lon)
    eirp, g_t, sfd = (
        np.where(seen, x, np.nan) for x in (found.eirp_dbw, found.g_t_db_k, found.sfd_dbw_m2)
    )
    return SiteBeams(
        beam=np.where(np.isnan(eirp), "", name).astype(object),
        satellite_eirp_dbw=eirp,
        satellite_g_t_db_k=g_t,
        satellite_sfd_dbw_m2=sfd,
        outside=found.outside & seen,
        down_db=eirp - network.outbound.satellite_eirp_dbw,
        up_db=g_t - network.inbound.satellite_g_t_db_k,
        named=name != "",
    )


def raised(of: SiteBeams) -> Iterator[Raised]:
    """Yield the flag of sites in no beam."""
    yield flag("outside_beam", of.outside)


def with_known_beams(sites: Sites, network: Network) -> Sites:
    """Return sites (n,) without beams that the network file does not have, each with a note.

    Where it names none, a column of that name in the sites table is the user's own: it stays among
    the free columns, and is taken from them where beams are named.
    """
    known = network.beam_names
    if "beam" in sites.extra:
        if not any(known):
            return replace(sites, beam=np.full(len(sites), "", dtype=object))
        extra = {name: values for name, values in sites.extra.items() if name != "beam"}
        sites = replace(sites, extra=MappingProxyType(extra))
    wrong = np.flatnonzero(_unknown(sites.beam, known))
    if not len(wrong):
        return sites
    beam, notes = sites.beam.copy(), dict(sites.notes)
    for at in wrong.tolist():
        told = _unknown_beam(str(beam[at]), network)
        notes[at] = (*notes.get(at, ()), told)
    beam[wrong] = ""
    return replace(sites, beam=beam, notes=MappingProxyType(notes))


def _unknown_beam(name: str, network: Network) -> Note:
    """Return the note on a beam that the network file does not have."""
    known = ", ".join(filter(None, network.beam_names))
    if not known:
        return Note.of("note.input_mended.no_beam", column="beam", text=name)
    return Note.of("note.input_mended.beam", column="beam", text=name, known=known)


def _unknown(beam: TextArray, known: tuple[str, ...]) -> BoolArray:
    return np.array([b != "" and b not in known for b in beam.tolist()], dtype=bool)
