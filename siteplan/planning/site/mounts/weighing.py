"""Weighing an option: a base, reasons for and against, and what makes it impossible."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray, TextArray
from siteplan.messages import Catalogue

#: Reasons and bars of an option are packed into the bits of a number, beside its score.
_MOST_BITS, _SCORE_BITS = 40, 8


class Reason(NamedTuple):
    """What changes a score by ``change`` where ``holds`` (n,); for the option unless negative.

    ``key`` is that of its words in the catalogue of messages.
    """

    change: float
    holds: BoolArray
    key: str


class Option(NamedTuple):
    """An option: key of its name, base score (n,), reasons, and where it is impossible and why.

    A base of NaN means that the option has no place there.
    """

    key: str
    base: FloatArray
    reasons: tuple[Reason, ...]
    bars: tuple[tuple[BoolArray, str], ...]


class Weighed(NamedTuple):
    """Score of 100 (n,), NaN where impossible, and a number that says which reasons hold (n,)."""

    score: FloatArray
    code: NDArray[np.int64]


def weigh(option: Option) -> Weighed:
    """Return an option's score at each site, and which of its reasons hold.

    Raises
    ------
    ValueError
        If an option has more than 40 reasons and bars.
    """
    masks = [reason.holds for reason in option.reasons] + [mask for mask, _ in option.bars]
    if len(masks) > _MOST_BITS:
        raise ValueError(f"{option.key}: too many reasons to pack into a number")
    code = np.zeros(len(option.base), dtype=np.int64)
    score = option.base.copy()
    for bit, mask in enumerate(masks):
        code += mask.astype(np.int64) << bit
        if bit < len(option.reasons):
            score += option.reasons[bit].change * mask
        else:
            score[mask] = np.nan
    score = np.clip(score, 0, 100)
    number = np.nan_to_num(score, nan=-1.0).astype(np.int64)
    return Weighed(score, (code << _SCORE_BITS) + number + 1)


def explained(option: Option, weighed: Weighed, catalogue: Catalogue) -> TextArray:
    """Return the sentence that explains each site's score (n,); each distinct one is built once."""
    distinct, which = np.unique(weighed.code, return_inverse=True)
    rest = (1 << _SCORE_BITS) - 1
    texts = [
        _sentence(option, int(c) >> _SCORE_BITS, (int(c) & rest) - 1, catalogue) for c in distinct
    ]
    return np.array([*texts, ""], dtype=object)[:-1][which]


def _sentence(option: Option, code: int, score: int, words: Catalogue) -> str:
    """Return the sentence of one combination of reasons."""
    count, name = len(option.reasons), words[option.key]
    held = [r for bit, r in enumerate(option.reasons) if code >> bit & 1]
    bars = [words[why] for bit, (_, why) in enumerate(option.bars, count) if code >> bit & 1]
    if score < 0:
        why = "; ".join(bars) or words["mount.no_place"]
        return words.one("mount.impossible", name=name, why=why)
    sides = {
        "mount.for": ", ".join(words[r.key] for r in held if r.change >= 0),
        "mount.against": ", ".join(words[r.key] for r in held if r.change < 0),
    }
    told = "; ".join(words.one(key, reasons=text) for key, text in sides.items() if text)
    return words.one("mount.scored", name=name, score=score, reasons=told)
