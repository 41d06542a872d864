"""The plan: the chain of steps, in the order in which an engineer works, over chunks of sites."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import chain
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from siteplan.answers import Kind, Remedy
from siteplan.answers.capacity import PoolLoad
from siteplan.arrays import Arrays, BoolArray, FloatArray, IntArray, TextArray
from siteplan.messages import english
from siteplan.model import Assumption, Sites, Surroundings
from siteplan.network import Network
from siteplan.planning import flags, place, targets
from siteplan.planning.applications import service as carries
from siteplan.planning.assembly import assembled, blanked, free_columns, joined, with_step
from siteplan.planning.beams import levels as beams
from siteplan.planning.beams.settings import by_pass, settings, site_beams
from siteplan.planning.beams.weave import woven, woven_tables
from siteplan.planning.capacity import terminals, traffic
from siteplan.planning.certainty.figures import lasting
from siteplan.planning.certainty.grade import graded
from siteplan.planning.certainty.items import Stand
from siteplan.planning.certainty.sure import in_order, sure
from siteplan.planning.cost import life, worth
from siteplan.planning.cost.sites import site_costs
from siteplan.planning.facts import facts_of
from siteplan.planning.gateway.heard import heard, of_pass
from siteplan.planning.kit import everywhere, nearmiss, needy, pick, remedies, shortfall
from siteplan.planning.kit.catalogue import installed
from siteplan.planning.link import (
    availability,
    budget,
    coding,
    ends,
    outage,
    weather,
    whatif,
)
from siteplan.planning.link.hub import saturated
from siteplan.planning.link.spectrum import interfered, licence, neighbours
from siteplan.planning.operations.service import service
from siteplan.planning.report.verdict import answered
from siteplan.planning.rollout import answer as rolled
from siteplan.planning.setting import Setting
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
from siteplan.planning.site.remounted import with_mounts
from siteplan.planning.step import Columns, Raised, Told, text_field
from siteplan.prices import prices
from siteplan.results import Facts, Plan

if TYPE_CHECKING:
    from siteplan.planning.beams.assign import Others, Trial

#: Sites planned at once: what fits the processor's cache ran best.
CHUNK_SITES = 16_000
#: Nothing told of the project.
NO_FACTS = Facts()
#: No obstacle surveyed, no terrain at hand.
NOTHING_KNOWN = Surroundings()


class Tabled(NamedTuple):
    """Which tables are wanted: of what-if, of the site pack, of sensitivity, of transits alone.

    ``certainty`` is no table: whether it is told what would change kit and margin.
    """

    whatif: bool
    pack: bool
    sensitivity: bool
    transits: bool = False
    certainty: bool = True


class Seen(NamedTuple):
    """What every answer for sites rests on, whatever the kit: place, link, outages allowed."""

    at: place.Place
    link: ends.Links
    p_pct: FloatArray
    beam: beams.SiteBeams | None = None

    @property
    def reached(self) -> BoolArray:
        """Where a beam of the satellite reaches the site (n,), as far as beams are told."""
        return np.ones(len(self.link), bool) if self.beam is None else ~self.beam.outside

    def over(self, floor_deg: float) -> BoolArray:
        """Return where kit may be given (n,): over the lowest elevation, and in a beam."""
        return (self.at.elevation_deg >= floor_deg) & self.reached

    @property
    def steps(self) -> tuple[Arrays, ...]:
        """The steps that give result fields."""
        own: tuple[Arrays, ...] = (self.at,) if self.beam is None else (self.at, self.beam)
        return (*own, targets.AnnualTarget(self.at.annual_pct)) if self.at.by_month else own


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
    own: worth.Own | None = None

    @property
    def steps(self) -> tuple[Arrays, ...]:
        """The steps that give result fields."""
        return (self.split, self.fades, self.levels, self.sizing, self.achieved, self.others,
                self.radiates, *((self.own,) if self.own else ()))  # fmt: skip


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
    ``heard`` what they say of their hub, ``changes`` those whose kit a step of a figure changes;
    ``loads`` tells what they offer; ``seen`` is kept where tables of what-if are wanted.
    """

    columns: Columns
    tables: Columns
    once: dict[str, int]
    remedies: tuple[Remedy, ...]
    fits: Counter[str]
    heard: Counter[str]
    loads: tuple[PoolLoad, ...]
    seen: Seen | None
    changes: Counter[str]


