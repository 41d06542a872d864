"""Service availability: the weather's with equipment, hub and power."""

from __future__ import annotations

from typing import Any

import numpy as np
import pydantic
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.operations.service import unit_availability, with_standby
from siteplan.planning.plan import make_plan
from siteplan.results import Plan

LAT, LON = np.array([-3.0, 5.0, 50.0]), np.array([-60.0, -70.0, 90.0])
TIMES = {"equipment_mtbf_h": 40_000, "equipment_mttr_h": 24}


def plan(times: dict[str, Any], power: Any = None, **tables: Any) -> Plan:
    base: dict[str, Any] = {
        "network": {"date": "2026-06-01", **times},
        "satellite": {"longitude_deg": -61.0},
        "hub": {"lat": -15.8, "lon": -47.9},
    }
    known = {} if power is None else {"power_availability_pct": np.array(power)}
    return make_plan(Sites.at(LAT, LON, **known), Network.model_validate(base | tables))


def test_a_unit_of_40_000_hours_and_a_day() -> None:
    """Common practice: MTBF over MTBF and MTTR; 40,000 h and 24 h leave 0.999400."""
    assert unit_availability(40_000, 24) == pytest.approx(0.999400, abs=5e-7)


def test_standby_by_counting_states() -> None:
    for unit in (0.9, 0.9994):
        states = [(a, b, c) for a in (0, 1) for b in (0, 1) for c in (0, 1)]
        chance = {s: float(np.prod([unit if up else 1 - unit for up in s])) for s in states}
        assert with_standby(unit, "1:0") == unit
        one = sum(p for s, p in chance.items() if s[0] or s[1])
        two = sum(p for s, p in chance.items() if sum(s) >= 2)
        assert with_standby(unit, "1:1") == pytest.approx(one, rel=1e-12)
        assert with_standby(unit, "1:2") == pytest.approx(two, rel=1e-12)


def test_without_the_keys_there_is_no_such_column() -> None:
    found = plan({}, [99.0, np.nan, np.nan])
    assert "service_availability_pct" not in found.columns


@pytest.mark.parametrize(("redundancy", "hub"), [("1:0", 0.99940036), ("1:1", 0.99999964)])
def test_all_four_count(redundancy: str, hub: float) -> None:
    tables = {"hub": {"lat": -15.8, "lon": -47.9, "redundancy": redundancy}}
    found = plan(TIMES, [99.0, np.nan, np.nan], **tables).columns
    weather = found["availability_achieved_pct"]
    power = np.array([0.99, 1.0])
    expected = weather[:2] * 0.99940036 * hub * power
    np.testing.assert_allclose(found["service_availability_pct"][:2], expected, rtol=1e-7)
    assert np.isnan(found["service_availability_pct"][2])


def test_earlier_fields_stay() -> None:
    before, after = plan({}).columns, plan(TIMES).columns
    assert set(after) - set(before) == {"service_availability_pct"}
    for name, values in before.items():
        np.testing.assert_array_equal(values, after[name])


@pytest.mark.parametrize("alone", list(TIMES))
def test_one_time_alone_says_nothing(alone: str) -> None:
    with pytest.raises(pydantic.ValidationError, match=r"give both equipment_mtbf_h"):
        plan({alone: TIMES[alone]})
