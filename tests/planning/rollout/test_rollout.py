"""The roll-out: order by wave and visit, weeks and months, lease and costs as it goes on."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from siteplan.answers.rollout import RolloutPlan
from siteplan.model import Sites
from siteplan.network import Network, Rollout
from siteplan.planning.cost.life import BASIS, own_months
from siteplan.planning.plan import make_plan
from siteplan.planning.rollout import answer
from siteplan.planning.rollout import order as sequences
from siteplan.planning.rollout.answer import rollout
from siteplan.planning.rollout.order import month_name, month_of, natural, wave_column, week_date
from siteplan.planning.rollout.periods import Live, lease_of
from siteplan.planning.rounds import rounds
from siteplan.results import Plan
from tests.priced import with_prices

COSTS = {"hub_capex": 5000, "lease_mhz_month": 1000, "recurring_site_month": 10}
WAVES = ["2", "10", "2", "1", "1", "", "2", "10", "1", "2", "1", "1"]


def planned(wave: list[Any] | None, costs: dict[str, Any] | None = None, **tables: Any) -> Plan:
    rng = np.random.default_rng(3)
    extra = {} if wave is None else {"Wave": np.array(wave, dtype=object)}
    standing = np.full(12, np.nan)
    standing[11] = 2.4
    of = Sites.at(
        rng.uniform(-10, 0, 12), rng.uniform(-65, -55, 12),
        group=np.array(["a", "b"] * 6, dtype=object), extra=extra,
        fixed_antenna_m=standing, fixed_buc_w=standing,
    )  # fmt: skip
    known = {"satellite": {"longitude_deg": -61}, "network": {"date": "2026-09-01"}, **tables}
    network = Network.model_validate(known)
    return make_plan(of, network if costs is None else with_prices(network, **costs))


def found(*args: Any, **tables: Any) -> tuple[Plan, RolloutPlan]:
    plan = planned(*args, **tables)
    of = rollout(plan)
    assert of is not None
    return plan, of


def test_nothing_is_told_where_nothing_asks_for_it() -> None:
    plan = planned(None)
    assert rollout(plan) is None
    assert "busy_hour" not in plan.tables
    assert rollout(planned([""] * 12)) is None


def test_waves_go_in_their_natural_order_those_without_last() -> None:
    assert sorted(["10", "2", "", "b12", "B3", "1a"], key=natural) == [
        "1a", "2", "10", "B3", "b12", "",
    ]  # fmt: skip
    column = {"x": np.zeros(3), " WAVE ": np.array([1.0, np.nan, 2.5])}
    assert wave_column(column, 3).tolist() == ["1", "", "2.5"]
    assert wave_column({}, 2).tolist() == ["", ""]


def test_each_wave_is_visited_in_the_order_of_its_rounds() -> None:
    plan, of = found(WAVES)
    ids, c = plan.columns["site_id"].tolist(), plan.columns
    order = [ids.index(site.site_id) for site in of.sites if not site.state]
    assert [WAVES[i] for i in order] == sorted((WAVES[i] for i in order), key=natural)
    for wave in ("1", "2", "10"):
        rows = np.array([i for i in range(11) if WAVES[i] == wave])
        stops = rounds(c["group"][rows], c["lat"][rows], c["lon"][rows])
        by_hand = [int(rows[k]) for stop in stops for k in stop.sites]
        assert [i for i in order if WAVES[i] == wave] == by_hand
    # What stands already is built by nobody; every site is in the list once.
    assert sorted(site.site_id for site in of.sites) == sorted(ids)
    (standing,) = [site for site in of.sites if site.state]
    assert (standing.site_id, standing.state) == (ids[11], "stands already")
    assert (standing.week, standing.date, standing.position) == (None, "", None)


def test_without_weeks_waves_are_the_periods() -> None:
    _, of = found(WAVES, COSTS)
    assert [p.period for p in of.periods] == ["wave 1", "wave 2", "wave 10", "no wave"]
    assert [p.built for p in of.periods] == [4, 4, 2, 1]
    assert [p.live for p in of.periods] == [5, 9, 11, 12]
    assert all(np.isnan(p.running) for p in of.periods)
    assert any("Sites in no wave: 1." in note for note in of.notes)
    assert any("Sites a week are not given" in note for note in of.notes)


def test_so_many_sites_a_week_from_a_day_on() -> None:
    told = {"sites_per_week": 3, "start": "2027-01-25"}
    _, of = found(None, rollout=told)
    built = [site for site in of.sites if not site.state]
    assert [site.week for site in built] == [1, 1, 1, 2, 2, 2, 3, 3, 3, 4, 4]
    assert [site.wave for site in built] == [str(site.week) for site in built]
    assert built[3].date == "2027-02-01"
    assert [(p.period, p.built) for p in of.periods] == [("2027-01", 3), ("2027-02", 8)]


@pytest.mark.parametrize(("start", "past"), [("2026-08-31", True), ("2026-09-01", False)])
def test_a_start_before_the_day_of_the_plan_is_told(start: str, past: bool) -> None:
    _, of = found(None, rollout={"sites_per_week": 3, "start": start})
    assert any(f"{start}, lies before the day of this plan" in note for note in of.notes) == past


def test_a_wave_begins_a_week_of_its_own() -> None:
    _, of = found(WAVES, rollout={"sites_per_week": 3})
    weeks = [(site.wave, site.week) for site in of.sites if not site.state]
    assert weeks == [
        ("1", 1), ("1", 1), ("1", 1), ("1", 2), ("2", 3), ("2", 3), ("2", 3), ("2", 4),
        ("10", 5), ("10", 5), ("", 6),
    ]  # fmt: skip
    # Weeks of days 28 and 35 lie on either side of a month of 30.4375 days.
    assert [(p.period, p.built) for p in of.periods] == [("month 1", 10), ("month 2", 1)]


@pytest.mark.parametrize(
    ("week", "date", "month"),
    [(1, "2026-12-30", "2026-12"), (2, "2027-01-06", "2027-01"), (10, "2027-03-03", "2027-03"),
     (54, "2028-01-05", "2028-01")],
)  # fmt: skip
def test_months_are_those_of_the_calendar(week: int, date: str, month: str) -> None:
    told = Rollout(sites_per_week=1, start=dt.date(2026, 12, 30))
    assert week_date(week, told) == date
    assert month_name(month_of(week, told), told) == month


def test_months_in_which_nothing_is_built_are_told() -> None:
    """One site a week from mid-January on leaves no month out."""
    _, of = found(None, rollout={"sites_per_week": 1, "start": "2027-01-31"})
    assert [p.period for p in of.periods] == ["2027-01", "2027-02", "2027-03", "2027-04"]
    assert [p.built for p in of.periods] == [1, 4, 4, 2]


def test_at_the_end_the_lease_is_that_of_the_plan() -> None:
    heavy = {"outbound_kbit_s": 2000, "inbound_kbit_s": 400, "activity": 0.4}
    plan, of = found(WAVES, COSTS, rollout={"sites_per_week": 2}, traffic=heavy)
    capacity = plan.facts.capacity
    assert capacity is not None
    last = of.periods[-1]
    assert last.leased_mhz == capacity.leased_mhz
    (pool,) = capacity.pools
    assert (last.outbound_carriers, last.inbound_carriers) == tuple(
        len(pool.of(way)) for way in ("outbound", "inbound")
    )
    growing = [p.leased_mhz for p in of.periods]
    assert growing == sorted(growing)
    assert growing[0] < growing[-1]


def test_the_lease_of_some_sites_is_that_of_a_plan_of_them_alone() -> None:
    listed = [{"name": "v", "profile": "voice"}, {"name": "tv", "profile": "video"}]
    tables: dict[str, Any] = {"applications": listed, "network": {
        "date": "2026-09-01", "applications": ["v", "tv"]}}  # fmt: skip
    plan = planned(WAVES, **tables)
    rows = np.array([1, 4, 6])
    c = plan.columns
    alone = make_plan(
        Sites.at(c["lat"][rows], c["lon"][rows]),
        plan.network,
    )
    some = lease_of(plan, rows)
    assert alone.facts.capacity is not None
    assert some.leased_mhz == alone.facts.capacity.leased_mhz
    assert some.pools[0].years[0] == alone.facts.capacity.pools[0].years[0]


@pytest.mark.parametrize("order", [[7, 1, 4, 6, 0, 10], [0, 1, 4, 6, 7, 10]])
def test_sites_that_join_one_by_one_come_to_what_all_do_at_once(order: list[int]) -> None:
    """Lease and months, whoever joins first: also of a stream that counts once for all."""
    listed = [{"name": "v", "profile": "voice"}, {"name": "tv", "profile": "video"}]
    plan = planned(
        WAVES,
        COSTS | {"recurring_site_month": 0.1},
        applications=listed,
        network={"date": "2026-09-01", "applications": ["v", "tv"]},
    )
    live = Live(plan)
    for i in order:
        live.join(np.array([i]))
    once = lease_of(plan, np.array(sorted(order)))
    assert live.sites == 6
    assert live.lease() == once
    own = math.fsum(own_months(plan.tables[BASIS])[order].tolist())
    assert live.month(once) == own + 1000 * once.leased_mhz


def test_of_very_many_sites_the_visits_are_not_put_in_order(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    for room in (answer, sequences):
        monkeypatch.setattr(room, "VISITED_UP_TO", 10)
    plan, of = found(WAVES, rollout={"sites_per_week": 2})
    ids = plan.columns["site_id"].tolist()
    built = [site for site in of.sites if not site.state]
    places = [ids.index(site.site_id) for site in built]
    assert places == sorted(range(11), key=lambda i: (natural(WAVES[i]), i))
    assert {(s.round, s.position, s.remark) for s in built} == {
        ("", None, "in the order of the list")
    }
    assert of.notes[0].startswith("More than 10 sites are built")
    monkeypatch.setattr(sequences, "VISITED_UP_TO", 11)
    _, visited = found(WAVES, rollout={"sites_per_week": 2})
    assert all(site.position and not site.remark for site in visited.sites if not site.state)


def test_costs_by_hand() -> None:
    plan, of = found(WAVES, COSTS, rollout={"sites_per_week": 4, "start": "2027-01-04"})
    c, spent = plan.columns, 0.0
    ids = c["site_id"].tolist()
    sites = [(site, ids.index(site.site_id)) for site in of.sites if not site.state]
    for k, period in enumerate(of.periods):
        new = [i for site, i in sites if site.date.startswith(period.period)]
        capex = sum(c["site_cost"][i] for i in new) + (5000 if k == 0 else 0)
        running = 10 * period.live + 1000 * period.leased_mhz
        spent += capex + running
        assert period.capex == pytest.approx(capex, rel=1e-12)
        assert period.running == pytest.approx(running, rel=1e-12)
        assert period.cumulative == pytest.approx(spent, rel=1e-12)


def test_a_missing_price_is_blank_and_told() -> None:
    _, of = found(WAVES, COSTS | {"modem": None}, rollout={"sites_per_week": 4})
    assert all(np.isnan(p.cumulative) for p in of.periods)
    assert any("price is missing" in note for note in of.notes)
    _, bare = found(WAVES)
    assert all(np.isnan(p.capex) for p in bare.periods)


def test_the_kit_of_the_waves_is_that_of_the_plan() -> None:
    plan, of = found(WAVES, COSTS)
    bill = plan.facts.bill
    assert bill is not None
    total: dict[str, float] = {}
    for line in of.kit:
        total[line.part] = total.get(line.part, 0) + line.quantity
    by_plan: dict[str, float] = {}
    for bill_line in bill.lines:
        by_plan[bill_line.part] = by_plan.get(bill_line.part, 0) + bill_line.quantity
    assert total == {part: amount for part, amount in by_plan.items() if amount}
    cost = sum(line.cost for line in of.kit)
    assert cost == pytest.approx(np.nansum(plan.columns["site_cost"]), rel=1e-12)
    assert [line.wave for line in of.kit] == sorted((line.wave for line in of.kit), key=natural)


def _first(of: RolloutPlan) -> Iterator[str]:
    yield from (p.period for p in of.periods if p.overflows)


def test_what_is_first_too_small_is_told() -> None:
    heavy = {"outbound_kbit_s": 4000, "activity": 0.5}
    _, of = found(WAVES, rollout={"sites_per_week": 1}, traffic=heavy)
    when, text = of.first_overflow
    assert when == next(_first(of))
    assert "second outbound carrier" in text
    _, light = found(WAVES, rollout={"sites_per_week": 1})
    assert light.first_overflow == ("", "")
