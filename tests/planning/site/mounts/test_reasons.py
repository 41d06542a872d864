"""Mounts of many unlike sites in one call, against the tables of ``reason_rows.py``."""

from __future__ import annotations

import functools
import math
from typing import Any, NamedTuple

import numpy as np
import pytest

from siteplan.messages import english
from siteplan.network import Network
from siteplan.planning.site.mounts.choice import KINDS, mounts, told, try_mounts
from siteplan.planning.site.mounts.kind import Spot
from tests.planning.site.mounts.reason_rows import (
    AGAINST,
    BARS,
    BASES,
    FOR,
    LIMITS,
    MOUNTS,
    QUESTIONS,
    REASONS,
    Bar,
    Bears,
    Limit,
    Question,
    Reason,
    Rules,
    everywhere,
)

NAN = float("nan")
#: What the network file may say: nothing, snow, a limit given, a limit given and snow.
SAID = (Rules(), Rules(snow_pa=600.0), Rules(0.0, 900.0, True), Rules(300.0, 2500.0, True))
LEAST = 3


def network(rules: Rules) -> Network:
    return Network.model_validate(
        {
            "satellite": {"longitude_deg": 0},
            "rules": {"wind_basis": "gust_3s"},
            "site": rules.site,
        }
    )


def many_spots() -> Spot:
    """Return 900 unlike sites, none beside its like; some see no satellite, some get no dish."""
    rng = np.random.default_rng(41)
    n = 900
    words = np.array(["", "ground", "flat_roof", "pitched_roof", "wall"], dtype=object)
    azimuth = rng.uniform(0, 360, n)
    facing = (azimuth + rng.uniform(-110, 110, n)) % 360
    return Spot(
        structure=rng.choice(words, n),
        antenna_m=rng.choice([0.9, 1.2, 1.25, 1.8, 1.85, 2.4, 2.45, NAN], n),
        roof_height_m=rng.choice([0.0, 2.0, 3.0, 12.0, 30.0, NAN], n),
        wall_facing_deg=np.where(rng.random(n) < 0.2, NAN, facing),
        azimuth_true_deg=np.where(rng.random(n) < 0.02, NAN, azimuth),
        elevation_deg=np.where(rng.random(n) < 0.05, NAN, rng.uniform(5, 89, n)),
        wind_m_s=rng.uniform(10, 65, n),
        parapet_distance_m=rng.uniform(0, 5, n),
    )


class Found(NamedTuple):
    """What the plan says of the mounts, and what they have to bear by hand."""

    mount: Any
    certainty: Any
    score: Any
    texts: Any
    bears: Bears


@functools.cache
def found(rules: Rules) -> Found:
    spot, plan = many_spots(), network(rules)
    chosen = mounts(spot, try_mounts(spot, plan), plan)
    texts = told(spot, chosen, english())
    return Found(chosen.mount, chosen.certainty, chosen.score, texts, Bears(spot, rules))


def wanted(bears: Bears) -> Any:
    """Return where there is a dish to mount and a satellite to see (n,)."""
    return ~np.isnan(bears.dish) & ~np.isnan(bears.spot.elevation_deg)


def _of(rows: Any, kind: str) -> list[Any]:
    return [row for row in rows if row.kind == kind]


def ratios(bears: Bears) -> Any:
    """Return how far beyond its limits each kind is (n, kinds), infinite where none can mend it."""
    columns = []
    for kind, base in BASES.items():
        place = np.array([word in base for word in bears.spot.structure.tolist()])
        for bar in _of(BARS, kind):
            place &= ~bar.where(bears)
        ratio = np.where(place, 0.0, np.inf)
        for limit in _of(LIMITS, kind):
            over = np.nan_to_num(limit.value(bears) / limit.most(bears.rules))
            hard = np.where(over > 1, np.inf, 0)
            ratio = np.maximum(ratio, over if limit.by_design else hard)
        columns.append(ratio)
    return np.stack(columns, axis=1)


def scores(bears: Bears) -> Any:
    """Return the scores (n, kinds) by the table; NaN where impossible or beyond a limit."""
    columns = []
    for kind, base in BASES.items():
        score = np.array([base.get(word, NAN) for word in bears.spot.structure.tolist()])
        for row in _of(REASONS, kind):
            score = score + row.points * row.where(bears)
        columns.append(np.clip(score, 0, 100))
    table = np.where(ratios(bears) > 1, NAN, np.stack(columns, axis=1))
    table[~wanted(bears)] = NAN
    return table


