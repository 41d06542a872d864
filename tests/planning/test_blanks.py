"""Every blank number has its reason: a field is blank where that holds, and nowhere else."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from siteplan.fields import FIELDS
from siteplan.model import Obstructions, Sites, Surroundings
from siteplan.network import Network
from siteplan.physics.radio.cable import core_resistance_ohm_km
from siteplan.planning.plan import make_plan
from siteplan.results import Plan
from tests.planning.others import with_faint
from tests.priced import with_costs

NAN = np.nan
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Case:
    """A plan of unlike sites, and what was given for them."""

    sites: Sites
    surveyed: Mask
    plan: Plan

    def __getitem__(self, name: str) -> NDArray[Any]:
        return self.plan.columns[name]

    @property
    def largest_w(self) -> float:
        """The BUC that is tried where none is given."""
        return max(b.rated_w for b in self.plan.network.bucs)

    def flagged(self, code: str) -> Mask:
        return np.array([code in flags.split(";") for flags in self["flags"]])

    def on(self, *mounts: str) -> Mask:
        return np.isin(self["mount"].astype(str), mounts)


def planned(target_pct: float, date: str = "2026-06-01", **tables: Any) -> Case:
    """Plan 48 places from far out of sight to under the satellite, each structure, some given."""
    rng = np.random.default_rng(21)
    n = 48
    lat, lon = rng.uniform(-55, 60, n), rng.uniform(-110, -10, n)
    lat[:5], lon[:5] = (50.0, 0.0, -1.0, 72.0, 10.0), (90.0, -61.0, -60.5, -50.0, 120.0)
    lat[5:7], lon[5:7] = (-30.0, 20.0), (100.0, 130.0)
    kinds = np.array(["ground", "flat_roof", "wall", "pitched_roof", ""], dtype=object)

    def some(value: float, every: int) -> NDArray[np.float64]:
        return np.where(np.arange(n) % every == 0, value, NAN)

    sites = replace(
        Sites.at(lat, lon, structure=np.resize(kinds, n)),
        # Walls look at the satellite, past it, or nobody says where.
        wall_facing_deg=np.where(np.arange(n) % 2, np.where(lat > 0, 180.0, 0.0), NAN),
        roof_height_m=some(7.0, 3),
        cable_m=np.where(np.arange(n) == 7, 900.0, some(40.0, 4)),
        wind_m_s=some(25.0, 5),
        # Small dishes on walls: a bracket carries no larger ones.
        fixed_antenna_m=np.where(np.isin(np.arange(n), (17, 27, 37, 47)), 1.2, some(1.8, 6)),
        fixed_buc_w=some(2.0, 7),
        fixed_efficiency=some(0.6, 6),
        fixed_buc_backoff_db=some(1.5, 7),
    )
    rows = np.arange(0, n, 9)
    nothing = np.full(len(rows), NAN)
    around = Surroundings(
        Obstructions(
            sites.site_id[rows],
            *(np.full(len(rows), x) for x in (0.0, 90.0, 12.0)),
            *(nothing, nothing, np.zeros(len(rows))),
            np.full(len(rows), "wall", dtype=object),
            source_row=rows + 2,
        )
    )
    network = Network.model_validate(
        with_faint({
            "network": {"date": date, "availability_pct": target_pct},
            "satellite": {"longitude_deg": -61.0},
            "hub": {"lat": -15.8, "lon": -47.9},
            "site": {"clearance_deg": 1.0},
            **tables,
        })
    )  # fmt: skip
    plan = make_plan(sites, with_costs(network), around=around)
    return Case(sites, np.isin(np.arange(n), rows), plan)


#: A BUC that passes the limits of exposure with any dish of the catalogue.
STRONG = [{"rated_w": 16.0}]
#: A MODCOD that needs 26 dB with its modem: few sites hold it.
DENSE = {"waveform": "DVB-S2X", "modcod": "256APSK 3/4", "implementation_loss_db": 6.43}


@pytest.fixture(scope="module", params=["usual", "strict", "weak", "strong"])
def case(request: pytest.FixtureRequest) -> Case:
    if request.param == "usual":
        return planned(99.5)
    if request.param == "strict":
        return planned(99.97)
    if request.param == "strong":
        return planned(99.5, bucs=STRONG)
    return planned(99.5, "2031-01-01", outbound=DENSE)


def below(case: Case) -> Mask:
    """The satellite is below the horizon: nothing that rests on it has an answer."""
    return case.flagged("below_horizon")


def given(name: str) -> Callable[[Case], Mask]:
    """The table of sites says nothing."""
    return lambda case: np.isnan(getattr(case.sites, name))


def never(case: Case) -> Mask:
    """The place alone says it."""
    return np.zeros(len(case.plan), dtype=bool)


def overhead(case: Case) -> Mask:
    """Under the satellite no bearing leads to it."""
    return below(case) | ((case["lat"] == 0) & (case["lon"] == -61.0))


def no_compass(case: Case) -> Mask:
    """No bearing, or a date beyond the years of the magnetic model."""
    return overhead(case) | beyond_the_model(case)


def beyond_the_model(case: Case) -> Mask:
    """A date beyond the years of the magnetic model."""
    return case.flagged("magnetic_model_date")


def no_dish(case: Case) -> Mask:
    """Nothing installed, and nothing fits or may be picked."""
    return given("fixed_antenna_m")(case) & (case["no_fit_reason"] != "")


def nothing_to_mount(case: Case) -> Mask:
    """No dish, or nothing to point it at."""
    return below(case) | no_dish(case)


def no_buc(case: Case) -> Mask:
    """Nothing installed, and nothing fits or may be picked."""
    return given("fixed_buc_w")(case) & (case["no_fit_reason"] != "")


def no_diameter(case: Case) -> Mask:
    """A dish of 30 m with the BUC that is judged would not do either."""
    watts = np.where(np.isnan(case["buc_w"]), case.largest_w, case["buc_w"])
    largest = replace(case.sites, fixed_antenna_m=np.full(len(watts), 30.0), fixed_buc_w=watts)
    return below(case) | (make_plan(largest, case.plan.network).columns["margin_db"] < 1.0)


def already_the_largest(case: Case) -> Mask:
    """The dish that is judged is the catalogue's largest, or there is none to judge."""
    none = below(case) & given("fixed_antenna_m")(case)
    return none | (case["margin_db"] == case["margin_2_4_m_db"])


