"""The sheet of sites in plan.xlsx: what is on the front of a site's sheet, its flags, or all."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from numpy.typing import NDArray

from siteplan.arrays import at_decimals
from siteplan.fields import FLAGS, Field, lookup
from siteplan.outputs.shown import NOT_REACHED, NOWHERE, unit_sign, words
from siteplan.outputs.workbook.book import (
    GENERAL,
    TEXT,
    Column,
    Page,
    Styled,
    decimal_form,
    letters,
)
from siteplan.results import Plan
from siteplan.words import class_labels

#: The fields of the front, in order; those that the plan has not are left out.
FRONT = (
    *("site_id", "name", "group", "priority"),
    *("margin_class", "margin_db", "margin_after_reserve_db", "tried_antenna_m", "tried_buc_w"),
    *(
        "no_fit_reason",
        "antenna_m",
        "buc_w",
        "required_antenna_m",
        "mount",
        "mount_certainty",
        "mount_question",
    ),
    *("site_cost", "lat", "lon", "altitude_m"),
    *("azimuth_true_deg", "azimuth_magnetic_deg", "elevation_deg", "inclinometer_deg", "skew_deg"),
    *("expected_c_n_db", "acceptance_c_n_db"),
    *("availability_target_pct", "availability_achieved_pct", "limiting_direction"),
    *("limiting_end", "ifl_length_m", "cable_class", "ballast_kg", "public_distance_m"),
    *("horizon_at_satellite_deg", "clearance_deg", "timezone"),
)
#: The field of the margin's class.
CLASS = "margin_class"
#: The fields behind the user's own columns.
FLAG_FIELDS = ("flags", "flag_notes")
#: Fields of codes, which stand in words here.
_CODES = frozenset(("structure", "mount", "mount_certainty", "flags"))
#: Widths of columns of text that are not as wide as their heading [letters].
_WIDTHS = {"name": 28, "flags": 36, "flag_notes": 90, "no_fit_reason": 50, "mount_question": 50}
#: The worst of a site's flags in a word, with its fill.
_WORST = {"stop": ("stop", "bad"), "warn": ("decide", "tight"), "note": ("know", "")}
_PASSING = ("tight", "fair", "good", "best")

#: What makes a cell of a value.
Show = Callable[[Any], Any]


def sites_page(plan: Plan, *, all_fields: bool) -> Page:
    """Return the sheet of sites: a row a site, numbers typed, units in the headings.

    The user's own columns stand before the flags; with ``all_fields`` the other fields behind
    them, in the order of the dictionary.
    """
    columns: list[Column] = []
    values: list[NDArray[Any]] = []
    shows: list[Show] = []
    for name in _names(plan, all_fields):
        field = lookup(name)
        if name in plan.columns and field is not None:
            columns.append(_column(field))
            values.append(_values(plan, field))
            shows.append(_show(field, plan))
        elif name == _WORST_NAME:
            columns.append(Column("Worst flag", 11, TEXT))
            values.append(plan.columns["flags"])
            shows.append(_worst)
        else:
            columns.append(Column(name, 18))
            values.append(plan.extra[name])
            shows.append(_own)
    checks = [(f"{letters(at)}1", column) for at, column in enumerate(columns, 1) if column.note]
    return Page("Sites", columns, _rows(values, shows, len(plan)), frozen=2, checks=checks)


#: Stands for the column of each site's worst flag, which is no field.
_WORST_NAME = "\0worst"


def _names(plan: Plan, all_fields: bool) -> list[str]:
    """Return the columns in order: fields, the user's own, flags, and all other fields."""
    front = [name for name in FRONT if name in plan.columns]
    flags = [name for name in FLAG_FIELDS if name in plan.columns]
    worst = [_WORST_NAME] if "flags" in plan.columns else []
    rest = [name for name in plan.columns if name not in {*front, *flags}] if all_fields else []
    return [*front, *plan.extra, *worst, *flags, *rest]


def _values(plan: Plan, field: Field) -> NDArray[Any]:
    """Return a field's values (n,) as they are written."""
    return at_decimals(plan.columns[field.name], field.decimals)


def _column(field: Field) -> Column:
    unit = unit_sign(field.unit)
    heading = f"{field.label} [{unit}]" if unit else field.label
    width = _WIDTHS.get(field.name, max(11, min(len(heading) + 2, 18)))
    return Column(heading, width, decimal_form(field.decimals), note=field.meaning)


def _rows(
    values: Sequence[NDArray[Any]], shows: Sequence[Show], count: int, step: int = 1000
) -> Iterator[list[Any]]:
    """Yield the cells site by site; no more than some sites are held at a time."""
    for start in range(0, count, step):
        parts = [part[start : start + step].tolist() for part in values]
        made = [[show(v) for v in part] for show, part in zip(shows, parts, strict=True)]
        yield from (list(row) for row in zip(*made, strict=True))


def _show(field: Field, plan: Plan) -> Show:
    if field.name == CLASS:
        fills = class_fills(plan.network.rules.margin_classes_db)
        return lambda text: Styled(text or "no margin", fills.get(text, "none"))
    if field.name in _CODES:
        return lambda text: words(text).replace(";", "; ") or None
    if field.is_text:
        return lambda text: str(text) if text not in (None, "") else None
    if field.name in NOWHERE:
        return lambda number: NOT_REACHED if number == 0 else _number(number)
    return _number


def class_fills(bounds_db: Sequence[float]) -> Mapping[str, str]:
    """Return a fill for each class of margin by its words: what fails stands out most.

    >>> class_fills([0, 1])
    {'below 0 dB': 'bad', '0 to 1 dB': 'tight', '1 dB or more': 'best'}
    """
    failing, *passing = class_labels(bounds_db, "dB")
    last = max(len(passing) - 1, 1)
    places = [round(at * (len(_PASSING) - 1) / last) for at in range(len(passing))]
    return {failing: "bad"} | {
        label: _PASSING[place] for label, place in zip(passing, places, strict=True)
    }


def _number(number: Any) -> Any:
    return None if number is None or not math.isfinite(number) else number


def _worst(flags: str) -> Any:
    """Return the worst of a site's flags in a word."""
    severities = {FLAGS[code].severity for code in str(flags).split(";") if code in FLAGS}
    for severity, (word, fill) in _WORST.items():
        if severity in severities:
            return Styled(word, fill)
    return None


def _own(value: Any) -> Any:
    """Return a cell of a column of the user's: texts stay texts, numbers numbers."""
    if value is None or value != value:  # noqa: PLR0124
        return None
    if isinstance(value, bool | str):
        return value if value != "" else None
    if isinstance(value, int | float):
        return Styled(_number(value), form=GENERAL)
    return str(value)
