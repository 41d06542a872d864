"""Applications: their profiles, the traffic and the target of sites, the delay of one hop."""

from __future__ import annotations

from dataclasses import asdict, replace
from typing import Any

import numpy as np
import pytest
from pydantic import ValidationError

from siteplan.answers.capacity import Capacity, PoolLoad
from siteplan.errors import SitesError
from siteplan.inputs.network.assumed import assumptions
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.physics.radio.queues import erlang_b
from siteplan.planning.applications.carried import (
    carried,
    names,
    target_sources,
    targets_pct,
)
from siteplan.planning.applications.service import hop_delay_ms, hub_range_km
from siteplan.planning.capacity.traffic import added, busy_hours, load_from
from siteplan.planning.plan import make_plan
from tests.planning.capacity.given import answer, columns, loads, network, sites

#: By profile: inbound and outbound rate [kbit/s], activity, access, target [%], delay [ms];
#: common practice, no source. Voice: 8 kbit/s of speech and 40 bytes of headings each 20 ms.
PROFILES = {
    "transaction": (9.6, 19.2, 0.05, "contention", 99.7, 1500),
    "scada": (2.4, 1.2, 0.05, "assigned", 99.8, 5000),
    "voice": ((20 + 40) * 8 / 20, 24, 0.1, "circuit", 99.5, 400),
    "video": (0, 4000, 1, "assigned", 99.9, None),
    "internet": (512, 2048, 0.1, "assigned", 99.5, None),
}
ALL = [{"name": name, "profile": name} for name in PROFILES]


def texts(*each: str) -> Any:
    return np.array(each, dtype=object)


def test_each_profile_puts_in_its_figures() -> None:
    found = network(applications=ALL)
    for of in found.applications:
        asked = of.asked(found.traffic)
        told = (asked.inbound_kbit_s, asked.outbound_kbit_s, asked.activity, asked.access,
                asked.availability_pct, asked.max_delay_ms)  # fmt: skip
        assert told == PROFILES[of.name]
        assert asked.multicast == (of.name == "video")


def test_what_is_given_goes_before_the_profile_and_what_it_puts_in_is_assumed() -> None:
    found = network(applications=[{"name": "a", "profile": "scada", "activity": 0.3}])
    assert found.applications[0].asked(found.traffic).activity == 0.3
    told = {a.key: a for a in assumptions(found) if a.key.startswith("applications")}
    assert "applications.1.activity" not in told
    assert told["applications.1.inbound_kbit_s"].value == "2.4"
    assert "common practice, no source" in told["applications.1.access"].meaning
    keys = {a.key for a in assumptions(network())}
    assert "traffic.processing_ms" not in keys
    assert not {k for k in keys if k.startswith("applications") or "network.applications" in k}
    assert "traffic.processing_ms" in {a.key for a in assumptions(found)}


def test_an_application_without_profile_is_the_traffic_of_the_table() -> None:
    plain = answer(7, traffic={"activity": 0.3, "outbound_kbit_s": 100})
    as_one = answer(
        7,
        traffic={"activity": 0.3, "outbound_kbit_s": 100},
        applications=[{"name": "all"}],
        network={"applications": ["all"]},
    )
    assert as_one.leased_mhz == plain.leased_mhz
    assert as_one.pools[0].years == plain.pools[0].years
    assert as_one.pools[0].rates_kbit_s == pytest.approx(plain.pools[0].rates_kbit_s, rel=1e-12)


@pytest.mark.parametrize("access", ["assigned", "contention", "circuit"])
def test_the_sum_of_applications_is_the_traffic_that_is_carried(access: str) -> None:
    """Halves of the table's traffic as two applications come to the carriers of the whole."""
    half = {"inbound_kbit_s": 64, "outbound_kbit_s": 128, "activity": 0.1, "access": access}
    table = {"outbound_kbit_s": 256, "inbound_kbit_s": 64, "activity": 0.2, "access": access}
    whole = answer(40, traffic=table | {"outbound_kbit_s": 128})
    two = answer(
        40,
        traffic={"access": access},
        applications=[{"name": n, **half} for n in ("a", "b")],
        network={"applications": ["a", "b"]},
    )
    now, then = whole.pools[0].years[0], two.pools[0].years[0]
    for name in ("outbound_offered_kbit_s", "inbound_offered_kbit_s", "outbound_load"):
        assert getattr(then, name) == pytest.approx(getattr(now, name), rel=1e-9)
    if access != "circuit":
        assert then.inbound_carriers == now.inbound_carriers
        assert then.leased_mhz == now.leased_mhz


def _pool(capacity: Capacity) -> PoolLoad:
    return capacity.pools[0].load