def no_larger_margin(case: Case) -> Mask:
    """Nothing is seen, or the dish that is judged is the catalogue's largest."""
    return below(case) | already_the_largest(case)


def half_the_time(way: str) -> Callable[[Case], Mask]:
    """The direction does not hold for half of the time."""
    return holds_not(50.0, way)


def holds_not(share_pct: float, way: str) -> Callable[[Case], Mask]:
    """The direction, or the limiting one, does not hold for a share of an average year."""

    def misses(case: Case) -> Mask:
        kit = {
            "fixed_antenna_m": np.where(np.isnan(case["antenna_m"]), 2.4, case["antenna_m"]),
            "fixed_buc_w": np.where(np.isnan(case["buc_w"]), case.largest_w, case["buc_w"]),
            "availability_pct": np.full(len(case.plan), share_pct),
        }
        general = case.plan.network.network.model_copy(update={"availability_basis": "year"})
        network = case.plan.network.model_copy(update={"network": general})
        found = make_plan(replace(case.sites, **kit), network).columns
        out, back = (found[f"{name}_margin_db"] for name in ("outbound", "inbound"))
        limiting = np.where(case["limiting_direction"] == "inbound", back, out)
        margins = {"outbound": out, "inbound": back, "limiting": limiting}
        return below(case) | (margins.get(way, np.minimum(out, back)) < 0)

    return misses


def no_fade_of_rain(case: Case) -> Mask:
    """The satellite stands too high for the method, or more than rain takes the site's end down."""
    return holds_not(95.0, "limiting")(case) | (case["elevation_deg"] > 60)


def either_half(case: Case) -> Mask:
    """A direction does not hold for half of the time."""
    return half_the_time("outbound")(case) | half_the_time("inbound")(case)


def other_mount(*mounts: str) -> Callable[[Case], Mask]:
    """No dish, or a mount that has no such figure."""
    return lambda case: no_dish(case) | ~case.on(*mounts)


def not_surveyed(case: Case) -> Mask:
    """Nobody measured what stands there."""
    return below(case) | ~case.surveyed


def supply_collapses(case: Case) -> Mask:
    """Over the heaviest cable the supply cannot feed the BUC: V^2 < 4 P R."""
    ohm = min(
        core_resistance_ohm_km(c.core_mm, clad_steel=c.core == "clad_steel") + c.shield_ohm_km
        for c in case.plan.network.cables
    )
    loop = ohm * case["ifl_length_m"] / 1000
    return below(case) | (4 * case["buc_dc_w"] * loop > 24.0**2)


def grazes(case: Case) -> Mask:
    """The beam's edge, less what is to be left over, lies below the horizontal."""
    return below(case) | (case["elevation_deg"] - case["beamwidth_deg"] / 2 <= 1.0)


def out_of_the_beam(case: Case) -> Mask:
    """No kit, or nobody stands in the beam beyond 0.85 m: kept there, or over head height."""
    kept = case["public_distance_m"] <= 0.85
    high = case["beam_over_head_m"] <= 0.85
    return below(case) | no_dish(case) | no_buc(case) | kept | high


