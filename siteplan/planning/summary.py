"""The plan in short: counts, the worst sites and why, and the figures that all sites share."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.model import Plan
from siteplan.planning.classes import class_labels
from siteplan.planning.links import carrier_plan, required_db

#: The editions of the Recommendations and models in use.
METHODS: Mapping[str, str] = {
    "total attenuation": "ITU-R P.618-14 section 2.5, gas and cloud frozen at 5 %",
    "rain": "ITU-R P.618-14 section 2.2.1.1 with P.837-7, P.838-3, P.839-4",
    "scintillation": "ITU-R P.618-14 section 2.4.1 with P.453-13",
    "gas": "ITU-R P.676-12 annex 2 with P.835-6, P.836-6, P.1510-1",
    "cloud": "ITU-R P.840-8 with the maps of P.840-7",
    "altitude": "ITU-R P.1511-2 where the site gives none",
    "noise": "ITU-R P.618-14 section 3",
    "geometry": "WGS 84 ellipsoid, geostationary radius 42164.17 km",
    "magnetic": "World Magnetic Model 2025",
    "waveforms": "EN 302 307-1, EN 302 307-2, EN 301 545-2",
}

#: What the plan does not do; shown with every summary.
LIMITS = (
    "Off-axis emission limits are not checked.",
    "Obstructions, wind, cable and exposure are not checked: the survey decides.",
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
    columns = plan.columns
    return {
        **{k: v for k, v in plan.facts.items() if k != "counts"},
        "sites": len(plan),
        "counts": {
            "margin_class": _class_counts(plan),
            "antenna_m": _number_counts(columns["antenna_m"]),
            "buc_w": _number_counts(columns["buc_w"]),
            "mount": _text_counts(columns["mount"]),
            "limiting_direction": _text_counts(columns["limiting_direction"]),
            "flags": _flag_counts(columns["flags"]),
        },
        "worst": [_worst_row(plan, int(i)) for i in worst_sites(plan)[:worst]],
        "link": link_figures(plan),
        "assumed": [
            {"key": a.key, "value": a.value, "unit": a.unit, "meaning": a.meaning}
            for a in plan.assumptions
        ],
        "methods": dict(METHODS),
        "limits": list(LIMITS),
    }


def worst_sites(plan: Plan) -> NDArray[np.intp]:
    """Return the indices of all sites, the worst first: unseen, without kit, then by margin."""
    margin = plan.columns["margin_db"]
    without = np.isnan(plan.columns["antenna_m"]) | np.isnan(plan.columns["buc_w"])
    rank = np.where(np.isnan(margin), 0, np.where(without, 1, 2))
    return np.lexsort((np.nan_to_num(margin), rank))


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


def _class_counts(plan: Plan) -> dict[str, int]:
    """Return the number of sites in each margin class, the worst first, and those without."""
    found = Counter(plan.columns["margin_class"].tolist())
    labels = class_labels(tuple(plan.facts["margin_classes_db"]))
    return {label: found[label] for label in labels} | {"no margin": found[""]}


def _number_counts(values: NDArray[Any]) -> dict[str, int]:
    """Return the number of sites by size, rising, and those without."""
    sizes, counts = np.unique(values[~np.isnan(values)], return_counts=True)
    named = {f"{s:g}": int(n) for s, n in zip(sizes, counts, strict=True)}
    return named | {"none": int(np.isnan(values).sum())}


def _text_counts(values: NDArray[Any]) -> dict[str, int]:
    """Return the number of sites by text, the most frequent first."""
    return dict(Counter(v for v in values.tolist() if v).most_common())


def _flag_counts(flags: NDArray[Any]) -> dict[str, int]:
    """Return the number of sites with each flag, the most frequent first."""
    total: Counter[str] = Counter()
    for codes, sites in Counter(flags.tolist()).items():
        for code in codes.split(";") if codes else ():
            total[code] += sites
    return dict(total.most_common())


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
