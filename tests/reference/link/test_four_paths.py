"""A second budget by hand: four paths, each with its own frequency, polarization and sky.

The hub is placed, in another climate than the sites' and under its own sky; all that could be
taken for something else differs. The arithmetic is in ``by_hand``, the networks in ``networks``;
``test_mix_ups`` shows that each mix-up of the inputs moves what is compared here.
"""

from __future__ import annotations

import functools
import math

import numpy as np
import pandas as pd
import pytest

import siteplan
from siteplan.fields import FIELDS
from siteplan.jobs.opened import read_network, read_sites
from siteplan.planning.plan import make_plan
from siteplan.results import Plan
from tests.reference.link.by_hand import Budget, Setup, clear, combine, db, required_db
from tests.reference.link.networks import SETUPS, choice

#: Decibels, degrees and kilometres agree to this: the rest is rounding.
TOLERANCE = 1e-6


@functools.cache
def planned(name: str) -> pd.DataFrame:
    setup = SETUPS[name]
    return siteplan.plan(rows(setup), setup.network)


@functools.cache
def tabled(name: str) -> Plan:
    setup = SETUPS[name]
    sites, network = read_sites(rows(setup)), read_network(setup.network)
    return make_plan(sites.sites, network, with_tables=True)


def rows(setup: Setup) -> pd.DataFrame:
    table = [
        {
            "site_id": f"S{i}", "lat": site.spot.lat, "lon": site.spot.lon,
            "altitude_m": site.spot.altitude_km * 1000, "availability_pct": site.target_pct,
            "fixed_antenna_m": site.antenna_m, "fixed_buc_w": site.buc_w,
        }
        for i, site in enumerate(setup.sites)
    ]  # fmt: skip
    return pd.DataFrame(table)


def each() -> list[tuple[str, int]]:
    return [(name, i) for name, setup in SETUPS.items() for i in range(len(setup.sites))]


@pytest.mark.parametrize(("name", "i"), each())
def test_every_figure_of_the_link(name: str, i: int) -> None:
    row, (budget, _) = planned(name).iloc[i], choice(SETUPS[name], SETUPS[name].sites[i])
    dish, buc = (not np.isnan(row[size]) for size in ("antenna_m", "buc_w"))
    given = {"dish": dish, "buc": buc, "kit": dish and buc}
    for field, by_hand in budget.figures().items():
        if given.get(FIELDS[field].rests_on, True):
            assert row[field] == pytest.approx(by_hand, abs=TOLERANCE), field
        else:
            assert np.isnan(row[field]), field
    limits = "inbound" if row["inbound_margin_db"] < row["outbound_margin_db"] else "outbound"
    assert row["limiting_direction"] == limits


@pytest.mark.parametrize(("name", "i"), each())
def test_the_margin_is_gone_at_the_availability_achieved(name: str, i: int) -> None:
    row, (budget, _) = planned(name).iloc[i], choice(SETUPS[name], SETUPS[name].sites[i])
    outbound, inbound = row["outbound_availability_pct"], row["inbound_availability_pct"]
    assert min(budget.outbound_ends_db(100 - outbound)) == pytest.approx(0, abs=TOLERANCE)
    assert min(budget.inbound_ends_db(100 - inbound)) == pytest.approx(0, abs=TOLERANCE)
    assert row["availability_achieved_pct"] == min(outbound, inbound)
    assert max(outbound, inbound) < 99.999  # not capped: the two figures are roots


@pytest.mark.parametrize(("name", "i"), each())
def test_the_kit_is_the_smallest_that_does(name: str, i: int) -> None:
    setup, site = SETUPS[name], SETUPS[name].sites[i]
    row, (budget, fits) = planned(name).iloc[i], choice(setup, site)
    given_dish, given_buc = fits or site.antenna_m is not None, fits or site.buc_w is not None
    assert row["antenna_m"] == budget.dish[0] if given_dish else math.isnan(row["antenna_m"])
    assert row["buc_w"] == budget.buc[0] if given_buc else math.isnan(row["buc_w"])
    larger = [(a["diameter_m"], a["efficiency"]) for a in setup.tables["antennas"]]
    for dish in larger:
        by_hand = Budget(setup, site, dish, budget.buc).margin_db()
        field = f"margin_{dish[0]:g}_m_db".replace(".", "_")
        assert row[field] == pytest.approx(by_hand, abs=TOLERANCE), field
    larger = sorted(dish for dish in larger if dish[0] > budget.dish[0])
    if larger:
        upgrade = Budget(setup, site, larger[0], budget.buc).margin_db()
        assert row["next_antenna_m"] == larger[0][0]
        assert row["next_antenna_margin_db"] == pytest.approx(upgrade, abs=TOLERANCE)
    else:
        assert math.isnan(row["next_antenna_m"])
        assert math.isnan(row["next_antenna_margin_db"])


