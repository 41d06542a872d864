"""Every sentence that planning and reading tell of sites, with named gaps, in one catalogue.

``en.csv`` holds a key and a sentence a row; another language is a file of the same keys beside it.
No number is decided here: whoever tells something gives the key and the numbers for its gaps. For
many sites at once each distinct sentence is built once: numbers in sentences are rounded, so
there are few.
"""

from __future__ import annotations

import csv
import re
import string
from collections.abc import Iterator, Mapping
from functools import cache
from importlib import resources
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, TextArray, at_decimals

_FORMATTER = string.Formatter()
#: Fewer sentences than this are built one by one.
_FEW = 50


class Catalogue(Mapping[str, str]):
    """Sentences with gaps by key, in one language.

    >>> english()["flag.low_elevation"]
    'Elevation {elevation_deg:.1f} deg is low: survey the horizon for trees, buildings and hills.'
    """

    def __init__(self, language: str, rows: Mapping[str, str]) -> None:
        self.language, self._rows = language, rows

    def __getitem__(self, key: str) -> str:
        """Return the sentence called ``key``, its gaps open."""
        return self._rows[key]

    def __iter__(self) -> Iterator[str]:
        """Yield the keys in the file's order."""
        return iter(self._rows)

    def __len__(self) -> int:
        """Return the number of sentences."""
        return len(self._rows)

    def one(self, key: str, **values: Any) -> str:
        """Return one sentence with its gaps filled."""
        return self[key].format(**values)

    def many(self, key: str, values: Mapping[str, Any], n: int) -> TextArray:
        """Return a sentence filled for each of n sites, as `fill` does."""
        return fill(self[key], values, n)


@cache
def catalogue(language: str) -> Catalogue:
    """Return the catalogue of a language, such as ``en``."""
    path = resources.files("siteplan.messages").joinpath(f"{language}.csv")
    rows = list(csv.reader(path.read_text(encoding="utf-8").splitlines()))
    return Catalogue(language, dict(rows[1:]))


def english() -> Catalogue:
    """Return the English catalogue."""
    return catalogue("en")


def gaps(sentence: str) -> tuple[str, ...]:
    """Return the names of a sentence's gaps, sorted.

    >>> gaps("{clear:.1f} deg of {asked:g}")
    ('asked', 'clear')
    """
    return tuple(sorted({name for _, name, _, _ in _FORMATTER.parse(sentence) if name}))


def fill(template: str, values: Mapping[str, Any], n: int | None = None) -> TextArray:
    """Return ``template`` filled with each site's values.

    Parameters
    ----------
    template : str
        A format string; its fields are names of ``values`` with a format such as ``:.1f``.
    values : mapping
        Arrays (n,), or single values that hold for all; those that the template does not use
        are ignored.
    n : int, optional
        Number of sites, where no value is an array.

    Returns
    -------
    (n,) array of str
        The sentences.

    >>> fill("{x:.1f} dB", {"x": np.array([1.04, 1.01])}).tolist()
    ['1.0 dB', '1.0 dB']
    """
    parsed = _parsed(template, values)
    columns = [_format(values[name], spec) for _, name, spec in parsed if name]
    if n is None:
        n = next(len(v) for v in values.values() if isinstance(v, np.ndarray))
    if not columns:
        return np.full(n, "".join(text for text, _, _ in parsed), dtype=object)
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


def _parsed(template: str, values: Mapping[str, Any]) -> list[tuple[str, str, str]]:
    """Return text, name and format of each gap that differs by site; the others are filled."""
    parsed = []
    for text, name, spec, _ in _FORMATTER.parse(template):
        if name and not isinstance(values[name], np.ndarray):
            parsed.append((text + format(values[name], spec or ""), "", ""))
        else:
            parsed.append((text, name or "", spec or ""))
    return parsed


def _format(numbers: NDArray[Any], spec: str) -> tuple[list[str], NDArray[np.intp]]:
    """Return the distinct texts of numbers, and which each site has."""
    decimals = re.fullmatch(r"\.(\d)f", spec)
    if decimals:
        numbers = at_decimals(np.asarray(numbers, dtype=float), int(decimals[1]))
    if len(numbers) < _FEW:
        each = [format(x, spec) for x in numbers.tolist()]
        return each, np.arange(len(each))
    distinct, which = np.unique(numbers, return_inverse=True)
    texts, code = np.unique([format(x, spec) for x in distinct.tolist()], return_inverse=True)
    return texts.tolist(), code[which]


def join(parts: list[tuple[BoolArray, TextArray]], separator: str, n: int) -> TextArray:
    """Return for each site the texts whose masks (n,) hold, joined in order.

    ``parts`` holds pairs of a mask (n,) and the texts of the sites where it holds (k,).
    """
    joined = np.full(n, "", dtype=object)
    for mask, texts in parts:
        before = joined[mask]
        joined[mask] = np.where(before == "", texts, before + separator + texts)
    return joined
