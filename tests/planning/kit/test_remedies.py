"""What it would take: every remedy re-planned gives what it says; the best stands first."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.answers import Remedy, Setting
from siteplan.jobs.opened import find, opened
from siteplan.model import Sites, Surroundings
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.results import Plan
from tests.planning import mixed

SAMPLES = Path(__file__).parents[3] / "sample_sites"
NAN = float("nan")
#: Nothing of what a network file may say is as it is by default.
OWN: Mapping[str, Any] = {
    "network": {"date": "2026-06-01", "availability_pct": 99.7},
    "satellite": {"longitude_deg": -61.0},
    "hub": {"lat": 4.6, "lon": -74.1, "power_control_db": 2.0},
    "antennas": [{"diameter_m": d} for d in (0.98, 1.2, 1.8)],
    "bucs": [{"rated_w": w} for w in (1, 2, 4)],
    "outbound": {"satellite_eirp_dbw": 46.0, "waveform": "DVB-S2X", "modcod": "8PSK 25/36"},
    "inbound": {"symbol_rate_msps": 0.3, "modcod": "QPSK 3/4 short", "satellite_g_t_db_k": 4},
    "terminal": {"power_control_db": 0.0, "wet_loss_db": 0.7},
    "rules": {"reserve_db": 0.8},
}


class World:
    """Sites, their network and surroundings, and the plan of them."""

    def __init__(self, sites: Sites, network: Network, around: Surroundings) -> None:
        self.sites, self.network, self.around = sites, network, around
        self.plan = make_plan(sites, network, around=around)
        self.place = {name: i for i, name in enumerate(sites.site_id.tolist())}

    def remedies(self) -> tuple[Remedy, ...]:
        return self.plan.facts.remedies

    def planned(self, network: Network, some: Iterable[Remedy], *, pair: bool = True) -> Plan:
        """Return a plan with what remedies set at their sites, the pair installed or not."""
        some = list(some)
        sites = self.sites.take(np.array([self.place[r.site_id] for r in some]))
        columns = {
            name: getattr(sites, name).copy()
            for name in ("fixed_antenna_m", "fixed_buc_w", "availability_pct",
                         "fixed_efficiency", "fixed_buc_backoff_db")
        }  # fmt: skip
        for k, remedy in enumerate(some):
            if pair:
                columns["fixed_antenna_m"][k] = remedy.antenna_m
                columns["fixed_buc_w"][k] = remedy.buc_w
            for table, name, value in remedy.sets:
                if table == "sites":
                    columns[name][k] = value
        return make_plan(replace(sites, **columns), network, around=self.around)


def sample(name: str, **changes: Any) -> World:
    project, network = find(SAMPLES / name)
    found = opened(project, network)
    assert found.site_list is not None
    return World(found.site_list.sites, with_tables(network, **changes), found.around)


def with_tables(network: Network, **changes: Any) -> Network:
    """Return a network with keys of its tables changed, checked as a file's are."""
    told = network.model_dump(exclude_unset=True)
    return Network.model_validate(told | {k: told.get(k, {}) | v for k, v in changes.items()})


def of_own() -> World:
    """Return sites in the wet tropics and beyond, some with kit, in a network of their own."""
    some = mixed.world()
    return World(some.sites, Network.model_validate(OWN), Surroundings())


WORLDS = {
    "river_clinics": lambda: sample("river_clinics"),
    "fjord_substations": lambda: sample("fjord_substations"),
    "hub_limits": lambda: sample(
        "river_clinics",
        hub={"lat": -3.1, "lon": -60.0, "power_control_db": 0.0},
        outbound={"satellite_eirp_dbw": 56.0},
    ),
    "mixed": lambda: World(*mixed.world()),
    "own": of_own,
}


@pytest.fixture(scope="module", params=list(WORLDS))
def world(request: pytest.FixtureRequest) -> World:
    return WORLDS[request.param]()


def by_network(some: Iterable[Remedy]) -> dict[tuple[Setting, ...], list[Remedy]]:
    """Return remedies by what they set in the network file."""
    found = defaultdict(list)
    for remedy in some:
        if remedy.helps:
            found[tuple(s for s in remedy.sets if s[0] != "sites")].append(remedy)
    return found


def changed(network: Network, sets: Iterable[Setting]) -> Network:
    for table, key, value in sets:
        network = with_tables(network, **{table: {key: value}})
    return network


def test_a_remedy_planned_anew_gives_what_it_says(world: World) -> None:
    """Margins to 0.01 dB, served or not, for every remedy of every site."""
    count = 0
    for sets, some in by_network(world.remedies()).items():
        c = world.planned(changed(world.network, sets), some).columns
        after = [r.margin_after_reserve_db for r in some]
        np.testing.assert_allclose(c["margin_after_reserve_db"], after, atol=0.01, rtol=0)
        served = np.round(c["margin_after_reserve_db"], 6) >= 0
        assert served.tolist() == [r.served for r in some]
        before = [world.plan.columns["margin_db"][world.place[r.site_id]] for r in some]
        buys = [r.buys_db for r in some]
        np.testing.assert_allclose(c["margin_db"] - before, buys, atol=0.01, rtol=0)
        count += len(some)
    assert count > 20
