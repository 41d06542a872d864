"""The lines of a link budget add up, and come to what the plan tells: for many unlike sites."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

import siteplan
from siteplan.answers.budget import BASES, Budget, BudgetPart, BudgetWay
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.planning.site_budget import site_budgets
from siteplan.results import Plan
from tests.planning import mixed
from tests.planning.link.spectrum.given import ALL_ON
from tests.samples import FROZEN

CLEAR, SITE, HUB = range(3)
#: Lines add up to this [dB; K].
TOLERANCE = 0.01
#: Changes to a network, each with something that budgets must carry.
CHANGES: dict[str, dict[str, Any]] = {
    "no hub": {"hub": {"lat": None, "lon": None, "power_control_db": 0}},
    "hub not counted": {"rules": {"hub_outage_share": 0}},
    "fixed share": {"rules": {"hub_outage_share": 0.4}},
    "all to the hub": {"rules": {"hub_outage_share": 1}},
    "wet dish": {"terminal": {"wet_loss_db": 1.5}, "rules": {"hub_outage_share": None}},
    "circular": {
        way: {"uplink_polarization": "circular", "downlink_polarization": "circular"}
        for way in ("outbound", "inbound")
    },
    "no power control": {"hub": {"power_control_db": 0}, "terminal": {"power_control_db": 0}},
    "some power control": {
        "hub": {"power_control_db": 3},
        "terminal": {"power_control_db": 2},
        "inbound": {"satellite_g_t_db_k": 12, "sfd_dbw_m2": -110},
    },
    "a small amplifier": {"hub": {"power_control_db": 9, "hpa_w": 15, "carriers": 1}},
    "too small an amplifier": ALL_ON | {"hub": {"power_control_db": 4, "hpa_w": 3, "carriers": 2}},
    "a second hub": ALL_ON
    | {"hub": {"power_control_db": 2, "diversity_km": 12, "diversity_bearing_deg": 40}},
    "beyond saturation": {"inbound": {"power_share": "free", "sfd_dbw_m2": -125}},
    "interference": ALL_ON,
    "interference, no hub": ALL_ON | {"hub": {"lat": None, "lon": None, "power_control_db": 0}},
    "interference, fixed share": ALL_ON | {"rules": {"hub_outage_share": 0.4}},
    "thresholds given": {
        "outbound": {"es_n0_db": 3.5, "modcod": None},
        "inbound": {"eb_n0_db": 2.0, "bits_per_symbol": 1.5, "modcod": None},
        "antennas": [{"diameter_m": 1.2, "gain_dbi": 42.0, "gain_ghz": 12.0}],
    },
}


def comes_to(part: BudgetPart) -> list[tuple[str, float]]:
    """Return, of each result of a part, its label and how far the lines are from it."""
    level, summed, found = np.zeros(3), [], []
    for line in part.lines:
        values = np.array(line.values)
        if line.sign == "":
            # Rain depolarizes in one column: in others its line is blank and adds nothing.
            rainless = (line.code == "ci_rain") & np.isnan(values)
            summed.append(np.where(rainless, np.inf, values))
        elif line.sign in "+-":
            level = level + (values if line.sign == "+" else -values)
        else:
            if line.sign == "sum":
                level = -10 * np.log10(np.sum([10 ** (-v / 10) for v in summed], axis=0))
            found.append((line.label, float(np.nanmax(np.abs(level - values)))))
            level = values
    return found


def value(way: BudgetWay, part: str, code: str) -> tuple[float, float, float]:
    """Return the values of a line."""
    (found,) = (
        line.values for p in way.parts if p.code == part for line in p.lines if line.code == code
    )
    return found


def check(plan: Plan, budgets: list[Budget]) -> int:
    """Check every budget of a plan's sites; return how many have a link."""
    c, count = plan.columns, 0
    assert [b.site_id for b in budgets] == c["site_id"].tolist()
    for i, budget in enumerate(budgets):
        assert budget.tried == bool(np.isnan(c["antenna_m"][i]) or np.isnan(c["buc_w"][i]))
        if np.isnan(c["margin_db"][i]):
            assert budget.ways == ()
            assert "below the horizon" in budget.notes[0]
            continue
        count += 1
        assert (budget.antenna_m, budget.buc_w) == (
            c["tried_antenna_m"][i],
            c["tried_buc_w"][i],
        )
        for way in budget.ways:
            check_way(plan, i, way)
    return count


