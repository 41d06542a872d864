"""What it would take: every remedy re-planned gives what it says; the best stands first."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from siteplan.answers import Remedy, Setting
from siteplan.jobs.opened import find, opened
from siteplan.model import Note, Sites, Surroundings
from siteplan.network import Network
from siteplan.planning.kit.needy import TIGHT_DB
from siteplan.planning.kit.remedies import CHANGES, CODES
from siteplan.planning.kit.settings import ladder, ordered_pct
from siteplan.planning.plan import make_plan
from siteplan.results import Plan
from tests.planning import mixed
from tests.planning.link.spectrum.given import ALL_ON
from tests.samples import FROZEN

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

    def stands(self, remedy: Remedy) -> tuple[bool, bool]:
        """Return whether an antenna and a BUC are installed at the site of a remedy."""
        i = self.place[remedy.site_id]
        return (
            not np.isnan(self.sites.fixed_antenna_m[i]),
            not np.isnan(self.sites.fixed_buc_w[i]),
        )

    def remedies(self) -> tuple[Remedy, ...]:
        return self.plan.facts.remedies

    def planned(
        self,
        network: Network,
        some: Iterable[Remedy],
        *,
        antenna: bool = True,
        buc: bool = True,
    ) -> Plan:
        """Return a plan with what remedies set at their sites, the pair installed or not."""
        some = list(some)
        sites = self.sites.take(np.array([self.place[r.site_id] for r in some]))
        columns = {
            name: getattr(sites, name).copy()
            for name in ("fixed_antenna_m", "fixed_buc_w", "availability_pct",
                         "fixed_efficiency", "fixed_buc_backoff_db")
        }  # fmt: skip
        for k, remedy in enumerate(some):
            if antenna:
                columns["fixed_antenna_m"][k] = remedy.antenna_m
            if buc:
                columns["fixed_buc_w"][k] = remedy.buc_w
            for table, name, value in remedy.sets:
                if table == "sites":
                    columns[name][k] = value
        return make_plan(replace(sites, **columns), network, around=self.around)


def sample(name: str, **changes: Any) -> World:
    project, network = find(FROZEN / name)
    found = opened(project, network)
    assert found.site_list is not None
    return World(found.site_list.sites, with_tables(network, **changes), found.around)


def with_tables(network: Network, **changes: Any) -> Network:
    """Return a network with keys of its tables changed, checked as a file's are."""
    told = network.model_dump(exclude_unset=True)
    return Network.model_validate(
        told | {k: v if isinstance(v, list) else told.get(k, {}) | v for k, v in changes.items()}
    )


def of_own() -> World:
    """Return sites in the wet tropics and beyond, some with kit, in a network of their own."""
    some = mixed.world()
    return World(some.sites, Network.model_validate(OWN), Surroundings())


def interfered() -> World:
    """Return the mixed sites beside neighbours, another polarization, and dishes that point off."""
    some = mixed.world()
    return World(some.sites, mixed.network(**ALL_ON), some.around)


WORLDS = {
    "river_clinics": lambda: sample("river_clinics"),
    "fjord_substations": lambda: sample("fjord_substations"),
    "hub_limits": lambda: sample(
        "river_clinics",
        hub={"lat": -3.1, "lon": -60.0, "power_control_db": 0.0},
        outbound={"satellite_eirp_dbw": 56.0},
    ),
    "short_hub": lambda: sample("river_clinics", hub={"hpa_w": 3.0, "carriers": 2}),
    "limited_hub": lambda: sample(
        "river_clinics",
        hub={"lat": -3.1, "lon": -60.0, "power_control_db": 6.0, "hpa_w": 12.0},
        outbound={"satellite_eirp_dbw": 56.0},
    ),
    "masks": lambda: sample(
        "river_clinics",
        hub={"power_control_db": 6.0},
        regulation={"masks": ["47cfr25_ku"], "simultaneous_terminals": 3},
    ),
    "mixed": lambda: World(*mixed.world()),
    "own": of_own,
    "interference": interfered,
}


@cache
def world_of(name: str) -> World:
    return WORLDS[name]()


@pytest.fixture(scope="module", params=list(WORLDS))
def world(request: pytest.FixtureRequest) -> World:
    return world_of(request.param)


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
    """Margins to 0.01 dB, served or not, and the mount, for every remedy of every site."""
    count, now = 0, world.plan.columns["mount"]
    for sets, some in by_network(world.remedies()).items():
        c = world.planned(changed(world.network, sets), some).columns
        after = [r.margin_after_reserve_db for r in some]
        np.testing.assert_allclose(c["margin_after_reserve_db"], after, atol=0.01, rtol=0)
        served = np.round(c["margin_after_reserve_db"], 6) >= 0
        assert served.tolist() == [r.served for r in some]
        before = [world.plan.columns["margin_db"][world.place[r.site_id]] for r in some]
        buys = [r.buys_db for r in some]
        np.testing.assert_allclose(c["margin_db"] - before, buys, atol=0.01, rtol=0)
        assert c["mount"].tolist() == [r.mount for r in some]
        assert (c["mount_certainty"] == "provisional").tolist() == [r.mount_open for r in some]
        assert [r.mount_was for r in some] == [now[world.place[r.site_id]] for r in some]
        count += len(some)
    assert count > 20


