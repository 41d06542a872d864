"""Sites that get no pair: no figure, flag or table of kit, but what was tried, headed by its pair.

The same sites are planned with two catalogues of which nothing fits anywhere: what the second one
changes at a site is of a pair, and must be blank there or headed by it.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from siteplan.fields import FIELDS, FLAGS
from siteplan.model import Obstructions, Sites, Surroundings
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.planning.report.summary import summarize
from siteplan.results import Plan
from tests.planning.others import with_faint
from tests.priced import with_costs

NAN = float("nan")
STRUCTURES = ("ground", "flat_roof", "pitched_roof", "wall", "")
N = 40
#: Sites with a pair, with a dish alone, and with a BUC alone; the others have nothing.
PAIR, DISH, BUC = np.arange(0, 6), np.arange(6, 10), np.arange(10, 14)
SMALL = ([0.6], [0.5])
LARGE = ([0.6, 0.75, 3.7], [0.5, 1.0])
#: Fields whose text names the pair that was tried.
NAMES_IT = {"no_fit_reason", "flag_notes"}
#: Tables of what was tried, and the flat ones of transits.
OF_MARGINS = (
    *("whatif_", "budget_", "pair_margin_"),
    *("sun_site", "sun_start", "sun_peak", "sun_end", "sun_depth"),
)


def blank(values: Any) -> Any:
    return values == "" if values.dtype == object else np.isnan(values.astype(float))


def sites() -> Sites:
    """Rainy places, one below the horizon, one too low; some with kit that does not do."""
    rng = np.random.default_rng(5)
    lat, lon = rng.uniform(-8, 8, N), rng.uniform(-75, -48, N)
    lat[20:22], lon[20:22] = (10.0, 0.0), (120.0, 17.0)
    kinds = np.resize(np.array(STRUCTURES, dtype=object), N)
    dish, buc = np.full(N, NAN), np.full(N, NAN)
    dish[PAIR], buc[PAIR], dish[DISH], buc[BUC] = 1.2, 1.0, 1.2, 1.0
    return replace(
        Sites.at(lat, lon, structure=kinds),
        wall_facing_deg=np.where(kinds == "wall", 90.0, NAN),
        fixed_antenna_m=dish,
        fixed_buc_w=buc,
        cable_m=np.where(np.arange(N) % 3, 40.0, 900.0),
    )


def around(at: Sites) -> Surroundings:
    """Something stands all around every other site: by angle, or by height and distance."""
    rows = np.arange(0, N, 2)
    high = np.where(rows % 4 == 0, 12.0, NAN)
    height, distance = (np.where(rows % 4 == 0, NAN, x) for x in (9.0, 30.0))
    return Surroundings(
        Obstructions(
            at.site_id[rows],
            *(np.full(len(rows), x) for x in (0.0, 359.0)),
            high, height, distance, np.zeros(len(rows)),
            np.full(len(rows), "wall", dtype=object),
            source_row=rows + 2,
        )
    )  # fmt: skip


def planned(catalogue: tuple[list[float], list[float]]) -> Plan:
    there = sites()
    network = Network.model_validate(
        with_faint({
            "network": {"date": "2026-06-01", "availability_pct": 99.615},  # 99.9 of a year
            "satellite": {"longitude_deg": -61.0, "neighbours_deg": [-64.0]},
            "outbound": {"satellite_eirp_dbw": 38.0},
            "antennas": [{"diameter_m": d, "offset_angle_deg": 10 * d} for d in catalogue[0]],
            "bucs": [{"rated_w": w} for w in catalogue[1]],
            "site": {"exposure_limits": "both"},
        })
    )  # fmt: skip
    return make_plan(there, with_costs(network), around=around(there), with_tables=True)


@pytest.fixture(scope="module")
def small() -> Plan:
    return planned(SMALL)


@pytest.fixture(scope="module")
def large() -> Plan:
    return planned(LARGE)


def without(plan: Plan, rests_on: str) -> Any:
    """Return where what a field rests on is not given to the site (n,)."""
    dish, buc = np.ones(N, dtype=bool), np.ones(N, dtype=bool)
    dish[[*PAIR, *DISH]], buc[[*PAIR, *BUC]] = False, False
    return {"dish": dish, "buc": buc, "kit": dish | buc}.get(rests_on, np.zeros(N, dtype=bool))


def of_place(codes: str) -> str:
    """Return a site's flags without those of what was tried, whose sentences name the pair."""
    return ";".join(code for code in codes.split(";") if FLAGS[code].rests_on != "tried")


def test_the_catalogues_fit_nowhere_and_try_unlike_pairs(small: Plan, large: Plan) -> None:
    for plan in (small, large):
        assert blank(plan.columns["antenna_m"]).tolist() == without(plan, "dish").tolist()
        assert blank(plan.columns["buc_w"]).tolist() == without(plan, "buc").tolist()
    bare = without(small, "dish") & without(small, "buc")
    tried = (plan.columns["tried_antenna_m"][bare] for plan in (small, large))
    here, there = tried
    assert (here != there)[~np.isnan(here)].all()


@pytest.mark.parametrize("name", list(FIELDS))
def test_kit_that_nobody_will_install_has_no_figure(small: Plan, name: str) -> None:
    """No hazard, cable, C/N, rim, load or mount of a pair that the site does not get."""
    values, field = small.columns[name], FIELDS[name]
    assert blank(values)[without(small, field.rests_on)].all()


