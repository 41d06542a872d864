"""``[hub]``: the station at the other end."""

from __future__ import annotations

from typing import Self

from pydantic import model_validator

from siteplan.network.spectrum.patterns import (
    Pattern,
    Patterned,
    PatternGains,
    gains_key,
    pattern_file_key,
    pattern_key,
    xpi_key,
)
from siteplan.network.table import key


class Hub(Patterned):
    """``[hub]``: the station at the other end."""

    lat: float | None = key(
        None, "Latitude of the hub (absent: no hub rain, 38500 km)", "deg", ge=-90, le=90
    )
    lon: float | None = key(None, "Longitude of the hub, east positive", "deg", ge=-180, le=360)
    antenna_m: float = key(4.5, "Diameter of the hub's antenna", "m", gt=0.3, le=35)
    efficiency: float = key(0.65, "Aperture efficiency of the hub's antenna", "", gt=0.1, le=1)
    lna_noise_k: float = key(
        70.0, "Noise of the hub's receiver: LNA, feed loss and spillover", "K", ge=0, le=2000
    )
    power_control_db: float = key(0.0, "Range of the hub's uplink power control", "dB", ge=0, le=30)
    pattern: Pattern = pattern_key()
    pattern_file: str | None = pattern_file_key()
    pattern_gains: PatternGains | None = gains_key()
    xpi_db: float = xpi_key(35, "the hub's dish on axis")

    @model_validator(mode="after")
    def _both_or_neither(self) -> Self:
        if (self.lat is None) != (self.lon is None):
            raise ValueError("give both lat and lon, or neither")
        return self
