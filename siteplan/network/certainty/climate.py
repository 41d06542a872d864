"""``[climate]``: how far single years lie apart."""

from __future__ import annotations

from siteplan.network.table import Table, key


class ClimateTable(Table):
    """``[climate]``: how far single years lie apart."""

    ratio: float = key(
        0.2,
        "Inter-annual climatic ratio r_c of ITU-R P.678-3: a single year's spread beside the mean",
        ge=0.05,
        le=0.5,
    )
