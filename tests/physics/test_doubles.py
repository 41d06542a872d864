"""Whatever arrays come in, physics reckons in doubles, and each entry as it would alone.

Grids of single precision and whole numbers from tables reach these functions. A result of single
precision is wrong in its seventh digit, a whole number to a negative power is an error.
"""

from __future__ import annotations

import ast
import datetime as dt
import functools
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import siteplan.physics
from siteplan.physics import holding, wind
from siteplan.physics.angles import (
    footprint,
    geometry,
    horizon,
    magnetic,
    pointing,
    sun,
    sun_outage,
)
from siteplan.physics.propagation import depolarization, diversity, fade_duration, variability
from siteplan.physics.radio import (
    antennas,
    cable,
    exposure,
    limits,
    masks,
    noise,
    off_axis,
    patterns,
    sun_noise,
    waveforms,
)

DAY = dt.date(2026, 6, 21)
NOON = np.array(["2026-06-21T12", "2026-06-21T09", "2026-12-21T15"], dtype="datetime64[s]")
#: Latitude, longitude, altitude, orbital position: whole numbers.
PLACES = [47, -21, 5], [11, 25, 170], [300, 1200, 0], [13, 28, -176]
#: Power, diameter, efficiency, frequency: exact in single precision.
BEAMS = [8, 25, 4], [1, 2, 3], [0.625, 0.5, 0.75], [14.25, 29.5, 6]
KU = masks.named_mask("47cfr25_ku", 14.25)
MEASURED = patterns.MeasuredPattern(np.array([0, 2, 9]), np.array([40, 21, -3]))
PROFILE = [[1000, 7000, 30000], [400, 9000, 20000]], [[150, 500, 900], [90, 40, 1300]]