def no_cable_class(case: Case) -> Mask:
    """Cable is still to be ordered, and no class of the catalogue works: nobody has its price."""
    station = ~given("fixed_antenna_m")(case) & ~given("fixed_buc_w")(case)
    return (case["cable_class"] == "") & ~station


FRAMES = ("non_penetrating", "ground")
#: The numbers that are blank for another reason than that the satellite is not seen.
REASONS: dict[str, Callable[[Case], Mask]] = {
    **{n: given(n) for n in ("wall_facing_deg", "roof_height_m", "cable_m", "wind_m_s")},
    **{n: given(n) for n in ("fixed_antenna_m", "fixed_buc_w")},
    **{n: given(n) for n in ("fixed_efficiency", "fixed_buc_backoff_db")},
    **dict.fromkeys(("lat", "lon", "altitude_m", "availability_target_pct"), never),
    **dict.fromkeys(("rain_rate_mm_h", "rain_height_km", "wind_design_m_s"), never),
    **dict.fromkeys(("ifl_length_m", "source_row"), never),
    **dict.fromkeys(("azimuth_true_deg", "skew_deg"), overhead),
    "azimuth_magnetic_deg": no_compass,
    "magnetic_declination_deg": beyond_the_model,
    "antenna_m": no_dish,
    **dict.fromkeys(("dish_height_m", "wind_pressure_pa", "wind_drag_n"), nothing_to_mount),
    "buc_w": no_buc,
    "required_antenna_m": no_diameter,
    "next_antenna_m": already_the_largest,
    "other_beam_antenna_m": no_dish,  # as this beam: the other is like it
    "other_beam_buc_w": no_buc,
    "next_antenna_margin_db": no_larger_margin,
    "outbound_availability_pct": half_the_time("outbound"),
    "inbound_availability_pct": half_the_time("inbound"),
    "availability_achieved_pct": either_half,
    "annual_target_pct": never,
    # Of 7.8 % of the worst month a year is 0.30 x 7.8^1.15 (P.841-4), and P.678-3 ends at 2 %.
    "worst_month_availability_pct": holds_not(100 - 0.30 * 7.8**1.15, "either"),
    "year_risk_pct": holds_not(98.0, "limiting"),
    **dict.fromkeys(("outages_over_10_s", "outages_over_10_min"), no_fade_of_rain),
    "service_availability_pct": either_half,
    "overturning_nm": other_mount("pole", "wall", "engineered", *FRAMES),
    **dict.fromkeys(("ballast_kg", "frame_base_m"), other_mount(*FRAMES)),
    **dict.fromkeys(("roof_load_pa", "parapet_distance_m"), other_mount("non_penetrating")),
    "pole_embedment_m": other_mount("pole"),
    **dict.fromkeys(("wall_pull_n", "wall_shear_n"), other_mount("wall")),
    **dict.fromkeys(("horizon_at_satellite_deg", "clearance_deg"), not_surveyed),
    **dict.fromkeys(("buc_voltage_v", "buc_current_a"), supply_collapses),
    **dict.fromkeys(("site_cost", "capex", "life_cost"), no_cable_class),
    **dict.fromkeys(("breakeven_months", "cheaper_by"), no_cable_class),
    **dict.fromkeys(("monthly_cost", "line_month", "line_life_cost"), never),
    **dict.fromkeys(("outbound_offered_kbit_s", "inbound_offered_kbit_s"), never),
    "stand_off_per_m": grazes,
    "fence_m": out_of_the_beam,
}
NUMBERS = [name for name, field in FIELDS.items() if not field.is_text]


def not_given(case: Case, rests_on: str) -> Mask:
    """What the figure is of is not given to the site."""
    dish = no_dish(case) if rests_on in ("dish", "kit") else never(case)
    return dish | no_buc(case) if rests_on in ("buc", "kit") else dish


@pytest.mark.parametrize("name", NUMBERS)
def test_a_number_is_blank_for_its_reason_and_for_no_other(case: Case, name: str) -> None:
    """Its own reason, or that what it is of is not given to the site (`rests_on`)."""
    blank = np.isnan(case[name].astype(float))
    reason = REASONS.get(name, below)(case) | not_given(case, FIELDS[name].rests_on)
    np.testing.assert_array_equal(blank, reason)


def test_each_reason_holds_at_some_sites_and_not_at_others() -> None:
    """A reason that never held, or always, would tell nothing."""
    cases = [planned(99.5), planned(99.97), planned(99.5, outbound=DENSE)]
    cases += [planned(99.5, bucs=STRONG)]
    for name, reason in REASONS.items():
        if reason not in (never, beyond_the_model):
            found = np.concatenate([reason(case) for case in cases])
            assert 3 <= found.sum() <= len(found) - 3, (name, found.sum())


def test_every_reason_is_of_a_number() -> None:
    assert set(REASONS) <= set(NUMBERS)
