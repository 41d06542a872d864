"""What a report shows: its counts equal counts made another way, no site twice or nowhere."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from siteplan.fields import FLAGS
from siteplan.messages import english
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.planning.report import composed as report
from siteplan.planning.report.composed import TIGHT_DB, WORST, composed
from siteplan.planning.report.risks import EXAMPLES
from siteplan.planning.report.verdict import answered
from siteplan.reported import SEVERITIES, Report
from siteplan.results import Plan


@pytest.fixture(scope="module")
def plan(tropical: Network, basin: Sites) -> Plan:
    return make_plan(basin, tropical)


@pytest.fixture(scope="module")
def found(plan: Plan) -> Report:
    return composed(plan)


def stopped(plan: Plan) -> list[bool]:
    """Whether any flag says that a site cannot be served as planned."""
    stops = {code for code, flag in FLAGS.items() if flag.severity == "stop"}
    return [bool(stops & set(flags.split(";"))) for flags in plan.columns["flags"]]


def test_served_is_kit_and_no_flag_that_stops(plan: Plan, found: Report) -> None:
    c = plan.columns
    kit = ~(np.isnan(c["antenna_m"]) | np.isnan(c["buc_w"]))
    served = kit & ~np.array(stopped(plan))
    assert (found.sites, found.served) == (len(plan), served.sum())
    assert 0 < found.served < found.sites
    tight = served & (c["margin_after_reserve_db"] < TIGHT_DB)
    assert found.tight == tight.sum() > 0
    assert sum(reason.sites for reason in found.reasons) == (~served).sum()
    assert found.classes[0].sites == (~served).sum()
    assert sum(each.sites for each in found.classes) == len(plan)


def test_the_worst_are_told_one_by_one(plan: Plan, found: Report) -> None:
    assert len(found.cases) == min(WORST, found.sites - found.served + found.tight)
    ids = plan.columns["site_id"].tolist()
    bad = [case.site_id for case in found.cases if not case.served]
    stops = {s for s, stop in zip(ids, stopped(plan), strict=True) if stop}
    assert set(bad) <= stops
    assert [case.served for case in found.cases] == sorted(case.served for case in found.cases)
    for case in found.cases:
        i = ids.index(case.site_id)
        assert case.reason
        assert case.name == plan.columns["name"][i]
        after = plan.columns["margin_after_reserve_db"][i]
        np.testing.assert_equal(case.margin_after_reserve_db, after)
        assert case.tried == bool(np.isnan(plan.columns["antenna_m"][i]))


def test_few_are_told_where_few_are_asked(
    plan: Plan, found: Report, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(report, "WORST", 2)
    monkeypatch.setattr(report, "NAMED", 1)
    short = composed(plan)
    assert str(short.cases) == str(found.cases[:2])  # NaN is no equal of itself
    assert short.unserved == found.unserved[:1]
    assert short.reasons == found.reasons


def test_rows_that_are_looked_up_are_the_same(plan: Plan, found: Report) -> None:
    """A plan in parts holds the columns of all sites, and looks up whole rows of a few."""
    asked = []

    def look_up(rows: np.ndarray) -> Plan:  # type: ignore[type-arg]
        asked.append(rows.tolist())
        return replace(plan, columns={k: v[rows] for k, v in plan.columns.items()}, extra={})

    bare = replace(plan, columns={name: plan.columns[name] for name in report.COLUMNS})
    again = composed(bare, look_up)
    (rows,) = asked
    assert rows == sorted(set(rows))
    for name in ("cases", "risks", "lines", "reasons", "classes", "bars", "matrix"):
        assert str(getattr(again, name)) == str(getattr(found, name))
    assert again.unserved == found.unserved
    assert "in parts" in again.left_out
    assert found.left_out == ""


def test_sizes_and_mounts(plan: Plan, found: Report) -> None:
    c = plan.columns
    for counted, name in ((found.antennas, "antenna_m"), (found.bucs, "buc_w")):
        sizes = c[name][~np.isnan(c[name])]
        assert {float(x.name): x.sites for x in counted} == Counter(sizes.tolist())
    kinds = Counter(kind for kind in c["mount"].tolist() if kind)
    assert {x.name: x.sites for x in found.mounts} == kinds
    open_ = Counter(c["mount"][c["mount_certainty"] == "provisional"].tolist())
    assert {x.name: x.open for x in found.mounts if x.open} == open_


def test_every_flag_is_a_risk_once(plan: Plan, found: Report) -> None:
    told = {risk.what: risk for risk in found.risks}
    assert len(told) == len(found.risks)
    flags = Counter(code for codes in plan.columns["flags"] for code in codes.split(";") if code)
    assert flags
    for code, sites in flags.items():
        risk = told[FLAGS[code].meaning]
        assert (risk.sites, risk.severity) == (sites, FLAGS[code].severity)
        assert len(risk.examples) == min(sites, EXAMPLES)
    order = [(SEVERITIES.index(risk.severity), -risk.sites) for risk in found.risks]
    assert order == sorted(order)


def with_doubt(plan: Plan, rows: list[int]) -> Plan:
    """Return a plan with coordinates to check at some sites."""
    flags = plan.columns["flags"].copy()
    for i in rows:
        flags[i] = f"{flags[i]};coordinate_doubt".strip(";")
    return replace(plan, columns={**plan.columns, "flags": flags})


def test_coordinates_to_check_stand_above_all_other_risks(plan: Plan) -> None:
    """Each other advice rests on them, what stops a site too."""
    first, *others = composed(with_doubt(plan, [0])).risks
    assert first.what == FLAGS["coordinate_doubt"].meaning
    assert (first.sites, first.severity) == (1, "warn")
    assert others[0].severity == "stop"
    order = [(SEVERITIES.index(risk.severity), -risk.sites) for risk in others]
    assert order == sorted(order)


def test_coordinates_to_check_are_not_ranked_among_the_sites_to_mend(
    plan: Plan, found: Report, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Behind the others, marked; some of them are told however many others there are."""
    ids = plan.columns["site_id"].tolist()
    names = [case.site_id for case in found.cases]
    doubted = [names[0], names[1]]
    doubtful = with_doubt(plan, [ids.index(site) for site in doubted])
    cases = composed(doubtful).cases
    assert [case.site_id for case in cases] == [*names[2:], *doubted]
    assert [case.doubted for case in cases] == [False] * (len(names) - 2) + [True, True]
    assert composed(doubtful).unserved[0] != found.unserved[0]
    monkeypatch.setattr(report, "WORST", 4)
    monkeypatch.setattr(report, "DOUBTED", 1)
    few = composed(doubtful).cases
    assert [case.site_id for case in few] == [*names[2:5], doubted[0]]


