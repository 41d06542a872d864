"""One cell of a sheet as ECMA-376, part 1, section 18.3.1.4, has it.

Texts are inline strings: no spreadsheet takes one for a formula, an error or a number.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

from siteplan.outputs.escaping import for_workbook, for_xml

#: Day 0 of a workbook's dates from March 1900 on (section 18.17.4.1).
_DAY_0 = dt.date(1899, 12, 30)


def cell_xml(place: str, style: int, value: Any) -> str:
    """Return a cell.

    Parameters
    ----------
    place : str
        Its name, such as B14.
    style : int
        The number of its style in the workbook.
    value : object
        Text, number, bool, date, or None for none; any other as its text.

    Examples
    --------
    >>> cell_xml("A1", 2, 0.5)
    '<c r="A1" s="2"><v>0.5</v></c>'
    >>> cell_xml("A2", 0, "=1 & 2")
    '<c r="A2" s="0" t="inlineStr"><is><t xml:space="preserve">=1 &amp; 2</t></is></c>'
    """
    head = f'<c r="{place}" s="{style}"'
    if value is None:
        return f"{head}/>"
    if isinstance(value, bool):
        return f'{head} t="b"><v>{int(value)}</v></c>'
    if isinstance(value, dt.date) and not isinstance(value, dt.datetime):
        value = (value - _DAY_0).days
    if isinstance(value, int | float):
        # numpy's numbers would tell their type.
        return f"{head}><v>{(float if isinstance(value, float) else int)(value)!r}</v></c>"
    text = for_xml(for_workbook(str(value)))
    return f'{head} t="inlineStr"><is><t xml:space="preserve">{text}</t></is></c>'