def check_way(plan: Plan, i: int, way: BudgetWay) -> None:
    """Check that one direction's lines add up, and come to what the plan tells."""
    c, name = plan.columns, way.direction
    for part in way.parts:
        results = comes_to(part)
        assert results, part.heading
        for label, off in results:
            assert off == pytest.approx(0, abs=TOLERANCE), (c["site_id"][i], name, label)
    margins = value(way, "total", "margin")
    assert margins[CLEAR] == pytest.approx(c[f"{name}_fade_margin_db"][i], abs=TOLERANCE)
    # What both faded columns leave, the worse of them, is the margin that is told.
    least = min(margins[SITE], margins[HUB if way.hub_counted else CLEAR])
    assert least == pytest.approx(c[f"{name}_margin_db"][i], abs=TOLERANCE)
    assert way.margin_db == pytest.approx(c[f"{name}_margin_db"][i], abs=TOLERANCE)
    after = np.array(value(way, "total", "after_reserve"))
    assert after == pytest.approx(
        np.array(margins) - plan.network.rules.reserve_db, abs=1e-9, nan_ok=True
    )
    assert np.isfinite(margins[SITE])
    for line in way.lines:
        assert line.basis in BASES
        assert line.source
        if line.code == "ci_rain":
            where = SITE if name == "outbound" else HUB
            wanted = where == SITE or way.hub_counted
            assert np.flatnonzero(np.isfinite(line.values)).tolist() == [where] * wanted
            continue
        assert np.isnan(line.values[HUB]) == (not way.hub_counted), line.label
        assert np.isfinite(line.values[:HUB]).all(), line.label
    check_repeats(way)


def check_repeats(way: BudgetWay) -> None:
    """Check that what a part repeats of another is that part's result."""
    outbound = way.direction == "outbound"
    ends = ("outbound_up", "outbound_down") if outbound else ("inbound_up", "inbound_down")
    for code, part, result in (
        ("up", ends[0], "c_n0"), ("down", ends[1], "c_n0"), ("other", "interference", "c_i0"),
    ):  # fmt: skip
        again = value(way, "total", code)
        assert again == pytest.approx(value(way, part, result), abs=1e-9, nan_ok=True)
    g_t, part = ("g_t", "site_g_t") if outbound else ("hub_g_t", "hub_g_t")
    assert value(way, ends[1], g_t) == pytest.approx(value(way, part, g_t), abs=1e-9, nan_ok=True)
    noise = ("site_noise", "system_noise") if outbound else ("hub_noise", "hub_system_noise")
    in_db = value(way, part, "system_noise_db" if outbound else "hub_noise_db")
    kelvin = np.array(value(way, *noise))
    assert in_db == pytest.approx(10 * np.log10(kelvin), abs=1e-9, nan_ok=True)


@pytest.mark.parametrize("name", ["river_clinics", "fjord_substations"])
def test_the_lines_of_every_site_of_a_sample_add_up(name: str) -> None:
    _, site_list, network = siteplan.read_project(FROZEN / name)
    plan = make_plan(site_list.sites, network)
    count = check(plan, site_budgets(plan, np.arange(len(plan))))
    assert count == len(plan)


def test_the_lines_of_two_hundred_unlike_sites_add_up() -> None:
    """Installed kit, unserved sites, targets of 50 to 99.999 %, sites below the horizon."""
    world = mixed.world()
    sites = world.sites.take(np.arange(280))
    plan = make_plan(sites, mixed.network(rules={"hub_outage_share": None}))
    c = plan.columns
    assert (c["kit_source"] == "installed").sum() > 10
    assert np.isnan(c["margin_db"]).sum() > 3
    assert (np.isnan(c["antenna_m"]) & ~np.isnan(c["margin_db"])).sum() > 3
    assert (c["availability_target_pct"] == 50).sum() > 10
    assert check(plan, site_budgets(plan, np.arange(len(plan)))) >= 200