def test_the_offered_load_is_by_hand() -> None:
    """Three sites: one voice, one voice and scada of two sessions, one by the table."""
    known = {"applications": texts("v", "v;s", "")}
    listed = [
        {"name": "v", "profile": "voice", "sessions": 3},
        {"name": "s", "profile": "scada", "sessions": 2},
    ]
    found = answer(3, known, applications=listed)
    year = found.pools[0].years[0]
    assert year.outbound_offered_kbit_s == pytest.approx(
        2 * 3 * 24 * 0.1 + 2 * 1.2 * 0.05 + 256 * 0.2, rel=1e-9
    )
    assert year.inbound_offered_kbit_s == pytest.approx(
        2 * 3 * 24 * 0.1 + 2 * 2.4 * 0.05 + 64 * 0.2, rel=1e-9
    )
    assert [(d.name, d.sites, d.sessions) for d in _pool(found).demands] == [
        ("v", 2, 6), ("s", 1, 2),
    ]  # fmt: skip
    # 0.6 erlang of all sites together: the least lines that lose no more than 1 %.
    assert year.lines == 4
    assert erlang_b(0.6, 4) <= 0.01 < erlang_b(0.6, 3)


def test_circuits_are_pooled_over_sites() -> None:
    """Ten sites with one erlang each need 18 lines (ITU-D handbook's tables), not ten times 5."""
    listed = [{"name": "v", "profile": "voice", "activity": 1.0}]
    found = answer(10, applications=listed, network={"applications": ["v"]})
    assert found.pools[0].years[0].lines == 18


def test_kinds_of_access_share_carriers() -> None:
    """The parts of carriers that each access asks for add up before they are rounded."""
    listed = [
        {"name": "c", "profile": "transaction", "inbound_kbit_s": 100, "activity": 0.2},
        {"name": "a", "profile": "scada", "inbound_kbit_s": 100, "activity": 0.2},
    ]
    found = answer(5, applications=listed, network={"applications": ["c", "a"]})
    rate = found.pools[0].rates_kbit_s[1]
    parts = 5 * 20 / rate / 0.25 + 5 * 20 / rate / 0.7
    assert found.pools[0].years[0].inbound_carriers == np.ceil(parts)


def test_a_stream_for_all_counts_once_a_beam() -> None:
    listed = [{"name": "tv", "profile": "video"}]
    for count in (1, 2, 30):
        found = answer(count, applications=listed, network={"applications": ["tv"]})
        assert found.pools[0].years[0].outbound_offered_kbit_s == pytest.approx(4000, rel=1e-12)
        assert found.pools[0].years[0].inbound_offered_kbit_s == 0
    beam = {"beam": texts("e", "e", "w")}
    of_beams = loads(
        sites(3), network(applications=listed, network={"applications": ["tv"]}), **beam
    )
    assert [load.offered_in_all(0) / 1e9 for load in of_beams] == [4000, 4000]


def test_a_stream_is_as_slow_as_its_slowest_site() -> None:
    """An adaptive carrier sends it so that all can read it: the most of a carrier's time counts."""
    listed = [{"name": "tv", "profile": "video"}]
    rates = {"outbound_mean_kbit_s": np.array([8000.0, 5000.0, 10000.0])}
    (load,) = loads(
        sites(3), network(applications=listed, network={"applications": ["tv"]}), **rates
    )
    assert load.asked_in_all(0) == pytest.approx(0.8e12, rel=1e-12)


def test_parts_add_up_to_the_whole() -> None:
    checked = network(applications=ALL)
    named = texts("voice", "video;scada", "", "video", "internet; transaction", "scada")
    whole = sites(6, applications=named)
    (one,) = loads(whole, checked)
    halves = [loads(whole.take(np.array(k)), checked)[0] for k in ([0, 1, 2], [3, 4, 5])]
    (both,) = added(halves)
    assert {d.name: d for d in both.demands} == {d.name: d for d in one.demands}
    assert (both.offered, both.asked, both.applied) == (one.offered, one.asked, one.applied)
    assert load_from(asdict(one)) == one


def test_what_each_site_offers_adds_up_to_its_pool() -> None:
    checked = network(applications=ALL)
    of = sites(4, applications=texts("voice", "scada;internet", "", "internet"))
    busy = busy_hours(of, columns(4), checked)
    (load,) = loads(of, checked)
    for way in (0, 1):
        assert busy[:, :, way, 0].sum() == load.offered_in_all(way)
        assert busy[:, :, way, 1].sum() == load.asked_in_all(way)


def test_a_target_is_the_sites_own_else_the_highest_of_its_applications() -> None:
    checked = network(applications=ALL, network={"availability_pct": 99.0})
    of = sites(
        4,
        applications=texts("voice;scada", "voice; video", "", "video"),
        availability_pct=np.array([np.nan, np.nan, np.nan, 98.0]),
    )
    np.testing.assert_array_equal(targets_pct(of, checked), [99.8, 99.9, 99.0, 98.0])
    usual = network(applications=ALL, network={"applications": ["transaction"]})
    np.testing.assert_array_equal(targets_pct(of, usual), [99.8, 99.9, 99.7, 98.0])
    assert names(of, usual).tolist() == ["scada; voice", "voice; video", "transaction", "video"]
    assert not carried(of, checked)[2].any()


