"""Tables that are already in memory: DataFrames, mappings of columns, pairs of coordinates."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.errors import SitesError
from siteplan.inputs.files.points import place
from siteplan.inputs.files.rawtable import Table, tidy_heading, without_blank_rows
from siteplan.inputs.headings import key_of, unlike_headings

_NO_CRS_FIX = "Set it, for example with set_crs('EPSG:4326')."


def frame_table(data: Any, source: str) -> Table:
    """Return data in memory as a table.

    Parameters
    ----------
    data : DataFrame, GeoDataFrame, mapping of columns, or iterable of (lat, lon)
    source : str
        What messages call it.

    Returns
    -------
    Table
        Rows count from 2.

    Raises
    ------
    SitesError
        Not a table, no rows, unequal columns, or a geometry without reference system.
    """
    import pandas as pd

    if isinstance(data, pd.DataFrame):
        table = _from_frame(data, source)
    elif isinstance(data, Mapping):
        table = _from_mapping(data, source)
    else:
        table = _from_pairs(data, source)
    if len(table) + len(table.rejects) == 0:
        raise SitesError("it has no rows of sites.", where=source, fix="Give at least one site.")
    return table


def _table(columns: dict[str, NDArray[Any]], count: int, source: str) -> Table:
    return Table(columns, np.arange(2, count + 2, dtype=np.int64), source)


def _from_frame(frame: Any, source: str) -> Table:
    names = [str(name) for name in frame.columns]
    index_names = [str(name) for name in frame.index.names if name is not None]
    if "site_id" in map(key_of, index_names) and "site_id" not in map(key_of, names):
        frame = frame.reset_index()
    geometry = getattr(frame, "_geometry_column_name", None)
    geometry = geometry if geometry in frame.columns else None
    headings = [tidy_heading(str(name)) for name in frame.columns if name != geometry]
    headings, written = unlike_headings(headings)
    places = [at for at, name in enumerate(frame.columns) if name != geometry]
    columns = {
        heading: series_values(frame.iloc[:, at])
        for heading, at in zip(headings, places, strict=True)
    }
    bare = replace(_table(columns, len(frame), source), written=written)
    if geometry is None:
        return without_blank_rows(bare)
    if frame.crs is None:
        raise SitesError("the geometry has no reference system.", where=source, fix=_NO_CRS_FIX)
    return place(bare, np.asarray(frame[geometry].to_numpy(), dtype=object), frame.crs)


def series_values(series: Any) -> NDArray[Any]:
    """Return a Series as a plain array: numbers as they are, else objects."""
    kind = series.dtype
    if isinstance(kind, np.dtype) and kind.kind in "iufb":
        return np.asarray(series.to_numpy())
    if getattr(kind, "kind", "O") in "iuf" and not isinstance(kind, np.dtype):
        if not series.isna().any():
            return np.asarray(series.to_numpy(dtype=kind.kind + "8"))
        if kind.kind == "f":
            return np.asarray(series.to_numpy(dtype=np.float64, na_value=np.nan))
    values = np.empty(len(series), dtype=object)
    values[:] = series.astype(object).to_list()
    missing = series.isna().to_numpy(dtype=bool)
    if missing.any():
        values[missing] = "" if _all_texts(values[~missing]) else None
    return values


def _all_texts(values: NDArray[Any]) -> bool:
    return all(isinstance(value, str) for value in values)


def _from_mapping(data: Mapping[Any, Any], source: str) -> Table:
    if not data or any(np.ndim(v) != 1 for v in data.values()):
        raise SitesError(
            "a mapping must hold one column of values for each heading.",
            where=source,
            fix="For example {'lat': [-1.3, -4.0], 'lon': [36.8, 39.7]}.",
        )
    lengths = {str(name): len(values) for name, values in data.items()}
    if len(set(lengths.values())) > 1:
        told = ", ".join(f"'{name}' {length}" for name, length in lengths.items())
        raise SitesError(
            f"the columns have unequal lengths: {told}.", where=source, fix="Fill up the short."
        )
    headings, written = unlike_headings([tidy_heading(str(name)) for name in data])
    series = [_series(values) for values in data.values()]
    columns = {h: series_values(s) for h, s in zip(headings, series, strict=True)}
    table = _table(columns, next(iter(lengths.values())), source)
    return without_blank_rows(replace(table, written=written))


def _series(values: Any) -> Any:
    """Return a column of a mapping as a Series; lists of numbers become numbers."""
    import pandas as pd

    if hasattr(values, "dtype"):
        return pd.Series(values)
    items = list(values)
    numbers = all(isinstance(v, int | float) and not isinstance(v, bool) for v in items)
    return pd.Series(items) if numbers and items else pd.Series(items, dtype=object)


def _from_pairs(data: Any, source: str) -> Table:
    fix = "Give a DataFrame, a mapping of columns, or pairs (lat, lon)."
    if isinstance(data, str | bytes) or not isinstance(data, Iterable):
        raise SitesError(f"{type(data).__name__} is no table of sites.", where=source, fix=fix)
    pairs = [tuple(pair) if isinstance(pair, Iterable) else (pair,) for pair in data]
    wrong = next((i for i, pair in enumerate(pairs) if len(pair) != 2 or pair != pair[:2]), None)
    if wrong is not None:
        raise SitesError(f"item {wrong} is no pair (lat, lon).", where=source, fix=fix)
    columns: dict[str, NDArray[Any]] = {}
    for key, values in zip(("lat", "lon"), zip(*pairs, strict=True), strict=False):
        columns[key] = np.empty(len(values), dtype=object)
        columns[key][:] = values
    return _table(columns, len(pairs), source)
