"""The verdict: a plan in a few lines, the first that its map, its page and its summary say."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import Any

from siteplan.answers import Verdict, VerdictItem, VerdictLine
from siteplan.fields import UNSERVED
from siteplan.messages import english
from siteplan.planning.capacity.answer import capacity
from siteplan.planning.cost.bill import bill
from siteplan.planning.cost.totals import costed
from siteplan.planning.report.tally import SERVED, UNDER_RESERVE, Tally, tally
from siteplan.results import Plan

#: The flag of coordinates that are to be checked.
DOUBT = "coordinate_doubt"


def verdict_of(counted: Tally) -> Verdict:
    """Return the verdict of the sites that were counted, as a whole or part by part."""
    counts = counted.counts
    found = Verdict(
        sites=counted.sites,
        served=counts["standing"][SERVED],
        under_reserve=counts["standing"][UNDER_RESERVE],
        unserved=tuple(name for _, name in counted.unserved),
        antennas=_sizes(counts["antenna_m"]),
        bucs=_sizes(counts["buc_w"]),
        mounts=_mounts(counts["mount"], counts["provisional_mount"]),
        in_doubt=counts["flags"][DOUBT],
        standing=_standing(counts["stands"]),
        stops=tuple((code, counts["flags"][code]) for code in UNSERVED if counts["flags"][code]),
    )
    return replace(found, lines=_lines(found))


def answered(plan: Plan) -> Plan:
    """Return a plan whose facts hold verdict, bill, licence, capacity and costs, from one count."""
    counted, licence = tally(plan), plan.facts.licence
    if licence is not None:
        from siteplan.planning.report.licences import with_types

        licence = with_types(licence, counted.radiates, plan.network)
    facts = replace(
        plan.facts,
        verdict=verdict_of(counted),
        bill=bill(counted.takes, plan.network),
        licence=licence,
        capacity=capacity(counted.loads, plan.network, plan.facts.hubs),
    )
    return costed(replace(plan, facts=facts))


def figures(found: Verdict) -> dict[str, Any]:
    """Return a verdict as plain data, for the summary: its figures, and its lines in words."""
    return {
        "lines": [line.text for line in found.lines],
        "sites": found.sites,
        "served": found.served,
        "under_reserve": found.under_reserve,
        "not_served": found.not_served,
        "not_served_first": list(found.unserved),
        "not_served_flags": dict(found.stops),
        "antenna_m": {f"{size:g}": sites for size, sites in found.antennas},
        "buc_w": {f"{size:g}": sites for size, sites in found.bucs},
        "antenna_m_standing": _standing_of(found, "antenna"),
        "buc_w_standing": _standing_of(found, "buc"),
        "mount": {kind: sites for kind, sites, _ in found.mounts},
        "mount_to_be_surveyed": {kind: open_ for kind, _, open_ in found.mounts if open_},
        "coordinates_to_check": found.in_doubt,
    }


def _sizes(counter: Counter[str]) -> tuple[tuple[float, int], ...]:
    """Return sites by size, rising."""
    return tuple(sorted((float(k), n) for k, n in counter.items() if k != "none" and n))


def _standing(counter: Counter[str]) -> tuple[tuple[str, float, int], ...]:
    """Return part, size and sites of what stands already, in the order of parts and sizes."""
    found = []
    for key, n in counter.items():
        part, size = key.split(" ")
        found.append((part, float(size), n))
    return tuple(sorted(found))


def _standing_of(v: Verdict, part: str) -> dict[str, int]:
    return {f"{size:g}": n for of, size, n in v.standing if of == part}


def _mounts(mounts: Counter[str], open_: Counter[str]) -> tuple[tuple[str, int, int], ...]:
    """Return sites by kind of mount and how many of them are to be surveyed, most first."""
    found = [(kind, n, open_[kind]) for kind, n in mounts.items() if kind and n]
    return tuple(sorted(found, key=lambda x: (-x[1], x[0])))


# --- in words -------------------------------------------------------------------------------


def _lines(v: Verdict) -> tuple[VerdictLine, ...]:
    """Return a verdict's lines, those of what nobody gets left out."""
    made = {
        "served": _served(v),
        "unserved": _unserved(v),
        "why": _why(v),
        "antennas": _antennas(v),
        "bucs": _bucs(v),
        "mounts": _kinds(v),
        "coordinates": (_doubt(v),),
    }
    words = english()
    return tuple(
        VerdictLine(code, words[f"verdict.of.{code}"], items)
        for code, items in made.items()
        if items
    )


def _served(v: Verdict) -> tuple[VerdictItem, ...]:
    words = english()
    found = words.one("verdict.served", served=v.served, sites=v.sites)
    items = [VerdictItem(found, v.served, (("flag", "served"),) if v.served else ())]
    if v.under_reserve:
        short = words.one("verdict.under_reserve", count=v.under_reserve)
        items.append(VerdictItem(short, v.under_reserve, (("flag", "served_short"),)))
    return tuple(items)


def _unserved(v: Verdict) -> tuple[VerdictItem, ...]:
    words = english()
    if not v.not_served:
        return (VerdictItem(words["verdict.unserved.none"], 0),)
    left = v.not_served - len(v.unserved)
    key = "verdict.unserved.more" if left else "verdict.unserved"
    text = words.one(key, count=v.not_served, names=", ".join(v.unserved), left=left)
    return (VerdictItem(text, v.not_served, (("flag", "stop"),)),)


def _why(v: Verdict) -> tuple[VerdictItem, ...]:
    words = english()
    return tuple(
        VerdictItem(words.one(f"verdict.stop.{code}", count=n), n, (("flag", code),))
        for code, n in v.stops
    )


def _antennas(v: Verdict) -> tuple[VerdictItem, ...]:
    words = english()
    items = [
        VerdictItem(
            words.one("verdict.antenna", count=n, antenna_m=m),
            n,
            (("antenna", f"{m:g}"),),
            _stands(v, "antenna", m),
        )
        for m, n in v.antennas
    ]
    none = v.sites - sum(n for _, n in v.antennas)
    if none:
        text = words.one("verdict.antenna.none", count=none)
        items.append(VerdictItem(text, none, (("antenna", "none"),)))
    return tuple(items)


def _bucs(v: Verdict) -> tuple[VerdictItem, ...]:
    words = english()
    return tuple(
        VerdictItem(
            words.one("verdict.buc", count=n, buc_w=w),
            n,
            (("buc", f"{w:g}"),),
            _stands(v, "buc", w),
        )
        for w, n in v.bucs
    )


def _stands(v: Verdict, part: str, size: float) -> str:
    """Return how many of a size are not bought, since they stand there; empty for none."""
    count = v.stands(part, size)
    return english().one("verdict.stand", count=count) if count else ""


def _kinds(v: Verdict) -> tuple[VerdictItem, ...]:
    words = english()
    items = [
        VerdictItem(
            words.one("verdict.mount", count=n, kind=kind.replace("_", " ")),
            n,
            (("mount", kind),),
            words.one("verdict.survey", count=open_) if open_ else "",
        )
        for kind, n, open_ in v.mounts
    ]
    if v.to_survey:
        text = words.one("verdict.survey.all", count=v.to_survey)
        items.append(VerdictItem(text, v.to_survey, (("survey", "provisional"),)))
    return tuple(items)


def _doubt(v: Verdict) -> VerdictItem:
    words = english()
    if not v.in_doubt:
        return VerdictItem(words["verdict.doubt.none"], 0)
    text = words.one("verdict.doubt", count=v.in_doubt)
    return VerdictItem(text, v.in_doubt, (("flag", DOUBT),))
