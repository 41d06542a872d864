"""How physics reads the tables that stand as CSV files beside the modules that use them.

A table's ``source`` says where a row was published; its ``tag`` marks what was not read there:
``copy`` was read in a copy that cites the source, ``from memory`` was not looked up.
"""

from __future__ import annotations

from pathlib import Path


def read_rows(path: Path) -> list[dict[str, str]]:
    """Return the rows of a CSV file in UTF-8, each by the file's headings, in their order."""
    import csv

    with path.open(encoding="utf-8", newline="") as file:
        headings, *rows = csv.reader(file)
    return [dict(zip(headings, row, strict=True)) for row in rows]


def number(text: str) -> float:
    """Return a number that stands as a decimal, or as a fraction of two whole numbers.

    Examples
    --------
    >>> [number(text) for text in ("-2.35", "3/4", "984/1616")]
    [-2.35, 0.75, 0.6089108910891089]
    """
    above, _, below = text.partition("/")
    return int(above) / int(below) if below else float(above)
