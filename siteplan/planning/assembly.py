"""The one results table: every step's fields in the dictionary's order, blanks decided once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import Arrays, BoolArray
from siteplan.fields import ASBUILT_FIELDS, FIELDS, INPUT_PREFIX, lookup
from siteplan.model import Sites
from siteplan.planning.step import Columns

#: Columns of the sites table that go into the results as they are.
CARRIED = (
    "site_id",
    "name",
    "group",
    "priority",
    "lat",
    "lon",
    "structure",
    "wall_facing_deg",
    "roof_height_m",
    "cable_m",
    "wind_m_s",
    "fixed_antenna_m",
    "fixed_buc_w",
    "fixed_efficiency",
    "fixed_buc_backoff_db",
    "source_row",
)

#: What each field of the plan and of what came back rests on.
FIELDS_REST_ON = {name: f.rests_on for name, f in {**ASBUILT_FIELDS, **FIELDS}.items()}


def assembled(
    sites: Sites, steps: Iterable[Arrays], texts: Columns, *, given: Mapping[str, BoolArray]
) -> Columns:
    """Return the result fields of sites (n,), in the order of the dictionary of fields.

    Parameters
    ----------
    sites : Sites
        Whose own columns are carried along.
    steps : iterable of Arrays
        What the steps gave.
    texts : dict
        Fields of sentences.
    given : mapping of (n,) arrays of bool
        Where each of ``dish``, ``buc`` and ``kit`` (both) is given: elsewhere the fields that rest
        on it are blank.
    """
    columns: Columns = {name: getattr(sites, name) for name in CARRIED}
    for step in steps:
        columns |= step.columns()
    columns |= texts
    return blanked({name: columns[name] for name in _order(columns)}, given)


def with_step(columns: Columns, step: Arrays) -> Columns:
    """Return the result fields with those of one more step, in the order of the dictionary."""
    more = columns | blanked(step.columns(), given(columns))
    return {name: more[name] for name in _order(more)}


def _order(columns: Mapping[str, Any]) -> list[str]:
    """Return the names in the dictionary's order; catalogue margins stand before the mount."""
    fixed = [name for name in FIELDS if name in columns]
    dynamic = [name for name in columns if name not in FIELDS]
    cut = fixed.index("mount")
    return fixed[:cut] + dynamic + fixed[cut:]


def given(columns: Mapping[str, NDArray[Any]]) -> dict[str, BoolArray]:
    """Return where antenna, BUC and both were given to the sites (n,), installed ones too."""
    dish, buc = ~np.isnan(columns["antenna_m"]), ~np.isnan(columns["buc_w"])
    return {"dish": dish, "buc": buc, "kit": dish & buc}


def blanked(
    columns: Mapping[str, NDArray[Any]],
    given: Mapping[str, BoolArray],
    rests_on: Mapping[str, str] = FIELDS_REST_ON,
) -> Columns:
    """Return fields or tables (n, ...), blank where what they rest on is not given to the site.

    Parameters
    ----------
    columns : mapping of arrays
        By name.
    given : mapping of (n,) arrays of bool
        Where each of ``dish``, ``buc`` and ``kit`` is given.
    rests_on : mapping
        What each rests on, a word of `siteplan.fields.RESTS_ON`; those not named are kept.
    """
    return {
        name: _blanked(values, given.get(rests_on.get(name, "")))
        for name, values in columns.items()
    }


def _blanked(values: NDArray[Any], here: BoolArray | None) -> NDArray[Any]:
    """Return values (n, ...), blank but ``here``; all of them where that is None."""
    if here is None or here.all():
        return values
    blank = "" if values.dtype == object else np.nan
    shown = here.reshape(-1, *[1] * (values.ndim - 1))
    return np.where(shown, values, blank).astype(values.dtype)


#: Columns that a GeoPackage, or a frame of points, has already.
_KEPT = frozenset(("geometry", "geom", "fid"))


def free_columns(extra: Mapping[str, NDArray[Any]]) -> Columns:
    """Return the user's free columns under names that collide with no result field.

    Nor do they collide with each other or with what a GeoPackage keeps for itself: it takes
    capitals for small letters.
    """
    out: Columns = {}
    seen = {name.casefold() for name in extra}
    for name, values in extra.items():
        free, count = name, 1
        if lookup(name) or lookup(name.casefold()) or name.casefold() in _KEPT:
            free = f"{INPUT_PREFIX}{name}"
            while free.casefold() in seen:
                count += 1
                free = f"{INPUT_PREFIX}{name}_{count}"
            seen.add(free.casefold())
        out[free] = values
    return out


def joined(pieces: list[Columns]) -> Columns:
    """Return the chunks' arrays by name, end to end."""
    return {name: np.concatenate([p[name] for p in pieces]) for name in pieces[0]}
