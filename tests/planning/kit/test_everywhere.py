"""One kit everywhere: which pairs fit, what margins they give, and which of them travel."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from siteplan.model import Obstructions, Sites, Surroundings
from siteplan.network import Network
from siteplan.planning.kit.catalogue import catalogue
from siteplan.planning.kit.everywhere import MARGINS, MOST_PAIRS, counted, kinds_of, travelling
from siteplan.planning.plan import make_plan
from siteplan.prices import kind_price
from siteplan.results import Plan

MANY = {
    "antennas": [{"diameter_m": d} for d in (0.75, 1.0, 1.2, 1.8, 2.4, 3.0)],
    "bucs": [{"rated_w": w} for w in (0.5, 1.0, 2.0, 3.0, 4.0, 6.0)],
}


#: Height, distance and growth of an obstacle whose elevation was measured.
NOT_KNOWN = (np.array([np.nan]), np.array([np.nan]), np.array([0.0]))


@pytest.fixture(scope="module")
def tight(tropical: Network) -> Network:
    """A network whose sites need all sorts of pairs."""
    base = tropical.model_dump(exclude_unset=True)
    less = {"network": base["network"] | {"availability_pct": 99.8},
            "outbound": {"satellite_eirp_dbw": 47.0},
            "inbound": {"symbol_rate_msps": 0.512}}  # fmt: skip
    return Network.model_validate(base | less)


def patterns(plan: Plan) -> Counter[str]:
    return Counter(dict(plan.facts.fits))


def first_pair(pattern: str, pairs: int) -> int | None:
    """The first pair that fits, read bit by bit."""
    bits = bin(int("1" + pattern, 16))[3:][:pairs]
    return bits.index("1") if "1" in bits else None


def test_the_pick_is_the_first_pair_of_the_pattern(tight: Network, basin: Sites) -> None:
    plan = make_plan(basin, tight)
    kinds = kinds_of(catalogue(tight))
    found: Counter[tuple[float, float] | None] = Counter()
    for pattern, sites in plan.facts.fits:
        first = first_pair(pattern, len(kinds))
        found[None if first is None else kinds[first]] += sites
    c = plan.columns
    pairs = zip(c["antenna_m"].tolist(), c["buc_w"].tolist(), strict=True)
    picked = Counter(None if np.isnan(d) else (d, w) for d, w in pairs)
    assert found == picked
    assert picked[None] > 0
    assert len(picked) > 3


def test_every_site_of_one_goes_with_all_pairs_that_fit_it(tight: Network) -> None:
    """Bit by bit against plans with the pair as installed kit."""
    sites = Sites.at(np.array([-3.1]), np.array([-60.0]))
    plan = make_plan(sites, tight)
    ((pattern, one),) = plan.facts.fits
    bits = bin(int("1" + pattern, 16))[3:]
    assert one == 1
    for k, (d, w) in enumerate(kinds_of(catalogue(tight))):
        stands = Sites.at(sites.lat, sites.lon, fixed_antenna_m=np.array([d]),
                          fixed_buc_w=np.array([w]))  # fmt: skip
        after = make_plan(stands, tight).columns["margin_after_reserve_db"][0]
        assert (bits[k] == "1") == (after >= 0), (d, w)
    assert 0 < bits.count("1") < len(kinds_of(catalogue(tight)))


def test_installed_sites_stand_apart_and_low_ones_fit_nothing(tight: Network) -> None:
    lat, lon = np.full(4, -3.1), np.array([-60.0, -60.0, -60.0, -139.0])
    sites = Sites.at(lat, lon, fixed_antenna_m=np.array([np.nan, 1.8, 2.4, np.nan]),
                     fixed_buc_w=np.array([np.nan, 2.0, np.nan, np.nan]))  # fmt: skip
    plan = make_plan(sites, tight)
    assert sum(patterns(plan).values()) == 2
    assert patterns(plan)["0000"] == 1
    assert plan.facts.fewest[0].judged == 2
    assert plan.facts.fewest[0].served == 1
    assert plan.facts.fewest[0].kinds == ((plan.columns["antenna_m"][0], plan.columns["buc_w"][0]),)


def test_a_site_behind_an_obstacle_fits_nothing(tight: Network) -> None:
    sites = Sites.at(np.array([-3.1]), np.array([-30.0]))
    free = make_plan(sites, tight)
    at = free.columns["azimuth_true_deg"]
    wall = Obstructions(sites.site_id, at - 20, at + 20, np.array([80.0]), *NOT_KNOWN,
                        np.array(["wall"], dtype=object), np.array([2]))  # fmt: skip
    behind = make_plan(sites, tight, around=Surroundings(wall))
    assert "blocked" in behind.columns["flags"][0]
    assert patterns(free)["0000"] == 0
    assert patterns(behind) == {"0000": 1}
    assert behind.facts.fewest == ()


def test_margins_are_those_of_a_plan_with_the_pair_installed(tight: Network, basin: Sites) -> None:
    plan = make_plan(basin, tight, with_tables=True)
    n = len(basin)
    for k, (d, w) in enumerate(plan.facts.pairs):
        stands = replace(basin, fixed_antenna_m=np.full(n, d), fixed_buc_w=np.full(n, w),
                         fixed_efficiency=np.full(n, np.nan),
                         fixed_buc_backoff_db=np.full(n, np.nan))  # fmt: skip
        margin = make_plan(stands, tight).columns["margin_db"]
        np.testing.assert_allclose(plan.tables[MARGINS][:, k], margin, rtol=0, atol=1e-9)


def test_margins_travel_only_where_tables_are_asked_for(tight: Network, basin: Sites) -> None:
    plan = make_plan(basin, tight)
    assert MARGINS not in plan.tables
    assert plan.facts.pairs == ()
    assert plan.facts.fits


def test_of_a_large_catalogue_those_in_use_travel_and_the_next_above(
    tight: Network, basin: Sites
) -> None:
    network = Network.model_validate(tight.model_dump(exclude_unset=True) | MANY)
    every = kinds_of(catalogue(network))
    assert len(every) > MOST_PAIRS
    plan = make_plan(basin, network, with_tables=True)
    pairs, c = plan.facts.pairs, plan.columns
    assert plan.tables[MARGINS].shape == (len(basin), len(pairs))
    assert len(pairs) <= MOST_PAIRS
    assert list(pairs) == [kind for kind in every if kind in pairs]
    used = {(d, w) for d, w in zip(c["antenna_m"].tolist(), c["buc_w"].tolist(), strict=True)
            if not np.isnan(d)}  # fmt: skip
    assert len(used) > 3
    assert used <= set(pairs)
    sizes, powers = ([a["diameter_m"] for a in MANY["antennas"]],
                     [b["rated_w"] for b in MANY["bucs"]])  # fmt: skip
    for d, w in used:
        larger = [(s, w) for s in sizes if s > d][:1] + [(d, p) for p in powers if p > w][:1]
        assert set(larger) <= set(pairs)


def test_more_pairs_in_use_than_travel_leave_the_rare_ones_out(tight: Network) -> None:
    network = Network.model_validate(tight.model_dump(exclude_unset=True) | MANY)
    kinds = catalogue(network)
    every = kinds_of(kinds)
    many = [kind for k, kind in enumerate(every) for _ in range(k + 1)]
    columns = {name: np.array([kind[at] for kind in many])
               for at, name in enumerate(("tried_antenna_m", "tried_buc_w"))}  # fmt: skip
    assert travelling(kinds, [columns]) == tuple(every[-MOST_PAIRS:])


def test_patterns_are_counted_as_bits_the_first_pair_first() -> None:
    fits = np.array([[1, 0, 0, 0, 0, 0, 0, 0, 1], [1, 0, 0, 0, 0, 0, 0, 0, 1], [0] * 9], dtype=bool)
    assert counted(fits) == {"8080": 2, "0000": 1}
    assert counted(np.zeros((0, 9), dtype=bool)) == {}


def test_a_pair_costs_what_its_parts_cost(tight: Network) -> None:
    assert np.isnan(kind_price(tight, (1.2, 1.0)))
    priced = Network.model_validate(
        {
            "satellite": {"longitude_deg": -61},
            "antennas": [{"diameter_m": 1.2, "price": 900}, {"diameter_m": 1.8}],
            "bucs": [{"rated_w": 1.0, "price": 350}],
        }
    )
    assert kind_price(priced, (1.2, 1.0)) == 1250.0
    assert np.isnan(kind_price(priced, (1.8, 1.0)))
    assert np.isnan(kind_price(priced, (9.9, 1.0)))