#: By name: the function, and arrays of three entries each, all of them elementwise.
ELEMENTWISE: dict[str, tuple[Callable[..., Any], tuple[Any, ...], dict[str, Any]]] = {
    "look_angles": (geometry.look_angles, PLACES, {}),
    "sky_direction": (geometry.sky_direction, PLACES, {}),
    "azimuth_sensitivity_deg_per_km": (geometry.azimuth_sensitivity_deg_per_km, PLACES, {}),
    "free_space_loss_db": (
        geometry.free_space_loss_db,
        ([37_003, 38_111, 41_000], [4, 14, 29]),
        {},
    ),
    "spreading_loss_db_m2": (geometry.spreading_loss_db_m2, ([37_003, 38_111, 41_000],), {}),
    "top_elevation_deg": (horizon.top_elevation_deg, ([10, -7, 3], [31, 13, 7]), {}),
    "clearance_deg": (horizon.clearance_deg, ([31, 20, 5], [10, 19, 7], [3, 1, 2]), {}),
    "required_distance_m": (
        horizon.required_distance_m,
        ([10, 3, -2], [31, 20, 45], [3, 1, 2]),
        {"spare_deg": [2, 0, 1]},
    ),
    "seen_from_satellite": (
        functools.partial(footprint.seen_from_satellite, satellite_lon_deg=13),
        ([47, -21, 5], [11, 25, 30]),
        {},
    ),
    "magnetic_field": (functools.partial(magnetic.magnetic_field, date=DAY), PLACES[:3], {}),
    "compass_reliable": (magnetic.compass_reliable, ([17_000, 5_999, 6_001],), {}),
    "inclinometer_deg": (pointing.inclinometer_deg, ([42, 15, 33], [22.25, 17, 0]), {}),
    "pointing_changes": (pointing.pointing_changes, PLACES, {}),
    "orbit_step": (pointing.orbit_step, PLACES, {}),
    "pointing_loss_db": (pointing.pointing_loss_db, ([1, 2, 0], [7, 9, 3]), {}),
    "cross_polar_db": (pointing.cross_polar_db, ([1, -10, 3],), {}),
    "times_from_days": (sun.times_from_days, ([9_600.5, 9_601, 9_700.25],), {}),
    "right_ascension_declination": (
        sun.right_ascension_declination,
        ([9_600.5, 9_601, 9_700],),
        {},
    ),
    "subsolar_point": (sun.subsolar_point, ([9_600.5, 9_601, 9_700],), {}),
    "sun_position": (sun.sun_position, (NOON, *PLACES[:2]), {}),
    "times_at_azimuth": (
        functools.partial(sun.times_at_azimuth, DAY),
        (*PLACES[:2], [180, 340, 200]),
        {},
    ),
    "outage_half_angle_deg": (sun_outage.outage_half_angle_deg, ([1, 2, 3],), {}),
    "ballast": (
        holding.ballast,
        ([900, 1_300, 2_100], [100, 300, 0], [1, 2, 3], [2, 3, 1]),
        {"mount_kg": [30, 70, 11], "friction": [0.5, 0.375, 0.75], "safety": [1.5, 2, 1]},
    ),
    "pole_embedment_m": (
        holding.pole_embedment_m,
        ([1_500, 900, 700], [2, 3, 1], [0.625, 1, 0.5], [15_700, 23_600, 31_400]),
        {},
    ),
    "wall_reactions": (
        lambda *x, **named: holding.wall_reactions(*x[:3], (x[3], x[4]), **named),
        ([1_200, 700, 900], [400, 900, 300], [1, 2, 3], [3, 1, 2], [7, 2, 1]),
        {"rise_m": [1, -3, 0]},
    ),
    "wavelength_m": (antennas.wavelength_m, ([14, 11, 7],), {}),
    "gain_dbi": (antennas.gain_dbi, BEAMS[1:], {}),
    "diameter_for_gain_m": (antennas.diameter_for_gain_m, ([41, 37, 53], *BEAMS[2:]), {}),
    "beamwidth_deg": (antennas.beamwidth_deg, (BEAMS[1], BEAMS[3]), {}),
    "cable_loss_db": (cable.cable_loss_db, ([31, 90, 17], [950, 1_450, 2_150], [20, 30, 17]), {}),
    "slope_db": (
        functools.partial(cable.slope_db, band_mhz=(950, 2_150)),
        ([31, 90, 17], [20, 30, 17]),
        {},
    ),
    "clad_steel_ohm_km": (cable.clad_steel_ohm_km, ([1, 2, 3],), {}),
    "core_resistance_ohm_km": (cable.core_resistance_ohm_km, ([1, 2, 3],), {}),
    "loop_resistance_ohm": (cable.loop_resistance_ohm, ([31, 90, 17], [21, 7, 9], [9, 3, 11]), {}),
    "supply_at_load": (cable.supply_at_load, ([24, 48, 18], [35, 60, 11], [3, 7, 1]), {}),
    "longest_run_m": (
        cable.longest_run_m,
        ([24, 48, 18], [35, 60, 11], [18, 36, 13], [31, 7, 11]),
        {},
    ),
    "modem_input_dbm": (cable.modem_input_dbm, ([-121, -117, -130], [55, 60, 49], [11, 17, 3]), {}),
    "modem_output_dbm": (cable.modem_output_dbm, ([3, 7, 11], [60, 55, 49], [11, 17, 3]), {}),
    "field_regions": (exposure.field_regions, BEAMS, {}),
    "power_density_w_m2": (exposure.power_density_w_m2, ([3, 70, 900], *BEAMS), {}),
    "safe_distance_m": (exposure.safe_distance_m, ([10, 50, 2], *BEAMS), {}),
    "safe_distances": (exposure.safe_distances, BEAMS, {}),
    "exposure.off_axis_gain_dbi": (exposure.off_axis_gain_dbi, ([3, 21, 80], *BEAMS[1:]), {}),
    "patterns.off_axis_gain_dbi": (
        functools.partial(patterns.off_axis_gain_dbi, "s580"),
        ([3, -21, 0], [41, 37, 53], [47, 90, 301]),
        {},
    ),
    "envelope": (functools.partial(patterns.envelope, "s465"), ([47, 30, 301],), {}),
    "first_angle_deg": (patterns.first_angle_deg, ([47, 90, 301],), {}),
    "measured_gain_dbi": (
        functools.partial(patterns.measured_gain_dbi, MEASURED),
        ([3, -21, 0], [41, 37, 53]),
        {},
    ),
    "limit_db": (functools.partial(masks.limit_db, KU), ([3, -7, 1],), {}),
    "horizon_reference_khz": (masks.horizon_reference_khz, ([14, 15, 29],), {}),
    "horizon_limit_dbw": (masks.horizon_limit_dbw, ([14, 15, 29], [3, -7, 6]), {}),
    "density_dbw": (off_axis.density_dbw, ([3, -7, 1], [256_000, 900, 3_000], [4, 40, 1_000]), {}),
    "tightest": (
        lambda gain, x, *rest, **named: off_axis.tightest(
            KU, off_axis.Radiator("s580", gain, x), *rest, **named
        ),
        ([41, 43, 53], [47, 90, 301], [3, -7, 1], [256_000, 900, 3_000]),
        {"displaced_deg": [0.25, 0, 1], "simultaneous": [1, 3, 10]},
    ),
    "allowed_feed_dbw": (
        lambda gain, x, *rest, **named: off_axis.allowed_feed_dbw(
            KU, off_axis.Radiator(MEASURED, gain, x), *rest, **named
        ),
        ([41, 43, 53], [47, 90, 301], [256_000, 900, 3_000]),
        {"displaced_deg": [0.25, 0, 1], "simultaneous": [1, 3, 10]},
    ),
    "baseline_angle_deg": (
        diversity.baseline_angle_deg,
        ([10, 100, 350], [170, 20, 0]),
        {},
    ),
    "gain_db": (
        lambda rain, el: diversity.gain_db(rain, 14.25, el, diversity.Baseline(10, 30)),
        ([1, 5, 20], [5, 40, 90]),
        {},
    ),
    "annual_pct": (variability.annual_pct, ([0, 0.25, 7],), {}),
    "worst_month_pct": (variability.worst_month_pct, ([0, 0.25, 2],), {}),
    "correlation_factor": (variability.correlation_factor, ([0, 1, 2],), {}),
    "yearly_deviation_pct": (
        variability.yearly_deviation_pct,
        ([0.25, 1, 3], [0, 0.25, 0.5]),
        {},
    ),
    "exceeding_pct": (
        variability.exceeding_pct,
        ([0.25, 1, 3], [0.5, 1, 2], [0.125, 0.25, 0.5]),
        {},
    ),
    "fades_longer": (
        functools.partial(fade_duration.fades_longer, 600),
        ([1, 5, 3], [10, 30, 61], [12, 20, 30], [1_000, 2_000, 500]),
        {},
    ),
    "durations": (fade_duration.durations, ([1, 5, 3], [10, 30, 45], [12, 20, 9]), {}),
    "normal_above": (variability.normal_above, ([-1, 0, 2],), {}),
    "rain_xpd_db": (
        depolarization.rain_xpd_db,
        ([3, 7, 1], [0.25, 0.5, 2], [5, 14, 29], [31, 60, 10], [0, 45, 81]),
        {},
    ),
    "off_axis_safe_distance_m": (
        exposure.off_axis_safe_distance_m,
        ([10, 50, 2], [8, 25, 4], [7, -3, 11]),
        {},
    ),
    "beside_beam_w_m2": (exposure.beside_beam_w_m2, ([31, 7, 900],), {}),
    "exposure_limit_w_m2": (
        functools.partial(limits.exposure_limit_w_m2, "ICNIRP 2020 local", "public"),
        ([14, 1, 29],),
        {},
    ),
    "mean_radiating_temperature_k": (noise.mean_radiating_temperature_k, ([283, 301, 271],), {}),
    "sky_noise_k": (noise.sky_noise_k, ([1, 3, 11], [270, 275, 281]), {}),
    "system_noise_k": (
        noise.system_noise_k,
        ([31, 110, 7], [20, 13, 9], [0.25, 1, 0.5], [75, 110, 53]),
        {"wet_loss_db": [1, 0, 2]},
    ),
    "g_over_t_db": (
        noise.g_over_t_db,
        ([41, 37, 53], [0.25, 1, 0.5], [130, 97, 201]),
        {"wet_loss_db": [1, 0, 2]},
    ),
    "sun_noise_k": (sun_noise.sun_noise_k, ([4, 11, 19],), {}),
    "antenna_sun_noise_k": (
        sun_noise.antenna_sun_noise_k,
        ([4, 11, 19], [3, 2, 1], [1, 0, 0.25]),
        {},
    ),
    "degradation_db": (
        sun_noise.degradation_db,
        ([130, 97, 201], [3_000, 700, 90], [0.25, 1, 0.5]),
        {},
    ),
    "es_n0_from_eb_n0_db": (waveforms.es_n0_from_eb_n0_db, ([3, 7, 5], [1.5, 2, 3]), {}),
    "mean_wind_pressure": (
        functools.partial(wind.mean_wind_pressure, terrain="II"),
        ([26, 31, 22], [8, 1, 30]),
        {"orography": [1, 1.25, 2], "density_kg_m3": [1.25, 1, 1.125]},
    ),
    "gust_pressure_pa": (
        wind.gust_pressure_pa,
        ([30, 41, 53], [0.75, 1, 1.25], [0.875, 1, 0.75]),
        {},
    ),
    "gust_height_factor": (
        functools.partial(wind.gust_height_factor, exposure="C"),
        ([3, 9, 30],),
        {},
    ),
    "wind_force_n": (wind.wind_force_n, ([800, 613, 1_111], [1, 2, 3], [1.5, 1.25, 0.5]), {}),
}

