"""What a crew must not misread of exposure: limits, losses, fences, roofs, silent rules."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from siteplan.arrays import FloatArray
from siteplan.messages import english
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.kit.catalogue import catalogue
from siteplan.planning.link.ends import Kit
from siteplan.planning.plan import make_plan
from siteplan.planning.site.exposure import (
    Exposure,
    exposures,
    given_loss_db,
    radiator,
    rules_in_force,
    told,
)
from siteplan.planning.step import text_field

NAN = float("nan")
DISTANCES = ("controlled_distance_m", "public_distance_m", "controlled_beside_m", "public_beside_m")


def network(**tables: Any) -> Network:
    return Network.model_validate({"satellite": {"longitude_deg": 0}, **tables})


def found(
    of: Network,
    power_w: Any,
    *,
    dish_m: Any = 1.2,
    efficiency: Any = 0.65,
    elevation_deg: Any = 30.0,
    rim_m: Any = 1.2,
) -> Exposure:
    """Return the exposure of BUCs of a rated power, numbers or arrays (n,)."""
    values = power_w, dish_m, efficiency, elevation_deg, rim_m
    power, dish, eta, elevation, rim = np.broadcast_arrays(*map(np.atleast_1d, values))
    kit = Kit(dish, power, np.array(["picked"] * len(dish)), dish, eta, dish * 0, power, dish * 0,
              np.zeros(len(dish), dtype=np.intp), dish * 0 + 30)  # fmt: skip
    stands = SimpleNamespace(rim_m=rim, at_roof_edge=np.zeros(len(rim), dtype=bool))
    return exposures(radiator(kit, elevation, stands, of), of)  # type: ignore[arg-type]


def basis(of: Exposure, rules: Network) -> str:
    """Return what the sheet says that the first site's figures rest on."""
    return str(text_field(told(of, rules), english(), len(of.rated_w))[0])


def test_an_assumed_loss_is_not_taken_off() -> None:
    """Both networks have 0.5 dB: where nobody gave it, the hazard stands at the rated power."""
    assumed, given = network(), network(terminal={"tx_loss_db": 0.5})
    assert assumed.terminal.tx_loss_db == given.terminal.tx_loss_db == 0.5
    assert (given_loss_db(assumed), given_loss_db(given)) == (0.0, 0.5)
    rated, relieved = found(assumed, 3.0), found(given, 3.0)
    np.testing.assert_allclose(rated.aperture_w_m2, 4 * 3 / (np.pi * 0.36), rtol=1e-12)
    np.testing.assert_allclose(relieved.aperture_w_m2, rated.aperture_w_m2 / 10**0.05, rtol=1e-12)
    assert "Rated power of 3 W at the antenna's flange, no loss taken off." in basis(rated, assumed)
    assert "Rated power of 3 W less the given 0.5 dB between BUC and feed." in basis(
        relieved, given
    )


def test_limit_not_reached_never_stands_beside_a_density_above_it() -> None:
    """3 W behind 1.2 m: 6.9 W/m2 in the near field, but 10.6 at the reflector, over 10."""
    one = found(network(), 3.0)
    assert one.near_field_w_m2[0] < 10 < one.aperture_w_m2[0]
    assert (one.public_distance_m[0], one.public_beside_m[0]) == (1.2, 1.2)
    assert (one.controlled_distance_m[0], one.controlled_beside_m[0]) == (0, 0)
    rng = np.random.default_rng(13)
    many = found(
        network(),
        10 ** rng.uniform(-1, 3, 4000),
        dish_m=rng.uniform(0.3, 5, 4000),
        efficiency=rng.uniform(0.11, 1, 4000),
    )
    densest = np.maximum(many.aperture_w_m2, many.near_field_w_m2)
    for limit, who in ((10, "public"), (50, "controlled")):
        for where in ("distance", "beside"):
            kept = getattr(many, f"{who}_{where}_m") == 0
            np.testing.assert_array_equal(kept, densest <= limit)
    assert 500 < np.count_nonzero(many.public_distance_m == 0) < 3500


