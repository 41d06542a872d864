"""The plan in short: counts, the worst sites and why, and the figures that all sites share."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.fields import METHODS
from siteplan.planning.link.budget import carrier_plan, required_db
from siteplan.planning.site.mounts.choice import OPTIONS
from siteplan.results import Plan
from siteplan.words import CAVEAT, class_labels

#: What the plan does not do; shown with every summary.
LIMITS = (
    "Off-axis emission limits are not checked.",
    "Obstacles and hills count only where obstructions.csv or a terrain file tells them.",
    f"Wind, ballast, load and exposure are {CAVEAT}.",
    "Clouds follow P.840-7's maps: totals lie above P.618-14's own examples by up to 0.10 dB at"
    " 13.75 GHz, 0.45 dB at 14.25 GHz and 0.88 dB at 20 GHz, on the cautious side.",
    "Satellite EIRP, G/T and SFD are taken as equal for all sites.",
)


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
        ``counts`` by margin class, antenna, BUC, mount, limiting direction and flag; ``worst``
        sites with the reason; ``assumed`` figures; ``link`` figures; ``methods``; ``limits``.
    """
    return from_tally(tally(plan, worst=worst), plan)


def from_tally(counted: Tally, plan: Plan) -> dict[str, Any]:
    """Return the summary of sites counted elsewhere; of ``plan`` only what all sites share."""
    return {
        **_shared(plan),
        "sites": counted.sites,
        "counts": _named_counts(counted, plan.network.rules.margin_classes_db),
        "worst": [row for _, row in counted.worst],
        "link": link_figures(plan),
        "assumed": [a.to_json() for a in plan.assumptions],
        "methods": {method.key: method.edition for method in METHODS.values()},
        "limits": list(LIMITS),
    }


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
        "availability_pct": network.network.availability_pct,
        "margin_classes_db": list(network.rules.margin_classes_db),
        "whatif_outages_pct": list(facts.whatif_outages_pct),
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


#: The columns that a summary counts.
COUNTED = ("margin_class", "antenna_m", "buc_w", "mount", "limiting_direction", "flags")


@dataclass
class Tally:
    """Counts of sites by column and value, and the worst of them; parts of a plan add up.

    ``worst`` holds the order (rank, margin) and the row of each of the worst sites.
    """

    sites: int = 0
    counts: dict[str, Counter[str]] = field(default_factory=lambda: {k: Counter() for k in COUNTED})
    worst: list[tuple[tuple[int, float], dict[str, Any]]] = field(default_factory=list)
    keep: int = 5

    def add(self, other: Tally) -> None:
        """Add the counts of other sites."""
        self.sites += other.sites
        for name, counter in other.counts.items():
            self.counts[name].update(counter)
        self.worst = sorted([*self.worst, *other.worst], key=lambda w: w[0])[: self.keep]

    def to_json(self) -> dict[str, Any]:
        """Return the tally as plain data."""
        return {"sites": self.sites, "counts": self.counts, "worst": self.worst}

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Tally:
        """Return a tally from what ``to_json`` gave, perhaps by way of a file."""
        counts = {name: Counter(data["counts"][name]) for name in COUNTED}
        worst = [((int(rank), float(margin)), row) for (rank, margin), row in data["worst"]]
        return cls(data["sites"], counts, worst)


def tally(plan: Plan, *, worst: int = 5) -> Tally:
    """Return the counts of a plan's sites and the worst of them."""
    columns = plan.columns
    order = worst_order(plan)
    return Tally(
        len(plan),
        {
            "margin_class": Counter(columns["margin_class"].tolist()),
            "antenna_m": _sizes(columns["antenna_m"]),
            "buc_w": _sizes(columns["buc_w"]),
            "mount": Counter(columns["mount"].tolist()),
            "limiting_direction": Counter(columns["limiting_direction"].tolist()),
            "flags": _flags(columns["flags"]),
        },
        [((int(order[0][i]), float(order[1][i])), _worst_row(plan, int(i)))
         for i in worst_sites(plan)[:worst]],
        worst,
    )  # fmt: skip


def _named_counts(counted: Tally, bounds_db: tuple[float, ...]) -> dict[str, dict[str, int]]:
    """Return the counts in the order that people read them."""
    counts = counted.counts
    classes = {label: counts["margin_class"][label] for label in class_labels(bounds_db, "dB")}
    return {
        "margin_class": classes | {"no margin": counts["margin_class"][""]},
        "antenna_m": _by_size(counts["antenna_m"]),
        "buc_w": _by_size(counts["buc_w"]),
        **{
            name: {k: n for k, n in counts[name].most_common() if k}
            for name in ("mount", "limiting_direction", "flags")
        },
    }


def _by_size(counter: Counter[str]) -> dict[str, int]:
    """Return counts by size, rising, and those without."""
    sizes = sorted((k for k in counter if k != "none"), key=float)
    return {size: counter[size] for size in sizes} | {"none": counter["none"]}


def worst_order(plan: Plan) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Return what orders sites by how bad they are: rank, then margin (n,).

    Rank 0: no margin at all; 1: no kit; 2: served.
    """
    margin = plan.columns["margin_db"]
    without = np.isnan(plan.columns["antenna_m"]) | np.isnan(plan.columns["buc_w"])
    rank = np.where(np.isnan(margin), 0, np.where(without, 1, 2))
    return rank, np.nan_to_num(margin)


def worst_sites(plan: Plan) -> NDArray[np.intp]:
    """Return the indices of all sites, the worst first: unseen, without kit, then by margin."""
    rank, margin = worst_order(plan)
    return np.lexsort((margin, rank))


def _worst_row(plan: Plan, i: int) -> dict[str, Any]:
    """Return one of the worst sites with the reason in a sentence."""
    c = plan.columns
    margin = float(c["margin_db"][i])
    verdict = (
        f"holds the target with {margin:.1f} dB"
        if margin >= 0
        else (f"misses the target by {-margin:.1f} dB")
    )
    reason = c["no_fit_reason"][i] or (
        f"{c['antenna_m'][i]:g} m with {c['buc_w'][i]:g} W {verdict},"
        f" limited {c['limiting_direction'][i]}."
    )
    return {
        "site_id": c["site_id"][i],
        "name": c["name"][i],
        "margin_db": None if np.isnan(margin) else round(margin, 1),
        "reason": reason,
    }


def _sizes(values: NDArray[Any]) -> Counter[str]:
    """Return the number of sites by size, and those without as ``none``."""
    sizes, counts = np.unique(values[~np.isnan(values)], return_counts=True)
    named = {f"{s:g}": int(n) for s, n in zip(sizes, counts, strict=True)}
    return Counter(named | {"none": int(np.isnan(values).sum())})


def _flags(flags: NDArray[Any]) -> Counter[str]:
    """Return the number of sites with each flag."""
    total: Counter[str] = Counter()
    for codes, sites in Counter(flags.tolist()).items():
        for code in codes.split(";") if codes else ():
            total[code] += sites
    return total


def link_figures(plan: Plan) -> dict[str, dict[str, float]]:
    """Return what the link budget takes as the same for all sites, by direction."""
    figures = {}
    for way, carrier in (("outbound", plan.network.outbound), ("inbound", plan.network.inbound)):
        physics = carrier_plan(carrier)
        figures[way] = {
            "required_es_n0_db": round(required_db(way, carrier), 2),
            "occupied_mhz": round(carrier.occupied_mhz, 4),
            "share_output_backoff_db": round(physics.share_backoff_db, 2),
            "share_flux_dbw_m2": round(physics.share_flux_dbw_m2, 2),
        }
    return figures
