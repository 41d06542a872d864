"""``[rules]``: how the planner decides."""

from __future__ import annotations

import itertools
from typing import Literal, Self

from pydantic import model_validator

from siteplan.network.table import Table, key


class Rules(Table):
    """``[rules]``: how the planner decides."""

    reserve_db: float = key(
        1.0, "Reserve: the margin that must be left at the target", "dB", ge=0, le=20
    )
    min_elevation_deg: float = key(
        10.0, "Sites that see the satellite lower are not given kit", "deg", ge=0, le=89
    )
    hub_outage_share: float | None = key(
        None,
        "Part of every outage that is the hub's (absent: as the two ends need it; 0: no hub rain)",
        "",
        ge=0,
        le=1,
    )
    pick: Literal["smallest", "cost"] = key(
        "smallest",
        "Which of the pairs that fit a site gets: the smallest, or the one of least cost over"
        " [traffic] years (its prices, and its own megahertz at lease_mhz_month)",
    )
    margin_classes_db: tuple[float, ...] = key(
        (0.0, 1.0, 3.0, 6.0),
        "Bounds of the margin classes, rising",
        "dB",
        min_length=1,
        max_length=8,
    )
    wind_basis: Literal["mean_10min", "gust_3s"] = key(
        "mean_10min", "What the sites' wind speed is: EN 1991-1-4's mean, or a 3-second gust"
    )

    @model_validator(mode="after")
    def _rising(self) -> Self:
        bounds = self.margin_classes_db
        if any(b <= a for a, b in itertools.pairwise(bounds)):
            raise ValueError("margin_classes_db must rise from each bound to the next")
        return self
