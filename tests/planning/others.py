"""Keys with which each field of beams, interference, limits and coding counts, and none decides."""

from __future__ import annotations

from typing import Any


def faint_beam(longitude_deg: float) -> dict[str, Any]:
    """Return contours of a beam so wide that G/T falls by 0.4 dB from nadir to the limb."""
    wide = {"lat": 0, "lon": longitude_deg, "major_deg": 20, "minor_deg": 20, "edge_db": 0.5}
    return {"direction": "up", "beam": "wide", "peak": 1.2, **wide}


#: A neighbour with earth stations, something on the other polarization, a mask far above, MODCODs
#: that follow the weather, equipment that fails, and targets of the worst month.
FAINT: dict[str, Any] = {
    "network": {
        "availability_basis": "worst_month",
        "equipment_mtbf_h": 40_000,
        "equipment_mttr_h": 24,
        "applications": ["faint"],
    },
    "neighbours": [{"longitude_deg": -55.0, "downlink_level_db": -20, "uplink_dbw_40khz": -60}],
    "outbound": {"cross_polar_level_db": -20, "adaptive": True},
    "inbound": {"cross_polar_level_db": -20, "adaptive": True},
    "regulation": {"masks": ["own"]},
    "applications": [{"name": "faint", "max_delay_ms": 400}],
    "masks": [{"name": "own", "reference_khz": 40, "segments": [[2, 180, 60, 25]]}],
}


#: The beam of `faint_beam`, and another that reaches everywhere.
BEAMS = [{"name": "wide"}, {"name": "second"}]


def with_faint(tables: dict[str, Any]) -> dict[str, Any]:
    """Return tables of a network with `FAINT` beneath their own keys."""
    merged = {k: v if isinstance(v, list) else v | tables.get(k, {}) for k, v in FAINT.items()}
    beam = faint_beam(tables["satellite"]["longitude_deg"])
    return tables | merged | {"contours": [beam], "beams": BEAMS}
