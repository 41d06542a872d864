"""``[hub]``: the station at the other end."""

from __future__ import annotations

from typing import Annotated, Final, Literal, Self

from pydantic import Field, model_validator

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

#: How many of the hub's amplifiers stand by for how many that work: none, one for each, one for
#: two.
Redundancy = Literal["1:0", "1:1", "1:2"]
#: Frequencies [GHz] for which the gain of a second hub holds: ITU-R P.618-14 section 2.2.4.2.
DIVERSITY_GHZ: Final = (10.0, 30.0)


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
    tx_loss_db: float = key(
        1.0, "Loss between the hub's power amplifier and its feed", "dB", ge=0, le=10
    )
    hpa_w: float | None = key(
        None,
        "Rated power of the hub's amplifier (absent: as much as is needed)",
        "W",
        ge=1,
        le=5000,
    )
    hpa_backoff_db: float = key(
        3.0,
        "Back-off of the hub's amplifier: some 2 to 3 solid state, 3 to 4 linearized tube, 6 to 7"
        " tube, for several carriers",
        "dB",
        ge=0,
        le=10,
    )
    carriers: int = key(1, "Equal outbound carriers through that amplifier", ge=1, le=100)
    redundancy: Redundancy = key(
        "1:0", "Amplifiers that stand by for those at work: none, one for each, one for two"
    )
    diversity_km: float | None = key(
        None,
        "Distance of a second hub that takes over in rain (absent: none; beyond 20 km as 20)",
        "km",
        ge=0,
        le=50,
    )
    diversity_bearing_deg: float | None = key(
        None,
        "True bearing of the second hub from the first (absent: that of the satellite, the least"
        " use)",
        "deg",
        ge=0,
        le=360,
    )
    antennas_m: tuple[Annotated[float, Field(gt=0.3, le=35)], ...] = key(
        (),
        "Diameters of hub antennas to compare by the inbound margin that they buy",
        "m",
        min_length=0,
        max_length=20,
    )
    snow: bool | None = key(
        None, "Whether snow or ice is to be reckoned with at the hub (absent: by its latitude)"
    )
    pattern: Pattern = pattern_key()
    pattern_file: str | None = pattern_file_key()
    pattern_gains: PatternGains | None = gains_key()
    xpi_db: float = xpi_key(35, "the hub's dish on axis")

    @model_validator(mode="after")
    def _both_or_neither(self) -> Self:
        if (self.lat is None) != (self.lon is None):
            raise ValueError("give both lat and lon, or neither")
        return self


def check_diversity(hub: Hub, uplink_ghz: float, downlink_ghz: float) -> None:
    """Raise where the gain of a second hub does not hold at the hub's frequencies.

    Parameters
    ----------
    hub : Hub
    uplink_ghz, downlink_ghz : float
        Of the outbound uplink and of the inbound downlink. [GHz]

    Raises
    ------
    ValueError
        Naming the key and what would mend it.
    """
    if not hub.diversity_km:
        return
    low, high = DIVERSITY_GHZ
    for name, ghz in (
        ("[outbound] uplink_ghz", uplink_ghz),
        ("[inbound] downlink_ghz", downlink_ghz),
    ):
        if not low <= ghz <= high:
            raise ValueError(
                f"[hub] diversity_km = {hub.diversity_km:g}: what a second hub gains is known from"
                f" {low:g} to {high:g} GHz, and {name} = {ghz:g} lies outside: take diversity_km"
                " out, or correct the frequency"
            )
