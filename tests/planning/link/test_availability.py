"""Availability achieved: the outage of level zero, ends of the range, the step at 5 %."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.link.availability import achieved
from siteplan.planning.link.outage import margin_db
from siteplan.planning.setting import setting
from tests.planning.worked import Worked, work_out


def worked(network: Network, sites: Sites) -> Worked:
    return work_out(sites, setting(network))


def test_the_margin_is_zero_where_availability_ends(tropical: Network, basin: Sites) -> None:
    done = worked(tropical, basin)
    for way in done.ways:
        found = achieved(way)
        p = 100 - found.availability_pct
        inner = np.isfinite(p) & ~found.capped & (p < 4.9)
        assert inner.sum() > 20
        at_root = margin_db(way, np.where(inner, p, 1.0))[inner]
        np.testing.assert_allclose(at_root, 0.0, atol=1e-5)


def test_roots_equal_a_plain_search(tropical: Network) -> None:
    """The first outage, coming from large ones, at which the margin is gone."""
    done = worked(tropical, Sites.at(np.array([-3.1, 20.0]), np.array([-60.0, -80.0])))
    found = 100 - achieved(done.ways[0]).availability_pct
    grid = np.geomspace(50, 0.001, 2_001)
    margins = np.stack([margin_db(done.ways[0], np.full(2, p)) for p in grid])
    first = np.argmax(margins < 0, axis=0)
    assert np.all(found <= grid[first - 1] * (1 + 1e-9))
    assert np.all(found >= grid[first])


def test_capped_and_low(tropical: Network, plan_of) -> None:  # type: ignore[no-untyped-def]
    strong = plan_of(-3.1, -60.0, tropical, outbound={"satellite_eirp_dbw": 80.0,
                     "es_n0_db": -20.0}, inbound={"es_n0_db": -20.0},
                     hub={"power_control_db": 30.0})  # fmt: skip
    assert strong.columns["outbound_availability_pct"][0] == pytest.approx(99.999, abs=1e-12)
    assert "availability_capped" in strong.columns["flags"][0]
    # The margin rests on the target's outage, whatever more is achieved.
    assert dict(strong.facts.told_once) == {}
    weak = plan_of(-3.1, -60.0, tropical, outbound={"es_n0_db": 30.0})
    assert np.isnan(weak.columns["outbound_availability_pct"][0])
    assert "availability_low" in weak.columns["flags"][0]


def test_a_root_inside_the_step_lies_just_above_5_percent(tropical: Network) -> None:
    """The total steps down where rain ends: thresholds inside the step miss 95 % by a hair."""
    base = tropical.model_dump(exclude_unset=True) | {"rules": {"hub_outage_share": 0.0}}
    sites = Sites.at(np.array([-3.1]), np.array([-60.0]))
    done = worked(Network.model_validate(base), sites)
    above, below = (done.ways[0].site_db(np.array([p]))[0] for p in (5.0 * (1 + 1e-12), 5.0))
    assert above - below > 0.1
    middle = done.link.outbound_required_db + (above + below) / 2 - 1.0
    stepped = Network.model_validate(
        base
        | {
            "outbound": {"es_n0_db": middle},
            "network": {"availability_pct": 95.0},
            "antennas": [{"diameter_m": done.sizing.kit.dish_m[0]}],
        }
    )
    again = worked(stepped, sites)
    reached = achieved(again.ways[0]).availability_pct[0]
    assert reached == pytest.approx(95.0, abs=1e-9)
    assert reached < 95.0, "the margin at 95 % is negative, so the target is missed"
    assert again.sizing.outbound_margin_db[0] < 0


def test_small_p_looks_at_both_ends_shares(plan_of) -> None:  # type: ignore[no-untyped-def]
    start = Network.model_validate(
        {"satellite": {"longitude_deg": -61}, "hub": {"lat": -15.8, "lon": -47.9}}
    )
    for share, expected in ((0.005, True), (0.2, False), (0.995, True)):
        plan = plan_of(-3.1, -60.0, start, rules={"hub_outage_share": share},
                       network={"availability_pct": 99.0})  # fmt: skip
        assert ("small_p" in dict(plan.facts.told_once)) is expected, share
