"""Weighing an option: a base, reasons for and against, and what makes it impossible."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
TextArray = NDArray[np.object_]


class Reason(NamedTuple):
    """What changes a score by ``change`` where ``holds`` (n,); for the option unless negative."""

    change: float
    holds: BoolArray
    text: str


class Option(NamedTuple):
    """An option: its name, base score (n,), reasons, and pairs of where it is impossible and why.

    A base of NaN means that the option has no place there.
    """

    name: str
    base: FloatArray
    reasons: tuple[Reason, ...]
    bars: tuple[tuple[BoolArray, str], ...]


class Weighed(NamedTuple):
    """Score of 100 (n,), NaN where impossible, and the sentence with all reasons (n,)."""

    score: FloatArray
    text: TextArray


def weigh(option: Option) -> Weighed:
    """Return an option's score at each site and the sentence that explains it.

    Each distinct sentence is built once: the reasons that hold are packed into a number.

    Raises
    ------
    ValueError
        If an option has more than 40 reasons and bars.
    """
    masks = [reason.holds for reason in option.reasons] + [mask for mask, _ in option.bars]
    if len(masks) > 40:
        raise ValueError(f"{option.name}: too many reasons to pack into a number")
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
    distinct, which = np.unique((code << 8) + number + 1, return_inverse=True)
    texts = [_sentence(option, int(c) >> 8, (int(c) & 255) - 1) for c in distinct]
    return Weighed(score, np.array([*texts, ""], dtype=object)[:-1][which])


def _sentence(option: Option, code: int, score: int) -> str:
    """Return the sentence of one combination of reasons."""
    count = len(option.reasons)
    held = [r for bit, r in enumerate(option.reasons) if code >> bit & 1]
    bars = [why for bit, (_, why) in enumerate(option.bars, count) if code >> bit & 1]
    if score < 0:
        return f"{option.name}: not possible: {'; '.join(bars) or 'no place for it'}."
    pro = ", ".join(r.text for r in held if r.change >= 0)
    con = ", ".join(r.text for r in held if r.change < 0)
    told = [f"for: {pro}"] * bool(pro) + [f"against: {con}"] * bool(con)
    return f"{option.name}, {score} of 100; {'; '.join(told)}."
