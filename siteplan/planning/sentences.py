"""Sentences with numbers in them, for many sites at once.

Each distinct sentence is built once: numbers in sentences are rounded, so there are few.
"""

from __future__ import annotations

import re
import string
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

TextArray = NDArray[np.object_]


def fill(template: str, values: Mapping[str, NDArray[Any]]) -> TextArray:
    """Return ``template`` filled with each site's values.

    Parameters
    ----------
    template : str
        A format string; its fields are names of ``values`` with a format such as ``:.1f``.
    values : mapping of (n,) arrays
        Numbers by name; those that the template does not use are ignored.

    Returns
    -------
    (n,) array of str
        The sentences.

    >>> fill("{x:.1f} dB", {"x": np.array([1.04, 1.01])}).tolist()
    ['1.0 dB', '1.0 dB']
    """
    pieces = [(name, spec or "") for _, name, spec, _ in string.Formatter().parse(template) if name]
    n = len(next(iter(values.values())))
    if not pieces:
        return np.full(n, template, dtype=object)
    texts = [_format(values[name], spec) for name, spec in pieces]
    codes = np.stack([code for _, code in texts], axis=1)
    rows, which = np.unique(codes, axis=0, return_inverse=True)
    plain = "".join(
        before + ("{}" if name else "") for before, name, _, _ in string.Formatter().parse(template)
    )
    distinct = [plain.format(*(t[k] for (t, _), k in zip(texts, row, strict=True))) for row in rows]
    return np.array([*distinct, ""], dtype=object)[:-1][which.ravel()]


def _format(numbers: NDArray[Any], spec: str) -> tuple[list[str], NDArray[np.intp]]:
    """Return the distinct texts of numbers, and which each site has."""
    decimals = re.fullmatch(r"\.(\d)f", spec)
    if decimals:
        numbers = np.round(numbers, int(decimals[1])) + 0.0  # adding zero turns -0 into 0
    distinct, which = np.unique(numbers, return_inverse=True)
    texts, code = np.unique([format(x, spec) for x in distinct.tolist()], return_inverse=True)
    return texts.tolist(), code[which]


def join(parts: list[tuple[NDArray[np.bool_], TextArray]], separator: str, n: int) -> TextArray:
    """Return for each site the texts whose masks (n,) hold, joined in order.

    ``parts`` holds pairs of a mask (n,) and the texts of the sites where it holds (k,).
    """
    joined = np.full(n, "", dtype=object)
    for mask, texts in parts:
        before = joined[mask]
        joined[mask] = np.where(before == "", texts, before + separator + texts)
    return joined
