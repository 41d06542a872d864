"""``[lease]``: how the satellite's bandwidth is leased."""

from __future__ import annotations

from siteplan.network.table import Table, key


class Lease(Table):
    """``[lease]``: how the satellite's bandwidth is leased."""

    guard_pct: float = key(
        5.0, "Guard band of a carrier, of its occupied bandwidth", "%", ge=0, le=100
    )
    step_mhz: float = key(
        0.1, "Step in which bandwidth is leased; a pool is rounded up once", "MHz", gt=0, le=100
    )