def test_what_is_set_serves_the_site_whatever_is_picked_then(world: World) -> None:
    """A MODCOD, target or power control that serves a site without kit gets it kit, and so on."""
    c = world.plan.columns
    empty = np.isnan(c["antenna_m"]) & np.isnan(c["buc_w"])
    some = [
        r for r in world.remedies()
        if empty[world.place[r.site_id]] and r.code not in NAMES_KIT
    ]  # fmt: skip
    for sets, few in by_network(some).items():
        c = world.planned(changed(world.network, sets), few, antenna=False, buc=False).columns
        served = np.array([r.served for r in few])
        assert (~np.isnan(c["antenna_m"]) & ~np.isnan(c["buc_w"]))[served].all()
        assert (c["margin_after_reserve_db"][served] >= -1e-6).all()


def bare(world: World, remedy: Remedy, name: str) -> bool:
    """Return whether a site without kit has no antenna, or no BUC, of its own."""
    c, i = world.plan.columns, world.place[remedy.site_id]
    missing = np.isnan(c["antenna_m"][i]) or np.isnan(c["buc_w"][i])
    return bool(missing and np.isnan(getattr(world.sites, name)[i]))


#: Changes that name a pair, an antenna, or a BUC of their own.
NAMES_KIT = ("antenna", "buc", "kit", "beyond")


def picked(world: World, some: list[Remedy], **installed: bool) -> None:
    """Hold remedies that serve against the pair that a plan picks with what they set."""
    for sets, few in by_network(some).items():
        c = world.planned(changed(world.network, sets), few, **installed).columns
        for name, pair in (("antenna_m", c["antenna_m"]), ("buc_w", c["buc_w"])):
            np.testing.assert_allclose([getattr(r, name) for r in few], pair, atol=1e-9)


def test_a_setting_that_serves_names_the_pair_that_is_picked_then(world: World) -> None:
    """At a site without kit: the smallest antenna, then the smallest BUC, as in any plan."""
    some = [
        r for r in world.remedies()
        if r.served and r.code not in NAMES_KIT and r.margin_after_reserve_db < r.buys_db - 0.06
        and (bare(world, r, "fixed_buc_w") or bare(world, r, "fixed_antenna_m"))
    ]  # fmt: skip
    own = [r for r in some if world.stands(r) == (False, False)]
    picked(world, own, antenna=False, buc=False)
    picked(world, [r for r in some if world.stands(r) == (True, False)], buc=False)
    picked(world, [r for r in some if world.stands(r) == (False, True)], antenna=False)


def test_an_antenna_that_serves_is_told_with_the_smallest_buc_that_does(world: World) -> None:
    some = [
        r for r in world.remedies()
        if r.served and r.code in ("antenna", "beyond") and bare(world, r, "fixed_buc_w")
        and r.margin_after_reserve_db < r.buys_db - 0.06
    ]  # fmt: skip
    picked(world, some, buc=False)


def test_no_smaller_buc_would_do_of_what_serves_or_holds_the_target(world: World) -> None:
    """Where no BUC holds the reserve the smallest is told that holds the target."""
    sizes, reserve = sorted(b.rated_w for b in world.network.bucs), world.network.rules.reserve_db
    some = [
        replace(r, buc_w=max(w for w in sizes if w < r.buc_w - 1e-9)) for r in world.remedies()
        if r.code in {*CHANGES} - {"buc", "kit"} and bare(world, r, "fixed_buc_w")
        and r.buc_w > sizes[0] and r.margin_after_reserve_db + reserve >= 0
    ]  # fmt: skip
    for sets, few in by_network(some).items():
        c = world.planned(changed(world.network, sets), few).columns
        before = [world.plan.columns["margin_db"][world.place[r.site_id]] for r in few]
        aim = np.array([reserve if r.served else 0.0 for r in few])
        enough = np.round(c["margin_db"], 6) >= aim
        assert not (enough & (c["margin_db"] - before >= 0.05 + 1e-6)).any()


def test_these_worlds_have_sites_whose_advice_names_less_than_was_tried() -> None:
    """What the tests above hold would hold of nothing else."""
    found = set()
    for name in WORLDS:
        world = world_of(name)
        c = world.plan.columns
        for r in world.remedies():
            i = world.place[r.site_id]
            if r.helps and r.buc_w < c["tried_buc_w"][i] and bare(world, r, "fixed_buc_w"):
                found.add(r.code)
            if r.helps and r.antenna_m < c["tried_antenna_m"][i]:
                found.add("smaller antenna")
            if r.mount_was and r.mount != r.mount_was:
                found.add("another mount")
    told = {"antenna", "modcod", "target", "hub_control", "smaller antenna", "another mount"}
    assert found >= told, found


