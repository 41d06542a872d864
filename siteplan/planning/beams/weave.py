"""Sites that went through the chain in several passes, put back into their order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import IntArray
from siteplan.planning.site.tables import BY_TRANSIT
from siteplan.planning.step import Columns


def woven(rows: Sequence[IntArray], pieces: Sequence[Mapping[str, NDArray[Any]]]) -> Columns:
    """Return arrays (n, ...) of all sites from those of each pass.

    Parameters
    ----------
    rows : sequence of (k,) arrays
        The sites of each pass; together they are every site once.
    pieces : sequence of mappings of (k, ...) arrays
        The arrays of each, by name. What a pass has not is blank for its sites.
    """
    if len(pieces) == 1:
        return dict(pieces[0])
    names = dict.fromkeys(name for piece in pieces for name in piece)
    count = sum(map(len, rows))
    return {name: _woven(name, rows, pieces, count) for name in names}


def _woven(
    name: str, rows: Sequence[IntArray], pieces: Sequence[Mapping[str, NDArray[Any]]], count: int
) -> NDArray[Any]:
    like = next(piece[name] for piece in pieces if name in piece)
    blank = "" if like.dtype == object else np.nan if like.dtype.kind == "f" else 0
    found = np.full((count, *like.shape[1:]), blank, dtype=like.dtype)
    for index, piece in zip(rows, pieces, strict=True):
        if name in piece:
            found[index] = piece[name]
    return found


def woven_tables(
    rows: Sequence[IntArray], pieces: Sequence[Mapping[str, NDArray[Any]]], *, first: int
) -> Columns:
    """Return the tables of all sites from those of each pass, transits in their sites' order.

    ``first`` is the index in the plan of the first of the sites; each pass counts its own from 0.
    """
    if len(pieces) == 1:
        only = dict(pieces[0])
        return only | {name: only[name] + first for name in BY_TRANSIT[:1] if name in only}
    of_sites = [{n: v for n, v in piece.items() if n not in BY_TRANSIT} for piece in pieces]
    found = woven(rows, of_sites)
    timed = [(index, piece) for index, piece in zip(rows, pieces, strict=True)
             if BY_TRANSIT[0] in piece]  # fmt: skip
    if not timed:
        return found
    site = np.concatenate([index[piece[BY_TRANSIT[0]]] for index, piece in timed])
    order = np.argsort(site, kind="stable")
    found[BY_TRANSIT[0]] = site[order] + first
    for name in BY_TRANSIT[1:]:
        found[name] = np.concatenate([piece[name] for _, piece in timed])[order]
    return found
