"""Keys with which each field of interference, limits and coding counts, and none decides a kit."""

from __future__ import annotations

from typing import Any

#: A neighbour with earth stations, something on the other polarization, a mask far above, and
#: MODCODs that follow the weather.
FAINT: dict[str, Any] = {
    "neighbours": [{"longitude_deg": -55.0, "downlink_level_db": -20, "uplink_dbw_40khz": -60}],
    "outbound": {"cross_polar_level_db": -20, "adaptive": True},
    "inbound": {"cross_polar_level_db": -20, "adaptive": True},
    "regulation": {"masks": ["own"]},
    "masks": [{"name": "own", "reference_khz": 40, "segments": [[2, 180, 60, 25]]}],
}


def with_faint(tables: dict[str, Any]) -> dict[str, Any]:
    """Return tables of a network with `FAINT` beneath their own keys."""
    merged = {k: v if isinstance(v, list) else v | tables.get(k, {}) for k, v in FAINT.items()}
    return tables | merged
