"""``[uncertainty]``: how far figures may be off, for the chance of margin."""

from __future__ import annotations

from typing import Any

from siteplan.network.table import Table, key


def _deviation(default: float, of: str, unit: str, most: float) -> Any:
    """Return the key of a standard deviation."""
    return key(default, f"One standard deviation of {of}", unit, ge=0, le=most)


class Uncertainty(Table):
    """``[uncertainty]``: one standard deviation of each figure; twice that where it is assumed."""

    eirp_db: float = _deviation(0.5, "the satellite's EIRP", "dB", 10)
    g_t_db: float = _deviation(0.5, "the satellite's G/T", "dB", 10)
    sfd_db: float = _deviation(0.5, "the flux that saturates the satellite", "dB", 10)
    gain_db: float = _deviation(0.5, "the gain of the remotes' antennas", "dB", 10)
    noise_k: float = _deviation(10.0, "the noise of the LNB", "K", 1000)
    pointing_deg: float = _deviation(0.05, "the error of pointing", "deg", 1)
    rain_pct: float = _deviation(30.0, "the attenuation by rain", "%", 100)
    pattern_db: float = _deviation(1.0, "the remotes' side lobes", "dB", 20)