@pytest.mark.parametrize("name", list(FIELDS))
def test_what_a_site_without_kit_shows_does_not_hang_on_what_was_tried(
    small: Plan, large: Plan, name: str
) -> None:
    """But margins and the like, which stand beside the pair that they hold for."""
    bare = without(small, "dish") & without(small, "buc")
    here, there = (plan.columns[name][bare] for plan in (small, large))
    if name == "flags":
        here, there = (np.array([of_place(x) for x in codes]) for codes in (here, there))
    if FIELDS[name].rests_on == "tried" or name in NAMES_IT:
        return
    np.testing.assert_array_equal(here, there)


def test_a_site_without_kit_has_no_class_of_margin_and_counts_say_the_same(small: Plan) -> None:
    bare, known = without(small, "kit"), ~np.isnan(small.columns["margin_db"])
    classes = small.columns["margin_class"]
    assert set(classes[bare & known].tolist()) == {"no kit"}
    assert not np.isin(classes[~bare], ["no kit", ""]).any()
    counted = summarize(small)["counts"]["margin_class"]
    told = Counter(x or "no margin" for x in classes.tolist())
    assert told == Counter({name: count for name, count in counted.items() if count})


def test_tables_of_a_site_without_kit_do_not_hang_on_what_was_tried(
    small: Plan, large: Plan
) -> None:
    bare = without(small, "dish") & without(small, "buc")
    for name, values in small.tables.items():
        if not name.startswith(OF_MARGINS) and len(values) == N:
            np.testing.assert_array_equal(values[bare], large.tables[name][bare], err_msg=name)
    assert np.isnan(small.tables["stand_off_m"][bare]).all()
    assert not np.isnan(small.tables["horizon_deg"][bare]).all()


def test_no_transit_of_the_sun_is_told_of_kit_that_nobody_will_install(small: Plan) -> None:
    assert set(small.tables["sun_site"].tolist()) == set(PAIR.tolist())


def test_margins_stand_beside_the_pair_that_they_hold_for(small: Plan, large: Plan) -> None:
    for plan, (dishes, bucs) in ((small, SMALL), (large, LARGE)):
        c = plan.columns
        for name in ("tried_antenna_m", "tried_buc_w"):
            np.testing.assert_array_equal(blank(c[name]), blank(c["margin_db"]))
        bare = without(plan, "dish") & without(plan, "buc") & ~blank(c["margin_db"])
        assert set(c["tried_antenna_m"][bare]) <= set(dishes)
        assert set(c["tried_buc_w"][bare]) <= set(bucs)
        np.testing.assert_array_equal(c["tried_antenna_m"][PAIR], c["antenna_m"][PAIR])
        np.testing.assert_array_equal(c["tried_buc_w"][PAIR], c["buc_w"][PAIR])


def test_flags_of_kit_are_not_raised_without_it(small: Plan) -> None:
    raised = [text.split(";") for text in small.columns["flags"].tolist()]
    for flag in FLAGS.values():
        gone = without(small, flag.rests_on)
        assert not any(flag.code in raised[i] for i in np.flatnonzero(gone)), flag.code
    # The trap: a cable of 900 m, and beams that people reach, at sites that get none.
    of_pair = {code for i in PAIR for code in raised[i]}
    assert {"cable_none", "margin_negative"} <= of_pair


def test_installed_kit_that_misses_the_target_keeps_every_figure(small: Plan) -> None:
    """It radiates: hazard, cable, C/N, rim and load as for any other dish."""
    alone = {
        *("ballast_kg", "ballast_governs", "frame_base_m", "roof_load_pa", "parapet_distance_m"),
        *("pole_embedment_m", "wall_pull_n", "wall_shear_n", "overturning_nm", "mount_options"),
        *("cable_class", "cable_advice", "buc_voltage_v", "buc_current_a", "power_cut_by"),
        *("near_miss", "mount_question", "fence_m"),
        "service_availability_pct",  # the weather alone leaves it under half of the time
    }
    assert (small.columns["margin_db"][PAIR] < 0).all()
    for name, field in FIELDS.items():
        if field.rests_on in ("dish", "buc", "kit") and name not in alone:
            assert not blank(small.columns[name])[PAIR].any(), name


@pytest.mark.parametrize(
    ("over_deg", "bare", "dish"),
    [(1.0, "blocked", "blocked"), (-0.5, "", "blocked"), (-2.0, "", "sky_tight")],
)
def test_a_hidden_satellite_is_told_without_a_dish_and_a_tight_beam_is_not(
    over_deg: float, bare: str, dish: str
) -> None:
    """What stands in the line to the satellite itself is of the place; the beam is of a dish."""
    there = Sites.at(np.array([0.5, 0.5]), np.array([-48.0, -48.0]))
    there = replace(there, fixed_antenna_m=np.array([NAN, 1.2]), fixed_buc_w=np.array([NAN, 1.0]))
    network = Network.model_validate(
        {
            "satellite": {"longitude_deg": -61.0},
            "outbound": {"satellite_eirp_dbw": 30.0},
            "antennas": [{"diameter_m": 1.2}],
            "bucs": [{"rated_w": 1}],
        }
    )
    top = make_plan(there, network).columns["elevation_deg"] + over_deg
    nothing = np.full(2, NAN)
    walls = Obstructions(
        there.site_id, np.zeros(2), np.full(2, 359.0), top, nothing, nothing, np.zeros(2),
        np.full(2, "wall", dtype=object), source_row=np.arange(2) + 2,
    )  # fmt: skip
    plan = make_plan(there, network, around=Surroundings(walls))
    for i, code in enumerate((bare, dish)):
        found = {"blocked", "sky_tight"} & set(plan.columns["flags"][i].split(";"))
        assert found == ({code} if code else set())
        hidden = "hides the satellite itself" in plan.columns["flag_notes"][i]
        assert hidden == (code == "blocked" and i == 0)
