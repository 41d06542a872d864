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
_FORMATTER = string.Formatter()
#: Fewer sentences than this are built one by one.
_FEW = 50


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
    parsed = [(text, name, spec or "") for text, name, spec, _ in _FORMATTER.parse(template)]
    columns = [_format(values[name], spec) for _, name, spec in parsed if name]
    n = len(next(iter(values.values())))
    if not columns:
        return np.full(n, template, dtype=object)
    codes = np.stack([code for _, code in columns], axis=1)
    if n < _FEW:
        rows, which = codes, np.arange(n)
    else:
        rows, which = np.unique(codes, axis=0, return_inverse=True)
    distinct = []
    for row in rows:
        numbers = iter([texts[k] for (texts, _), k in zip(columns, row, strict=True)])
        distinct.append("".join(text + (next(numbers) if name else "") for text, name, _ in parsed))
    return np.array([*distinct, ""], dtype=object)[:-1][which.ravel()]


def _format(numbers: NDArray[Any], spec: str) -> tuple[list[str], NDArray[np.intp]]:
    """Return the distinct texts of numbers, and which each site has."""
    decimals = re.fullmatch(r"\.(\d)f", spec)
    if decimals:
        numbers = np.round(numbers, int(decimals[1])) + 0.0  # adding zero turns -0 into 0
    if len(numbers) < _FEW:
        each = [format(x, spec) for x in numbers.tolist()]
        return each, np.arange(len(each))
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
