"""The years ahead: growth, and what is first too small."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from siteplan.answers.hub import HubResult
from siteplan.planning.capacity.answer import capacity, figures
from siteplan.planning.capacity.growth import growth
from siteplan.planning.capacity.traffic import added
from tests.planning.capacity.given import answer, loads, network, sites


def test_growth_of_twelve_per_cent() -> None:
    assert growth(12, 5) == pytest.approx(1.762342, abs=5e-7)
    assert growth(0, 15) == 1.0


def test_without_growth_every_year_is_the_first() -> None:
    (pool,) = answer(500, traffic={"years": 15}).pools
    assert len(pool.years) == 16
    for year in pool.years:
        assert replace(year, year=0) == pool.years[0]


def test_traffic_and_sites_grow_together() -> None:
    (pool,) = answer(40, traffic={"growth_pct": 12, "sites_growth_pct": 5}).pools
    last = pool.years[-1]
    assert last.sites == pytest.approx(40 * 1.05**5, rel=1e-12)
    factor = 1.12**5 * 1.05**5
    assert last.outbound_load == pytest.approx(pool.years[0].outbound_load * factor, rel=1e-12)
    assert last.outbound_offered_kbit_s == pytest.approx(40 * 51.2 * factor, rel=1e-9)


def test_the_first_year_of_a_second_outbound_carrier() -> None:
    """130 sites load the carrier by 0.785: 10 % a year pass it in the third year."""
    (pool,) = answer(130, traffic={"growth_pct": 10, "utilisation": 1.0}).pools
    loads_ = [year.outbound_load for year in pool.years]
    assert next(k for k, load in enumerate(loads_) if load > 1) == 3
    first = next(x for x in pool.overflows if x.what == "outbound")
    assert first.year == 3
    assert first.text.startswith("Resize in year 3: second outbound carrier, or one of ")
    assert f"{6 * loads_[3]:.4g} Msym/s" in first.text
    assert [year.outbound_carriers for year in pool.years] == [1, 1, 1, 2, 2, 2]
    # The lease is too small with it, and it is told once.
    assert [x.what for x in pool.overflows].count("lease") == 1


def test_what_is_too_small_today_says_so() -> None:
    (pool,) = answer(400).pools
    first = pool.overflows[0]
    assert (first.what, first.year) == ("outbound", 0)
    assert first.text.startswith("Resize now: third outbound carrier")


def test_a_transponder_is_full_of_power_before_it_is_of_bandwidth() -> None:
    (pool,) = answer(10, outbound={"level_db": 8.0}).pools
    found = {x.what: x for x in pool.overflows}
    assert found["transponder_power"].year == 0
    assert "45.43 MHz" in found["transponder_power"].text  # 7.2 MHz and 8 dB
    assert "transponder_band" not in found
    many = {x.what: x for x in answer(900).pools[0].overflows}
    assert many["transponder_band"].text.startswith("Resize now: the outbound carriers need 45.36")


def hub(**figures: float) -> HubResult:
    """A hub of which only the amplifier is known."""
    return cast(HubResult, SimpleNamespace(beams=(), **figures))


def test_the_amplifier_is_judged_where_it_is_known() -> None:
    checked = network(traffic={"growth_pct": 10})
    counted = added(loads(sites(130), checked))
    assert not [x for x in capacity(counted, checked).pools[0].overflows if x.what == "hpa"]
    found = capacity(counted, checked, [hub(hpa_w=50, needed_hpa_w=80, carriers=2)]).pools[0]
    hpa = next(x for x in found.overflows if x.what == "hpa")
    assert hpa.year == 3
    assert hpa.text == "Resize in year 3: the hub's amplifier needs 80 W and has 50 W."
    assert [year.hpa_w for year in found.years] == [40, 40, 40, 80, 80, 80]
    enough = capacity(counted, checked, [hub(hpa_w=80, needed_hpa_w=40, carriers=1)]).pools[0]
    assert not [x for x in enough.overflows if x.what == "hpa"]


def test_more_inbound_carriers_than_today() -> None:
    (pool,) = answer(60, traffic={"growth_pct": 15}).pools
    counts = [year.inbound_carriers for year in pool.years]
    at = next(k for k, n in enumerate(counts) if n > counts[0])
    found = next(x for x in pool.overflows if x.what == "inbound")
    assert found.year == at
    assert f"{counts[at]} inbound carriers in place of {counts[0]}" in found.text
    assert [x.year for x in pool.overflows] == sorted(x.year for x in pool.overflows)


def test_what_rests_on_defaults_says_so() -> None:
    assert answer().traffic_assumed
    assert not answer(traffic={"activity": 0.3}).traffic_assumed
    told = answer(4, {"outbound_kbit_s": np.array([1.0, 2, 3, np.nan])})
    assert not told.traffic_assumed
    assert "traffic.outbound_kbit_s" in told.assumed
    every = {k: np.full(4, 9.0) for k in ("outbound_kbit_s", "inbound_kbit_s")}
    found = answer(4, every, lease={"guard_pct": 5, "step_mhz": 0.1})
    assert not {"traffic.outbound_kbit_s", "traffic.inbound_kbit_s"} & set(found.assumed)
    assert not any(key.startswith("lease.") for key in found.assumed)
    assert {"outbound.frame_efficiency", "traffic.activity"} <= set(found.assumed)


def test_pools_add_up_to_the_plan() -> None:
    beams = np.array(["a"] * 30 + ["b"] * 70, dtype=object)
    found = answer(100, {}, {"beam": beams})
    assert [pool.load.pool for pool in found.pools] == ["a", "b"]
    assert found.leased_mhz == pytest.approx(sum(p.leased_mhz for p in found.pools), abs=1e-9)


def test_figures_of_the_summary_are_plain() -> None:
    import json

    found = figures(answer(5, outbound={"es_n0_db": 3.0}))
    assert json.loads(json.dumps(found)) == found
    pool = found["pools"][0]
    assert "outbound_load" not in pool["years"][0]  # not known, and not zero
    assert pool["lease"]["outbound"]["leased_mhz"] == pytest.approx(7.56, abs=1e-9)
    assert any("is not known" in note for note in pool["notes"])