def see(sites: Sites, shared: Setting) -> Seen:
    """Return what sites see, and the outages their targets allow: all that kit is judged by."""
    at = place.place(sites, shared.network, shared.clouds)
    network = shared.network
    others = neighbours.interference(network, at.lat, at.lon, at.altitude_m)
    link = ends.links(
        *(network, at.angles, at.climate, shared.hub), interference=others, limits=shared.limits
    )
    beam = None
    if shared.own:
        beam = site_beams(shared, sites.beam, at)
        link = link.in_beams(beam.down_db, beam.up_db, beam.sfd_db)
    elif shared.footprints is not None:
        beam = beams.site_beams(network, shared.footprints, at.lat, at.lon, at.seen)
        link = link.in_beams(beam.down_db, beam.up_db)
    return Seen(at, link, 100 - at.annual_pct, beam)


def equip(sites: Sites, seen: Seen, shared: Setting) -> Kitted:
    """Return the kit of each site, its margins, and why there is none where there is none."""
    at, link, p_pct, _ = seen
    floor = shared.floor_deg
    priced = worth.worth(sites, shared.network, shared.kinds)
    sizing = pick.size(
        *(link, shared.kinds, installed(sites), p_pct),
        seen.over(floor),
        cost=priced,
    )
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
        availability.availability(ways, at.annual_pct, margins, split),
        interfered.interfered(ways, split),
        licence.licensed(
            *(link, sizing.kit, ways[1].driven.cut_db, at.elevation_deg),
            stands=sizing.kit.source == pick.INSTALLED,
        ),
        shortfall.shortfall(
            *(sizing, split, fades, at.elevation_deg, p_pct),
            floor_deg=floor,
            reached=seen.reached,
            doubted=sites.doubted,
        ),
        worth.own(priced, ways, sizing.given["kit"]),
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
    sites: Sites, seen: Seen, of: Kitted, built: Built, shared: Setting
) -> tuple[Remedy, ...]:
    """Return what would help each site that is unserved or tight."""
    view = remedies.View(
        *(sites.site_id, seen.at.elevation_deg, shared.floor_deg),
        *(built.clears.clearance_deg < 0, seen.reached),
        licence.exceeds(of.radiates) & of.sizing.given["kit"],
        sites.doubted,
    )
    stock = needy.Stock(installed(sites), shared.kinds)
    found = remedies.remedies(view, of.sizing, of.split, stock, seen.p_pct)
    return with_mounts(found, sites.site_id, built.stands, shared.network)


def _raised(
    seen: Seen, compass: place.Compass, of: Kitted, built: Built, shared: Setting
) -> Iterator[Raised]:
    """Yield the flags of every step."""
    network, at = shared.network, seen.at
    yield from place.raised(at, network, of.short.doubted)
    yield from place.compass_raised(compass, shared.date)
    if seen.beam is not None:
        yield from beams.raised(seen.beam)
    yield from pick.raised(of.sizing, of.levels, at.elevation_deg)
    yield from shortfall.raised(of.short)
    yield from availability.raised(of.achieved)
    yield from interfered.raised(of.others, of.sizing.kit.dish)
    yield from licence.raised(of.radiates, of.levels.power_cut_db)
    yield from saturated.raised(of.sizing.ways[0].link, of.split)
    stands = built.stands
    yield from choice.raised(stands.chosen)
    yield from roof_frame.raised(stands.spot, stands.tried[roof_frame.ROOF.code], network)
    yield from sky.raised(built.clears, at, network)
    yield from cable.raised(built.cabling, built.no_cable)
    yield from exposure.raised(built.exposed)


