"""What the report shows, put together from a plan: counts, cases, risks, charts."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, IntArray, TextArray
from siteplan.fields import COORDINATE_DOUBT, FLAGS, UNSERVED
from siteplan.frozen import frozen
from siteplan.messages import english
from siteplan.network import Network
from siteplan.planning.assembly import given
from siteplan.planning.certainty.report import riskiest, sure
from siteplan.planning.kit.needy import TIGHT_DB
from siteplan.planning.link.whatif import DIRECTIONS
from siteplan.planning.report import charts, clouds, rates, tally
from siteplan.planning.report.assumed import ranked
from siteplan.planning.report.places import places
from siteplan.planning.report.risks import risks, with_flag
from siteplan.planning.report.serving import served, tight
from siteplan.planning.report.summary import CLOUDS, LIMITS, limit_told, methods
from siteplan.planning.targets import by_month
from siteplan.reported import Case, Counted, Places, Report, Risk
from siteplan.results import Plan
from siteplan.words import class_labels

#: How many of the worst sites are told one by one, and how many of the unserved are named first.
WORST, NAMED = 40, 6
#: How many sites whose coordinates are in doubt are among them at least, where there are so many.
DOUBTED = 10
#: The picture names all sites up to so many, else so many of those that are not served.
NAMED_ALL, NAMED_UNSERVED = 15, 10
#: The columns that a report rests on, but for those of the sites that it names.
COLUMNS = (
    *("lat", "lon", "elevation_deg", "antenna_m", "buc_w", "fixed_antenna_m", "fixed_buc_w"),
    *("margin_db", "margin_after_reserve_db", "availability_achieved_pct", "limiting_direction"),
    *(
        "availability_target_pct",
        "limiting_end",
        "mount",
        "mount_certainty",
        "ifl_length_m",
        "cable_class",
        "ballast_kg",
    ),
    *("flags", "certainty", "certainty_next", "worst_month_availability_pct", "year_risk_pct"),
    "margin_confidence_pct",
)
#: Gives some sites of the plan, rows rising, with all their columns.
LookUp = Callable[[IntArray], Plan]


def wanted(network: Network) -> tuple[str, ...]:
    """Return the columns of all sites that the report of a plan in parts needs."""
    own = [network.of_beam(beam.name) for beam in network.beams] or [network]
    ways = [way for way in DIRECTIONS if any(getattr(one, way).adaptive for one in own)]
    brought = (f"{way}_{rate}_kbit_s" for way in ways for rate in ("mean", "target"))
    months = ("annual_target_pct",) if by_month(network) else ()
    return (*COLUMNS, *brought, *months)


@frozen(eq=False)
class _Standing:
    """How each site (n,) stands: the flags, what is served, what is tight, the worst first.

    Those whose coordinates are in ``doubt`` stand behind the others: what they lack is not known.
    """

    flagged: Mapping[str, BoolArray]
    doubt: BoolArray
    planned: BoolArray
    served: BoolArray
    tight: BoolArray
    worst: IntArray


def composed(plan: Plan, look_up: LookUp | None = None, *, table: str = "sites.csv") -> Report:
    """Return what the report shows of a plan.

    Parameters
    ----------
    plan : Plan
        The results; of a plan in parts at least those of `wanted` of all sites.
    look_up : callable, optional
        Gives whole rows of sites by their place; absent, they are the plan's own.
    table : str
        The file that holds every site.

    Returns
    -------
    Report
        What is served, `siteplan.planning.report.serving` says.
    """
    c, network = plan.columns, plan.network
    sites = len(c["lat"])
    assumed = ranked(plan.assumptions)
    x = _standing(plan)
    found = risks(c, x.flagged, plan.facts, assumed, tight=x.tight, tight_db=TIGHT_DB)
    cases = _told(x)
    labelled, risky = _labelled(x, sites), riskiest(c, x.served)
    wanted = [cases, labelled, risky, *(at for _, at in found)]
    rows = np.unique(np.concatenate(wanted).astype(np.intp))
    some = look_up(rows) if look_up else _rows(plan, rows)
    code, classes = _classes(plan, x.served)
    return Report(
        sites=sites,
        served=int(x.served.sum()),
        tight=int(x.tight.sum()),
        tight_db=TIGHT_DB,
        unserved=tuple(_who(some, _at(rows, x.worst[~x.served[x.worst]][:NAMED]))),
        cases=tuple(_case(some, k, x, i) for k, i in zip(_at(rows, cases), cases, strict=True)),
        reasons=_reasons(c, x),
        antennas=_sizes(c["antenna_m"]),
        bucs=_sizes(c["buc_w"]),
        mounts=_mounts(c),
        classes=classes,
        places=_places(plan, code, len(classes), x.doubt, (rows, labelled, some)),
        bars=charts.histograms(c, x.planned, network),
        matrix=charts.matrix(c["antenna_m"], c["buc_w"]),
        lines=plan.facts.bill.lines if plan.facts.bill else (),
        risks=tuple(_named(risk, _at(rows, at), some) for risk, at in found),
        ranked=assumed,
        methods=methods(plan.facts, plan.network),
        limits=(
            *(limit_told(limit, plan) for limit in LIMITS if limit != CLOUDS),
            clouds.in_short(plan.facts),
        ),
        in_doubt=int(x.doubt.sum()),
        table=table,
        sure=sure(c, network, some, _at(rows, risky)),
        coding=rates.figures(rates.rates(c), network).get("coding", {}),
        left_out=english().one("report.left_out", sites=sites) if look_up else "",
    )


def _standing(plan: Plan) -> _Standing:
    """Return how each site stands."""
    c = plan.columns
    flagged = with_flag(c["flags"])
    serves = served(plan)
    short = tight(plan)
    order = tally.worst_sites(plan)
    bad = np.concatenate([order[~serves[order]], order[short[order]]])
    doubt = flagged.get(COORDINATE_DOUBT, np.zeros(len(serves), dtype=bool))
    bad = np.concatenate([bad[~doubt[bad]], bad[doubt[bad]]])
    return _Standing(flagged, doubt, given(c)["kit"], serves, short, bad)


def _told(x: _Standing) -> IntArray:
    """Return the worst sites that are told one by one, with room for some that are in doubt."""
    doubted = x.worst[x.doubt[x.worst]]
    room = max(WORST - len(doubted), WORST - DOUBTED)
    sure = x.worst[~x.doubt[x.worst]][:room]
    return np.concatenate([sure, doubted[: WORST - len(sure)]])


def _labelled(x: _Standing, sites: int) -> IntArray:
    """Return the sites that the picture names."""
    if sites <= NAMED_ALL:
        return np.arange(sites)
    return x.worst[~x.served[x.worst]][:NAMED_UNSERVED]


def _rows(plan: Plan, rows: IntArray) -> Plan:
    """Return some sites of a plan that is at hand."""
    columns = {name: values[rows] for name, values in plan.columns.items()}
    return replace(plan, columns=columns, extra={}, tables={})


def _at(rows: IntArray, wanted: IntArray) -> list[int]:
    """Return where the wanted sites are among those that were looked up."""
    return [int(k) for k in np.searchsorted(rows, wanted)]


def _who(some: Plan, at: list[int]) -> list[str]:
    """Return sites as people call them: by name, else by id."""
    c = some.columns
    return [str(c["name"][k]).strip() or str(c["site_id"][k]) for k in at]


def _case(some: Plan, k: int, x: _Standing, i: int) -> Case:
    """Return one of the worst sites with the reason in a sentence."""
    c = some.columns
    return Case(
        str(c["site_id"][k]),
        str(c["name"][k]),
        str(c["group"][k]),
        float(c["margin_after_reserve_db"][k]),
        bool(x.served[i]),
        not bool(x.planned[i]),
        _reason(some, k, x, i),
        bool(x.doubt[i]),
    )


def _reason(some: Plan, k: int, x: _Standing, i: int) -> str:
    """Return why a site is not served, or by how little it is."""
    c = some.columns
    if x.planned[i] and not np.isnan(c["margin_db"][k]):
        stops = [
            f"{flag.meaning}."
            for code, flag in FLAGS.items()
            if code in UNSERVED and code != "margin_negative"
            and code in x.flagged and x.flagged[code][i]
        ]  # fmt: skip
        missed = float(np.round(c["margin_db"][k], 6)) < 0
        if not stops and not missed:
            return english().one("report.tight", **_pair(some, k))
        link = [str(tally.worst_row(some, k)["reason"])] if missed else []
        return " ".join([*stops, *link])
    return str(c["no_fit_reason"][k]) or FLAGS["below_horizon"].meaning + "."


def _pair(some: Plan, k: int) -> dict[str, Any]:
    """Return what a sentence tells of the pair of a site and of what limits it."""
    c, limits = some.columns, {"direction": "limiting_direction", "end": "limiting_end"}
    pair = {name: c[name][k] for name in ("antenna_m", "buc_w")}
    return pair | {gap: c[name][k] for gap, name in limits.items()}


def _reasons(c: Mapping[str, NDArray[Any]], x: _Standing) -> tuple[Counted, ...]:
    """Return how many sites are not served for which reason, each site once, the most first."""
    left, told = ~x.served, english()
    found: list[Counted] = []
    for code, where in x.flagged.items():
        if code not in UNSERVED:
            continue
        here = where & left
        left &= ~here
        if code not in ("no_fit", "margin_negative"):
            found.append(Counted(FLAGS[code].meaning, int(here.sum())))
            continue
        for way in ("outbound", "inbound"):
            for end in ("site", "hub"):
                short = here & (c["limiting_direction"] == way) & (c["limiting_end"] == end)
                what = told.one("report.reason.short", direction=way, end=end)
                found.append(Counted(what, int(short.sum())))
                here = here & ~short
        found.append(Counted(FLAGS[code].meaning, int(here.sum())))
    found.append(Counted(told.one("report.reason.none"), int(left.sum())))
    return tuple(sorted((f for f in _added(found) if f.sites), key=lambda f: -f.sites))


def _added(found: list[Counted]) -> list[Counted]:
    """Return counts of one name as one."""
    total: dict[str, int] = {}
    for each in found:
        total[each.name] = total.get(each.name, 0) + each.sites
    return [Counted(name, sites) for name, sites in total.items()]


def _sizes(sizes: NDArray[np.float64]) -> tuple[Counted, ...]:
    """Return how many sites have each size, rising; the size is the name, as a bare number."""
    found, counts = np.unique(sizes[~np.isnan(sizes)], return_counts=True)
    return tuple(Counted(f"{s:g}", int(n)) for s, n in zip(found, counts, strict=True))


def _mounts(c: Mapping[str, NDArray[Any]]) -> tuple[Counted, ...]:
    """Return how many sites have each kind of mount, the most first, and how many are open."""
    kinds = np.unique(c["mount"][c["mount"] != ""].astype(object)).tolist()
    open_ = c["mount_certainty"] == "provisional"
    found = [
        Counted(kind, int((c["mount"] == kind).sum()), int((open_ & (c["mount"] == kind)).sum()))
        for kind in kinds
    ]
    return tuple(sorted(found, key=lambda f: (-f.sites, f.name)))


def _classes(plan: Plan, served: BoolArray) -> tuple[IntArray, tuple[Counted, ...]]:
    """Return the class of each site in the picture (n,), and the classes: not served, by margin."""
    bounds = [b for b in plan.network.rules.margin_classes_db if b > 0]
    labels = ["Not served as planned", *class_labels(bounds, "dB")]
    margin = np.round(plan.columns["margin_db"], 6)
    code = np.where(served, np.searchsorted(bounds, margin, side="right") + 1, 0).astype(np.intp)
    counts = np.bincount(code, minlength=len(labels))
    return code, tuple(Counted(label, int(n)) for label, n in zip(labels, counts, strict=True))


def _places(
    plan: Plan,
    code: IntArray,
    classes: int,
    doubt: BoolArray,
    named: tuple[IntArray, IntArray, Plan],
) -> Places:
    """Return where the sites are, those that are to be named with their names."""
    rows, labelled, some = named
    names: TextArray = np.full(len(code), "", dtype=object)
    names[labelled] = _who(some, _at(rows, labelled))
    lat, lon = plan.columns["lat"], plan.columns["lon"]
    return places(lat, lon, code, classes, doubt=doubt, names=names)


def _named(risk: Risk, at: list[int], some: Plan) -> Risk:
    return replace(risk, examples=tuple(_who(some, at)))
