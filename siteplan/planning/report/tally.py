"""Counts of sites and the worst of them; parts of a plan add up."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.answers import Remedy
from siteplan.answers.capacity import PoolLoad
from siteplan.arrays import telling
from siteplan.fields import COORDINATE_DOUBT
from siteplan.messages import english
from siteplan.planning.assembly import given
from siteplan.planning.capacity.traffic import added, load_from
from siteplan.planning.certainty.sure import counted as changes_counted
from siteplan.planning.cost.bill import counted
from siteplan.planning.cost.counts import Counts
from siteplan.planning.kit.remedies import DOUBTED
from siteplan.planning.report.radiating import Radiating, radiating
from siteplan.planning.report.rates import Rates, rates
from siteplan.planning.report.rates import added as rates_added
from siteplan.planning.report.serving import served
from siteplan.planning.report.thinning import carrying
from siteplan.results import Plan
from siteplan.words import NO_KIT, quoted

#: So many of the sites that are not served are named, and so many characters of each name.
NAMED, NAME_LENGTH = 3, 40
#: How a site stands: served, and of those the ones that keep less than the reserve.
SERVED, UNDER_RESERVE = "served", "under_reserve"
#: What a summary counts: how sites stand, columns, how many mounts of each kind are provisional,
#: unserved and tight sites by the change that would help them best, the sites to equip by which
#: pairs fit them, what sites say of their hub, sites whose pair a step of a figure changes, and of
#: a plan with beams the sites of each, and those that it serves; the grades, and the targets.
COUNTED = (
    "standing",
    *("beam", "beam_served"),
    *("margin_class", "antenna_m", "buc_w", "stands", "mount", "provisional_mount"),
    *("limiting_direction", "limiting_end", "flags", "told_once", "best_remedy", "fits"),
    *("heard", "certainty", "changes_kit", "target_pct"),
)


@dataclass
class Tally:
    """Counts of sites by column and value, and the worst of them; parts of a plan add up.

    ``worst`` holds the order (rank, margin) and the row of each of the worst sites, ``unserved``
    the same order and the name of each of the worst that are not served, ``takes`` what all sites
    take, for the bill, ``radiates`` what their terminals radiate, for the licence, ``loads`` what
    they offer, for the capacity, ``rates`` what adaptive carriers bring.
    """

    sites: int = 0
    counts: dict[str, Counter[str]] = field(default_factory=lambda: {k: Counter() for k in COUNTED})
    worst: list[tuple[tuple[int, float], dict[str, Any]]] = field(default_factory=list)
    keep: int = 5
    takes: Counts = field(default_factory=Counts)
    unserved: list[tuple[tuple[int, float], str]] = field(default_factory=list)
    radiates: Radiating = field(default_factory=Radiating)
    loads: tuple[PoolLoad, ...] = ()
    rates: Rates = field(default_factory=dict)

    def add(self, other: Tally) -> None:
        """Add the counts of other sites."""
        self.sites += other.sites
        for name, counter in other.counts.items():
            self.counts[name].update(counter)
        self.takes.add(other.takes)
        self.radiates.add(other.radiates)
        self.loads = added([*self.loads, *other.loads])
        self.rates = rates_added(self.rates, other.rates)
        self.worst = sorted([*self.worst, *other.worst], key=lambda w: w[0])[: self.keep]
        self.unserved = sorted([*self.unserved, *other.unserved], key=lambda w: w[0])[:NAMED]

    def to_json(self) -> dict[str, Any]:
        """Return the tally as plain data."""
        return {
            "sites": self.sites,
            "counts": self.counts,
            "worst": self.worst,
            "takes": self.takes.to_json(),
            "unserved": self.unserved,
            "radiates": self.radiates.to_json(),
            "loads": [asdict(load) for load in self.loads],
            "rates": self.rates,
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Tally:
        """Return a tally from what ``to_json`` gave, perhaps by way of a file."""
        counts = {name: Counter(data["counts"][name]) for name in COUNTED}
        worst = [((int(rank), float(margin)), row) for (rank, margin), row in data["worst"]]
        takes = Counts.from_json(data["takes"])
        named = [((int(rank), float(margin)), name) for (rank, margin), name in data["unserved"]]
        radiates = Radiating.from_json(data["radiates"])
        loads = tuple(load_from(one) for one in data["loads"])
        coded = {name: Counter(found) for name, found in data["rates"].items()}
        return cls(
            *(data["sites"], counts, worst),
            takes=takes, unserved=named, radiates=radiates, loads=loads, rates=coded,
        )  # fmt: skip


def tally(plan: Plan, *, worst: int = 5) -> Tally:
    """Return the counts of a plan's sites and the worst of them."""
    columns = plan.columns
    order, first = worst_order(plan), worst_sites(plan)
    serves = served(plan)
    return Tally(
        len(plan),
        {
            "standing": _standing(plan, serves),
            "beam": _beams(plan, np.ones(len(plan), dtype=bool)),
            "beam_served": _beams(plan, serves),
            "margin_class": Counter(columns["margin_class"].tolist()),
            "antenna_m": _sizes(columns["antenna_m"]),
            "buc_w": _sizes(columns["buc_w"]),
            "stands": _stands(columns),
            "mount": Counter(columns["mount"].tolist()),
            "provisional_mount": _provisional(columns["mount"], columns["mount_certainty"]),
            "limiting_direction": _of_kit(plan, "limiting_direction"),
            "limiting_end": _of_kit(plan, "limiting_end"),
            "flags": _flags(columns["flags"]),
            "told_once": Counter(dict(plan.facts.told_once)),
            "best_remedy": _best(plan.facts.remedies),
            "fits": Counter(dict(plan.facts.fits)),
            "heard": Counter(dict(plan.facts.heard)),
            "certainty": Counter(columns["certainty"].tolist()),
            "changes_kit": changes_counted(plan.facts.changes_kit),
            "target_pct": _sizes(columns["availability_target_pct"]),
        },
        [(_place(order, i), worst_row(plan, i)) for i in first[:worst].tolist()],
        worst,
        counted(plan),
        [(_place(order, i), _called(plan, i)) for i in first[~serves[first]][:NAMED].tolist()],
        radiating(plan),
        plan.facts.loads,
        rates(columns),
    )


