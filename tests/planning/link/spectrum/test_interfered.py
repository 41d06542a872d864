"""What a plan tells of interference: fields, blanks, flags; coverage, parts and files of gains."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.coverage.cover import piece_at
from siteplan.planning.plan import make_plan
from siteplan.planning.setting import setting
from tests.planning.link.spectrum.given import ALL_ON, all_on, network
from tests.planning.worked import work_out

RNG = np.random.default_rng(3)
LAT, LON = RNG.uniform(-30, 30, 40), RNG.uniform(-100, -25, 40)


def columns(checked: Network, **known: Any) -> Any:
    return make_plan(Sites.at(LAT, LON, **known), checked).columns


def inverse(*ratios_db: Any) -> Any:
    return -10 * np.log10(sum(10 ** (-np.asarray(r) / 10) for r in ratios_db))


def test_all_of_it_is_the_sum_of_its_parts() -> None:
    """The network's C/I of 20 dB, neighbours, and the other polarization; dishes of 30 dB."""
    c = columns(all_on())
    across = {"outbound": inverse(30, 30) + 2.0, "inbound": inverse(30, 35) - 1.0}
    for way, alone in across.items():
        given = ~np.isnan(c[f"{way}_ci_db"])
        assert given.sum() > 20
        found, near = (c[f"{way}_ci{x}_db"][given] for x in ("_cross_polar", "_adjacent"))
        np.testing.assert_allclose(found, alone, rtol=0, atol=1e-9)
        expected = inverse(20.0, near, found)
        np.testing.assert_allclose(c[f"{way}_ci_db"][given], expected, rtol=0, atol=1e-9)


@pytest.mark.parametrize("eirp", [44.0, 50.0, 56.0])
def test_interference_limited_where_it_passes_the_noise(eirp: float) -> None:
    """The own noise: Es/N0 at the target with no interference at all, from a plan without."""
    checked = all_on(outbound={"satellite_eirp_dbw": eirp, "cross_polar_level_db": -2.0},
                     rules={"hub_outage_share": 0.0})  # fmt: skip
    sites = Sites.at(LAT, LON)
    plan = make_plan(sites, checked)
    c = plan.columns
    done = work_out(sites, setting(checked))
    base = checked.model_dump(exclude_unset=True)
    for key in ("neighbours",):
        base.pop(key)
    for way in ("outbound", "inbound"):
        base[way] = {k: v for k, v in base[way].items() if k != "cross_polar_level_db"}
        base[way]["ci_db"] = 60.0
    kit = {"fixed_antenna_m": c["antenna_m"], "fixed_buc_w": c["buc_w"]}
    given = ~np.isnan(c["antenna_m"])
    alone = make_plan(
        Sites.at(LAT[given], LON[given], **{k: v[given] for k, v in kit.items()}),
        Network.model_validate(base),
    ).columns
    # Outbound at the target, the sites faded; inbound C and I fall alike, so that clear sky does.
    own_out = alone["outbound_margin_db"] + done.link.outbound_required_db
    own_out = -10 * np.log10(10 ** (-own_out / 10) - 10**-6.0)
    own_in = -10 * np.log10(10 ** (-alone["inbound_clear_es_n0_db"] / 10) - 10**-6.0)
    way = done.ways[0]
    p = 100 - c["availability_target_pct"]
    rained = np.asarray(way.rained_ci_db(way.sky(p), p))[given]
    expected = (rained < own_out) | (c["inbound_ci_db"][given] < own_in)
    flagged = np.array(["interference_limited" in f.split(";") for f in c["flags"][given]])
    np.testing.assert_array_equal(flagged, expected)
    if eirp == 56.0:
        assert flagged.any()


def test_neighbours_near_the_main_lobe() -> None:
    """Nearer than 100 wavelengths over the diameter, at the receiving frequency."""
    c = columns(all_on(), fixed_antenna_m=np.where(np.arange(40) % 2, 1.2, 0.9),
                fixed_buc_w=np.full(40, 3.0))  # fmt: skip
    first = 100 * 299_792_458 / 11.95e9 / c["antenna_m"]
    near = c["neighbour_separation_deg"] < first
    flagged = np.array(["neighbours_near" in f.split(";") for f in c["flags"]])
    np.testing.assert_array_equal(flagged, near)
    assert 0 < near.sum() < len(near)