#: Those whose entries belong together: axes of neighbours, obstacles, hours and outages.
TOGETHER: dict[str, tuple[Callable[..., Any], tuple[Any, ...], dict[str, Any]]] = {
    "blocking_elevation_deg": (
        lambda *x: horizon.blocking_elevation_deg(*x[:3], x[3:5], x[5]),
        ([180, 10, 90], [1, 2, 3], [0, 0, 1], [170, 178, 350], [179, 200, 7], [12, 31, 5]),
        {},
    ),
    "ring": (
        functools.partial(footprint.ring, satellite_lon_deg=5),
        ([50, 50, 40, 40, 50], [0, 10, 10, 0, 0]),
        {},
    ),
    "terrain_horizon": (horizon.terrain_horizon, (*PROFILE, [110, 30]), {}),
    "neighbours": (pointing.neighbours, (*PLACES, [10, 16]), {}),
    "hourly_sun": (sun.hourly_sun, (NOON, *PLACES[:2]), {}),
    "sun_outages": (functools.partial(sun_outage.sun_outages, year=2027), (*PLACES, [1, 2, 3]), {}),
    "next_sun_outages": (
        functools.partial(sun_outage.next_sun_outages, after=DAY),
        (*PLACES, [1, 2, 3]),
        {},
    ),
    "next_season": (
        functools.partial(sun_outage.next_season, after=DAY),
        (*PLACES, [1, 2, 3]),
        {},
    ),
}
TABLE = ELEMENTWISE | TOGETHER