def test_a_fence_is_never_nearer_than_what_is_kept_beside_the_beam() -> None:
    """A steep beam is over head height after 0.9 m; beside a 1.2 m dish people keep 1.2 m."""
    steep = found(network(), 40.0, elevation_deg=np.degrees(np.arctan(1.3 / 0.9)))
    assert steep.reachable[0]
    np.testing.assert_allclose(steep.beam_over_head_m, 0.9, rtol=1e-9)
    assert steep.fence_m[0] == steep.public_beside_m[0] == 1.2
    flat = found(network(), 40.0, elevation_deg=10.0)
    np.testing.assert_allclose(flat.fence_m, 1.3 / np.tan(np.radians(10)), rtol=1e-12)
    rng = np.random.default_rng(14)
    many = found(network(), 10 ** rng.uniform(0, 3.3, 2000), dish_m=rng.uniform(0.3, 5, 2000),
                 elevation_deg=rng.uniform(1, 85, 2000), rim_m=rng.uniform(0, 3, 2000))  # fmt: skip
    fenced = ~np.isnan(many.fence_m)
    np.testing.assert_array_equal(fenced, many.reachable)
    assert (many.fence_m[fenced] >= many.public_beside_m[fenced]).all()
    assert (many.public_distance_m >= many.public_beside_m).all()
    assert (many.controlled_distance_m >= many.controlled_beside_m).all()


@pytest.mark.parametrize(
    ("elevation_deg", "rim_m", "power_w", "warned"),
    [
        (80.0, 1.2, 40.0, False),  # over head height after 0.2 m
        (70.0, 1.2, 40.0, False),  # after 0.5 m
        (45.0, 1.2, 40.0, True),  # after 1.3 m
        (30.0, 2.4, 40.0, False),  # after 0.2 m
        (30.0, 1.2, 2.0, False),  # nowhere above the limit
        (30.0, 0.3, 40.0, True),
    ],
)
def test_a_warning_only_where_somebody_can_stand_in_the_beam_beyond_arm_s_reach(
    elevation_deg: float, rim_m: float, power_w: float, warned: bool
) -> None:
    one = found(network(), power_w, elevation_deg=elevation_deg, rim_m=rim_m)
    assert one.reachable[0] == warned
    assert np.isnan(one.fence_m[0]) == (not warned)


def at_the_wall(roof_height_m: float, structure: str = "wall") -> Any:
    """Return the plan of a bracket that looks where its wall does, 40 W, 30 degrees up."""
    sites = replace(
        Sites.at(np.array([52.0]), np.array([0.0]), structure=np.array([structure], dtype=object)),
        wall_facing_deg=np.array([180.0]),
        roof_height_m=np.array([roof_height_m]),
    )
    return make_plan(sites, network(antennas=[{"diameter_m": 1.2}], bucs=[{"rated_w": 40}]))


def test_people_on_the_roof_count_for_a_bracket_at_its_edge() -> None:
    """At 12 m nobody on the ground reaches it; whoever stands on the roof does."""
    edge, wall = at_the_wall(12.0).columns, at_the_wall(NAN).columns
    assert edge["mount"][0] == wall["mount"][0] == "wall"
    assert edge["beam_edge_m"][0] == pytest.approx(-0.6, abs=1e-12)
    rise = np.tan(np.radians(edge["elevation_deg"][0]))
    assert edge["beam_over_head_m"][0] == pytest.approx(3.1 / rise, rel=1e-12)
    assert "beam_reachable" in edge["flags"][0].split(";")
    assert "People on the roof can reach the beam" in edge["flag_notes"][0]
    # A bracket 3 m up the wall: its rim is 2.4 m above those on the ground.
    assert wall["beam_edge_m"][0] == pytest.approx(2.4, abs=1e-12)
    assert "beam_reachable" not in wall["flags"][0].split(";")


