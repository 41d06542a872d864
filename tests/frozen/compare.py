"""What an earlier output says against what stands now: each function yields a line a difference.

What was there must be there still, with the same values; what is new beside it is no difference.
``exact`` asks for the same bits. Without it numbers may differ by 1e-9 of their size (and by 1e-9
near zero), and decimals in texts by one in their last digit, as processors round.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

RELATIVE = ABSOLUTE = 1e-9
#: Decimals in texts; what is part of a word, a date or a version is none.
_NUMBER = re.compile(r"(?<![\w.])-?\d+\.\d+(?![\w.])")

Columns = Mapping[str, Sequence[Any]]


def same_number(before: float, now: float, *, exact: bool) -> bool:
    """Whether two numbers are the same: to the bit (0 is not -0), or nearly; NaN is NaN."""
    if math.isnan(before) or math.isnan(now):
        return math.isnan(before) and math.isnan(now)
    if exact:
        return before == now and math.copysign(1, before) == math.copysign(1, now)
    return math.isclose(before, now, rel_tol=RELATIVE, abs_tol=ABSOLUTE)


def same_text(before: str, now: str, *, exact: bool) -> bool:
    """Whether two texts are the same, or the same but for the last digit of their decimals."""
    if exact or before == now:
        return before == now
    if _NUMBER.sub("#", before) != _NUMBER.sub("#", now):
        return False
    pairs = zip(_NUMBER.findall(before), _NUMBER.findall(now), strict=True)
    return all(
        math.isclose(float(a), float(b), rel_tol=0, abs_tol=1.01 * 10.0 ** -len(a.split(".")[1]))
        for a, b in pairs
    )


def same(before: Any, now: Any, *, exact: bool) -> bool:
    """Whether two values of a cell are the same; a text and a number are not, nor 1 and True."""
    if isinstance(before, str) and isinstance(now, str):
        return same_text(before, now, exact=exact)
    if isinstance(before, bool) or isinstance(now, bool):
        return before is now
    if isinstance(before, int | float) and isinstance(now, int | float):
        return same_number(float(before), float(now), exact=exact)
    return before is None and now is None


def of_columns(file: str, before: Columns, now: Columns, *, key: str, exact: bool) -> Iterator[str]:
    """Compare the earlier columns, row by row; ``key`` is the column that names a row."""
    for name, values in before.items():
        if name not in now:
            yield f"{file}: column {name} is gone"
            continue
        if len(values) != len(now[name]):
            yield f"{file}: column {name} has {len(now[name])} rows, before {len(values)}"
            continue
        for row, a, b in zip(before[key], values, now[name], strict=True):
            if not same(a, b, exact=exact):
                yield f"{file}: {name} of {row}: before {a!r}, now {b!r}"


def of_written(file: str, cells: Columns, now: Columns, *, key: str, exact: bool) -> Iterator[str]:
    """Compare earlier cells of a CSV (texts, None where blank) with what other files hold.

    Where such a file holds a number, it must be the one that the cell's digits say.
    """
    for name, values in now.items():
        if name in cells and len(values) == len(cells[name]):
            pairs = zip(cells[name], values, strict=True)
            now = {**now, name: [_as_cell(cell, value) for cell, value in pairs]}
    yield from of_columns(file, cells, now, key=key, exact=exact)


def _as_cell(cell: str | None, value: Any) -> Any:
    """Return the cell where a value is the number that it says, else the value as a text."""
    if not isinstance(value, int | float) or isinstance(value, bool):
        return value
    try:
        return cell if cell is not None and float(cell) == value else str(value)
    except ValueError:
        return str(value)


def of_lines(
    file: str, before: Sequence[str], now: Sequence[str], *, most_new: int, exact: bool
) -> Iterator[str]:
    """Compare a page: each earlier line in its order, and at most ``most_new`` others."""
    left, new = list(now), []
    for number, line in enumerate(before, start=1):
        at = next((k for k, x in enumerate(left) if same_text(line, x, exact=exact)), None)
        if at is None:
            yield f"{file}, line {number}: before {line!r}, now {left[0] if left else ''!r}"
            return
        new += left[:at]
        del left[: at + 1]
    new += left
    if len(new) > most_new:
        yield f"{file}: {len(new)} lines are new, at most {most_new} may be: {new[:5]}"


def of_tree(file: str, before: Any, now: Any, *, exact: bool) -> Iterator[str]:
    """Compare what JSON holds: earlier keys of objects, earlier entries of lists in their order."""
    if isinstance(before, dict) and isinstance(now, dict):
        for key, value in before.items():
            if key not in now:
                yield f"{file}: {key} is gone, before {value!r}"
            else:
                yield from of_tree(f"{file}: {key}", value, now[key], exact=exact)
    elif isinstance(before, list) and isinstance(now, list):
        left = iter(now)
        for entry in before:
            if not any(not list(of_tree(file, entry, x, exact=exact)) for x in left):
                yield f"{file}: before {entry!r}, which is missing now in {now!r}"
                return
    elif not same(before, now, exact=exact):
        yield f"{file}: before {before!r}, now {now!r}"
