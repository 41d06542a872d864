"""The plan: the chain of steps, in the order in which an engineer works, over chunks of sites."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from siteplan.answers import Kind, Remedy
from siteplan.answers.capacity import PoolLoad
from siteplan.arrays import Arrays, FloatArray, IntArray
from siteplan.messages import english
from siteplan.model import Assumption, Sites, Surroundings
from siteplan.network import Network
from siteplan.planning import flags, hub, place, tuning
from siteplan.planning.assembly import assembled, blanked, free_columns, joined, with_step
from siteplan.planning.capacity import traffic
from siteplan.planning.cost.sites import site_costs
from siteplan.planning.kit import everywhere, nearmiss, needy, pick, remedies, shortfall
from siteplan.planning.kit.catalogue import installed
from siteplan.planning.link import (
    availability,
    budget,
    ends,
    mispointing,
    outage,
    weather,
    whatif,
)
from siteplan.planning.link.spectrum import interfered, licence, neighbours
from siteplan.planning.report import licences
from siteplan.planning.report.verdict import answered
from siteplan.planning.setting import Setting, setting
from siteplan.planning.site import (
    bearing,
    cable,
    exposure,
    loads,
    pointing,
    sky,
    stance,
    sun,
    tables,
    zones,
)
from siteplan.planning.site.mounts import choice, roof_frame
from siteplan.planning.step import Columns, Raised, Told, text_field
from siteplan.prices import prices
from siteplan.results import Facts, Plan

#: Sites planned at once: what fits the processor's cache ran best.
CHUNK_SITES = 16_000
#: Nothing told of the project.
NO_FACTS = Facts()
#: No obstacle surveyed, no terrain at hand.
NOTHING_KNOWN = Surroundings()


class Seen(NamedTuple):
    """What every answer for sites rests on, whatever the kit: place, link, outages allowed."""

    at: place.Place
    link: ends.Links
    p_pct: FloatArray


class Kitted(NamedTuple):
    """The kit of sites, and how the link does with it."""

    sizing: pick.Sizing
    split: outage.Shares
    fades: weather.Fades
    levels: budget.Levels
    achieved: availability.Availability
    others: interfered.Interfered
    radiates: licence.Licensed
    short: shortfall.Shortfall

    @property
    def steps(self) -> tuple[Arrays, ...]:
        """The steps that give result fields."""
        return (self.split, self.fades, self.levels, self.sizing, self.achieved, self.others,
                self.radiates)  # fmt: skip


class Built(NamedTuple):
    """What the crew needs beside angles and link: the site pack."""

    stands: stance.Stance
    bears: bearing.Bearing
    clears: sky.Clearance
    cabling: cable.Cabling
    no_cable: tuple[Told, ...]
    core: tuple[Told, ...]
    clad_steel: tuple[Told, ...]
    exposed: exposure.Exposure
    listener: sun.Listener
    season: sun.Season
    points: pointing.Pointing

    @property
    def steps(self) -> tuple[Arrays, ...]:
        """The steps that give result fields."""
        return (self.stands, self.bears, self.clears, self.cabling, self.exposed, self.season,
                self.points)  # fmt: skip


class Piece(NamedTuple):
    """The plan of a chunk of sites: result fields, tables where asked for, what would help.

    ``once`` counts the sites of what is told once, ``fits`` the sites by which pairs fit them,
    ``loads`` tells what they offer; ``seen`` is kept where tables of what-if are wanted.
    """

    columns: Columns
    tables: Columns
    once: dict[str, int]
    remedies: tuple[Remedy, ...]
    fits: Counter[str]
    loads: tuple[PoolLoad, ...]
    seen: Seen | None


def see(sites: Sites, shared: Setting) -> Seen:
    """Return what sites see, and the outages their targets allow: all that kit is judged by."""
    at = place.place(sites, shared.network, shared.clouds)
    network = shared.network
    others = neighbours.interference(network, at.lat, at.lon, at.altitude_m)
    link = ends.links(
        *(network, at.angles, at.climate, shared.hub), interference=others, limits=shared.limits
    )
    return Seen(at, link, 100 - at.availability_target_pct)


def equip(sites: Sites, seen: Seen, shared: Setting) -> Kitted:
    """Return the kit of each site, its margins, and why there is none where there is none."""
    at, link, p_pct = seen
    floor = shared.floor_deg
    sizing = pick.size(link, shared.kinds, installed(sites), p_pct, at.elevation_deg >= floor)
    ways, margins = sizing.ways, (sizing.outbound_margin_db, sizing.inbound_margin_db)
    split = outage.shares(ways, margins, p_pct, inbound_limits=sizing.inbound_limits)
    fades = weather.fades(ways, split)
    return Kitted(
        sizing,
        split,
        fades,
        budget.levels(
            *(link, sizing.kit, ways[1].driven),
            ci_db=ways[0].ci_db,
            inbound_limits=sizing.inbound_limits,
        ),
        availability.availability(ways, at.availability_target_pct, margins, split),
        interfered.interfered(ways, split),
        licence.licensed(
            *(link, sizing.kit, ways[1].driven.cut_db, at.elevation_deg),
            stands=sizing.kit.source == pick.INSTALLED,
        ),
        shortfall.shortfall(sizing, split, fades, at.elevation_deg, p_pct, floor_deg=floor),
    )


def build(sites: Sites, seen: Seen, of: Kitted, around: Surroundings, shared: Setting) -> Built:
    """Return how each site is built: mount, loads, sky, cable, exposure, sun, pointing."""
    network, at, kit, levels = shared.network, seen.at, of.sizing.kit, of.levels
    stands = stance.stance(sites, at, kit, network)
    cabling = cable.cabling(cable.demand(sites, seen.link, kit, network), network)
    beam = exposure.radiator(kit, at.elevation_deg, stands, network)
    listener = sun.listener(at, kit, levels.peaked_g_t_db_k, network)
    local = zones.zones_of(sites.timezone, network)
    return Built(
        stands=stands,
        bears=bearing.bearing(stands, sites.wind_m_s),
        clears=sky.clearance(sites.site_id, at, stands, around, network),
        cabling=cabling,
        no_cable=cable.told(cabling, network),
        core=cable.core_told(cabling, network),
        clad_steel=cable.clad_steel_told(cabling, network),
        exposed=exposure.exposures(beam, network),
        listener=listener,
        season=sun.season(listener, shared.date, levels.outbound_fade_margin_db, local),
        points=pointing.pointing(at, kit, levels.outbound_clear_es_n0_db, network),
    )


def mended(
    sites: Sites, seen: Seen, of: Kitted, clears: sky.Clearance, shared: Setting
) -> tuple[Remedy, ...]:
    """Return what would help each site that is unserved or tight."""
    view = remedies.View(
        *(sites.site_id, seen.at.elevation_deg, shared.floor_deg, clears.clearance_deg < 0),
        licence.exceeds(of.radiates) & of.sizing.given["kit"],
    )
    stock = needy.Stock(installed(sites), shared.kinds)
    return remedies.remedies(view, of.sizing, of.split, stock, seen.p_pct)


def _raised(
    at: place.Place, compass: place.Compass, of: Kitted, built: Built, shared: Setting
) -> Iterator[Raised]:
    """Yield the flags of every step."""
    network = shared.network
    yield from place.raised(at, network)
    yield from place.compass_raised(compass, shared.date)
    yield from pick.raised(of.sizing, of.levels, at.elevation_deg)
    yield from shortfall.raised(of.short)
    yield from availability.raised(of.achieved)
    yield from interfered.raised(of.others, of.sizing.kit.dish)
    yield from licence.raised(of.radiates, of.levels.power_cut_db)
    stands = built.stands
    yield from choice.raised(stands.chosen)
    yield from roof_frame.raised(stands.spot, stands.tried[roof_frame.ROOF.code], network)
    yield from sky.raised(built.clears, at, network)
    yield from cable.raised(built.cabling, built.no_cable)
    yield from exposure.raised(built.exposed)


def plan_piece(
    sites: Sites, shared: Setting, around: Surroundings, *, tabled: tuple[bool, bool], first: int
) -> Piece:
    """Return the plan of a chunk of sites: the whole chain.

    Parameters
    ----------
    sites : Sites
        The chunk.
    shared : Setting
        What all sites of the plan share.
    around : Surroundings
        Obstacles and terrain.
    tabled : pair of bool
        Whether the tables of what-if and of the site pack are wanted.
    first : int
        Index of the chunk's first site in the plan.
    """
    sites = loads.with_design_winds(sites, shared.network)
    seen = see(sites, shared)
    compass = place.compass(seen.at, shared.date)
    kitted = equip(sites, seen, shared)
    built = build(sites, seen, kitted, around, shared)
    raised = _raised(seen.at, compass, kitted, built, shared)
    texts, once = _texts(sites, kitted, built, raised, shared.network)
    steps = (seen.at, compass, *kitted.steps, *built.steps)
    columns = assembled(sites, steps, texts, given=kitted.sizing.given)
    if (offered := prices(shared.network)).any_price:
        columns = with_step(columns, site_costs(columns, offered))
    extra: Columns = {}
    if tabled[0]:
        extra |= whatif.tables(kitted.sizing.ways, kitted.split, seen.p_pct)
    if tabled[1]:
        pack = _pack_tables(seen.at, built, shared, first=first)
        extra |= blanked(pack, kitted.sizing.given, tables.RESTS_ON)
    help_ = mended(sites, seen, kitted, built.clears, shared)
    fitting = _fitting(sites, seen, built, shared)
    busy = traffic.loads_of(sites, columns, shared.network)
    return Piece(columns, extra, once, help_, fitting, busy, seen if tabled[0] else None)


def _fitting(sites: Sites, seen: Seen, built: Built, shared: Setting) -> Counter[str]:
    """Return how many sites to equip have each pattern of pairs that serve them.

    Installed kit stands apart. No pair serves a site that sees the satellite too low, or behind an
    obstacle.
    """
    stands = installed(sites)
    judged = ~(stands.has_dish | stands.has_buc)
    open_ = (seen.at.elevation_deg >= shared.floor_deg) & ~(built.clears.clearance_deg < 0)
    rows = np.flatnonzero(judged)
    fitting = np.zeros((len(rows), len(everywhere.kinds_of(shared.kinds))), dtype=bool)
    could = open_[rows]
    fitting[could] = everywhere.fits(seen.link, shared.kinds, seen.p_pct, rows[could])
    return everywhere.counted(fitting)


def _texts(
    sites: Sites, of: Kitted, built: Built, raised: Iterator[Raised], network: Network
) -> tuple[Columns, dict[str, int]]:
    """Return the fields that hold sentences (n,), and the number of sites of what is told once."""
    n, words = len(sites), english()
    given, tried = of.sizing.given, pick.tried_told(of.sizing)
    flagged = flags.flags(
        raised, sites.notes, words, given=given, tried=text_field((tried,), words, n)
    )
    texts = {
        "no_fit_reason": text_field(shortfall.told(of.short), words, n),
        "near_miss": text_field(nearmiss.told(of.sizing.near_miss), words, n),
        **choice.told(built.stands.spot, built.stands.chosen, words),
        "cable_advice": text_field(built.no_cable, words, n),
        "cable_core": text_field(built.core, words, n),
        "cable_clad_steel": text_field(built.clad_steel, words, n),
        "exposure_basis": text_field(exposure.told(built.exposed, network), words, n),
        "flags": flagged.codes,
        "flag_notes": flagged.notes,
    }
    return texts, flagged.once


def _pack_tables(at: place.Place, built: Built, shared: Setting, *, first: int) -> Columns:
    """Return the tables of the site pack."""
    local = built.season.timezone
    dates = shared.date, shared.install_date
    return {
        **tables.sky_tables(built.stands, built.clears, shared.network),
        **tables.sun_tables(at, built.listener, local, first=first, dates=dates),
        **pointing.neighbour_tables(at, shared.network),
    }


def make_plan(
    sites: Sites,
    network: Network,
    *,
    assumptions: tuple[Assumption, ...] = (),
    facts: Facts = NO_FACTS,
    today: dt.date | None = None,
    with_tables: bool = False,
    around: Surroundings = NOTHING_KNOWN,
    progress: Callable[[int], None] = lambda done: None,
) -> Plan:
    """Return the plan of all sites.

    Parameters
    ----------
    sites : Sites
        Checked sites.
    network : Network
        Checked network file.
    assumptions : tuple of Assumption
        The figures that nobody gave, for the outputs to show.
    facts : Facts
        The project's name, and counts of rows; the rest is worked out.
    today : datetime.date, optional
        Date of the plan where the network file gives none (else the day it runs).
    with_tables : bool
        Whether to work out the tables that the map and the sheets use beside the columns.
    around : Surroundings
        Obstacles and terrain around the sites.
    progress : callable
        Told the number of sites planned after each chunk.

    Returns
    -------
    Plan
        One row a site, in the order of ``sites``.

    Raises
    ------
    NetworkError
        If a MODCOD is unknown or the hub does not see the satellite.
    ProjectError
        If the terrain cannot be read.
    MapsError
        If the cloud maps of the user's own cannot be used.
    """
    shared = setting(network, today)
    tabled = with_tables, with_tables and len(sites) <= tables.MOST_SITES
    pieces = []
    for piece in _chunks(len(sites)):
        first = int(piece[0]) if len(piece) else 0
        pieces.append(plan_piece(sites.take(piece), shared, around, tabled=tabled, first=first))
        progress(first + len(piece))
    pairs = everywhere.travelling(shared.kinds, [p.columns for p in pieces]) if tabled[0] else ()
    once = sum((Counter(p.once) for p in pieces), Counter())
    told = replace(
        facts,
        told_once=tuple(once.items()),
        remarks=flags.told_once(once, len(sites), english()),
        remedies=tuple(remedy for p in pieces for remedy in p.remedies),
        pairs=pairs,
        loads=traffic.added(load for p in pieces for load in p.loads),
        **everywhere.of_fits(_all_fits(pieces), shared.network),
    )
    result = Plan(
        MappingProxyType(joined([p.columns for p in pieces])),
        MappingProxyType(free_columns(sites.extra)),
        network,
        assumptions,
        _facts(shared, told, hub_sun=tabled[1], skipped=with_tables and not tabled[1]),
        MappingProxyType(joined([_with_pairs(p, pairs, shared) for p in pieces])),
    )
    return answered(result)


def _all_fits(pieces: Sequence[Piece]) -> Counter[str]:
    """Return the patterns of all pieces, counted."""
    return sum((piece.fits for piece in pieces), Counter[str]())


def _with_pairs(piece: Piece, pairs: tuple[Kind, ...], shared: Setting) -> Columns:
    """Return a piece's tables, with the margins of the pairs that travel."""
    if piece.seen is None:
        return piece.tables
    _, link, p_pct = piece.seen
    margins = everywhere.margins_db(link, shared.kinds, pairs, p_pct)
    return {**piece.tables, everywhere.MARGINS: margins}