@pytest.mark.parametrize(
    ("wanted", "ghz", "rules", "says"),
    [
        ("both", 14.25, 3, "Limits at 14.25 GHz: 10 W/m2 for the public, 50 W/m2"),
        ("both", 1.8, 1, "ICNIRP 2020 says nothing at 1.8 GHz: 47 CFR 1.1310 stands alone"),
        ("ICNIRP 2020", 1.8, 1, "47 CFR 1.1310 stands alone"),
        ("47 CFR 1.1310", 1.8, 1, "Limits at 1.8 GHz: 10 W/m2"),
        ("both", 1.2, 0, "No rule known here says anything at 1.2 GHz"),
    ],
)
def test_outside_a_rule_s_range_the_other_stands_alone_and_the_sheet_says_so(
    wanted: str, ghz: float, rules: int, says: str
) -> None:
    """47 CFR 1.1310 is known from 1.5 GHz, ICNIRP 2020 from 2 GHz."""
    rule_book = network(site={"exposure_limits": wanted}, inbound={"uplink_ghz": ghz})
    one = found(rule_book, 200.0)
    assert len(rules_in_force(rule_book)) == rules
    assert says in basis(one, rule_book)
    assert ("stands alone" in basis(one, rule_book)) == ("stands alone" in says)
    for name in DISTANCES:
        assert np.isnan(getattr(one, name)[0]) == (rules == 0)
    assert (one.exposure_rule[0] == "") == (rules == 0)
    # Without a limit the beam is not taken to keep it.
    assert one.reachable[0]
    assert one.fence_m[0] > 0


def test_one_rule_alone_asks_for_what_it_asked_for_beside_the_other() -> None:
    """At 1.8 GHz both rules are no longer blank: they are what 47 CFR 1.1310 says."""
    both, one = (
        found(network(site={"exposure_limits": w}, inbound={"uplink_ghz": 1.8}), 100.0, dish_m=2.4)
        for w in ("both", "47 CFR 1.1310")
    )
    for name in DISTANCES:
        assert getattr(both, name)[0] == getattr(one, name)[0] > 0


def longest_first(of: Exposure) -> FloatArray:
    """Return every distance of sites (n, k) that the power, the loss or the gain sets."""
    names = (*DISTANCES, "near_field_end_m", "far_field_start_m", "beam_over_head_m", "fence_m")
    return np.stack([np.nan_to_num(getattr(of, name)) for name in names], axis=1)


def test_more_power_less_loss_or_more_gain_never_shortens_a_distance() -> None:
    """10,000 random cases, each made worse in one way: more power, less loss, more gain."""
    rng = np.random.default_rng(20261125)
    step, count = rng.permuted(np.repeat([0, 1, 2], [3334, 3333, 3333])), 0
    for block in np.array_split(np.arange(10_000), 100):
        ghz, loss = rng.choice([1.2, 1.8, 5.9, 6.0, 14.25, 30.0]), rng.uniform(0, 6)
        less = loss * rng.choice([0.0, 1 - 1e-9, rng.uniform()])
        n, how = len(block), step[block]
        more = rng.choice([1 + 1e-9, 1.001, 1.2, 10.0], n)
        case = {
            "dish_m": rng.uniform(0.25, 6, n),
            "elevation_deg": rng.uniform(0.2, 89, n),
            "rim_m": rng.uniform(-1, 4, n),
        }
        power, eta = 10 ** rng.uniform(-1, 3.3, n), rng.uniform(0.1, 1, n)
        rules = rng.choice(["both", "47 CFR 1.1310", "ICNIRP 2020"])
        before, lossless = (
            network(
                site={"exposure_limits": rules},
                inbound={"uplink_ghz": ghz},
                terminal={"tx_loss_db": db},
            )
            for db in (loss, less)
        )
        base = found(before, power, efficiency=eta, **case)
        for k, (rule_book, watts, gain) in enumerate(
            (
                (before, power * more, eta),
                (lossless, power, eta),
                (before, power, np.minimum(eta * more, 1.0)),
            )
        ):
            worse = found(rule_book, watts, efficiency=gain, **case)
            here = how == k
            count += int(here.sum())
            assert (longest_first(worse)[here] >= longest_first(base)[here]).all()
            assert (worse.reachable[here] >= base.reachable[here]).all()
    assert count == 10_000


