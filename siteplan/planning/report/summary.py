"""The plan in short: counts, the worst sites and why, and the figures that all sites share."""

from __future__ import annotations

import math
from collections import Counter
from typing import Any

import numpy as np

from siteplan.answers import KindSet
from siteplan.fields import METHODS
from siteplan.messages import english
from siteplan.network import Network
from siteplan.planning.capacity import answer
from siteplan.planning.certainty.grade import LETTERS
from siteplan.planning.cost.figures import cost_figures, order_figures
from siteplan.planning.cost.totals import life_figures
from siteplan.planning.link.ends import carrier_plan, required_db
from siteplan.planning.report import clouds, rates
from siteplan.planning.report.tally import SERVED, Tally, tally
from siteplan.planning.report.verdict import figures, verdict_of
from siteplan.planning.site.mounts.choice import OPTIONS
from siteplan.planning.targets import annual_target_pct, by_month
from siteplan.results import Facts, Plan
from siteplan.words import CAVEAT, NO_KIT, class_labels

#: The method that counts only where a carrier is adaptive.
ADAPTIVE = "adaptive coding"
#: The limit that depends on the cloud maps at hand.
CLOUDS = "clouds"
#: What the plan does not do; shown with every summary.
LIMITS = ("off_axis", "obstacles", "caveat", CLOUDS, "satellite")


def summarize(plan: Plan, *, worst: int = 5) -> dict[str, Any]:
    """Return the summary of a plan, ready for JSON.

    Parameters
    ----------
    plan : Plan
        The results.
    worst : int
        How many of the worst sites to name.

    Returns
    -------
    dict
        How many sites there are, and how many are ``served``; the ``verdict`` in a few lines;
        ``counts`` by margin class, antenna, BUC, mount (and those of them that are provisional),
        limiting direction, flag and best remedy; ``worst`` sites with the reason; what each of the
        ``hubs`` gives and loses; the ``fewest`` kinds that serve most sites; ``assumed`` figures;
        ``link`` figures; ``methods``; ``limits``.
    """
    return from_tally(tally(plan, worst=worst), plan)


def from_tally(counted: Tally, plan: Plan) -> dict[str, Any]:
    """Return the summary of sites counted elsewhere; of ``plan`` only what all sites share."""
    return {
        **_shared(plan),
        **_targets(counted, plan.network),
        "sites": counted.sites,
        "served": counted.counts["standing"][SERVED],
        "verdict": figures(verdict_of(counted)),
        "counts": _named_counts(counted, plan.network.rules.margin_classes_db),
        "worst": [row for _, row in counted.worst],
        **cost_figures(plan.facts.bill),
        **order_figures(plan.facts.bill),
        **life_figures(plan.facts.costs),
        **_licence(plan.facts),
        "hubs": [hub.to_json() for hub in plan.facts.hubs],
        **({"capacity": answer.figures(plan.facts.capacity)} if plan.facts.capacity else {}),
        **rates.figures(counted.rates, plan.network),
        "fewest": [_set(found) for found in plan.facts.fewest],
        **beam_counts(plan, counted),
        "link": link_figures(plan),
        "assumed": [a.to_json() for a in plan.assumptions],
        "methods": methods(plan.facts, plan.network),
        "clouds": clouds.figures(plan.facts),
        "limits": [limit_told(limit, plan) for limit in LIMITS],
    }


def _licence(facts: Facts) -> dict[str, Any]:
    if facts.licence is None:
        return {}
    from siteplan.planning.report import licences

    return {"licence": licences.figures(facts.licence)}


def beam_counts(plan: Plan, counted: Tally) -> dict[str, Any]:
    """Return the sites of each beam and those that it serves; nothing of a plan without beams.

    A site that does not see the satellite is in no beam either, but is counted as that alone.
    """
    sites, served = counted.counts["beam"], counted.counts["beam_served"]
    names = [beam.name for beam in plan.network.beams]
    if not names:
        return {}
    found = {name: {"sites": sites[name], "served": served[name]} for name in names}
    left = counted.counts["flags"]["outside_beam"]
    return {"beams": found, **({"in_no_beam": left} if left else {})}


def _set(found: KindSet) -> dict[str, Any]:
    """Return the set of so many kinds that serves most sites; a cost where all have a price."""
    kinds = zip(found.kinds, found.sites, strict=True)
    priced = not math.isnan(found.cost)
    return {
        "kinds": [{"antenna_m": d, "buc_w": w, "sites": n} for (d, w), n in kinds],
        "most_kinds": found.k,
        "served": found.served,
        "of": found.judged,
        "area_m2": round(found.area_m2, 2),
        **({"cost": round(found.cost, 2)} if priced else {}),
        "exact": found.exact,
    }


def methods(facts: Facts, network: Network) -> dict[str, str]:
    """Return the edition of each method that was followed; one of clouds, by the maps in use.

    The masks in force stand among them; adaptive coding where a carrier is adaptive.
    """
    editions = {key: method.edition for key, method in METHODS.items()}
    followed = editions[clouds.method(facts)]
    masks = facts.licence.masks if facts.licence else ()
    return {
        key: followed if key == "cloud" else edition
        for key, edition in editions.items()
        if (key == "cloud" or not key.startswith("cloud"))
        and (key != ADAPTIVE or network.outbound.adaptive or network.inbound.adaptive)
    } | {f"mask {mask.name}": mask.told for mask in masks}