def test_an_unknown_name_is_an_error_that_lists_the_known() -> None:
    with pytest.raises(ValidationError, match=r"no application 'vice'; known are 'voice'"):
        network(applications=ALL[2:3], network={"applications": ["vice"]})
    with pytest.raises(SitesError, match=r"no application 'vice'; known are 'voice'"):
        targets_pct(sites(2, applications=texts("voice", "vice")), network(applications=ALL[2:3]))
    two = sites(3, applications=texts("voice", "wice", "vice"))
    with pytest.raises(SitesError, match="row 3, applications: there is no application 'wice'"):
        targets_pct(two, network(applications=ALL[2:3]))
    with pytest.raises(SitesError, match=r"lists no applications"):
        loads(sites(1, applications=texts("vice")), network())
    with pytest.raises(ValidationError, match="two of the same name"):
        network(applications=[ALL[0], ALL[0]])
    with pytest.raises(ValidationError, match="parts names"):
        network(applications=[{"name": "a;b"}])


def test_one_hop_takes_the_way_of_both_ends() -> None:
    """2 x 38 500 km at the speed of light are 256.8 ms; with 60 ms of processing 316.8 ms."""
    placed = network(hub={"lat": -3.0, "lon": -60.0})
    least = hub_range_km(placed)
    assert least == pytest.approx(35_800, abs=40)
    slant = np.array([38_500.0, np.nan])
    found = hop_delay_ms(slant, network())
    assert found[0] == pytest.approx(2 * 38_500 / 299.792458 + 60, rel=1e-12)
    assert np.isnan(found[1])
    with_hub = hop_delay_ms(slant, placed)[0]
    assert with_hub == pytest.approx((38_500 + least) / 299.792458 + 60, rel=1e-12)


def _plan(**tables: Any) -> Any:
    checked = Network.model_validate(
        {"satellite": {"longitude_deg": -61}, "network": {"date": "2026-09-01"}, **tables}
    )
    at = {"lon": np.array([-130.0, -60.0, -61.0]), "lat": np.zeros(3)}
    return make_plan(Sites.at(**at, applications=texts("voice", "fast", "")), checked)


def test_what_cannot_wait_is_flagged() -> None:
    listed = [{"name": "voice", "profile": "voice"}, {"name": "fast", "max_delay_ms": 298}]
    c = _plan(applications=listed).columns
    assert [("delay_too_long" in f.split(";")) for f in c["flags"].tolist()] == [False, True, False]
    assert "fast may take 298 ms" in c["flag_notes"][1]
    assert c["hop_delay_ms"][0] == pytest.approx(
        2 * c["slant_range_km"][0] / 299.792458 + 60, rel=1e-12
    )
    late = _plan(applications=listed, traffic={"processing_ms": 200}).columns
    assert ["delay_too_long" in f for f in late["flags"].tolist()] == [True, True, False]
    assert c["applications"].tolist() == ["voice", "fast", ""]
    assert c["outbound_offered_kbit_s"][0] == pytest.approx(2.4, rel=1e-12)
    assert c["availability_target_pct"].tolist() == [99.5, 99.5, 99.5]


def test_without_applications_nothing_is_told_of_them() -> None:
    checked = Network.model_validate({"satellite": {"longitude_deg": -61}})
    c = make_plan(sites(2), checked).columns
    assert not {"applications", "hop_delay_ms", "inbound_offered_kbit_s"} & set(c)


def test_the_usual_target_is_that_of_a_site_that_tells_nothing() -> None:
    """What pages tell of the network as a whole is what its sites get."""
    listed = [
        {"name": "a", "profile": "scada"}, {"name": "b", "availability_pct": 99.95},
        {"name": "c", "profile": "none"},
    ]  # fmt: skip
    for own in ([], ["a"], ["a", "b"], ["c"]):
        known = {"availability_pct": 99.1, "applications": own}
        found = Network.model_validate(
            {"satellite": {"longitude_deg": -61}, "network": known, "applications": listed}
        )
        bare = Sites.at(np.array([-3.0]), np.array([-60.0]))
        assert targets_pct(bare, found).tolist() == [found.usual_target_pct]


def test_where_a_target_comes_from() -> None:
    """The site's own, else the application that asks for most, the first of those alike."""
    of = sites(4, applications=texts("", "scada;voice", "voice", ""))
    of = replace(of, availability_pct=np.array([np.nan, np.nan, np.nan, 98.0]))
    alike = [
        {"name": "scada", "availability_pct": 99.9},
        {"name": "voice", "availability_pct": 99.9},
    ]
    found = target_sources(of, network(applications=alike))
    assert found.tolist() == [
        *("network file", "application scada", "application voice", "sites table")
    ]
