"""The one dataset inside the map: columns as compact JSON that no HTML parser can break.

Numbers are rounded to the decimals of their field, texts that repeat are written once, and a
column with one value throughout is written as that value.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.fields import Field, lookup

#: Characters that could end a script element, or a line of JavaScript, as JSON escapes.
_ESCAPES = (
    (b"<", b"\\u003c"),
    (b">", b"\\u003e"),
    (b"&", b"\\u0026"),
    ("\u2028".encode(), b"\\u2028"),
    ("\u2029".encode(), b"\\u2029"),
)
#: Whole numbers beyond this do not survive JavaScript's numbers (ECMA-262, Number type).
_SAFE_INTEGER = 2**53 - 1


def to_json(value: Any) -> str:
    """Return ``value`` (arrays included; NaN as null) as JSON safe inside a script element."""
    import orjson

    return escaped(orjson.dumps(value, option=orjson.OPT_SERIALIZE_NUMPY))


def escaped(text: bytes) -> str:
    """Return JSON ``text`` with the characters that HTML or JavaScript could take for an end."""
    for raw, escape in _ESCAPES:
        text = text.replace(raw, escape)
    return text.decode()


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
    text = value if isinstance(value, str) else str(value)
    return text.encode("utf-8", "replace").decode()


def text_column(values: NDArray[Any]) -> dict[str, Any]:
    """Return texts (n,) as ``{"c": one}``, ``{"v": all}`` or ``{"d": distinct, "i": codes}``."""
    codes, distinct = factorized(values)
    if len(distinct) == 1:
        return {"c": distinct[0]}
    if len(distinct) * 2 > len(codes):
        return {"v": [distinct[k] for k in codes]}
    return {"d": distinct, "i": codes}


def number_column(values: NDArray[Any], decimals: int | None) -> dict[str, Any]:
    """Return numbers (n,) rounded to ``decimals`` (None: as they are) as ``{"c"}`` or ``{"v"}``.

    A value that rounds to zero from below stays -0.0, so that the page can tell it from 0.
    """
    numbers = np.asarray(values, dtype=np.float64)
    rounded = numbers if decimals is None else np.round(numbers, decimals)
    if rounded.size and (np.isnan(rounded).all() or _constant(rounded)):
        return {"c": float(rounded[0])}
    if decimals == 0 and not np.isnan(rounded).any() and not np.signbit(rounded).any():
        return {"v": rounded.astype(np.int64)}
    return {"v": np.ascontiguousarray(rounded)}


def _constant(rounded: NDArray[np.float64]) -> bool:
    same_sign = bool((np.signbit(rounded) == np.signbit(rounded[0])).all())
    return same_sign and bool((rounded == rounded[0]).all())


def field_column(values: NDArray[Any], field: Field) -> dict[str, Any]:
    """Return one result field's column."""
    if field.is_text:
        return text_column(values)
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