def test_what_is_set_in_the_network_file_is_for_the_whole_network(world: World) -> None:
    for remedy in world.remedies():
        wide = any(table != "sites" for table, _, _ in remedy.sets)
        assert remedy.reach == ("" if not remedy.helps else "network" if wide else "site")
        if remedy.code in ("modcod", "modcods", "hub_control", "terminal_control"):
            assert remedy.reach == "network"


def test_doubtful_coordinates_are_checked_before_anything_else() -> None:
    """The only advice at such a site, whatever else is wrong there; no site gains advice by it."""
    world = world_of("mixed")
    needy = list(dict.fromkeys(r.site_id for r in world.remedies()))
    kinds = {r.code: r.site_id for r in world.remedies()}
    doubted = {kinds["below_horizon"], kinds["low"], kinds["blocked"], kinds["target"]}
    note = Note.of("note.coordinate_doubt.sea_lat_sign")
    served = next(s for s in world.sites.site_id.tolist() if s not in needy)
    notes = {world.place[site]: (note,) for site in (*doubted, served)}
    sites = replace(world.sites, notes={**world.sites.notes, **notes})
    found = make_plan(sites, world.network, around=world.around).facts.remedies
    assert list(dict.fromkeys(r.site_id for r in found)) == needy
    told = [r for r in found if r.site_id in doubted]
    assert [r.code for r in told] == ["coordinates"] * len(doubted)
    assert all(r.change.startswith("Check the coordinates before") for r in told)
    others = [r for r in world.remedies() if r.site_id not in doubted]
    assert [r for r in found if r.site_id not in doubted] == others


def test_every_needy_site_is_told_and_no_other(world: World) -> None:
    """Without kit, under the reserve, tight, blocked, or over a mask: in the plan's order."""
    c = world.plan.columns
    flags = [f.split(";") for f in c["flags"].tolist()]
    short = ~(np.round(c["margin_after_reserve_db"], 6) >= TIGHT_DB)
    missing = np.isnan(c["antenna_m"]) | np.isnan(c["buc_w"])
    blocked = np.array(["blocked" in f or "off_axis_exceeded" in f for f in flags])
    told = list(dict.fromkeys(r.site_id for r in world.remedies()))
    assert told == c["site_id"][short | missing | blocked].tolist()


def test_changes_help_and_the_best_stands_first(world: World) -> None:
    """At a site those that serve first, of those what touches it alone, then the least change."""
    by_site = defaultdict(list)
    for remedy in world.remedies():
        assert remedy.code in CODES
        by_site[remedy.site_id].append(remedy)
    for some in by_site.values():
        if not some[0].helps:
            assert len(some) == 1
            assert some[0].code not in CHANGES
            continue
        assert all(r.buys_db >= 0.05 for r in some)
        assert len({r.change for r in some}) == len(some)
        served = [r.served for r in some]
        assert served == sorted(served, reverse=True)
        there = [r for r in some if r.margin_after_reserve_db >= TIGHT_DB or
                 (r.served and r.margin_after_reserve_db < r.buys_db)]  # fmt: skip
        ranks = [(r.served and r.reach == "network", CHANGES.index(r.code)) for r in there]
        assert ranks == sorted(ranks)


def test_what_hinders_is_told(world: World) -> None:
    """Below the horizon, too low, blocked, over a mask: by the flags, with what to do instead."""
    c = world.plan.columns
    for remedy in world.remedies():
        i = world.place[remedy.site_id]
        codes = c["flags"][i].split(";")
        assert (remedy.code == "coordinates") == ("coordinate_doubt" in codes)
        if remedy.code == "coordinates":
            continue
        unseen = np.isnan(c["elevation_deg"][i])
        floor = max(world.network.rules.min_elevation_deg, 5.0)
        missing = np.isnan(c["antenna_m"][i]) or np.isnan(c["buc_w"][i])
        low = not unseen and missing and c["elevation_deg"][i] < floor
        assert (remedy.code == "below_horizon") == unseen
        assert (remedy.code == "low") == low
        assert (remedy.code == "blocked") == ("blocked" in codes and not unseen and not low)
        over = "off_axis_exceeded" in codes and "blocked" not in codes
        assert (remedy.code == "off_axis") == (over and not unseen and not low)
        assert ("least elevation" in remedy.change) == (low and c["elevation_deg"][i] >= 5)


