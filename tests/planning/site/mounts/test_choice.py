"""Mounts: every option weighed, each reason, what is impossible, and what the wind asks for."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
import pytest

from siteplan.messages import Catalogue, english
from siteplan.network import Network
from siteplan.planning.site.mounts.choice import OPTIONS, mounts, told, try_mounts
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
    certainty: Any
    question: Any
    score: Any
    reason: Any
    options: Any


def chosen(at: Spot, **site: Any) -> Chosen:
    plan = network(**site)
    found = mounts(at, try_mounts(at, plan), plan)
    texts = told(at, found, english())
    told_of = texts["mount_question"], found.score, texts["mount_reason"], texts["mount_options"]
    return Chosen(found.mount, found.certainty, *told_of)


ROOF = "What does this roof carry? (Many roofs for maintenance only carry 0.4 to 1 kPa.)"
RISE = "How far does the wall rise above the bracket?"
STRUCTURE = "What can carry the dish: open ground, a flat roof, a pitched roof or a wall?"
BESIDE = "Is there free ground for it beside the building?"
LOOKING = "Is there a sound wall for a bracket that looks towards the satellite?"
ENGINEER = "What footing or frame does an engineer design for these loads?"


@pytest.mark.parametrize(
    ("structure", "known", "mount", "words", "question"),
    [
        ("ground", {"antenna_m": 2.4}, "pole", "open ground", ""),
        ("ground", {"antenna_m": 2.4}, "pole", "large dishes", ""),
        ("ground", {"antenna_m": 2.4, "wind_m_s": 27.0}, "ground", "no digging", ""),
        (
            "ground",
            {"antenna_m": 2.4, "wind_m_s": 60.0},
            "engineered",
            "the least beyond",
            ENGINEER,
        ),
        ("flat_roof", {}, "non_penetrating", "unpierced", ROOF),
        ("flat_roof", {"elevation_deg": 12.0}, "non_penetrating", "parapet's shadow", ROOF),
        ("flat_roof", {"antenna_m": 2.4, "wind_m_s": 25.0}, "pole", "to be found", BESIDE),
        ("flat_roof", {"antenna_m": 0.9, "wind_m_s": 30.0}, "pole", "to be found", ROOF),
        ("wall", {"wall_facing_deg": 100.0}, "wall", "looks towards", ""),
        ("wall", {"wall_facing_deg": 350.0, "azimuth_true_deg": 40.0}, "wall", "looks towards", ""),
        ("wall", {"wall_facing_deg": 190.0}, "wall", "along the wall", ""),
        ("wall", {"wall_facing_deg": 191.0}, "pole", "any bearing", BESIDE),
        ("wall", {"wall_facing_deg": 300.0, "elevation_deg": 75.0}, "wall", "pass over it", RISE),
        ("wall", {"elevation_deg": 80.0}, "wall", "facing is not given", RISE),
        ("wall", {"wall_facing_deg": 100.0, "elevation_deg": 80.0}, "wall", "looks towards", ""),
        ("wall", {"wall_facing_deg": 120.0, "antenna_m": 1.8}, "pole", "any bearing", BESIDE),
        ("wall", {}, "wall", "facing is not given", "Which way does the wall face?"),
        ("pitched_roof", {}, "pole", "any bearing", BESIDE),
        ("pitched_roof", {"wall_facing_deg": 100.0}, "wall", "looks towards", LOOKING),
        ("", {}, "pole", "any bearing", STRUCTURE),
        ("ground", {"antenna_m": NAN}, "", "No antenna", ""),
        ("ground", {"elevation_deg": NAN}, "", "below the horizon", ""),
    ],
)
def test_choice(
    structure: str, known: dict[str, float], mount: str, words: str, question: str
) -> None:
    """The mount to budget for, and the one question that would settle a provisional one."""
    found = chosen(place(structure, **known))
    assert found.mount[0] == mount
    assert words.casefold() in found.reason[0].casefold()
    assert found.question[0] == question
    certainty = ("provisional" if question else "decided") if mount else ""
    assert found.certainty[0] == certainty


def test_a_roof_whose_limit_is_given_is_decided() -> None:
    assert chosen(place("flat_roof"), roof_limit_pa=1500).certainty[0] == "decided"
    assert chosen(place("flat_roof")).certainty[0] == "provisional"


def test_no_answer_is_bare() -> None:
    """Every option is told with a score, or why it is impossible, and against as well as for."""
    for structure in ("ground", "flat_roof", "pitched_roof", "wall", ""):
        text = chosen(place(structure, wall_facing_deg=100.0)).options[0]
        for name in ("Pole", "Wall bracket", "Non-penetrating roof frame", "Ballasted frame"):
            assert name in text
        assert sum(text.count(w) for w in (" of 100", "not possible", "beyond a limit")) == len(
            OPTIONS
        )
        assert "against: " in text


def test_a_wall_that_looks_away_is_out() -> None:
    found = chosen(place("wall", wall_facing_deg=300.0))
    assert np.isnan(found.score[0, OPTIONS.index("wall")])
    assert (
        "Wall bracket: beyond a planning limit: the satellite 180.0 deg from the way"
        in found.options[0]
    )


@pytest.mark.parametrize(
    ("site", "words"),
    [
        ({"roof_limit_pa": 200}, "Pa on the roof, its given limit 200 Pa"),
        ({"snow_pa": 1400}, "Pa on the roof, assumed planning limit 1500 Pa"),
        ({"snow_pa": 100}, "snow adds to the roof's load"),
        ({"safety_factor": 4}, "much ballast"),
    ],
)
def test_what_the_network_file_says_counts(site: dict[str, float], words: str) -> None:
    before, after = chosen(place("flat_roof")), chosen(place("flat_roof"), **site)
    assert words not in before.options[0]
    assert words in after.options[0]
    assert np.nan_to_num(after.score[0, 2]) < before.score[0, 2]


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
        rng.uniform(15, 70, n),
        rng.uniform(0, 5, n),
    )
    found = chosen(at)
    kinds = {"pole", "wall", "non_penetrating", "ground"}
    assert set(found.mount) == kinds | {"engineered", ""}
    best = np.nan_to_num(found.score, nan=-1).max(axis=1)
    within = np.isin(found.mount, list(kinds))
    assert (within == (best >= 0)).all()
    which = [OPTIONS.index(m) for m in found.mount[within]]
    assert (found.score[within, which] == best[within]).all()
    labels = {
        "pole": "Pole",
        "wall": "Wall bracket",
        "non_penetrating": "Non-penetrating roof frame",
        "ground": "Ballasted frame on the ground",
    }
    for k in range(n):
        if within[k]:
            opening = f"{labels[found.mount[k]]}, {best[k]:.0f} of 100; for: "
        elif np.isnan(at.elevation_deg[k]):
            opening = "No mount: the satellite is below the horizon."
        elif np.isnan(at.antenna_m[k]):
            opening = "No antenna is planned, so no mount is chosen."
        else:
            opening = "Beyond every planning limit: a footing or frame designed by an engineer."
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