def test_what_is_not_known_is_blank_and_told() -> None:
    """No hub: nothing of the neighbours there; a neighbour below the horizon counts nothing."""
    alone = make_plan(
        Sites.at(LAT, LON),
        network(hub={"lat": None, "lon": None}, neighbours=[{"longitude_deg": -63.0}]),
    )
    assert "inbound_ci_adjacent_db" not in alone.columns
    assert any("hub is not placed" in caution for caution in alone.facts.cautions)
    hidden = columns(network(neighbours=[{"longitude_deg": 110.0}]))
    bare = columns(network())
    for name in ("neighbour_separation_deg", "outbound_ci_adjacent_db"):
        assert np.isnan(hidden[name]).all()
    np.testing.assert_array_equal(hidden["margin_db"], bare["margin_db"])
    assert "outbound_ci_db" not in bare


def test_coverage_asks_for_the_antenna_of_a_plan() -> None:
    """At the same points, with the middle antenna and the largest BUC installed."""
    checked = all_on()
    sizes = sorted(a.diameter_m for a in checked.antennas)
    known = {"fixed_antenna_m": np.full(40, sizes[len(sizes) // 2]),
             "fixed_buc_w": np.full(40, max(b.rated_w for b in checked.bucs))}  # fmt: skip
    c = columns(checked, **known)
    here = piece_at(LAT, LON, setting(checked))["required_antenna_m"]
    shown = c["elevation_deg"] >= 10
    np.testing.assert_allclose(here[shown], c["required_antenna_m"][shown], rtol=1e-9)
    assert (np.abs(here - columns(network(), **known)["required_antenna_m"])[shown] > 0.01).any()


def test_a_plan_of_some_sites_has_the_wholes_rows() -> None:
    whole, at = make_plan(Sites.at(LAT, LON), all_on()), np.arange(3, 40, 5)
    part = make_plan(Sites.at(LAT, LON).take(at), all_on())
    for name, values in part.columns.items():
        if values.dtype.kind == "f" and name != "source_row":
            expected = whole.columns[name][at]
            np.testing.assert_allclose(values, expected, rtol=1e-9, err_msg=name)


GAINS = {"angle_deg": [0.0, 1.0, 3.0, 180.0], "rx_gain_dbi": [41.0, 25.0, 12.0, -10.0],
         "tx_gain_dbi": None}  # fmt: skip


def test_a_measured_pattern_counts_on_its_own_side_and_at_its_own_size() -> None:
    """`required_antenna_m` goes by S.580 in its place."""

    def planned(**antenna: Any) -> Any:
        dish = {"diameter_m": 1.2} | antenna
        checked = all_on(antennas=[dish], bucs=[{"rated_w": 8}])
        return columns(checked, fixed_antenna_m=np.full(40, 1.2), fixed_buc_w=np.full(40, 8.0))

    file = {"pattern": "file", "pattern_file": "gains.csv", "pattern_gains": GAINS}
    measured, s580, s465 = planned(**file), planned(pattern="s580"), planned(pattern="s465")
    seen = ~np.isnan(s580["outbound_ci_db"])
    off = measured["outbound_ci_adjacent_db"] - s580["outbound_ci_adjacent_db"]
    assert (np.abs(off[seen]) > 0.5).all()
    np.testing.assert_allclose(
        measured["required_antenna_m"], s580["required_antenna_m"], rtol=1e-6
    )
    assert (s465["required_antenna_m"] != s580["required_antenna_m"])[seen].any()
    sending = GAINS | {"rx_gain_dbi": None, "tx_gain_dbi": GAINS["rx_gain_dbi"]}
    blank = planned(**(file | {"pattern_gains": sending}))
    np.testing.assert_array_equal(blank["outbound_ci_db"], s580["outbound_ci_db"])


def test_every_key_of_the_tests_is_on() -> None:
    assert set(ALL_ON) == {"neighbours", "outbound", "inbound", "terminal"}
