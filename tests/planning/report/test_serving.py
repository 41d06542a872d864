"""Which sites are served: one answer, that report, summary and the plan's columns share."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from siteplan.fields import UNSERVED
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.planning.report.composed import composed
from siteplan.planning.report.serving import served
from siteplan.planning.report.summary import summarize
from siteplan.results import Plan


@pytest.fixture(scope="module")
def plan(tropical: Network, basin: Sites) -> Plan:
    return make_plan(basin, tropical)


def test_a_stop_or_a_miss_is_not_served(plan: Plan) -> None:
    c = plan.columns
    flags, margin = c["flags"].copy(), c["margin_db"].copy()
    at = np.flatnonzero(served(plan))[:6]
    for i, more in zip(at, ("blocked", "mount_engineered", "margin_short"), strict=False):
        flags[i] = f"{flags[i]};{more}".removeprefix(";")
    margin[at[3]], margin[at[4]], margin[at[5]] = -0.001, np.nan, -1e-9
    changed = replace(plan, columns={**c, "flags": flags, "margin_db": margin})
    assert served(changed)[at].tolist() == [False, False, True, False, False, True]
    count = int(served(changed).sum())
    assert count == int(served(plan).sum()) - 4
    assert summarize(changed)["served"] == count
    report = composed(changed)
    assert report.served == count
    assert sum(reason.sites for reason in report.reasons) == len(changed) - count


def test_no_site_without_kit_is_served(plan: Plan) -> None:
    none = np.full(len(plan), np.nan)
    changed = replace(plan, columns={**plan.columns, "antenna_m": none})
    assert not served(changed).any()


def test_the_flags_that_stop() -> None:
    assert set(UNSERVED) == {
        *("below_horizon", "no_fit", "below_min_elevation", "margin_negative", "blocked"),
        *("mount_engineered", "off_axis_exceeded", "outside_beam"),
    }