def limit_told(limit: str, plan: Plan) -> str:
    """Return the sentence of one limit."""
    facts = plan.facts
    if limit == CLOUDS:
        return clouds.limit(facts)
    if limit == "off_axis" and facts.licence:
        names = ", ".join(mask.name for mask in facts.licence.masks)
        return english().one("limit.off_axis.masks", masks=names)
    if limit == "satellite" and plan.network.contours:
        return english().one("limit.satellite.contours")
    if limit == "satellite" and _levels_differ(plan.network):
        return english().one("limit.satellite.beams")
    return english().one(f"limit.{limit}", caveat=CAVEAT)


def _levels_differ(network: Network) -> bool:
    """Whether some beam has EIRP, G/T or SFD of its own."""
    return len({str([_levels_of(network.of_beam(b.name))]) for b in network.beams}) > 1


def _levels_of(network: Network) -> tuple[float, ...]:
    """Return EIRP, G/T and SFD of both ways: what the satellite gives the sites of a beam."""
    ways = network.outbound, network.inbound
    names = "satellite_eirp_dbw", "satellite_g_t_db_k", "sfd_dbw_m2"
    return tuple(getattr(way, name) for way in ways for name in names)


def _shared(plan: Plan) -> dict[str, Any]:
    """Return what is the same for all sites of a plan."""
    facts, network = plan.facts, plan.network
    counted = {"rows_read": facts.rows_read, "rejected": facts.rejected}
    return {
        "name": facts.name,
        "date": facts.date,
        "satellite_name": network.satellite.name,
        "satellite_lon_deg": network.satellite.longitude_deg,
        "hub_lat": network.hub.lat,
        "hub_lon": network.hub.lon,
        "hub_elevation_deg": facts.hub_elevation_deg,
        "cautions": list(facts.cautions),
        "remarks": list(facts.remarks),
        "availability_pct": network.usual_target_pct,
        **_of_month(network),
        "margin_classes_db": list(network.rules.margin_classes_db),
        "whatif_p_pct": list(facts.whatif_p_pct),
        "install_date": facts.install_date,
        "stand_off_heights_m": list(facts.stand_off_heights_m),
        "mounts": list(OPTIONS),
        "neighbours_deg": list(network.satellite.neighbours_deg),
        "hub_sun": list(facts.hub_sun),
        "caveat": CAVEAT,
        "site_tables": facts.site_tables,
        **{name: count for name, count in counted.items() if count is not None},
        **({"source": facts.source} if facts.source else {}),
    }


def _targets(counted: Tally, network: Network) -> dict[str, Any]:
    """Return the least and the most of the sites' targets, where some is not the network's."""
    found = sorted(float(pct) for pct in counted.counts["target_pct"] if pct != "none")
    if set(found) <= {network.network.availability_pct}:
        return {}
    return {"targets_pct": [found[0], found[-1]]}


def _of_month(network: Network) -> dict[str, Any]:
    """Return what a target of the worst month asks for; nothing of one of a year."""
    if not by_month(network):
        return {}
    asked = np.array([network.usual_target_pct])
    return {
        "availability_basis": network.network.availability_basis,
        "annual_target_pct": round(float(annual_target_pct(network, asked)[0]), 4),
    }


def _named_counts(counted: Tally, bounds_db: tuple[float, ...]) -> dict[str, dict[str, int]]:
    """Return the counts in the order that people read them."""
    counts = counted.counts
    classes = {label: counts["margin_class"][label] for label in class_labels(bounds_db, "dB")}
    return {
        "margin_class": classes
        | {NO_KIT: counts["margin_class"][NO_KIT], "no margin": counts["margin_class"][""]},
        "antenna_m": _by_size(counts["antenna_m"]),
        "buc_w": _by_size(counts["buc_w"]),
        "mount": _most_first(counts["mount"]) | _none(counts["mount"][""]),
        **{
            name: {k: n for k, n in counts[name].most_common() if k not in ("", NO_KIT)}
            for name in (
                *("provisional_mount", "limiting_direction", "limiting_end"),
                *("flags", "told_once", "best_remedy"),
            )
        },
        "certainty": {k: counts["certainty"][k] for k in LETTERS if counts["certainty"][k]},
    }


def _most_first(counter: Counter[str]) -> dict[str, int]:
    """Return counts by value, the most frequent first; blanks are left out."""
    return {value: count for value, count in counter.most_common() if value}


def _none(count: int) -> dict[str, int]:
    """Return how many sites have none, where some have."""
    return {"none": count} if count else {}


def _by_size(counter: Counter[str]) -> dict[str, int]:
    """Return counts by size, rising, and those without."""
    sizes = sorted((k for k in counter if k != "none"), key=float)
    return {size: counter[size] for size in sizes} | {"none": counter["none"]}


def link_figures(plan: Plan) -> dict[str, Any]:
    """Return what the link budget takes as the same for all sites, by direction.

    Of a plan with beams as the same for all sites of each.
    """
    if not plan.network.beams:
        return _link_figures(plan.network)
    return {b.name: _link_figures(plan.network.of_beam(b.name)) for b in plan.network.beams}


def _link_figures(network: Network) -> dict[str, dict[str, float]]:
    figures = {}
    for way, carrier in (("outbound", network.outbound), ("inbound", network.inbound)):
        physics = carrier_plan(carrier)
        figures[way] = {
            "required_es_n0_db": round(required_db(way, carrier), 2),
            "occupied_mhz": round(carrier.occupied_mhz, 4),
            "share_output_backoff_db": round(physics.share_backoff_db, 2),
            "share_flux_dbw_m2": round(float(physics.share_flux_dbw_m2), 2),
        }
    return figures
