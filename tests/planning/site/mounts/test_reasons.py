"""Mounts of many unlike sites in one call, against the table of reasons in ``reason_rows.py``."""

from __future__ import annotations

import functools
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
    MOUNTS,
    REASONS,
    Bar,
    Bears,
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
        roof_height_m=rng.choice([3.0, 12.0, 30.0, NAN], n),
        wall_facing_deg=np.where(rng.random(n) < 0.2, NAN, facing),
        azimuth_true_deg=np.where(rng.random(n) < 0.02, NAN, azimuth),
        elevation_deg=np.where(rng.random(n) < 0.05, NAN, rng.uniform(5, 89, n)),
        wind_m_s=rng.uniform(10, 45, n),
        parapet_distance_m=rng.uniform(0, 5, n),
    )


class Found(NamedTuple):
    """What the plan says of the mounts, and what they have to bear by hand."""

    mount: Any
    score: Any
    reason: Any
    options: Any
    bears: Bears


@functools.cache
def found(rules: Rules) -> Found:
    spot, plan = many_spots(), network(rules)
    chosen = mounts(spot, try_mounts(spot, plan), plan)
    texts = told(spot, chosen, english())
    return Found(
        chosen.mount,
        chosen.score,
        texts["mount_reason"],
        texts["mount_options"],
        Bears(spot, rules),
    )


def wanted(bears: Bears) -> Any:
    """Return where there is a dish to mount and a satellite to see (n,)."""
    return ~np.isnan(bears.dish) & ~np.isnan(bears.spot.elevation_deg)


def scores(bears: Bears) -> Any:
    """Return the scores (n, kinds) by the table; NaN where the mount is impossible."""
    columns = []
    for kind, base in BASES.items():
        score = np.array([base.get(word, NAN) for word in bears.spot.structure.tolist()])
        for row in REASONS:
            if row.kind == kind:
                score = score + row.points * row.where(bears)
        for bar in BARS:
            if bar.kind == kind:
                score = np.where(bar.where(bears), NAN, score)
        columns.append(np.clip(score, 0, 100))
    table = np.stack(columns, axis=1)
    table[~wanted(bears)] = NAN
    return table


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
            if np.isnan(table[i, k]):
                why = "; ".join(words[r.key] for r in held if isinstance(r, Bar))
                of_site.append(f"{words[kind]}: not possible: {why or 'no place for it'}.")
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
    assert of.options.tolist() == expected


@pytest.mark.parametrize("rules", SAID)
def test_the_choice_and_its_reason(rules: Rules) -> None:
    """The highest score of 50 or more; else the survey decides, and the best so far is told."""
    of = found(rules)
    table, texts, spot = scores(of.bears), explained(of.bears), of.bears.spot
    best = np.argmax(np.nan_to_num(table, nan=-1.0), axis=1)
    counted = dict.fromkeys([*MOUNTS.values(), "unknown", "poor", "unseen", "no dish"], 0)
    for i, (mount, reason) in enumerate(zip(of.mount, of.reason, strict=True)):
        top, text = table[i, best[i]], texts[i][best[i]]
        if np.isnan(spot.elevation_deg[i]):
            case, expected = "unseen", "No mount: the satellite is below the horizon."
        elif np.isnan(spot.antenna_m[i]):
            case, expected = "no dish", "No antenna is planned, so no mount is chosen."
        elif top >= 50:
            case, expected = tuple(MOUNTS.values())[best[i]], text
        elif spot.structure[i] == "":
            case = "unknown"
            expected = f"The structure is not given: survey what can carry {spot.antenna_m[i]:.2g}"
            expected += f" m. The best from here: {text}"
        else:
            case = "poor"
            expected = f"No mount stands out for {spot.antenna_m[i]:.2g} m on what is given."
            expected += f" The best from here: {text}"
        counted[case] += 1
        decided = case if case in MOUNTS.values() else "survey_decides"
        assert (mount, reason) == (decided, expected)
    if rules.snow_pa:  # which never leaves the frame on the ground before the pole
        del counted["ground"]
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
    told_of = np.array([english()[bar.key] in text for text in of.options])
    holds = bar.where(of.bears) & wanted(of.bears)
    np.testing.assert_array_equal(told_of, holds)
    assert LEAST <= holds.sum() <= len(holds) - LEAST


def test_points_have_the_sign_of_their_side() -> None:
    """What speaks against a mount takes points, what speaks for it takes none."""
    for row in REASONS:
        assert (row.points >= 0) == (row.side == FOR), row.key


def test_every_reason_of_the_code_has_its_row_with_its_points() -> None:
    spot = many_spots()
    in_code, bars = {}, set()
    for rules in SAID:
        plan = network(rules)
        tried = try_mounts(spot, plan)
        for kind in KINDS:
            option = kind.option(spot, tried[kind.code], plan)
            assert MOUNTS[option.key] == kind.code
            in_code |= {(option.key, r.key): r.change for r in option.reasons}
            bars |= {(option.key, key) for _, key in option.bars}
    assert in_code == {(row.kind, row.key): row.points for row in REASONS}
    assert bars == {(bar.kind, bar.key) for bar in BARS}
