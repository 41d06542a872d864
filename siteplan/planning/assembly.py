"""The one results table: every step's fields in the dictionary's order, blanks decided once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import Arrays, BoolArray
from siteplan.fields import FIELDS, INPUT_PREFIX, lookup
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
    return {name: _blanked(name, columns[name], given) for name in _order(columns)}


def _order(columns: Mapping[str, Any]) -> list[str]:
    """Return the names in the dictionary's order; catalogue margins stand before the mount."""
    fixed = [name for name in FIELDS if name in columns]
    dynamic = [name for name in columns if name not in FIELDS]
    cut = fixed.index("mount")
    return fixed[:cut] + dynamic + fixed[cut:]


def _blanked(name: str, values: NDArray[Any], given: Mapping[str, BoolArray]) -> NDArray[Any]:
    """Return a field's values, blank where what it rests on is not given to the site."""
    field = FIELDS.get(name)
    here = None if field is None else given.get(field.rests_on)
    if field is None or here is None or here.all():
        return values
    return np.where(here, values, "" if field.is_text else np.nan).astype(values.dtype)


def free_columns(extra: Mapping[str, NDArray[Any]]) -> Columns:
    """Return the user's free columns under names that collide with no result field."""
    return {
        (f"{INPUT_PREFIX}{name}" if lookup(name) or name == "geometry" else name): values
        for name, values in extra.items()
    }


def joined(pieces: list[Columns]) -> Columns:
    """Return the chunks' arrays by name, end to end."""
    return {name: np.concatenate([p[name] for p in pieces]) for name in pieces[0]}
