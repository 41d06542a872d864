"""What a carrier's MODCODs bring."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from pydantic import ValidationError

from siteplan.arrays import FloatArray
from siteplan.errors import NetworkError
from siteplan.model import Sites
from siteplan.network import Inbound, Network, Outbound
from siteplan.planning.coverage.cover import piece_at
from siteplan.planning.link import coding
from siteplan.planning.link.curve import BEYOND, CLEAR_FROM_PCT
from siteplan.planning.link.ends import carrier_plan
from siteplan.planning.link.outage import margin_db
from siteplan.planning.link.ways import Way
from siteplan.planning.link.whatif import DIRECTIONS, site_margins_db
from siteplan.planning.plan import make_plan
from siteplan.planning.setting import setting
from tests.planning.worked import Worked, work_out


def test_information_rate_by_hand() -> None:
    """Symbol rate x efficiency of the MODCOD (EN 302 307-1 table 13) x frame efficiency."""
    rate = coding.information_rate_kbit_s(Outbound(symbol_rate_msps=6, modcod="QPSK 3/4"))
    assert rate == pytest.approx(6000 * 1.487473 * 0.95, rel=1e-12)
    back = coding.information_rate_kbit_s(Inbound(symbol_rate_msps=0.256, frame_efficiency=0.7))
    assert back == pytest.approx(256 * 1504 / 1616 * 0.7, rel=1e-12)


def test_rate_of_a_threshold_in_place_of_a_modcod() -> None:
    """Bits that come with an Eb/N0 count; an Es/N0 alone does not say what a symbol carries."""
    given = Outbound(symbol_rate_msps=2, eb_n0_db=4, bits_per_symbol=1.5, frame_efficiency=1)
    assert coding.information_rate_kbit_s(given) == pytest.approx(3000, rel=1e-12)
    assert coding.information_rate_kbit_s(Outbound(es_n0_db=5)) is None
    assert coding.bits_per_symbol(Outbound(es_n0_db=5)) is None


def test_adaptive_changes_no_fixed_rate() -> None:
    both = [coding.information_rate_kbit_s(Outbound(adaptive=x)) for x in (False, True)]
    assert both[0] == both[1]


def names(carrier: Outbound | Inbound) -> list[str]:
    return [m.name for m in coding.usable("outbound", carrier)]


def test_all_of_the_waveform_but_those_that_another_betters() -> None:
    """DVB-S2 (EN 302 307-1 table 13) has six that need more and carry no more."""
    found = coding.usable("outbound", Outbound())
    dominated = {"QPSK 8/9", "8PSK 5/6", "8PSK 8/9", "8PSK 9/10", "16APSK 8/9", "16APSK 9/10"}
    everyone = {m.name for m in coding.modcods("DVB-S2")}
    assert everyone - {m.name for m in found} == dominated
    for low, high in itertools.pairwise(found):
        assert low.es_n0_db < high.es_n0_db
        assert low.efficiency < high.efficiency


def test_bursts_have_the_length_of_the_modcod() -> None:
    assert not any(name.endswith("short") for name in names(Inbound()))
    assert all(name.endswith("short") for name in names(Inbound(modcod="QPSK 1/2 short")))


def test_listed_modcods_however_they_are_spelled() -> None:
    some = Outbound(modcods=("8psk-2/3", "QPSK1/2", "qpsk 8/9"))
    assert names(some) == ["QPSK 1/2", "QPSK 8/9", "8PSK 2/3"]


def test_none_carries_more_than_the_greatest_allowed() -> None:
    assert names(Outbound(max_modcod="8PSK 3/5"))[-1] == "8PSK 3/5"
    assert names(Outbound(max_modcod="8PSK 3/5", modcods=("QPSK 1/2", "8PSK 2/3"))) == ["QPSK 1/2"]


@pytest.mark.parametrize(
    ("keys", "match"),
    [
        ({"modcods": ("QPSK 7/8",)}, r"no MODCOD 'QPSK 7/8'.*nearest.*\n?.*"),
        ({"max_modcod": "8PSK 1/9"}, r"max_modcod: DVB-S2 has no MODCOD '8PSK 1/9'"),
        ({"modcods": ("8PSK 2/3",), "max_modcod": "QPSK 1/2"}, "leaves none of modcods"),
    ],
)
def test_names_that_are_none(keys: dict[str, object], match: str) -> None:
    with pytest.raises(NetworkError, match=match):
        coding.check("outbound", Outbound.model_validate(keys))


@pytest.mark.parametrize(
    ("keys", "match"),
    [
        ({"adaptive": True, "es_n0_db": 5.0}, "es_n0_db names none: give waveform and modcod"),
        ({"adaptive": True, "eb_n0_db": 5.0, "bits_per_symbol": 1.5}, "eb_n0_db names none"),
        ({"modcods": ("QPSK 1/2", "QPSK 1/2")}, "names 'QPSK 1/2' twice"),
        ({"hysteresis_db": 3.1}, "less than or equal to 3"),
        ({"frame_efficiency": 0.29}, "greater than or equal to 0.3"),
    ],
)
def test_keys_that_do_not_fit(keys: dict[str, object], match: str) -> None:
    with pytest.raises(ValidationError, match=match):
        Outbound.model_validate(keys)


# --- over the year ----------------------------------------------------------------------------

#: Networks of which each asks the curve for something else.
NETWORKS: dict[str, dict[str, Any]] = {
    "usual": {},
    "no hub": {"hub": {"lat": None, "lon": None, "power_control_db": 0}},
    "half to the hub": {"rules": {"hub_outage_share": 0.5}},
    "wet dish": {"terminal": {"wet_loss_db": 3.0}},
    "inbound free": {"inbound": {"power_share": "free"}, "terminal": {"power_control_db": 0}},
}


def network(base: Network, **tables: dict[str, Any]) -> Network:
    """Return a network whose carriers are adaptive, with changes."""
    data = base.model_dump(exclude_unset=True)
    for name, keys in tables.items():
        data[name] = data.get(name, {}) | keys
    for way in DIRECTIONS:
        data[way] = {"adaptive": True} | data.get(way, {})
    return Network.model_validate(data)


def found(at: Worked) -> coding.Coding:
    """Return the step's results at sites, with the kit that they have."""
    margins = at.sizing.outbound_margin_db, at.sizing.inbound_margin_db
    return coding.coding(at.ways, margins, at.sizing.given["kit"])