@pytest.mark.parametrize("code", sorted(FLAGS))
def test_every_flag_says_what_to_do(code: str) -> None:
    todo = english()[f"risk.{code}"]
    assert todo.endswith(".")
    assert "_" not in todo


def test_rejected_rows_and_the_hub_are_risks(plan: Plan) -> None:
    facts = replace(plan.facts, rejected=3, cautions=("The hub stands in rain.",))
    risks = composed(replace(plan, facts=facts)).risks
    assert any("could not be used" in r.what and r.sites == 3 for r in risks)
    assert any(r.what == "The hub stands in rain." and r.sites == 0 for r in risks)


def test_no_site_is_served(plan: Plan) -> None:
    """All below the horizon: nothing to order, everything has its reason."""
    n, columns = len(plan), dict(plan.columns)
    for name, values in columns.items():
        if values.dtype == float and name not in ("lat", "lon", "source_row"):
            columns[name] = np.full(n, np.nan)
    for name in ("mount", "mount_certainty", "cable_class", "limiting_direction", "limiting_end"):
        columns[name] = np.full(n, "", dtype=object)
    columns["flags"] = np.full(n, "below_horizon", dtype=object)
    none = composed(answered(replace(plan, columns=columns)))
    assert (none.served, none.tight, none.lines, none.mounts) == (0, 0, (), ())
    assert [(r.name, r.sites) for r in none.reasons] == [("The satellite is below the horizon", n)]
    assert none.matrix.none == n
    assert all(bars.missing == n for bars in none.bars)


def test_a_stopped_site_is_not_tight_too(plan: Plan, found: Report) -> None:
    """Kit that is planned where something blocks the beam counts once, as not served."""
    c = plan.columns
    tight = np.flatnonzero(~np.isnan(c["antenna_m"]) & (c["margin_after_reserve_db"] < TIGHT_DB))
    blocked = c["flags"].copy()
    blocked[tight[0]] = "blocked"
    after = composed(replace(plan, columns={**c, "flags": blocked}))
    assert (after.served, after.tight) == (found.served - 1, found.tight - 1)