def _chunks(n: int) -> Iterator[IntArray]:
    """Yield the indices of the sites, chunk by chunk (one empty chunk for no sites)."""
    for start in range(0, max(n, 1), CHUNK_SITES):
        yield np.arange(start, min(start + CHUNK_SITES, n))


def _facts(shared: Setting, told: Facts, *, hub_sun: bool, skipped: bool) -> Facts:
    """Return what the outputs show beside columns and network; ``told`` is what is known."""
    network, tuned = shared.network, tuning.tuning(shared.network)
    transits = sun.hub_transits(network, shared.date) if hub_sun else []
    asked = licences.licence_of(shared.limits, network, shared.hub)
    return replace(
        told,
        name=told.name or network.network.name,
        date=shared.date.isoformat(),
        hub_elevation_deg=shared.hub.elevation_deg,
        cautions=(
            *hub.cautions(shared.hub, network),
            *mispointing.cautions(network),
            *tuning.cautions(tuned, network),
            *licences.cautions(asked, network),
        ),
        licence=asked,
        whatif_p_pct=whatif.PERCENTAGES,
        whatif_hub_db=whatif.hub_curves_db(shared.hub, network),
        install_date=shared.install_date.isoformat(),
        stand_off_heights_m=sky.HEIGHTS_M,
        hub_sun=tuple(transits),
        site_tables=tables.SKIPPED if skipped else "",
        cloud_edition=shared.clouds.edition,
        cloud_maps=shared.clouds.told,
        tuning=tuned,
    )
