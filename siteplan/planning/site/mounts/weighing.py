"""Weighing an option: a base, reasons for and against, limits, and what makes it impossible."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray, TextArray
from siteplan.messages import Catalogue, fill

#: Reasons, bars and limits of an option are packed into the bits of a number, beside its score.
_MOST_BITS, _SCORE_BITS = 40, 8


class Reason(NamedTuple):
    """What changes a score by ``change`` where ``holds`` (n,); for the option unless negative.

    ``key`` is that of its words in the catalogue of messages.
    """

    change: float
    holds: BoolArray
    key: str


class Limit(NamedTuple):
    """A limit beyond which an option is out: what is limited (n,), NaN where it does not count.

    ``key`` is that of its words, with gaps for ``value`` and ``limit``; ``decimals`` are those of
    the value. What no design can mend, such as a wall in the way, is not ``by_design``.
    """

    value: FloatArray
    limit: float
    key: str
    decimals: int = 0
    by_design: bool = True

    @property
    def beyond(self) -> BoolArray:
        """Where the limit is passed (n,), by more than the last bits of a number."""
        return np.asarray(self.value > self.limit * (1 + 1e-9))

    @property
    def told(self) -> FloatArray:
        """The value as it is told (n,): rounded up, so that it never reads as within the limit."""
        scale = 10.0**self.decimals
        return np.asarray(np.ceil(np.round(self.value * scale, 8)) / scale)


class Option(NamedTuple):
    """An option: key of its name, base score (n,), reasons, where it is impossible, limits.

    A base of NaN means that the option has no place there. ``questions`` are what a survey has
    to answer before the option is decided, the weightiest first: where (n,), and key.
    """

    key: str
    base: FloatArray
    reasons: tuple[Reason, ...]
    bars: tuple[tuple[BoolArray, str], ...]
    limits: tuple[Limit, ...] = ()
    questions: tuple[tuple[BoolArray, str], ...] = ()


class Weighed(NamedTuple):
    """Score of 100 (n,), NaN where impossible or out, and what holds, as a number (n,).

    ``excess`` (n,) is how far beyond its limits the option is: the greatest of value over limit,
    1 or less where it is within all, infinite where no design can mend it or it has no place.
    """

    score: FloatArray
    code: NDArray[np.int64]
    excess: FloatArray


def weigh(option: Option) -> Weighed:
    """Return an option's score at each site, which of its reasons hold, and how far it is out.

    Raises
    ------
    ValueError
        If an option has more than 40 reasons, bars and limits.
    """
    reasons = [reason.holds for reason in option.reasons]
    bars = [mask for mask, _ in option.bars]
    placed = ~np.logical_or.reduce([np.isnan(option.base), *bars])
    out = [limit.beyond & placed for limit in option.limits]
    masks = [*reasons, *bars, *out]
    if len(masks) > _MOST_BITS:
        raise ValueError(f"{option.key}: too many reasons to pack into a number")
    code = np.zeros(len(option.base), dtype=np.int64)
    for bit, mask in enumerate(masks):
        code += mask.astype(np.int64) << bit
    score = option.base.copy()
    for reason in option.reasons:
        score += reason.change * reason.holds
    score = np.clip(score, 0, 100)
    score[np.logical_or.reduce([~placed, *out])] = np.nan
    number = np.nan_to_num(score, nan=-1.0).astype(np.int64)
    return Weighed(score, (code << _SCORE_BITS) + number + 1, _excess(option, placed))


def _excess(option: Option, placed: BoolArray) -> FloatArray:
    """Return how far beyond its limits an option is (n,), as `Weighed` has it."""
    found = np.where(placed, 0.0, np.inf)
    for limit in option.limits:
        over = np.nan_to_num(limit.value / limit.limit)
        found = np.maximum(found, over if limit.by_design else np.where(limit.beyond, np.inf, 0))
    return found


def explained(option: Option, weighed: Weighed, catalogue: Catalogue) -> TextArray:
    """Return the sentence that explains each site's score (n,); each distinct one is built once."""
    distinct, which = np.unique(weighed.code, return_inverse=True)
    rest = (1 << _SCORE_BITS) - 1
    texts = [
        _sentence(option, int(c) >> _SCORE_BITS, (int(c) & rest) - 1, catalogue) for c in distinct
    ]
    found = np.array([*texts, ""], dtype=object)[:-1][which]
    first_limit = len(option.reasons) + len(option.bars)
    for k in np.flatnonzero(distinct >> _SCORE_BITS + first_limit):
        here = np.flatnonzero(which == k)
        found[here] = fill(texts[k], _numbers(option, here), len(here))
    return found


def _numbers(option: Option, here: NDArray[np.intp]) -> dict[str, FloatArray | float]:
    """Return the numbers of an option's limits at some sites, by the names of their gaps."""
    found: dict[str, FloatArray | float] = {}
    for k, limit in enumerate(option.limits):
        found |= {f"value{k}": limit.told[here], f"limit{k}": limit.limit}
    return found


def _sentence(option: Option, code: int, score: int, words: Catalogue) -> str:
    """Return the sentence of one combination of reasons; the numbers of limits are still open."""
    count, name = len(option.reasons), words[option.key]
    held = [r for bit, r in enumerate(option.reasons) if code >> bit & 1]
    bars = [words[why] for bit, (_, why) in enumerate(option.bars, count) if code >> bit & 1]
    over = [
        words[limit.key].replace("{value", f"{{value{k}").replace("{limit", f"{{limit{k}")
        for k, limit in enumerate(option.limits)
        if code >> count + len(option.bars) + k & 1
    ]
    if over:
        return words.one("mount.out", name=name, why="; ".join(over))
    if score < 0:
        why = "; ".join(bars) or words["mount.no_place"]
        return words.one("mount.impossible", name=name, why=why)
    sides = {
        "mount.for": ", ".join(words[r.key] for r in held if r.change >= 0),
        "mount.against": ", ".join(words[r.key] for r in held if r.change < 0),
    }
    told = "; ".join(words.one(key, reasons=text) for key, text in sides.items() if text)
    return words.one("mount.scored", name=name, score=score, reasons=told)
