"""Sites as they were planned: place, kit and target out of a plan's results."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.model import Sites

#: Results of a plan by field: of some sites, or of one.
Fields = Mapping[str, Any]


def planned_sites(c: Fields) -> Sites:
    """Return sites as they were planned, the pairs of their margins as if they stood there."""
    return Sites.at(
        c["lat"],
        c["lon"],
        site_id=c["site_id"],
        altitude_m=c["altitude_m"],
        availability_pct=c["availability_target_pct"],
        fixed_antenna_m=c["tried_antenna_m"],
        fixed_buc_w=c["tried_buc_w"],
        fixed_efficiency=_where_own(c, "fixed_antenna_m", "fixed_efficiency"),
        fixed_buc_backoff_db=_where_own(c, "fixed_buc_w", "fixed_buc_backoff_db"),
        **({"beam": c["beam"]} if "beam" in c else {}),
    )


def _where_own(c: Fields, stands: str, figure: str) -> FloatArray:
    """Return a figure of installed kit (n,), where such kit stands."""
    return np.where(np.isnan(c[stands]), np.nan, c[figure])