def test_all_kinds_of_change_are_tried_by_these_worlds() -> None:
    found = {r.code for name in WORLDS for r in world_of(name).remedies()}
    assert found >= {*CHANGES, "below_horizon", "low", "blocked", "off_axis"}


def only(some: Iterable[Remedy], code: str) -> list[Remedy]:
    return [r for r in some if r.code == code]


def clinics(**changes: Any) -> World:
    return sample("river_clinics", **changes)


def test_installed_kit_is_replaced() -> None:
    """RC021 has 1.2 m with 1 W: sentences name what stands; of others what is planned."""
    for remedy in world_of("river_clinics").remedies():
        if remedy.code in ("antenna", "buc", "beyond"):
            installed = remedy.site_id in ("RC021", "RC034")
            assert remedy.change.startswith("Replace the installed 1") == installed


def test_the_catalogues_end_is_told() -> None:
    """The nearest pair is the largest: a larger antenna is one beyond the catalogue."""
    world = world_of("river_clinics")
    some = [r for r in world.remedies() if r.site_id == "RC004"]
    assert not only(some, "antenna")
    (beyond,) = only(some, "beyond")
    assert "the catalogue ends at 2.4 m" in beyond.change
    required = world.plan.columns["required_antenna_m"][world.place["RC004"]]
    assert 0 <= beyond.antenna_m - required < 0.1
    assert beyond.margin_after_reserve_db >= 0


def test_a_threshold_has_no_modcod_to_change() -> None:
    given = clinics(outbound={"es_n0_db": 4.03}, inbound={"es_n0_db": 1.71})
    codes = {r.code for r in given.remedies()}
    assert not codes & {"modcod", "modcods"}
    assert {"antenna", "target"} <= codes


def test_nothing_helps_is_said() -> None:
    """Out of reach of all: a satellite so weak that no change gains what is missing."""
    weak = clinics(
        outbound={"satellite_eirp_dbw": 10.0, "es_n0_db": 12.0},
        antennas=[{"diameter_m": 1.2}],
    )
    some = [r for r in weak.remedies() if r.code == "nothing"]
    assert some
    assert all("another satellite or beam" in r.change and not r.served for r in some)


def test_a_plan_in_chunks_tells_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = world_of("river_clinics").remedies()
    monkeypatch.setattr("siteplan.planning.plan.CHUNK_SITES", 17)
    chunks = clinics().remedies()
    assert [(r.site_id, r.code, r.change, r.served) for r in chunks] == [
        (r.site_id, r.code, r.change, r.served) for r in whole
    ]
    np.testing.assert_allclose(
        [r.buys_db for r in chunks], [r.buys_db for r in whole], atol=1e-9, rtol=0
    )


@pytest.mark.parametrize(
    ("outage", "target"),
    [(0.62, 99.3), (0.7, 99.3), (0.701, 99.2), (0.0431, 99.95), (1.2, 98.5), (5.0, 95.0),
     (5.01, 94.0), (0.1, 99.9), (0.0042, 99.995), (9.9999, 90.0)],
)  # fmt: skip
def test_targets_are_rounded_down_to_what_people_order(outage: float, target: float) -> None:
    """Common practice, no source."""
    assert ordered_pct(np.array([outage])).tolist() == [target]


def test_modcods_below_are_the_next_ones_down() -> None:
    """EN 302 307-1 table 13 under 8PSK 3/5; bursts of one length only (EN 301 545-2)."""
    network = Network.model_validate({
        "satellite": {"longitude_deg": 0}, "outbound": {"modcod": "8psk-3/5"},
        "inbound": {"modcod": "QPSK 3/4 short"},
    })  # fmt: skip
    out, back = ladder(network.outbound), ladder(network.inbound)
    assert out is not None
    assert back is not None
    assert [m.name for m in out.down[:3]] == ["QPSK 5/6", "QPSK 4/5", "QPSK 3/4"]
    assert [m.name for m in back.down] == ["QPSK 2/3 short", "QPSK 1/2 short", "QPSK 1/3 short"]
    assert round(out.less_pct(0), 1) == round(100 * (1 - 1.654663 / 1.779991), 1)


def test_no_modcod_for_linear_channels_is_named_in_place_of_another() -> None:
    """EN 302 307-2 table 20a: 16APSK 8/15-L needs 6.55 dB and carries more than 8PSK 2/3."""

    def below(modcod: str) -> list[str]:
        carrier = {"waveform": "DVB-S2X", "modcod": modcod}
        network = Network.model_validate({"satellite": {"longitude_deg": 0}, "outbound": carrier})
        rungs = ladder(network.outbound)
        assert rungs is not None
        return [m.name for m in rungs.down]

    assert below("8PSK 25/36")[:2] == ["8PSK 2/3", "8PSK 23/36"]
    assert not any(name.endswith("-L") for name in below("256APSK 3/4"))
    assert below("16APSK 5/9-L")[0] == "16APSK 8/15-L"
