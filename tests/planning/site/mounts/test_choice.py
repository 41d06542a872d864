"""Mounts: every option weighed, each reason, what is impossible, and what the wind asks for."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
import pytest

from siteplan.messages import Catalogue, english
from siteplan.network import Network
from siteplan.planning.site.mounts.choice import LEAST_SCORE, OPTIONS, mounts, told, try_mounts
from siteplan.planning.site.mounts.kind import Spot
from siteplan.planning.site.mounts.weighing import Option, Reason, explained, weigh

NAN = float("nan")


def network(**site: Any) -> Network:
    return Network.model_validate({"satellite": {"longitude_deg": 0}, "site": site})


def place(structure: str = "ground", **known: float) -> Spot:
    given = {
        "antenna_m": 1.2,
        "roof_height_m": NAN,
        "wall_facing_deg": NAN,
        "azimuth_true_deg": 120.0,
        "elevation_deg": 40.0,
        "wind_m_s": 15.0,
        "parapet_distance_m": 0.5,
        **known,
    }
    return Spot(np.array([structure], dtype=object), **{k: np.array([v]) for k, v in given.items()})


class Chosen(NamedTuple):
    """Mount, scores, and the sentences that tell them."""

    mount: Any
    score: Any
    reason: Any
    options: Any


def chosen(at: Spot, **site: Any) -> Chosen:
    plan = network(**site)
    found = mounts(at, try_mounts(at, plan), plan)
    texts = told(at, found, english())
    return Chosen(found.mount, found.score, texts["mount_reason"], texts["mount_options"])


@pytest.mark.parametrize(
    ("structure", "known", "mount", "words"),
    [
        ("ground", {"antenna_m": 2.4}, "pole", "open ground"),
        ("ground", {"antenna_m": 2.4}, "pole", "large dishes"),
        ("flat_roof", {}, "non_penetrating", "unpierced"),
        ("flat_roof", {"elevation_deg": 12.0}, "non_penetrating", "parapet's shadow"),
        (
            "flat_roof",
            {"antenna_m": 2.4, "wind_m_s": 40.0},
            "survey_decides",
            "assumed for the roof",
        ),
        ("wall", {"wall_facing_deg": 100.0}, "wall", "looks towards"),
        ("wall", {"wall_facing_deg": 350.0, "azimuth_true_deg": 40.0}, "wall", "looks towards"),
        ("wall", {"wall_facing_deg": 190.0}, "wall", "along the wall"),
        ("wall", {"wall_facing_deg": 191.0}, "survey_decides", "best from here"),
        ("wall", {"wall_facing_deg": 120.0, "antenna_m": 1.8}, "survey_decides", "best from here"),
        ("wall", {}, "wall", "facing is not given"),
        ("pitched_roof", {}, "survey_decides", "No mount stands out"),
        ("", {}, "survey_decides", "structure is not given"),
        ("ground", {"antenna_m": NAN}, "survey_decides", "No antenna"),
        ("ground", {"elevation_deg": NAN}, "survey_decides", "below the horizon"),
    ],
)
def test_choice(structure: str, known: dict[str, float], mount: str, words: str) -> None:
    found = chosen(place(structure, **known))
    assert found.mount[0] == mount
    assert words in found.reason[0]


def test_no_answer_is_bare() -> None:
    """Every option is told with a score, or why it is impossible, and against as well as for."""
    for structure in ("ground", "flat_roof", "pitched_roof", "wall", ""):
        text = chosen(place(structure, wall_facing_deg=100.0)).options[0]
        for name in ("Pole", "Wall bracket", "Non-penetrating roof frame", "Ballasted frame"):
            assert name in text
        assert text.count(" of 100") + text.count("not possible") == len(OPTIONS)
        assert "against: " in text


def test_a_wall_that_looks_away_is_impossible() -> None:
    found = chosen(place("wall", wall_facing_deg=300.0))
    assert np.isnan(found.score[0, OPTIONS.index("wall")])
    assert "Wall bracket: not possible: the wall looks away" in found.options[0]


def test_ground_frame_wins_where_the_footing_would_be_deep() -> None:
    """In strong wind on soft soil the pole loses to a ballasted frame if snow is no matter."""
    at = place("ground", wind_m_s=60.0, elevation_deg=14.0)
    soft = chosen(at, soil_pa_per_m=2000)
    assert "deep footing" in soft.options[0]
    assert soft.score[0, 0] < chosen(place("ground"), soil_pa_per_m=60000).score[0, 0]


@pytest.mark.parametrize(
    ("site", "words"),
    [
        ({"roof_limit_pa": 200}, "load over the limit given for the roof"),
        ({"snow_pa": 1400}, "load over the limit assumed"),
        ({"snow_pa": 100}, "snow adds to the roof's load"),
        ({"safety_factor": 5}, "much ballast"),
    ],
)
def test_what_the_network_file_says_counts(site: dict[str, float], words: str) -> None:
    before, after = chosen(place("flat_roof")), chosen(place("flat_roof"), **site)
    assert words not in before.options[0]
    assert words in after.options[0]
    assert after.score[0, 2] < before.score[0, 2]


def test_the_choice_is_the_highest_score() -> None:
    rng = np.random.default_rng(5)
    n = 400
    words = np.array(["", "ground", "flat_roof", "pitched_roof", "wall"], dtype=object)
    at = Spot(
        words[rng.integers(0, 5, n)],
        rng.choice([1.2, 1.8, 2.4, NAN], n),
        rng.choice([3.0, 12.0, NAN], n),
        rng.choice([NAN, 90.0, 270.0], n),
        rng.uniform(0, 360, n),
        rng.choice([NAN, 8.0, 40.0, 88.0], n),
        rng.uniform(15, 50, n),
        rng.uniform(0, 5, n),
    )
    found = chosen(at)
    assert set(found.mount) == {"pole", "wall", "non_penetrating", "survey_decides"}
    best = np.nan_to_num(found.score, nan=-1).max(axis=1)
    decided = found.mount != "survey_decides"
    assert (decided == (best >= LEAST_SCORE)).all()
    which = [OPTIONS.index(m) for m in found.mount[decided]]
    assert (found.score[decided, which] == best[decided]).all()
    labels = {
        "pole": "Pole",
        "wall": "Wall bracket",
        "non_penetrating": "Non-penetrating roof frame",
    }
    for k in range(n):
        if decided[k]:
            opening = f"{labels[found.mount[k]]}, {best[k]:.0f} of 100; for: "
        elif np.isnan(at.elevation_deg[k]):
            opening = "No mount: the satellite is below the horizon."
        elif np.isnan(at.antenna_m[k]):
            opening = "No antenna is planned, so no mount is chosen."
        elif at.structure[k] == "":
            opening = (
                f"The structure is not given: survey what can carry {at.antenna_m[k]:g} m. The"
            )
        else:
            opening = f"No mount stands out for {at.antenna_m[k]:g} m on what is given. The best"
        assert found.reason[k].startswith(opening), k


def test_sites_do_not_influence_one_another() -> None:
    one = chosen(place("wall", wall_facing_deg=100.0))
    at = place("wall", wall_facing_deg=100.0)
    two = Spot(*(np.concatenate([getattr(at, f), getattr(place("ground"), f)])
                  for f in at.__dataclass_fields__))  # fmt: skip
    both = chosen(two)
    assert both.options[0] == one.options[0]
    assert both.mount.tolist() == ["wall", "pole"]


def test_weighing_tells_reasons_by_their_sign() -> None:
    holds = np.array([True, False, True])
    words = dict(english()) | {"thing": "Thing", "pro": "good", "con": "bad", "bar": "forbidden"}
    option = Option(
        "thing",
        np.array([50.0, 50.0, 99.0]),
        (Reason(10, holds, "pro"), Reason(-5, ~holds, "con")),
        ((np.array([False, False, True]), "bar"),),
    )
    found = weigh(option)
    np.testing.assert_array_equal(found.score, [60, 45, np.nan])
    assert explained(option, found, Catalogue("en", words)).tolist() == [
        "Thing, 60 of 100; for: good.",
        "Thing, 45 of 100; against: bad.",
        "Thing: not possible: forbidden.",
    ]


def test_weighing_refuses_what_it_cannot_pack() -> None:
    reasons = tuple(Reason(0, np.zeros(1, dtype=bool), str(k)) for k in range(41))
    with pytest.raises(ValueError, match="too many reasons"):
        weigh(Option("Thing", np.zeros(1), reasons, ()))