def by_quadrature(way: Way, by: coding.Steps) -> tuple[FloatArray, FloatArray]:
    """Return mean rate and time without service by brute force over a dense grid of p.

    The margin is solved by the outage rule at 170 percentages at least, closest behind the total's
    step.
    """
    n = len(way.link)
    # Where a dish dries the margin jumps: so close that the jump is no wider than the tolerance.
    wet = way.link.network.terminal.wet_loss_db > 0
    knots = np.unique(
        np.concatenate([
            np.geomspace(1e-3, 5, 1200 if wet else 80),
            np.geomspace(BEYOND[0], 5.5, 40), np.geomspace(5.6, 50, 30),
            10 * np.geomspace(1 - 1e-9, 1.05, 20),  # the step where the hub has half of the outage
        ])
    )  # fmt: skip
    margins = np.array([margin_db(way, np.full(n, p)) for p in knots])
    edges = np.concatenate([[0.0], np.geomspace(1e-3, CLEAR_FROM_PCT, 60_000)])
    middle = np.sqrt(np.maximum(edges[:-1], 9e-4) * edges[1:])
    share = np.diff(edges)
    mean, none = np.empty(n), np.empty(n)
    for i in range(n):
        at_p = np.minimum(np.interp(np.log(middle), np.log(knots), margins[:, i]), way.clear_db[i])
        rate = coding.reached(by, at_p).kbit_s
        clear = coding.reached(by, way.clear_db[i : i + 1]).kbit_s[0]
        mean[i] = (rate @ share + clear * (100 - CLEAR_FROM_PCT)) / 100
        none[i] = share[rate == 0].sum() + (100 - CLEAR_FROM_PCT) * (clear == 0)
    return mean, none


