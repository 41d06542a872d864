"""The one dataset inside the map: columns as compact JSON that no HTML parser can break.

Numbers are rounded to the decimals of their field and written as whole numbers of their last
decimal; texts that repeat are written once, sentences that differ in their numbers only share
their words, and a column with one value throughout is written as that value.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.fields import Field, lookup
from siteplan.outputs.escaping import for_script, for_utf8

#: Whole numbers beyond this do not survive JavaScript's numbers (ECMA-262, Number type).
_SAFE_INTEGER = 2**53 - 1
#: Numbers up to this are written as whole numbers of their last decimal.
_LARGE = 1e8
_NUMBER = re.compile(r"(\d+(?:\.\d+)?)")


def to_json(value: Any) -> str:
    """Return ``value`` (arrays included; NaN as null) as JSON safe inside a script element."""
    return for_script(dump(value))


def dump(value: Any) -> bytes:
    """Return ``value`` (arrays included; NaN as null) as JSON."""
    import orjson

    return orjson.dumps(value, option=orjson.OPT_SERIALIZE_NUMPY)


def factorized(values: NDArray[Any]) -> tuple[NDArray[np.int64], list[str]]:
    """Return the codes (n,) and the distinct texts of ``values`` in order of appearance.

    None and NaN become the empty text; what is not text is written as Python writes it.
    """
    import pandas as pd

    codes, distinct = pd.factorize(np.asarray(values, dtype=object), use_na_sentinel=False)
    return codes.astype(np.int64), [_clean(value) for value in distinct]


def _clean(value: Any) -> str:
    """Return ``value`` as text that UTF-8 can carry."""
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""
    return for_utf8(value if isinstance(value, str) else str(value))


def text_column(values: NDArray[Any]) -> dict[str, Any]:
    """Return texts (n,) as ``{"c": one}``, ``{"v": all}`` or ``{"d": distinct, "i": codes}``."""
    codes, distinct = factorized(values)
    if len(distinct) == 1:
        return {"c": distinct[0]}
    if len(distinct) * 2 > len(codes):
        return {"v": [distinct[k] for k in codes]}
    return {"d": distinct, "i": codes}


def sentence_column(values: NDArray[Any]) -> dict[str, Any]:
    """Return sentences (n,) whose numbers differ: as in `text_column`, or with shared words.

    ``{"t": templates, "i": codes, "n": numbers}``: a template is the texts around the numbers,
    and the numbers of all sites follow one another, separated by blanks.
    """
    codes, distinct = factorized(values)
    pieces = [_NUMBER.split(text) for text in distinct]
    words, index = _words(pieces)
    if len(distinct) < 2 or len(words) * 2 > len(distinct):
        return text_column(values)
    numbers = [" ".join(piece[1::2]) for piece in pieces]
    joined = " ".join(filter(None, (numbers[k] for k in codes.tolist())))
    return {"t": words, "i": np.asarray(index)[codes], "n": joined}


def _words(pieces: list[list[str]]) -> tuple[list[list[str]], list[int]]:
    """Return the distinct texts around the numbers, and which each sentence has."""
    place: dict[tuple[str, ...], int] = {}
    index = [place.setdefault(tuple(piece[::2]), len(place)) for piece in pieces]
    return [list(words) for words in place], index


def number_column(values: NDArray[Any], decimals: int | None) -> dict[str, Any]:
    """Return numbers (n,) rounded to ``decimals`` (None: as they are).

    ``{"c": value}`` where all are the same, else ``{"v": all}`` or ``{"v": all, "s": decimals}``:
    whole numbers of the last decimal, NaN as null. A value that rounds to zero from below stays
    -0, so that the page can tell it from 0.
    """
    numbers = np.asarray(values, dtype=np.float64)
    rounded = numbers if decimals is None else np.round(numbers, decimals)
    if rounded.size and (np.isnan(rounded).all() or _constant(rounded)):
        return {"c": float(rounded[0])}
    if decimals is None or not rounded.size or not np.nanmax(np.abs(rounded)) < _LARGE:
        return {"v": np.ascontiguousarray(rounded)}
    return {"v": whole_numbers(np.rint(rounded * 10.0**decimals)), "s": decimals}


def whole_numbers(values: NDArray[np.float64]) -> Any:
    """Return whole numbers as JSON without points: NaN as null, minus zero as -0."""
    import orjson

    if not np.isnan(values).any() and not (np.signbit(values) & (values == 0)).any():
        return np.ascontiguousarray(values).astype(np.int64)
    text = orjson.dumps(np.ascontiguousarray(values), option=orjson.OPT_SERIALIZE_NUMPY)
    return orjson.Fragment(text.replace(b".0", b""))


def table_column(values: NDArray[np.float64], decimals: int, *, bends: bool = False) -> Any:
    """Return a table (n, ...) flat, as whole numbers of the last decimal.

    With ``bends`` the last axis is told by how its steps change, from 0 before the first: along a
    smooth curve the numbers are small, and there are few of them.
    """
    whole = np.rint(np.asarray(values, dtype=np.float64) * 10.0**decimals) + 0.0
    if bends and whole.shape[-1]:
        steps = np.diff(whole, axis=-1, prepend=0.0)
        whole = np.diff(steps, axis=-1, prepend=0.0) + 0.0
    return whole_numbers(whole.ravel())


def in_steps(
    values: NDArray[np.float64], step: float, bounds: Sequence[float]
) -> NDArray[np.float64]:
    """Return values as whole steps, less than one step from each; NaN stays.

    The nearest step, or the one beside it where that lies across a bound: each stays in the class
    where the plan has it.
    """
    exact = np.round(np.asarray(values, dtype=np.float64), 6)
    steps = np.rint(exact / step)
    for bound in bounds:
        over = np.round(steps * step, 6) >= bound
        steps = steps + np.where((exact >= bound) & ~over, 1.0, 0.0)
        steps = steps - np.where((exact < bound) & over, 1.0, 0.0)
    return np.asarray(steps + 0.0)


def told_by_change(steps: NDArray[np.float64]) -> Any:
    """Return whole numbers (n, k) flat, each row by how it changes from 0; NaN, as null, is 0."""
    known = np.nan_to_num(steps)
    change = np.diff(known, axis=1, prepend=0.0) + 0.0
    return whole_numbers(np.where(np.isnan(steps), np.nan, change).ravel())


def _constant(rounded: NDArray[np.float64]) -> bool:
    same_sign = bool((np.signbit(rounded) == np.signbit(rounded[0])).all())
    return same_sign and bool((rounded == rounded[0]).all())


def field_column(values: NDArray[Any], field: Field) -> dict[str, Any]:
    """Return one result field's column."""
    if field.is_text:
        return sentence_column(values)
    return number_column(values, field.decimals)


def extra_column(values: NDArray[Any]) -> dict[str, Any]:
    """Return one free column: numbers as they are where the array holds numbers, else texts."""
    array = np.asarray(values)
    if array.dtype.kind == "f":
        return number_column(array, None)
    if array.dtype.kind in "iu" and (np.abs(array) <= _SAFE_INTEGER).all():
        return {"c": int(array[0])} if len(set(array.tolist())) == 1 else {"v": array}
    return text_column(array)


def field_columns(
    columns: Mapping[str, NDArray[Any]], names: tuple[str, ...]
) -> dict[str, dict[str, Any]]:
    """Return the encoded columns of ``names`` that ``columns`` has and the dictionary knows."""
    known = {name: lookup(name) for name in names if name in columns}
    return {
        name: field_column(columns[name], field)
        for name, field in known.items()
        if field is not None
    }