@pytest.mark.parametrize(("name", "i"), each())
def test_the_antenna_that_would_just_do_leaves_the_reserve(name: str, i: int) -> None:
    setup, site = SETUPS[name], SETUPS[name].sites[i]
    row, (budget, _) = planned(name).iloc[i], choice(setup, site)
    reserve = setup.tables["rules"]["reserve_db"]

    def left_db(diameter_m: float) -> float:
        return Budget(setup, site, (diameter_m, budget.dish[1]), budget.buc).margin_db() - reserve

    if math.isnan(row["required_antenna_m"]):
        assert left_db(30.0) < 0  # not even the largest that is tried
    else:
        # The root is sought to 1e-7 in the logarithm: 20 log10 of that, and no more.
        assert left_db(row["required_antenna_m"]) == pytest.approx(0, abs=5e-6)


@pytest.mark.parametrize(("name", "i"), each())
def test_the_table_of_margins_at_other_outages(name: str, i: int) -> None:
    setup, plan = SETUPS[name], tabled(name)
    budget, _ = choice(setup, setup.sites[i])
    table = plan.tables["whatif_site_margin_db"][i]
    part, rest = budget.shares_pct(1.0)
    at = [
        k
        for k, p in enumerate(plan.facts.whatif_p_pct)
        if p >= 0.03 and p / part * rest <= 4.9 and p <= 1.5 and p / part * rest >= 0.01
    ]
    assert len(at) >= 9  # within the methods' range at both ends
    for k in at:
        # The outage whose share at the site is this percentage.
        outage = plan.facts.whatif_p_pct[k] / part
        by_hand = budget.outbound_ends_db(outage)[0], budget.inbound_ends_db(outage)[0]
        assert table[:, k].tolist() == pytest.approx(by_hand, abs=TOLERANCE), outage


@pytest.mark.parametrize(("name", "i"), each())
def test_the_table_of_where_the_margin_goes(name: str, i: int) -> None:
    """Own hop, interference, attenuation, noise with the wet dish, hub: one end at a time rains."""
    setup = SETUPS[name]
    budget, _ = choice(setup, setup.sites[i])
    outage = 100 - setup.sites[i].target_pct
    at_site, at_hub = budget.shares_pct(outage)
    down, up = (
        budget.site_sky("outbound", "downlink", at_site),
        budget.site_sky("inbound", "uplink", at_site),
    )
    hub = clear(budget.hub_sky("inbound", "downlink", at_hub))
    out = budget.outbound_terms(clear(down), down.gas)
    back = budget.inbound_terms(clear(up), hub)
    dimmed = budget.outbound_terms(down, down.gas), budget.inbound_terms(up, hub)
    ends = budget.outbound_ends_db(outage), budget.inbound_ends_db(outage)
    carriers = budget.net["outbound"], budget.net["inbound"]
    table = tabled(name).tables["budget_db"][i]
    for way, hop in ((0, out[1]), (1, back[0])):
        start = combine(*(out, back)[way]) - required_db(carriers[way])
        dim, (site, rainy) = combine(*dimmed[way]) - required_db(carriers[way]), ends[way]
        losses = (start - dim, dim - site, 0.0) if site <= rainy else (0.0, 0.0, start - rainy)
        both, every = combine(*(out, back)[way][:2]), combine(*(out, back)[way])
        steps = (hop, both - every, *losses)
        assert table[way].tolist() == pytest.approx(steps, abs=TOLERANCE)


@pytest.mark.parametrize("name", SETUPS)
def test_the_end_with_the_deeper_rain_sets_the_margin(name: str) -> None:
    """What a swap at one end would move must not be hidden behind the other's rain."""
    setup, column = SETUPS[name], 1 if name.endswith("hub") else 0
    for way in ("outbound_ends_db", "inbound_ends_db"):
        held = []
        for site in setup.sites:
            ends = getattr(choice(setup, site)[0], way)(100 - site.target_pct)
            held.append(ends[column] < ends[1 - column])
        assert sum(held) >= 2, way


@pytest.mark.parametrize(("name", "i"), each())
def test_the_remotes_drive_stays_within_its_share_of_the_transponder(name: str, i: int) -> None:
    """Else the margins would also hang on how the plan cuts the drive."""
    budget, _ = choice(SETUPS[name], SETUPS[name].sites[i])
    way = budget.net["inbound"]
    occupied = way["symbol_rate_msps"] * (1 + way["roll_off"])
    share = way["sfd_dbw_m2"] - way["input_backoff_db"] - db(way["transponder_mhz"] / occupied)
    assert budget.inbound_flux(0.0) < share
    assert "power_share" not in planned(name).iloc[i]["flags"]