def test_every_function_that_takes_arrays_stands_here() -> None:
    found = []
    for path in Path(siteplan.physics.__file__).parent.rglob("*.py"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and "ArrayLike" in ast.unparse(node.args):
                found.append(node.name)
    # Two modules may have a function of one name: then it stands here with its module's.
    assert sorted(name for name in found if not name.startswith("_")) == sorted(
        name.rpartition(".")[2] for name in TABLE
    )


def parts(result: Any) -> list[np.ndarray]:
    """Return the arrays of a result, whatever it comes in."""
    if isinstance(result, dict):
        return [part for value in result.values() for part in parts(value)]
    if isinstance(result, tuple):
        return [part for value in result for part in parts(value)]
    if hasattr(result, "__dataclass_fields__"):
        return parts(vars(result))
    return [np.asarray(result)]


def called(name: str, kind: Callable[[Any], Any]) -> list[np.ndarray]:
    function, arguments, named = TABLE[name]
    return parts(function(*map(kind, arguments), **{k: kind(v) for k, v in named.items()}))


def of_type(dtype: type) -> Callable[[Any], Any]:
    def kind(values: Any) -> np.ndarray:
        values = np.asarray(values)
        return values if values.dtype.kind == "M" else values.astype(dtype)

    return kind


def same(found: list[np.ndarray], wanted: list[np.ndarray]) -> None:
    assert len(found) == len(wanted)
    for ours, theirs in zip(found, wanted, strict=True):
        assert ours.dtype == theirs.dtype
        assert ours.shape == theirs.shape
        if theirs.dtype.kind == "f":
            np.testing.assert_allclose(ours, theirs, rtol=1e-12, atol=1e-12)
        else:
            np.testing.assert_array_equal(ours, theirs)


@pytest.mark.parametrize("name", TABLE)
def test_single_precision_and_whole_numbers_are_reckoned_in_doubles(name: str) -> None:
    wanted = called(name, of_type(np.float64))
    assert any(np.isfinite(part).any() for part in wanted if part.dtype.kind == "f") or all(
        part.dtype.kind != "f" for part in wanted
    )
    same(called(name, of_type(np.float32)), wanted)
    same(called(name, lambda values: values), wanted)


@pytest.mark.parametrize("name", ELEMENTWISE)
def test_each_entry_is_what_it_is_alone(name: str) -> None:
    together = called(name, lambda values: values)
    for k in range(3):
        alone = called(name, lambda values, k=k: values[k])
        for one, many in zip(alone, together, strict=True):
            if many.dtype.kind == "f":
                np.testing.assert_allclose(one, many[k], rtol=1e-12, atol=1e-12)
            else:
                np.testing.assert_array_equal(one, many[k])