@pytest.mark.parametrize("name", sorted(CHANGES))
def test_the_lines_add_up_whatever_the_network(name: str) -> None:
    sites = mixed.world().sites.take(np.arange(40))
    changed = {k: v for k, v in CHANGES[name].items() if not isinstance(v, list)}
    lists = {k: v for k, v in CHANGES[name].items() if isinstance(v, list)}
    tables = dict(mixed.TABLES) | lists
    for table, keys in changed.items():
        found = {**tables.get(table, {}), **keys}
        tables[table] = {k: v for k, v in found.items() if v is not None}
    plan = make_plan(sites, Network.model_validate(tables))
    budgets = site_budgets(plan, np.arange(len(plan)))
    assert check(plan, budgets) > 20
    ways = [way for budget in budgets for way in budget.ways]
    assert {way.hub_counted for way in ways} == {
        name not in ("no hub", "hub not counted", "interference, no hub")
    }


def test_a_plan_of_one_site_has_the_budget_of_the_whole() -> None:
    """600 sites have their gas by a series, one by sums of lines: they agree to 0.01 dB."""
    lat, lon = np.linspace(-30, 30, 600), np.linspace(-80, -40, 600)
    network = mixed.network()
    whole = make_plan(Sites.at(lat, lon), network)
    (of_whole,) = site_budgets(whole, np.array([211]))
    for way in of_whole.ways:
        check_way(whole, 211, way)


def test_power_control_and_wet_dish_are_lines() -> None:
    tables = mixed.TABLES | {"terminal": {"wet_loss_db": 1.5, "power_control_db": 2.0}}
    tables |= {"inbound": {"satellite_g_t_db_k": 12.0, "sfd_dbw_m2": -110.0}, "rules": {}}
    plan = make_plan(Sites.at(np.array([-3.1]), np.array([-60.0])), Network.model_validate(tables))
    (budget,) = site_budgets(plan, np.array([0]))
    out, back = budget.ways
    assert value(back, "site_eirp", "power_cut")[CLEAR] > 2
    assert value(back, "inbound_up", "power_control") == pytest.approx((0, 2, 0), abs=1e-9)
    assert value(back, "inbound_up", "wet_dish") == (0, 1.5, 0)
    assert value(out, "site_g_t", "wet_dish") == (0, 1.5, 0)
    assert value(out, "outbound_up", "power_control")[HUB] == pytest.approx(5, abs=1e-9)
    fall = value(back, "interference", "ci_fall")
    lost = [value(back, "inbound_up", k)[SITE] for k in ("rain_and_cloud", "scintillation")]
    assert fall[SITE] == pytest.approx(sum(lost) + 1.5 - 2, abs=1e-6)


def test_what_nobody_gave_is_told_as_assumed() -> None:
    tables = {
        "satellite": {"longitude_deg": -61.0},
        "outbound": {"ci_db": 20.0, "satellite_g_t_db_k": 1.0, "sfd_dbw_m2": -88.0},
        "bucs": [{"rated_w": 2.0}],
        "antennas": [{"diameter_m": 1.8}],
    }
    here = {"fixed_antenna_m": np.array([1.8]), "fixed_efficiency": np.array([0.6])}
    sites = Sites.at(np.array([-3.1]), np.array([-60.0]), **here)
    plan = make_plan(sites, Network.model_validate(tables))
    (budget,) = site_budgets(plan, np.array([0]))
    found = {(w.direction, line.code): line for w in budget.ways for line in w.lines}
    assert found["outbound", "ci"].basis == "given"
    assert found["inbound", "ci"].basis == "assumed"
    assert found["inbound", "buc"].basis == "given"
    assert found["inbound", "buc_backoff"].basis == "assumed"
    assert found["inbound", "gain_own"].basis == "computed"  # the site's own efficiency
    assert "the site's own 1.8 m, 60 %" in found["inbound", "gain_own"].source
    assert found["outbound", "power_share"].basis == "in part assumed"
    assert found["outbound", "margin"].basis == "in part assumed"
    assert found["outbound", "spreading"].basis == "in part assumed"  # no hub placed
    assert found["outbound", "free_space"].basis == "computed"