def _beams(plan: Plan, here: NDArray[np.bool_]) -> Counter[str]:
    """Return how many sites ``here`` (n,) each beam has; '' for none, nothing without beams."""
    names = plan.columns.get("beam")
    return Counter() if names is None else Counter(names[here].tolist())


def _place(order: tuple[NDArray[np.intp], NDArray[np.float64]], i: int) -> tuple[int, float]:
    """Return what orders one site."""
    return int(order[0][i]), float(order[1][i])


def _called(plan: Plan, i: int) -> str:
    """Return a site as people call it: by name, else by id."""
    name = str(plan.columns["name"][i]).strip() or str(plan.columns["site_id"][i])
    return quoted(name, NAME_LENGTH)


def _standing(plan: Plan, serves: NDArray[np.bool_]) -> Counter[str]:
    """Return how many sites are served, and how many of those are under the reserve."""
    short = carrying(plan.columns["flags"], frozenset(["margin_short"]))
    return Counter({SERVED: int(serves.sum()), UNDER_RESERVE: int((serves & short).sum())})


def without_kit(plan: Plan) -> NDArray[np.bool_]:
    """Return the sites (n,) that get no pair."""
    return ~given(plan.columns)["kit"]


def _of_kit(plan: Plan, name: str) -> Counter[str]:
    """Return the number of sites by a value of their kit; one of a pair only tried is no value."""
    values = plan.columns[name]
    tried = without_kit(plan) & (values != "")
    return Counter(np.where(tried, NO_KIT, values).tolist())


