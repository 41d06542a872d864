"""What the outputs show of a plan beside its columns: hubs, tuning, licence, cautions."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from siteplan.answers.beams import BeamFacts
from siteplan.messages import english
from siteplan.planning import hub, idle, tuning
from siteplan.planning.gateway.names import hub_names
from siteplan.planning.gateway.result import hubs_of
from siteplan.planning.link import coding, mispointing, whatif
from siteplan.planning.setting import Setting
from siteplan.planning.site import sky, sun, tables
from siteplan.planning.targets import month_law
from siteplan.results import Facts

if TYPE_CHECKING:
    from siteplan.answers.licence import Licence

#: So many beams are named in a caution.
_NAMED = 4


def facts_of(passes: Sequence[Setting], told: Facts, *, hub_sun: bool, skipped: bool) -> Facts:
    """Return what the outputs show beside columns and network.

    Parameters
    ----------
    passes : sequence of Setting
        The settings of the plan's beams; the first one's hub and carriers stand for the plan.
    told : Facts
        What is known of it.
    hub_sun : bool
        Whether the hubs' sun transits are wanted.
    skipped : bool
        Whether the tables of the site pack were left out.
    """
    shared = passes[0]
    asked = [_licence(of, several=len(passes) > 1) for of in passes]
    licence = _together(asked)
    return replace(
        told,
        name=told.name or shared.network.network.name,
        date=shared.date.isoformat(),
        hub_elevation_deg=shared.hub.elevation_deg,
        cautions=tuple(_cautions(passes, asked)),
        licence=licence,
        hubs=hubs_of(passes, dict(told.heard), licence),
        whatif_p_pct=whatif.PERCENTAGES,
        whatif_hub_db=whatif.hub_curves_db(shared.hub, shared.network),
        install_date=shared.install_date.isoformat(),
        stand_off_heights_m=sky.HEIGHTS_M,
        hub_sun=tuple(_hub_sun(passes)) if hub_sun else (),
        site_tables=tables.SKIPPED if skipped else "",
        cloud_edition=shared.clouds.edition,
        cloud_maps=shared.clouds.told,
        tuning=tuning.tuning(shared.network),
        beams=tuple(_beams(passes)),
        month_law=month_law(shared.network),
    )


def _licence(of: Setting, *, several: bool) -> Licence | None:
    if of.limits is None:
        return None
    from siteplan.planning.report.licences import licence_of

    found = licence_of(of.limits, of.network, of.hub)
    return found if found is None or not several else replace(found, beams=tuple(of.own))


def _together(asked: Sequence[Licence | None]) -> Licence | None:
    if asked[0] is None:
        return None
    from siteplan.planning.report.licences import together

    return together(asked)


def _cautions(passes: Sequence[Setting], asked: Sequence[Licence | None]) -> Iterator[str]:
    """Yield what holds for every site, and behind the names of beams what holds for theirs."""
    told: dict[str, list[str]] = {}
    for shared, licence in zip(passes, asked, strict=True):
        several = len(passes) > 1
        for caution in dict.fromkeys(_of_pass(shared, licence, several=several)):
            told.setdefault(caution, []).extend(shared.own)
    everywhere = sum(len(shared.own) for shared in passes)
    for caution, beams in told.items():
        if len(beams) == everywhere:
            yield caution
            continue
        more = f" and {len(beams) - _NAMED} more" if len(beams) > _NAMED else ""
        named = ", ".join(beams[:_NAMED]) + more
        yield english().one("caution.of_beams", beams=named, caution=caution)


def _of_pass(shared: Setting, licence: Licence | None, *, several: bool) -> Iterator[str]:
    """Yield what holds for every site of a pass, in sentences."""
    network = shared.network
    yield from hub.cautions(shared.hub, network)
    if several:
        yield from hub.short(shared.hub)
    yield from mispointing.cautions(network)
    yield from idle.cautions(network)
    yield from tuning.cautions(tuning.tuning(network), network)
    yield from coding.cautions(network)
    if licence is not None:
        from siteplan.planning.report import licences

        yield from licences.cautions(licence, network)


def _hub_sun(passes: Sequence[Setting]) -> Iterator[Mapping[str, Any]]:
    """Yield the transits of every hub, those of one that serves several passes once."""
    seen: dict[tuple[float | None, ...], list[Setting]] = {}
    for shared in passes:
        of = shared.network.hub
        listens = of.lat, of.lon, of.antenna_m, shared.network.inbound.downlink_ghz
        seen.setdefault(listens, []).append(shared)
    groups = list(seen.values())
    for alike, name in zip(groups, hub_names(groups), strict=True):
        named = {"hub": name} if len(groups) > 1 else {}
        for transit in sun.hub_transits(alike[0].network, alike[0].date):
            yield {**named, **transit}


def _beams(passes: Sequence[Setting]) -> Iterator[BeamFacts]:
    """Yield what the sites of each beam share; nothing where there is one beam only."""
    if sum(len(shared.own) for shared in passes) < 2:
        return
    for k, shared in enumerate(passes):
        curves = whatif.hub_curves_db(shared.hub, shared.network)
        for name, own in shared.own.items():
            yield BeamFacts(name, k, tuning.tuning(own), curves)