def test_a_loss_that_nobody_gave_is_the_worst_case() -> None:
    """Nothing given is nothing taken off: no given loss makes any distance longer."""
    rng = np.random.default_rng(5)
    power = 10 ** rng.uniform(-1, 3, 300)
    bare = longest_first(found(network(), power))
    for loss in (0.0, 0.1, 3.0):
        given = found(network(terminal={"tx_loss_db": loss}), power)
        assert (longest_first(given) <= bare).all()


def with_gain(gain_dbi: float, ghz: float = 14.25) -> Network:
    antenna = {"diameter_m": 1.2, "gain_dbi": gain_dbi, "gain_ghz": ghz}
    return network(antennas=[antenna], bucs=[{"rated_w": 40}])


def planned(of: Network) -> Any:
    return make_plan(Sites.at(np.array([45.0]), np.array([3.0])), of).columns


def test_the_maker_s_gain_rules_link_and_exposure() -> None:
    """Gain up 1 dB: EIRP up 1 dB, G/T up 1 dB, density and far distance with it.

    100 dB below nothing else changes: clear-sky levels leave out the averaging of scintillation.
    """
    free = {"inbound": {"power_share": "free"}}
    low, high = (
        planned(Network.model_validate(with_gain(g).model_dump(exclude_unset=True) | free))
        for g in (42.0, 43.0)
    )
    for name in ("remote_eirp_dbw", "remote_g_t_db_k"):
        assert high[name][0] - low[name][0] == pytest.approx(1.0, abs=1e-9)
    assert high["remote_eirp_dbw"][0] == pytest.approx(
        10 * np.log10(40) - 1 + 43.0 - 0.5 - 0.3, abs=1e-9
    )
    ratio = 10**0.1
    assert high["near_field_w_m2"][0] == pytest.approx(low["near_field_w_m2"][0] * ratio, rel=1e-9)
    assert high["aperture_w_m2"][0] == low["aperture_w_m2"][0]
    # 10 W/m2 lie in the far field of 40 W: sqrt(P G / 4 pi S).
    by_hand = np.sqrt(40 * 10**4.3 / (4 * np.pi * 10))
    assert high["public_distance_m"][0] == pytest.approx(by_hand, rel=1e-9)


def test_the_maker_s_gain_goes_by_20_log_of_the_frequency() -> None:
    """41.5 dBi told at 11.7 GHz: at 14.25 GHz 20 log(14.25 / 11.7) = 1.712 dB more."""
    told_low = planned(with_gain(41.5, 11.7))
    told_high = planned(with_gain(41.5 + 20 * np.log10(14.25 / 11.7)))
    for name in ("remote_eirp_dbw", "remote_g_t_db_k", "public_distance_m", "margin_db"):
        assert told_low[name][0] == pytest.approx(told_high[name][0], rel=1e-9)


def test_the_gain_of_an_efficiency_is_the_plan_of_that_efficiency() -> None:
    """0.65 (pi D / lambda)^2 at 14.25 GHz: 43.196 dBi (43.20 in FCC SES-LIC-20180501-00417)."""
    gain = 10 * np.log10(0.65 * (np.pi * 1.2 * 14.25 / 0.299792458) ** 2)
    assert gain == pytest.approx(43.196, abs=1e-3)
    of = with_gain(float(gain))
    np.testing.assert_allclose(catalogue(of).efficiency, 0.65, rtol=1e-12)
    plain = planned(network(antennas=[{"diameter_m": 1.2}], bucs=[{"rated_w": 40}]))
    surer = {"margin_spread_db", "margin_confidence_pct"}  # for the gain is given, not assumed
    for name, values in planned(of).items():
        if values.dtype == float and name not in surer:
            np.testing.assert_allclose(values, plain[name], rtol=1e-8, err_msg=name)
