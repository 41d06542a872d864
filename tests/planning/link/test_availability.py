"""Inverting the margin: roots, ends of the range, the step at 5 %."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.link import outage
from siteplan.planning.link.availability import inbound_achieved, outbound_achieved
from siteplan.planning.link.budget import inbound_margin_db, outbound_margin_db
from siteplan.planning.link.weather import weather
from siteplan.planning.setting import setting
from tests.planning.worked import Worked, work_out


def worked(network: Network, sites: Sites) -> Worked:
    return work_out(sites, setting(network))


def test_the_margin_is_zero_where_availability_ends(tropical: Network, basin: Sites) -> None:
    done = worked(tropical, basin)
    kit = done.sizing.kit
    out, back = outbound_achieved(done.link, kit), inbound_achieved(done.link, kit)
    for achieved, margin in (
        (out, lambda at: outbound_margin_db(done.link, kit.dish, at)),
        (back, lambda at: inbound_margin_db(done.link, kit.dish, kit.buc_dbw, at)),
    ):
        p = 100 - achieved.availability_pct
        inner = np.isfinite(p) & ~achieved.capped & (p < 6)
        assert inner.sum() > 20
        at_root = margin(weather(done.link, np.where(inner, p, 1.0)))[inner]
        np.testing.assert_allclose(at_root, 0.0, atol=1e-6)


def test_roots_equal_a_plain_search(tropical: Network) -> None:
    """The first zero met coming from large outages, on a fine grid."""
    done = worked(tropical, Sites.at(np.array([-3.1, 20.0]), np.array([-60.0, -80.0])))
    kit = done.sizing.kit
    found = 100 - outbound_achieved(done.link, kit).availability_pct
    grid = np.geomspace(50, 0.001, 2001)
    # Each place once for every percentage, so that one look-up serves them all.
    lat, lon = (np.repeat(x, len(grid)) for x in ([-3.1, 20.0], [-60.0, -80.0]))
    many = worked(tropical, Sites.at(lat, lon))
    at = weather(many.link, np.tile(grid, 2))
    margins = outbound_margin_db(many.link, many.sizing.kit.dish, at).reshape(2, -1)
    first = np.argmax(margins < 0, axis=1)
    assert np.all(found <= grid[first - 1])
    assert np.all(found >= grid[first])


def test_capped_and_low(tropical: Network, plan_of) -> None:  # type: ignore[no-untyped-def]
    strong = plan_of(-3.1, -60.0, tropical, outbound={"satellite_eirp_dbw": 80.0,
                     "es_n0_db": -20.0}, inbound={"es_n0_db": -20.0},
                     hub={"power_control_db": 30.0})  # fmt: skip
    assert strong.columns["outbound_availability_pct"][0] == pytest.approx(99.999, abs=1e-12)
    assert "availability_capped" in strong.columns["flags"][0]
    assert "small_p" in strong.columns["flags"][0]
    weak = plan_of(-3.1, -60.0, tropical, outbound={"es_n0_db": 30.0})
    assert np.isnan(weak.columns["outbound_availability_pct"][0])
    assert "availability_low" in weak.columns["flags"][0]


def test_a_root_inside_the_step_is_5_percent(tropical: Network) -> None:
    """The total steps down where rain ends: thresholds inside the step all end at p_site = 5 %."""
    base = tropical.model_dump(exclude_unset=True) | {"rules": {"hub_outage_share": 0.0}}
    sites = Sites.at(np.array([-3.1]), np.array([-60.0]))
    done = worked(Network.model_validate(base), sites)
    kit = done.sizing.kit
    above, below = (
        outbound_margin_db(done.link, kit.dish, weather(done.link, np.array([p])))[0]
        for p in (5.0 + 1e-9, 5.0)
    )
    assert above - below > 0.1
    middle = done.link.outbound_required_db + (above + below) / 2 - 1.0
    stepped = Network.model_validate(
        base | {"outbound": {"es_n0_db": middle}, "antennas": [{"diameter_m": kit.dish_m[0]}]}
    )
    again = worked(stepped, sites)
    reached = outbound_achieved(again.link, again.sizing.kit).availability_pct[0]
    assert reached == pytest.approx(95.0, abs=1e-6)


def test_the_scan_starts_where_both_ends_are_monotone(tropical: Network) -> None:
    safe = outage.monotone_above_pct(tropical, hub_placed=True)
    assert 0.2 * safe == pytest.approx(outage.MONOTONE_ABOVE_PCT, rel=1e-12)
