"""What other kit would bring: a larger antenna, a larger BUC, both, or one beyond the catalogue."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, IntArray
from siteplan.planning.kit.catalogue import Installed, candidates
from siteplan.planning.kit.fit import first_fit, level_at, pair_margin_db
from siteplan.planning.kit.needy import LEAST_GAIN_DB, Case, Found, climb, reaches
from siteplan.planning.link.ends import Dish, Level
from siteplan.planning.link.mispointing import largest_m, within_beam
from siteplan.planning.link.outage import margin_db
from siteplan.planning.link.spectrum.lobes import without_files
from siteplan.planning.link.ways import dish_at, inbound

#: The largest antenna that a plan takes [m]: the range of the sites table and the catalogue.
LARGEST_M = 20.0
#: Sizes are the same within this [m or W].
_SAME = 1e-9


def swaps(x: Case) -> Iterator[Found]:
    """Yield what other kit would bring at the sites of a case."""
    antennas, bucs = list(_antennas(x)), list(_bucs(x))
    yield from antennas
    yield from bucs
    yield from _both(x, ~_reached(x, [*antennas, *bucs]) & ~x.tight)
    yield from _beyond(x, ~_reached(x, antennas) & ~x.tight)


def _reached(x: Case, some: list[Found]) -> BoolArray:
    """Return where one of some changes reaches the goal (k,)."""
    there = np.zeros(len(x), dtype=bool)
    for found in some:
        there[found.at] |= reaches(found.margin_db, x.goal_db[found.at])
    return there


def _split(at: IntArray, stands: BoolArray) -> Iterator[tuple[str, BoolArray]]:
    """Yield the variants of a sentence and where among ``at`` (j,) each holds."""
    for variant, here in (("installed", stands[at]), ("planned", ~stands[at])):
        if here.any():
            yield variant, here


def _own(told: FloatArray, at: IntArray, figure: Level) -> FloatArray:
    """Return a figure of new kit where the site told one of its own (j,), NaN elsewhere."""
    return np.where(np.isnan(told[at]), np.nan, figure)


def _each(dish: Dish, sites: int) -> Dish:
    """Return one antenna for each of some sites."""
    return Dish(*(np.full(sites, part) for part in dish))


def _antennas(x: Case) -> Iterator[Found]:
    """Yield the next larger antenna, and the smallest that serves, with the BUC as it is."""
    sizes = x.kinds.diameter_m
    in_beam = [bool(within_beam(x.network, dish)) for dish in x.kinds.dishes]
    steps = [
        (x.kit.dish_m < size - _SAME) & able
        for size, able in zip(sizes.tolist(), in_beam, strict=True)
    ]
    for rung in climb(x, steps, lambda a, at: x.catalogue_margin_db[at, a]):
        size, efficiency = float(sizes[rung.step]), float(x.kinds.efficiency[rung.step])
        for variant, here in _split(rung.at, x.stands.has_dish):
            at = rung.at[here]
            yield Found(
                "antenna", f"antenna.{variant}", at, rung.margin_db[here],
                np.full(len(at), size), x.kit.tried_w[at],
                {"antenna_m": size, "old_m": x.kit.dish_m[at]},
                (("sites", "fixed_efficiency", _own(x.stands.efficiency, at, efficiency)),),
                rung.step, _each(x.kinds.dishes[rung.step], len(at)),
            )  # fmt: skip


def _bucs(x: Case) -> Iterator[Found]:
    """Yield the next larger BUC, and the smallest that serves, with the antenna as it is."""
    powers, dbw = x.kinds.buc_w.tolist(), x.kinds.buc_dbw.tolist()
    short = ~reaches(x.back_db, x.goal_db)
    steps = [short & (x.kit.tried_w < power - _SAME) for power in powers]

    def margin(step: int, at: IntArray) -> FloatArray:
        way = inbound(x.link.take(at), x.dish(at), dbw[step])
        return np.minimum(x.out_db[at], margin_db(way, x.p_pct[at]))

    for rung in climb(x, steps, margin, x.out_db):
        power, backoff = powers[rung.step], float(x.kinds.buc_backoff_db[rung.step])
        for variant, here in _split(rung.at, x.stands.has_buc):
            at = rung.at[here]
            yield Found(
                "buc", f"buc.{variant}", at, rung.margin_db[here],
                x.kit.dish_m[at], np.full(len(at), power),
                {"buc_w": power, "old_w": x.kit.tried_w[at]},
                (("sites", "fixed_buc_backoff_db", _own(x.stands.buc_backoff_db, at, backoff)),),
                rung.step,
            )  # fmt: skip


def _both(x: Case, where: BoolArray) -> Iterator[Found]:
    """Yield the pair that would be picked if nothing stood there, where one change does not do."""
    at = np.flatnonzero(where & (x.stands.has_dish | x.stands.has_buc))
    if not at.size:
        return
    nothing = np.full(at.size, np.nan)
    tries = candidates(x.kinds, Installed(nothing, nothing, nothing, nothing))
    link, p_pct = x.link.take(at), x.p_pct[at]
    (antenna, buc), fits = first_fit(link, tries, p_pct, settled=np.zeros(at.size, dtype=bool))
    dish = x.kinds.dish_of(antenna)
    margin = pair_margin_db(link, dish, x.kinds.buc_dbw[buc], p_pct)
    told = fits & (margin - x.margin_db[at] >= LEAST_GAIN_DB)
    at, antenna, buc = at[told], antenna[told], buc[told]
    if not at.size:
        return
    pair = x.kinds.diameter_m[antenna], x.kinds.buc_w[buc]
    own = (
        _own(x.stands.efficiency, at, x.kinds.efficiency[antenna]),
        _own(x.stands.buc_backoff_db, at, x.kinds.buc_backoff_db[buc]),
    )
    yield Found(
        "kit", "kit", at, margin[told], *pair, {"antenna_m": pair[0], "buc_w": pair[1]},
        (("sites", "fixed_efficiency", own[0]), ("sites", "fixed_buc_backoff_db", own[1])),
    )  # fmt: skip


def _beyond(x: Case, where: BoolArray) -> Iterator[Found]:
    """Yield the antenna that would do where the catalogue's do not, up to a tenth of a metre."""
    size = np.ceil(np.round(x.required_m * 10, 6)) / 10
    size = np.where(size > x.kit.dish_m + _SAME, size, size + 0.1)
    most = min(LARGEST_M, largest_m(x.network))
    largest = float(x.kinds.diameter_m[-1])
    at = np.flatnonzero(where & (size <= most) & (x.required_m > x.kit.dish_m))
    if not at.size:
        return
    pattern = without_files(x.kit.pattern[at])
    dish = Dish(size[at], x.kit.efficiency[at], pattern, x.kit.xpi_db[at])
    margin = pair_margin_db(x.link.take(at), dish, level_at(x.kit.buc_dbw, at), x.p_pct[at])
    gains = margin - x.margin_db[at] >= LEAST_GAIN_DB
    at, margin, dish = at[gains], margin[gains], dish_at(dish, np.flatnonzero(gains))
    for variant, here in _split(at, x.stands.has_dish):
        some = at[here]
        yield Found(
            "beyond", f"beyond.{variant}", some, margin[here], size[some], x.kit.tried_w[some],
            {"antenna_m": size[some], "old_m": x.kit.dish_m[some], "largest_m": largest},
            (("sites", "fixed_efficiency", x.kit.efficiency[some]),),
            dish=dish_at(dish, np.flatnonzero(here)),
        )  # fmt: skip