def rounded_up(value: float, decimals: int) -> float:
    return math.ceil(round(value * 10**decimals, 8)) / 10**decimals


def out_of(bears: Bears, kind: str, i: int) -> list[str]:
    """Return the words of the limits that a kind is beyond at a site, with their numbers."""
    words = []
    for limit in _of(LIMITS, kind):
        value, most = limit.value(bears)[i], limit.most(bears.rules)
        if value > most:
            known = ".given" if bears.rules.limit_given else ".assumed"
            key = limit.key + (known if limit.key == "mount.limit.roof_load" else "")
            told_value = rounded_up(float(value), limit.decimals)
            words.append(english()[key].format(value=told_value, limit=most))
    return words


def explained(bears: Bears) -> list[list[str]]:
    """Return each site's sentences, one a kind, by the table."""
    words, table = english(), scores(bears)
    rows = {
        row: row.where(bears) for row in (*REASONS, *BARS)
    }  # conditions once, whatever the site
    texts: list[list[str]] = []
    for i in range(len(bears.dish)):
        of_site = []
        for k, kind in enumerate(BASES):
            held = [r for r in rows if r.kind == kind and rows[r][i]]
            bars = [words[r.key] for r in held if isinstance(r, Bar)]
            placed = bears.spot.structure[i] in BASES[kind] and not bars
            if np.isnan(table[i, k]) and placed:
                why = "; ".join(out_of(bears, kind, i))
                of_site.append(f"{words[kind]}: beyond a planning limit: {why}.")
                continue
            if np.isnan(table[i, k]):
                of_site.append(
                    f"{words[kind]}: not possible: {'; '.join(bars) or 'no place for it'}."
                )
                continue
            sides = []
            for side in (FOR, AGAINST):
                keys = [r.key for r in held if isinstance(r, Reason) and r.side == side]
                if keys:
                    sides.append(f"{side}: " + ", ".join(words[key] for key in keys))
            of_site.append(f"{words[kind]}, {table[i, k]:.0f} of 100; {'; '.join(sides)}.")
        texts.append(of_site)
    return texts


@pytest.mark.parametrize("rules", SAID)
def test_scores_are_those_of_the_table(rules: Rules) -> None:
    np.testing.assert_array_equal(found(rules).score, scores(found(rules).bears))


@pytest.mark.parametrize("rules", SAID)
def test_sentences_are_those_of_the_table(rules: Rules) -> None:
    of = found(rules)
    here = wanted(of.bears)
    expected = [" ".join(t) if w else "" for t, w in zip(explained(of.bears), here, strict=True)]
    assert of.texts["mount_options"].tolist() == expected


def settled_by(of: Found, i: int, case: str) -> str:
    """Return the question that leaves a site's mount provisional, by the table; '' for none."""
    words, bears, structure = english(), of.bears, of.bears.spot.structure[i]
    over_roof = bears.roof_load_pa[i] > bears.rules.limit_pa and bears.roof_ballast_kg[i] <= 1500
    if case != "engineered" and structure == "":
        return words["mount.ask.structure"]
    if structure == "flat_roof" and over_roof and not bears.rules.limit_given:
        return words["mount.ask.roof"]
    if case == "engineered":
        return words["mount.ask.engineer"]
    kind = next(key for key, code in MOUNTS.items() if code == case)
    asked = (words[q.key] for q in _of(QUESTIONS, kind) if q.where(bears)[i])
    return next(asked, "")


