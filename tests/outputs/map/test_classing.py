"""Classes, colours and markers of the map's layers."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.outputs.map import looks
from siteplan.outputs.map.classing import (
    CODES,
    binned,
    flagged,
    layer_specs,
    nice_bounds,
    quantile_bounds,
)
from siteplan.outputs.map.colors import linear_rgb, ramp_colors
from siteplan.outputs.map.layers import LAYERS, Layer


def lightness(colors: list[str]) -> np.ndarray[Any, Any]:
    """CIE 1976 L* from the luminance of linear sRGB (IEC 61966-2-1, CIE 15)."""
    y = linear_rgb(colors) @ np.array([0.2126, 0.7152, 0.0722])
    return np.where(y > (6 / 29) ** 3, 116 * np.cbrt(y) - 16, y * (29 / 3) ** 3)


def deuteranope(colors: list[str]) -> np.ndarray[Any, Any]:
    """Linear sRGB as a reader without green cones sees it (Machado et al. 2009, severity 1)."""
    matrix = np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    )
    return linear_rgb(colors) @ matrix.T


def verdict_rows(bounds: tuple[float, ...], reserve_db: float = 1.0) -> list[dict[str, Any]]:
    specs = layer_specs({"margin_db": np.array([0.0])}, bounds_db=bounds, reserve_db=reserve_db)
    rows: list[dict[str, Any]] = specs[0]["classes"]
    return rows


def test_lightness_of_known_colours() -> None:
    # CIE L* of sRGB white, black and middle grey #777777 (50.0, CSS Color 4's worked value).
    np.testing.assert_allclose(lightness(["#ffffff", "#000000", "#777777"]), [100, 0, 50], atol=0.2)


@pytest.mark.parametrize("bounds", [(0.0,), (0.0, 1.0, 3.0, 6.0), (1.0, 2.0), (-3.0, -1.0, 0.0)])
def test_margin_colours_rise_in_lightness(bounds: tuple[float, ...]) -> None:
    levels = lightness([row["color"] for row in verdict_rows(bounds)[:-1]])
    assert np.all(np.diff(levels) > 4)


@pytest.mark.parametrize("count", [2, 3, 5, 7, 9])
@pytest.mark.parametrize("layer", [x for x in LAYERS if x.ramp and x.kind != "names"])
def test_ramps_rise_in_lightness(layer: Layer, count: int) -> None:
    assert np.all(np.diff(lightness(ramp_colors(layer.ramp, count))) > 3)


def test_ramp_ends_are_the_anchors() -> None:
    assert ramp_colors(["#102030", "#a0b0c0"], 3)[::2] == ["#102030", "#a0b0c0"]
    assert ramp_colors(["#102030", "#a0b0c0"], 1) == ["#102030"]
    assert ramp_colors(["#102030"], 0) == []


def test_default_margin_classes_differ_without_green_cones() -> None:
    seen = deuteranope([row["color"] for row in verdict_rows((0.0, 1.0, 3.0, 6.0))[:-1]])
    gaps = np.linalg.norm(np.diff(seen, axis=0), axis=1)
    assert gaps.min() > 0.08


@pytest.mark.parametrize("count", range(1, 9))
def test_every_margin_class_has_a_look_of_its_own(count: int) -> None:
    rows = verdict_rows(tuple(float(k) for k in range(count)))
    looks = [(row["shape"], row["mark"]) for row in rows]
    assert len(set(looks)) == len(rows) == count + 2


def test_the_worst_class_is_the_largest_with_a_cross_and_a_heavy_outline() -> None:
    rows = verdict_rows((-2.0, 0.0, 1.0, 3.0))
    assert rows[0]["mark"] == "cross"
    assert rows[0]["radius"] == max(row["radius"] for row in rows)
    assert rows[0]["outline"] >= 2 * rows[2]["outline"]
    assert [row["mark"] != "" for row in rows[:5]] == [True, True, False, False, False]


def test_labels_say_what_fails_and_what_is_short() -> None:
    labels = [row["label"] for row in verdict_rows((0.0, 1.0, 3.0), reserve_db=1.0)]
    assert labels[:4] == [
        "below 0 dB: fails",
        "0 to 1 dB, under the reserve",
        "1 to 3 dB",
        "3 dB or more",
    ]


def test_a_class_that_holds_negative_margins_is_dressed_as_failing() -> None:
    rows = verdict_rows((1.0, 3.0))
    assert rows[0]["mark"] == "cross"
    assert rows[0]["label"] == "below 1 dB, under the reserve"


def test_a_value_on_a_bound_belongs_above_and_nan_to_none() -> None:
    values = np.array([-0.001, 0.0, 0.999, 1.0, 7.0, np.nan])
    assert binned(values, [0, 1, 3]).tolist() == [0, 1, 1, 2, 3, -1]


def test_sites_are_classed_by_the_unrounded_margin() -> None:
    # -0.04 is written as -0.0 with one decimal, and fails all the same; a margin short of zero
    # by no more than the arithmetic's noise does not.
    columns = {"margin_db": np.array([-0.04, 0.96, -1e-9, np.nan])}
    spec = layer_specs(columns, bounds_db=(0.0, 1.0), reserve_db=1.0)[0]
    assert [CODES.index(c) for c in spec["codes"]] == [0, 1, 1, 3]
    assert spec["classes"][3]["blank"] is True


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (12.0, 97.0, [20, 40, 60, 80]),
        (0.11, 0.29, [0.15, 0.2, 0.25]),
        (-3.0, 3.0, [-2, -1, 0, 1, 2]),
        (5.0, 5.0, []),
    ],
)
def test_steps_are_round_and_inside(low: float, high: float, expected: list[float]) -> None:
    bounds = nice_bounds(np.array([low, np.nan, high]), smallest_step=0.01)
    np.testing.assert_allclose(bounds, expected, atol=1e-12)


@pytest.mark.parametrize("span", 10.0 ** np.arange(-1, 5, 0.37))
def test_never_more_steps_than_asked_for(span: float) -> None:
    bounds = nice_bounds(np.array([3.3, 3.3 + span]), smallest_step=0.001)
    assert 1 <= len(bounds) <= 6
    assert bounds[0] > 3.3
    assert bounds[-1] < 3.3 + span


def test_no_values_give_no_steps() -> None:
    assert nice_bounds(np.array([np.nan, np.nan]), smallest_step=1.0) == []
    assert nice_bounds(np.array([]), smallest_step=1.0) == []


def test_numbers_are_larger_and_darker_at_the_end_that_needs_care() -> None:
    columns = {"elevation_deg": np.array([5.0, 70.0]), "rain_rate_mm_h": np.array([10.0, 99.0])}
    elevation, rain = layer_specs(columns, bounds_db=(0.0,), reserve_db=1.0)
    assert elevation["classes"][0]["radius"] > elevation["classes"][-2]["radius"]
    assert rain["classes"][0]["radius"] < rain["classes"][-2]["radius"]
    assert np.all(np.diff(lightness([row["color"] for row in elevation["classes"][:-1]])) > 0)
    assert np.all(np.diff(lightness([row["color"] for row in rain["classes"][:-1]])) < 0)


def test_antennas_are_classed_by_size() -> None:
    columns = {"antenna_m": np.array([1.8, np.nan, 1.2, 1.8])}
    spec = layer_specs(columns, bounds_db=(0.0,), reserve_db=1.0)[0]
    assert [row["label"] for row in spec["classes"]][:2] == ["1.2 m", "1.8 m"]
    assert spec["codes"] == "1201"


def test_many_sizes_are_classed_in_steps() -> None:
    columns = {"antenna_m": np.linspace(0.6, 3.0, 40)}
    spec = layer_specs(columns, bounds_db=(0.0,), reserve_db=1.0)[0]
    assert len(spec["classes"]) <= 8
    assert spec["bounds"] != []


def test_names_have_shapes_and_blanks_have_none() -> None:
    columns = {"mount": np.array(["wall", "", "pole", "non_penetrating", None], dtype=object)}
    spec = layer_specs(columns, bounds_db=(0.0,), reserve_db=1.0)[0]
    labels = [row["label"] for row in spec["classes"]]
    assert labels == ["non penetrating", "pole", "wall", "No mount chosen"]
    assert len({row["shape"] for row in spec["classes"]}) == 4
    assert [CODES.index(c) for c in spec["codes"]] == [2, 3, 1, 0, 3]


def test_more_names_than_shapes_share_the_last_row() -> None:
    columns = {"mount": np.array([f"kind_{k:02d}" for k in range(12)], dtype=object)}
    spec = layer_specs(columns, bounds_db=(0.0,), reserve_db=1.0)[0]
    shapes = len(looks.NAME_SHAPES)
    assert len(spec["classes"]) == shapes + 1
    assert spec["classes"][shapes - 1]["label"] == "others"
    assert spec["codes"].count(CODES[shapes - 1]) == 12 - shapes + 1


def test_a_site_that_a_flag_stops_has_a_class_of_its_own() -> None:
    columns = {
        "margin_db": np.array([4.0, 4.0, -2.0, np.nan, 2.0]),
        "flags": np.array(
            ["", "below_min_elevation;heavy_rain", "no_fit", "below_horizon", "heavy_rain"],
            dtype=object,
        ),
    }
    spec = layer_specs(columns, bounds_db=(0.0, 1.0, 3.0), reserve_db=1.0)[0]
    rows = spec["classes"]
    assert rows[4]["label"] == "Margin holds, but a flag stops it"
    assert rows[4]["shape"] == "octagon"
    assert spec["codes"] == "34052"
    untouched = layer_specs(
        columns | {"flags": np.full(5, "", object)}, bounds_db=(0.0,), reserve_db=1
    )
    assert "stop" not in untouched[0]["classes"][-2]


def test_flags_are_classed_by_the_worst() -> None:
    flags = np.array(["", "heavy_rain", "heavy_rain;low_elevation", "no_fit;heavy_rain"], object)
    spec = layer_specs({"flags": flags}, bounds_db=(0.0,), reserve_db=1.0)[0]
    assert spec["codes"] == "3210"
    assert [row["shape"] for row in spec["classes"]][:4] == [
        "octagon",
        "triangle",
        "diamond",
        "circle",
    ]
    words = [row["label"].split(":")[0] for row in spec["classes"][:4]]
    assert words == ["Stop", "Decide", "Know", "No flag"]
    levels = lightness([row["color"] for row in spec["classes"][:4]])
    assert np.all(np.diff(levels) > 4), "the worst is the darkest in grey"


def test_no_sites_have_no_stop() -> None:
    assert flagged(np.array([], dtype=object), {"no_fit"}).tolist() == []


@pytest.mark.parametrize("count", range(1, 8))
def test_the_page_has_a_ramp_for_any_number_of_steps(count: int) -> None:
    ramp = looks.plain_look()["ramps"][str(count)]
    assert len(ramp) == count
    assert np.all(np.diff(lightness(ramp)) < -3)


def life_cost_spec(values: np.ndarray[Any, Any]) -> dict[str, Any]:
    (spec,) = layer_specs({"life_cost": values}, bounds_db=(0.0,), reserve_db=1.0)
    return spec


def test_costs_over_the_years_are_parted_into_fifths() -> None:
    """A few far sites cost many times the usual: steps alike wide would hold nearly all in one."""
    values = np.exp(np.random.default_rng(2).normal(9.5, 0.8, 400))
    values[::20] = np.nan
    spec = life_cost_spec(values)
    assert (spec["kind"], len(spec["bounds"])) == ("steps", 4)
    assert [float(f"{x:.2g}") for x in spec["bounds"]] == spec["bounds"], "two digits do"
    counts = [spec["codes"].count(CODES[k]) for k in range(6)]
    assert sum(counts) == 400
    assert counts[5] == 20
    assert all(abs(n - 76) <= 0.2 * 380 for n in counts[:5]), counts
    low, high = spec["bounds"][:2]
    labels = [row["label"] for row in spec["classes"]]
    assert labels[0] == f"below {low:.0f}"
    assert labels[1] == f"{low:.0f} to {high:.0f}"
    assert spec["classes"][-1] == looks.blank("No figure: no kit, or no price")
    radii = [row["radius"] for row in spec["classes"][:-1]]
    assert radii == sorted(radii), "what costs most is the largest"
    assert np.all(np.diff(lightness([row["color"] for row in spec["classes"][:-1]])) < -3)
    seen = deuteranope([row["color"] for row in spec["classes"][:-1]])
    assert np.linalg.norm(np.diff(seen, axis=0), axis=1).min() > 0.08


@given(
    st.lists(st.one_of(st.just(np.nan), st.floats(0, 1e7).map(lambda x: round(x, 2))), max_size=40)
)
def test_fifths_leave_no_class_empty(costs: list[float]) -> None:
    values = np.array(costs, dtype=float)
    bounds = quantile_bounds(values, decimals=2)
    finite = values[np.isfinite(values)]
    assert bounds == sorted(set(bounds))
    assert len(bounds) <= 4
    codes = binned(finite, bounds)
    if finite.size:
        assert set(codes.tolist()) == set(range(len(bounds) + 1))
        assert bool(bounds) == (len(np.unique(finite)) > 1)


@pytest.mark.parametrize(
    ("costs", "bounds"),
    [
        ([], []), ([np.nan], []), ([5.0, 5.0], []), ([10_000.0, 20_000.0], [20_000.0]),
        ([1.0, 2.0, 3.0, np.nan], [2.0, 3.0]), ([7.0] * 9 + [90.0], [90.0]),
    ],
)  # fmt: skip
def test_fifths_of_few_values(costs: list[float], bounds: list[float]) -> None:
    assert quantile_bounds(np.array(costs, dtype=float), decimals=2) == bounds


def test_a_site_in_no_beam_is_not_told_as_out_of_view() -> None:
    columns = {
        "margin_db": np.array([1.0, np.nan]),
        "flags": np.array(["", "outside_beam"], dtype=object),
    }
    spec = layer_specs(columns, bounds_db=(0.0,), reserve_db=1.0)[0]
    assert spec["classes"][-1]["label"] == "No margin: satellite not in view, or in no beam"
    columns["flags"][1] = "below_horizon"
    spec = layer_specs(columns, bounds_db=(0.0,), reserve_db=1.0)[0]
    assert spec["classes"][-1]["label"] == "No margin: satellite not in view"


def test_sites_without_kit_have_a_class_waiting_for_another_target() -> None:
    columns = {
        "margin_db": np.array([2.0, -1.0, np.nan]),
        "antenna_m": np.array([1.2, np.nan, np.nan]),
        "buc_w": np.array([2.0, np.nan, np.nan]),
    }
    spec = layer_specs(columns, bounds_db=(0.0,), reserve_db=1.0)[0]
    assert [row["label"] for row in spec["classes"] if row.get("kitless")] == ["No kit planned"]
    assert spec["classes"][-1].get("blank"), "no value stays the last class"
    assert [CODES.index(code) for code in spec["codes"]] == [1, 0, 3], "the plan shows what it had"
    # Whose satellite is out of sight has no margin at any target.
    columns["antenna_m"][1] = columns["buc_w"][1] = 1.2
    spec = layer_specs(columns, bounds_db=(0.0,), reserve_db=1.0)[0]
    assert not any(row.get("kitless") for row in spec["classes"])


def test_a_verdict_looks_the_same_whatever_others_there_are() -> None:
    def rows(*verdicts: str) -> dict[str, tuple[str, str]]:
        columns = {"verdict": np.array(verdicts, dtype=object)}
        spec = layer_specs(columns, bounds_db=(0.0,), reserve_db=1.0)[0]
        found = [row["label"] for row in spec["classes"]]
        assert [found[CODES.index(code)].casefold() for code in spec["codes"]] == list(verdicts)
        return {row["label"]: (row["color"], row["shape"]) for row in spec["classes"]}

    every = rows(*looks.VERDICTS)
    assert len(set(every.values())) == len(looks.VERDICTS) + 1
    few = rows("not accepted", "accepted")
    assert few.items() <= every.items()
    assert few["not accepted"][0] == looks.VERDICTS["not accepted"]