def plan_piece(sites: Sites, shared: Setting, around: Surroundings, *, tabled: Tabled) -> Piece:
    """Return the plan of sites of one pass: the whole chain.

    Parameters
    ----------
    sites : Sites
        Of beams that share a setting.
    shared : Setting
        What they share.
    around : Surroundings
        Obstacles and terrain.
    tabled : Tabled
        Which tables are wanted; transits count the sites from 0.
    """
    sites = loads.with_design_winds(sites, shared.network)
    seen = see(sites, shared)
    compass = place.compass(seen.at, shared.date)
    kitted = equip(sites, seen, shared)
    built = build(sites, seen, kitted, around, shared)
    asks = carries.service(sites, seen.at, shared.network)
    raised = chain(_raised(seen, compass, kitted, built, shared), carries.raised(asks))
    texts, once = _texts(sites, kitted, built, raised, shared.network)
    sizing, known = kitted.sizing, None
    if tabled.whatif:
        known = whatif.site_margins_db(sizing.ways)
    margins = sizing.outbound_margin_db, sizing.inbound_margin_db
    coded = coding.coding(sizing.ways, margins, sizing.given["kit"], known)
    lasts = lasting(seen.at, sizing, kitted.achieved)
    texts["year_notes"] = lasts.notes
    held = None
    if tabled.certainty:
        stand = Stand(seen.link, seen.p_pct, shared)
        held = sure(sites, stand, sizing, seen.over(shared.floor_deg), tabled=tabled.sensitivity)
    steps = (
        *(*seen.steps, compass, *kitted.steps, coded),
        *(*lasts.steps, *(held.steps if held else ()), *built.steps, *((asks,) if asks else ())),
    )
    columns = assembled(sites, steps, texts, given=kitted.sizing.given)
    if (offered := prices(shared.network)).any_price:
        columns = with_step(columns, site_costs(columns, offered))
    if (served := service(sites, columns, shared.network)) is not None:
        columns = with_step(columns, served)
    extra: Columns = life.basis(sites, columns, shared.network, shared.own)
    extra |= rolled.busy(sites, columns, shared.network, shared.own)
    extra |= held.tables if held else {}
    if known is not None:
        extra |= whatif.tables(sizing.ways, kitted.split, seen.p_pct, known)
    if tabled.pack:
        pack = _pack_tables(seen.at, built, shared)
        extra |= blanked(pack, kitted.sizing.given, tables.RESTS_ON)
    elif tabled.transits:
        extra |= sun.transit_tables(built.listener, shared.date, built.season.timezone)
    help_ = mended(sites, seen, kitted, built, shared)
    fitting = _fitting(sites, seen, built, shared)
    told = heard(kitted.sizing, kitted.split, seen.p_pct, shared.hub_sizes)
    sends = terminals.sending(seen.link, sizing.kit, sizing.ways[1].driven)
    busy = traffic.loads_of(sites, columns, shared.network, shared.own, sends)
    kept = seen if tabled.whatif else None
    changes = held.changes if held else Counter[str]()
    return Piece(columns, extra, once, help_, fitting, told, busy, kept, changes)


class Chunk(NamedTuple):
    """The plan of a chunk of sites, by passes: ``rows`` are the sites of each, ``passes`` theirs.

    ``others`` is what else could serve the sites, None where no site has a choice of beams.
    """

    site_id: TextArray
    first: int
    rows: tuple[IntArray, ...]
    passes: tuple[Setting, ...]
    pieces: tuple[Piece, ...]
    others: Others | None

    @property
    def columns(self) -> Columns:
        """The result fields (n,), sites in their order."""
        found = woven(self.rows, [piece.columns for piece in self.pieces])
        return found if self.others is None else with_step(found, self.others)

    def tables(self, pairs: tuple[Kind, ...]) -> Columns:
        """Return the tables, with the margins of the pairs that travel."""
        found = zip(self.pieces, self.passes, strict=True)
        own = [_with_pairs(piece, pairs, shared) for piece, shared in found]
        return woven_tables(self.rows, own, first=self.first)

    @property
    def remedies(self) -> tuple[Remedy, ...]:
        """What would help the sites, in their order."""
        found = [remedy for piece in self.pieces for remedy in piece.remedies]
        if len(self.pieces) == 1:
            return tuple(found)
        place = {site: k for k, site in enumerate(self.site_id.tolist())}
        return tuple(sorted(found, key=lambda remedy: place[remedy.site_id]))


def plan_chunk(
    sites: Sites,
    network: Network,
    passes: Sequence[Setting],
    around: Surroundings,
    *,
    tabled: Tabled,
    first: int,
) -> Chunk:
    """Return the plan of a chunk of sites: each in the pass of its beam.

    ``network`` is the file's, ``passes`` the settings of its beams, ``first`` the index of the
    chunk's first site in the plan; the rest is as in `plan_piece`.
    """
    others = None
    if network.beams:
        from siteplan.planning.beams.assign import assign

        sites, others = assign(sites, network, passes, _tried)
    found = list(by_pass(passes, sites.beam))
    pieces = tuple(
        plan_piece(sites.take(rows) if len(found) > 1 else sites, shared, around, tabled=tabled)
        for shared, rows in found
    )
    rows, used = tuple(rows for _, rows in found), tuple(shared for shared, _ in found)
    return Chunk(sites.site_id, first, rows, used, pieces, others)