@pytest.mark.parametrize("name", NETWORKS)
def test_mean_equals_a_dense_quadrature(tropical: Network, basin: Sites, name: str) -> None:
    """To 0.1 % of the rate and 1 % of the time without service, with the rule solved at each p.

    The grid smears the jump of a wet dish over one of its steps.
    """
    shared = setting(network(tropical, **NETWORKS[name]))
    at = work_out(basin, shared)
    got = found(at)
    rows = np.flatnonzero(at.sizing.given["kit"])[:12]
    for k, table in enumerate(DIRECTIONS):
        way = at.ways[k].take(rows)
        carrier = getattr(shared.network, table)
        need = getattr(at.link, f"{table}_required_db")
        by = coding.steps(table, carrier, need, getattr(at.link, table))
        mean, none = by_quadrature(way, by)
        np.testing.assert_allclose(getattr(got, f"{table}_mean_kbit_s")[rows], mean, rtol=1e-3)
        np.testing.assert_allclose(
            getattr(got, f"{table}_no_service_pct")[rows], none, rtol=1e-2, atol=1e-4
        )


def test_one_modcod_brings_its_rate_while_it_serves(tropical: Network, basin: Sites) -> None:
    """Adaptive with one MODCOD and no hysteresis: the fixed rate times the availability.

    To 0.003 % of the time: availability is solved on the curve itself, not on its lines.
    """
    one: dict[str, dict[str, Any]] = {
        "outbound": {"modcods": ["QPSK 3/4"], "hysteresis_db": 0},
        "inbound": {"modcods": ["QPSK 1/2"], "hysteresis_db": 0},
    }
    checked = network(tropical, **one)
    c = make_plan(basin, checked).columns
    served = ~np.isnan(c["outbound_mean_kbit_s"])
    assert served.sum() > 10
    for table in DIRECTIONS:
        rate = coding.information_rate_kbit_s(getattr(checked, table))
        share = c[f"{table}_mean_kbit_s"][served] / rate
        np.testing.assert_allclose(
            100 * share, c[f"{table}_availability_pct"][served], atol=3e-3, rtol=0
        )
        none = c[f"{table}_no_service_pct"][served]
        np.testing.assert_allclose(100 - none, 100 * share, atol=1e-9, rtol=0)
        assert set(c[f"{table}_clear_modcod"][served]) == {one[table]["modcods"][0]}


def test_mean_lies_between_the_target_while_served_and_clear_sky(
    tropical: Network, basin: Sites
) -> None:
    c = make_plan(basin, network(tropical)).columns
    held = 1 - (100 - c["availability_target_pct"]) / 100
    for table in DIRECTIONS:
        target, clear, mean = (c[f"{table}_{k}_kbit_s"] for k in ("target", "clear", "mean"))
        some = ~np.isnan(mean)
        assert some.sum() > 10
        assert (target <= clear)[some].all()
        assert (mean <= clear + 1e-9)[some].all()
        assert (mean >= target * held * (1 - 1e-4))[some].all()
    assert (c["outbound_mean_kbit_s"] > c["outbound_target_kbit_s"])[some].mean() > 0.9


def test_dominated_modcods_are_never_used(tropical: Network, basin: Sites) -> None:
    """In DVB-S2X with DVB-S2's: each of these needs more and carries no more than another."""
    dominated = {"QPSK 8/9", "8PSK 5/6", "8PSK 8/9", "8PSK 9/10", "16APSK 8/9", "16APSK 9/10",
                 "QPSK 9/10", "8PSK 3/4"}  # fmt: skip
    wide = network(tropical, outbound={"waveform": "DVB-S2X", "satellite_eirp_dbw": 52.0})
    usable = {m.name for m in coding.usable("outbound", wide.outbound)}
    assert not dominated & usable
    c = make_plan(basin, wide).columns
    used = set(c["outbound_target_modcod"]) | set(c["outbound_clear_modcod"])
    assert len(used) > 4
    assert used - {""} <= usable


def test_adaptive_moves_no_margin_and_no_kit(tropical: Network, basin: Sites) -> None:
    plain, more = (make_plan(basin, x).columns for x in (tropical, network(tropical)))
    assert not any(name.endswith(("_kbit_s", "_modcod")) for name in plain)
    for name, values in plain.items():
        np.testing.assert_array_equal(more[name], values, err_msg=name)


def test_adaptive_moves_no_coverage(tropical: Network) -> None:
    lat, lon = np.array([-3.1, 10.0, -30.0]), np.array([-60.0, -75.0, -52.0])
    plain, more = (piece_at(lat, lon, setting(x)) for x in (tropical, network(tropical)))
    assert plain.keys() == more.keys()
    for name, values in plain.items():
        np.testing.assert_array_equal(more[name], values, err_msg=name)