def worst_order(plan: Plan) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Return what orders sites by how bad they are: rank, then margin (n,).

    Rank 0: no margin at all; 1: no kit; 2: served.
    """
    margin = plan.columns["margin_db"]
    rank = np.where(np.isnan(margin), 0, np.where(without_kit(plan), 1, 2))
    return rank, np.nan_to_num(margin)


def worst_sites(plan: Plan) -> NDArray[np.intp]:
    """Return the indices of all sites, the worst first: unseen, without kit, then by margin."""
    rank, margin = worst_order(plan)
    return np.lexsort((margin, rank))


def worst_row(plan: Plan, i: int) -> dict[str, Any]:
    """Return one of the worst sites with the reason in a sentence."""
    c = plan.columns
    margin, after = (float(c[name][i]) for name in ("margin_db", "margin_after_reserve_db"))
    reason = c["no_fit_reason"][i] or english().one(
        "report.holds" if margin >= 0 else "report.misses",
        antenna_m=c["antenna_m"][i],
        buc_w=c["buc_w"][i],
        margin_db=margin,
        after_db=_told(after),
        short_db=_told(-margin),
        direction=c["limiting_direction"][i],
        end=c["limiting_end"][i],
    )
    check = f"{english()['no_fit.doubted']} "
    if COORDINATE_DOUBT in c["flags"][i].split(";") and not reason.startswith(check):
        reason = check + reason
    return {
        "site_id": c["site_id"][i],
        "name": c["name"][i],
        "margin_db": None if np.isnan(margin) else round(margin, 1),
        "margin_after_reserve_db": None if np.isnan(after) else _told(after),
        **{k: _number(c[k][i]) for k in ("tried_antenna_m", "tried_buc_w")},
        "reason": reason,
    }


def _told(difference_db: float) -> float:
    """Return a difference with the digit that settles which side of zero it is."""
    return float(telling(np.array(difference_db)))


def _number(value: Any) -> float | None:
    return None if np.isnan(value) else float(value)


def _stands(columns: Mapping[str, NDArray[Any]]) -> Counter[str]:
    """Return at how many sites an antenna or BUC of a size stands already: ``buc 4``, say."""
    found: Counter[str] = Counter()
    for part, name in (("antenna", "antenna_m"), ("buc", "buc_w")):
        fixed = columns.get(f"fixed_{name}")
        there = np.zeros(len(columns[name]), dtype=bool) if fixed is None else ~np.isnan(fixed)
        sizes = _sizes(columns[name][there])
        found.update({f"{part} {size}": n for size, n in sizes.items() if size != "none"})
    return found


def _sizes(values: NDArray[Any]) -> Counter[str]:
    """Return the number of sites by size, and those without as ``none``."""
    sizes, counts = np.unique(values[~np.isnan(values)], return_counts=True)
    named = {f"{s:g}": int(n) for s, n in zip(sizes, counts, strict=True)}
    return Counter(named | {"none": int(np.isnan(values).sum())})


def _provisional(mounts: NDArray[Any], certainty: NDArray[Any]) -> Counter[str]:
    """Return the number of provisional mounts of each kind."""
    return Counter(mounts[certainty == "provisional"].tolist())


def _best(remedies: Iterable[Remedy]) -> Counter[str]:
    """Return the number of sites by the first of their remedies, which is the best.

    Sites whose coordinates are to be checked are left out: nobody knows yet what they need.
    """
    total: Counter[str] = Counter()
    last = None
    for remedy in remedies:
        if remedy.site_id != last and remedy.code != DOUBTED:
            total[remedy.code] += 1
        last = remedy.site_id
    return total


def _flags(flags: NDArray[Any]) -> Counter[str]:
    """Return the number of sites with each flag."""
    total: Counter[str] = Counter()
    for codes, sites in Counter(flags.tolist()).items():
        for code in codes.split(";") if codes else ():
            total[code] += sites
    return total
