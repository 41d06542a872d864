"""``[rollout]``: when the sites are built. Waves are a column of the sites table, ``wave``."""

from __future__ import annotations

import datetime as dt

from siteplan.network.table import Table, key


class Rollout(Table):
    """``[rollout]``: when the sites are built, in the order of their visits."""

    sites_per_week: int | None = key(
        None,
        "Sites that are built in a week, wave by wave where the sites table has a column wave"
        " (absent: no weeks are told)",
        "",
        ge=1,
        le=99_999,
    )
    start: dt.date | None = key(None, "First day of the first week (absent: months are counted)")
