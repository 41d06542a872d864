"""The readable coordinates of a file, as the doubts take them."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import FloatArray, IntArray, TextArray
from siteplan.frozen import frozen
from siteplan.model import Note

#: Positions among the points, each with its note.
Found = list[tuple[int, Note]]


@frozen
class Points:
    """The readable coordinates of a file: one element a row, in the order of the rows.

    ``decimals`` (n, 2) as in :class:`siteplan.inputs.sites.coordinates.Coordinates`. ``country``
    and ``region`` are what columns of the user's say of each place, None where there is none.
    """

    site_id: TextArray
    row: IntArray
    lat: FloatArray
    lon: FloatArray
    decimals: IntArray
    country: TextArray | None = None
    region: TextArray | None = None

    def __len__(self) -> int:
        """Return the number of points."""
        return len(self.row)


def shared(mask: ArrayLike, note: Note) -> Found:
    """Return one note at each point of a mask (n,)."""
    return [(at, note) for at in np.flatnonzero(mask).tolist()]