def _tried(sites: Sites, shared: Setting) -> Trial:
    """Return the kit that sites would get in the beams that they name."""
    from siteplan.planning.beams.assign import Trial

    found = equip(sites, see(sites, shared), shared).sizing
    return Trial(found.kit.antenna_m, found.kit.buc_w, found.margin_db)


def _fitting(sites: Sites, seen: Seen, built: Built, shared: Setting) -> Counter[str]:
    """Return how many sites to equip have each pattern of pairs that serve them.

    Installed kit stands apart. No pair serves a site that sees the satellite too low, or behind an
    obstacle.
    """
    stands = installed(sites)
    judged = ~(stands.has_dish | stands.has_buc)
    open_ = seen.over(shared.floor_deg) & ~(built.clears.clearance_deg < 0)
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


def _pack_tables(at: place.Place, built: Built, shared: Setting) -> Columns:
    """Return the tables of the site pack."""
    local = built.season.timezone
    dates = shared.date, shared.install_date
    return {
        **tables.sky_tables(built.stands, built.clears, shared.network),
        **tables.sun_tables(at, built.listener, local, dates=dates),
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
    sensitivity: bool = False,
    transits: bool = False,
    certainty: bool = True,
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
    sensitivity : bool
        Whether to work out the tables of what would change the kit.
    transits : bool
        Whether to work out the tables of the sun's transits, without the others of the sheets too.
    certainty : bool
        Whether to work out what would change the kit, and the chance of the margin: a third of the
        work, without which the plan has no such fields.
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
    sites = beams.with_known_beams(sites, network)
    passes = settings(network, today)
    shared = passes[0]
    packed = with_tables and len(sites) <= tables.MOST_SITES
    tabled = Tabled(with_tables, packed, sensitivity, transits, certainty)
    chunks = []
    for piece in _chunks(len(sites)):
        first = int(piece[0]) if len(piece) else 0
        some = sites.take(piece)
        chunks.append(plan_chunk(some, network, passes, around, tabled=tabled, first=first))
        progress(first + len(piece))
    pieces = [piece for chunk in chunks for piece in chunk.pieces]
    pairs = everywhere.travelling(shared.kinds, [p.columns for p in pieces]) if with_tables else ()
    once = sum((Counter(p.once) for p in pieces), Counter())
    told = replace(
        facts,
        told_once=tuple(once.items()),
        remarks=flags.told_once(once, len(sites), english()),
        remedies=tuple(remedy for chunk in chunks for remedy in chunk.remedies),
        pairs=pairs,
        heard=tuple(sorted(_all_heard(chunks, passes).items())),
        loads=traffic.added(load for p in pieces for load in p.loads),
        changes_kit=in_order(p.changes for p in pieces),
        **everywhere.of_fits(_all_fits(pieces), shared.network),
    )
    result = Plan(
        MappingProxyType(graded(joined([c.columns for c in chunks]), network, assumptions)),
        MappingProxyType(free_columns(sites.extra)),
        network,
        assumptions,
        facts_of(passes, told, hub_sun=packed, skipped=with_tables and not packed),
        MappingProxyType(joined([chunk.tables(pairs) for chunk in chunks])),
    )
    return answered(result)


def _all_heard(chunks: Sequence[Chunk], passes: Sequence[Setting]) -> Counter[str]:
    """Return what sites say of their hubs, counted, marked with their pass."""
    found, number = Counter[str](), {id(shared): k for k, shared in enumerate(passes)}
    for chunk in chunks:
        for shared, piece in zip(chunk.passes, chunk.pieces, strict=True):
            found.update(of_pass(number[id(shared)], piece.heard))
    return found


def _all_fits(pieces: Sequence[Piece]) -> Counter[str]:
    """Return the patterns of all pieces, counted."""
    return sum((piece.fits for piece in pieces), Counter[str]())


def _with_pairs(piece: Piece, pairs: tuple[Kind, ...], shared: Setting) -> Columns:
    """Return the tables of a pass, with the margins of the pairs that travel."""
    if piece.seen is None:
        return piece.tables
    link, p_pct = piece.seen.link, piece.seen.p_pct
    margins = everywhere.margins_db(link, shared.kinds, pairs, p_pct)
    return {**piece.tables, everywhere.MARGINS: margins}


def _chunks(n: int) -> Iterator[IntArray]:
    """Yield the indices of the sites, chunk by chunk (one empty chunk for no sites)."""
    for start in range(0, max(n, 1), CHUNK_SITES):
        yield np.arange(start, min(start + CHUNK_SITES, n))