@pytest.mark.parametrize("rules", SAID)
def test_the_choice_its_reason_and_what_settles_it(rules: Rules) -> None:
    """The highest score within the limits; beyond all of them an engineer's, the least told."""
    of = found(rules)
    table, texts, spot = scores(of.bears), explained(of.bears), of.bears.spot
    best = np.argmax(np.nan_to_num(table, nan=-1.0), axis=1)
    nearest = np.argmin(ratios(of.bears), axis=1)
    counted = dict.fromkeys([*MOUNTS.values(), "engineered", "unseen", "no dish"], 0)
    for i in range(len(spot.structure)):
        if np.isnan(spot.elevation_deg[i]):
            case, expected = "unseen", "No mount: the satellite is below the horizon."
        elif np.isnan(spot.antenna_m[i]):
            case, expected = "no dish", "No antenna is planned, so no mount is chosen."
        elif np.isnan(table[i]).all():
            case = "engineered"
            expected = f"{english()['mount.engineered']} {texts[i][nearest[i]]}"
        else:
            case, expected = tuple(MOUNTS.values())[best[i]], texts[i][best[i]]
        counted[case] += 1
        mounted = case not in ("unseen", "no dish")
        question = settled_by(of, i, case) if mounted else ""
        certainty = ("provisional" if question else "decided") if mounted else ""
        assert (of.mount[i], of.certainty[i]) == (case if mounted else "", certainty)
        assert of.texts["mount_reason"][i] == expected
        assert of.texts["mount_question"][i] == question
    assert min(counted.values()) >= LEAST


@pytest.mark.parametrize("row", REASONS, ids=lambda r: f"{r.kind}:{r.key}")
def test_each_reason_holds_somewhere_and_elsewhere_not(row: Reason) -> None:
    """Counted where the mount is possible, so that the reason is told; over all networks."""
    kind = tuple(BASES).index(row.kind)
    with_it = without = 0
    for rules in SAID:
        of = found(rules)
        holds = row.where(of.bears)
        with_it = max(with_it, np.count_nonzero(holds & ~np.isnan(of.score[:, kind])))
        without = max(without, np.count_nonzero(~holds))
    assert with_it >= LEAST
    assert without >= LEAST or row.where is everywhere


@pytest.mark.parametrize("bar", BARS, ids=lambda r: r.key)
def test_each_bar_holds_somewhere_and_elsewhere_not(bar: Bar) -> None:
    of = found(SAID[0])
    told_of = np.array([english()[bar.key] in text for text in of.texts["mount_options"]])
    holds = bar.where(of.bears) & wanted(of.bears)
    np.testing.assert_array_equal(told_of, holds)
    assert LEAST <= holds.sum() <= len(holds) - LEAST


@pytest.mark.parametrize("limit", LIMITS, ids=lambda r: r.key)
def test_each_limit_is_passed_somewhere_and_elsewhere_not(limit: Limit) -> None:
    of = found(SAID[2])
    passed = (limit.value(of.bears) > limit.most(SAID[2])) & wanted(of.bears)
    assert LEAST <= passed.sum() <= len(passed) - LEAST


@pytest.mark.parametrize("row", QUESTIONS, ids=lambda r: f"{r.kind}:{r.key}")
def test_each_question_is_asked_somewhere(row: Question) -> None:
    """Of the kind that is chosen, on a structure that is known."""
    asked = 0
    for rules in SAID:
        of = found(rules)
        here = (of.mount == MOUNTS[row.kind]) & (of.bears.spot.structure != "")
        asked += np.count_nonzero(here & (of.texts["mount_question"] == english()[row.key]))
    assert asked >= LEAST


def test_points_have_the_sign_of_their_side() -> None:
    """What speaks against a mount takes points, what speaks for it takes none."""
    for row in REASONS:
        assert (row.points >= 0) == (row.side == FOR), row.key


def test_every_reason_of_the_code_has_its_row_with_its_points() -> None:
    spot = many_spots()
    in_code, bars, limits, questions = {}, set(), set(), set()
    for rules in SAID:
        plan = network(rules)
        tried = try_mounts(spot, plan)
        for kind in KINDS:
            option = kind.option(spot, tried[kind.code], plan)
            assert MOUNTS[option.key] == kind.code
            in_code |= {(option.key, r.key): r.change for r in option.reasons}
            bars |= {(option.key, key) for _, key in option.bars}
            limits |= {
                (option.key, r.key.removesuffix(".given").removesuffix(".assumed"))
                for r in option.limits
            }
            questions |= {(option.key, key) for _, key in option.questions}
    assert in_code == {(row.kind, row.key): row.points for row in REASONS}
    assert bars == {(bar.kind, bar.key) for bar in BARS}
    assert limits == {(limit.kind, limit.key) for limit in LIMITS}
    assert questions == {(row.kind, row.key) for row in QUESTIONS}