def test_a_direction_that_is_not_adaptive_has_no_column(tropical: Network, basin: Sites) -> None:
    c = make_plan(basin, network(tropical, inbound={"adaptive": False})).columns
    assert "outbound_mean_kbit_s" in c
    assert not any(name.startswith("inbound_") and "kbit" in name for name in c)


def test_known_margins_change_nothing(tropical: Network, basin: Sites) -> None:
    """What the what-if tables hold is what the curve works out itself."""
    at = work_out(basin, setting(network(tropical)))
    margins = at.sizing.outbound_margin_db, at.sizing.inbound_margin_db
    known = site_margins_db(at.ways)
    with_them = coding.coding(at.ways, margins, at.sizing.given["kit"], known)
    for name, values in found(at).columns().items():
        if values.dtype == object:
            np.testing.assert_array_equal(with_them.columns()[name], values, err_msg=name)
        else:
            np.testing.assert_allclose(with_them.columns()[name], values, rtol=1e-9, err_msg=name)


def test_a_need_a_site_is_a_need_of_all(tropical: Network, basin: Sites) -> None:
    """Needs and symbol rates may be arrays, one a site."""
    at = work_out(basin, setting(network(tropical)))
    n = len(basin)
    link = at.link
    each = coding.steps(
        "outbound", link.network.outbound, np.full(n, link.outbound_required_db),
        replace(link.outbound, symbol_rate_sps=np.full(n, link.outbound.symbol_rate_sps)),
    )  # fmt: skip
    alike = coding.steps(
        "outbound", link.network.outbound, link.outbound_required_db, link.outbound
    )
    margin = at.sizing.outbound_margin_db
    np.testing.assert_array_equal(
        coding.reached(each, margin).kbit_s, coding.reached(alike, margin).kbit_s
    )
    rows = np.flatnonzero(at.sizing.given["kit"])
    one, other = (
        coding.over_time(
            at.ways[0].take(rows),
            by._replace(
                levels_db=[np.broadcast_to(x, n)[rows] for x in by.levels_db],
                rates_kbit_s=[np.broadcast_to(x, n)[rows] for x in by.rates_kbit_s],
            ),
        )
        for by in (each, alike)
    )
    np.testing.assert_array_equal(one, other)


def test_where_not_even_the_most_robust_holds_there_is_no_rate() -> None:
    by = coding.Steps(("QPSK 1/4", "QPSK 1/2"), [-3.0, 1.0], [100.0, 200.0])
    at = coding.reached(by, np.array([-3.1, -3.0, 0.9, 1.0 - 1e-8, np.nan]))
    assert at.modcod.tolist() == [coding.NONE, "QPSK 1/4", "QPSK 1/4", "QPSK 1/2", ""]
    np.testing.assert_array_equal(at.kbit_s, [0, 100, 100, 200, np.nan])


def test_the_rate_alone_is_that_of_the_modcod_reached() -> None:
    by = coding.steps("outbound", Outbound(adaptive=True), 5.0, carrier_plan(Outbound()))
    at = [x for level in by.levels_db for x in (level - 1e-6, level - 4e-7, level, level + 1e-6)]
    margins = np.array([-99.0, np.nan, 99.0, *at], dtype=float)
    found = coding.reached_kbit_s(by, margins)
    np.testing.assert_array_equal(found, coding.reached(by, margins).kbit_s)
    some = by._replace(levels_db=[np.full(len(margins), level) for level in by.levels_db])
    np.testing.assert_array_equal(coding.reached_kbit_s(some, margins), found)


def test_modcods_for_linear_channels_are_told() -> None:
    """EN 302 307-2 table 20a marks them; its satellite channel asks up to 2.7 dB more (a copy)."""
    own = {"waveform": "DVB-S2X", "modcod": "8APSK 5/9-L"}
    for keys, told in (
        ({}, []),
        (own, ["outbound carrier may use MODCODs for linear channels (8APSK 5/9-L):"]),
        ({"waveform": "DVB-S2X", "adaptive": True}, [" more): near saturation"]),
        ({"waveform": "DVB-S2X", "adaptive": True, "modcods": ["QPSK 1/2"]}, []),
        ({"es_n0_db": 4.0}, []),
    ):
        checked = Network.model_validate({"satellite": {"longitude_deg": 0}, "outbound": keys})
        sentences = list(coding.cautions(checked))
        assert len(sentences) == len(told)
        assert all(part in text for part, text in zip(told, sentences, strict=True))
