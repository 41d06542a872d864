"""Where the position of a table is: the first way whose values fit."""

from __future__ import annotations

from collections.abc import Callable

from siteplan.inputs.layout import choose, metres, refusals
from siteplan.inputs.layout.evidence import Evidence
from siteplan.inputs.layout.placings import Place

Way = Callable[[Evidence, str], Place | None]
#: All ways, the surest first.
WAYS: tuple[Way, ...] = (
    metres.by_named_grid,
    choose.by_columns,
    choose.by_parts,
    choose.by_packed,
    choose.by_shapes,
    choose.by_pair,
    choose.by_xy,
    metres.by_grid,
    choose.as_they_stand,
)


def chosen_place(evidence: Evidence, crs: str) -> Place:
    """Return where the position is.

    Parameters
    ----------
    evidence : Evidence
    crs : str
        The reference system that network.toml names for eastings and northings, '' for none.

    Raises
    ------
    SitesError
        No position, or one that has more than one reading: what to do, column by column.
    """
    for way in WAYS:
        if (found := way(evidence, crs)) is not None:
            return found
    raise refusals.no_position(evidence)
