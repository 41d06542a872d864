"""``[terminal]``, ``[[antennas]]`` and ``[[bucs]]``: the kit to choose from."""

from __future__ import annotations

import math
from typing import Self

from pydantic import model_validator

from siteplan.network.costs import code_key, price_key
from siteplan.network.spectrum.patterns import (
    Pattern,
    Patterned,
    PatternGains,
    gains_key,
    pattern_file_key,
    pattern_key,
    xpi_key,
)
from siteplan.network.table import Table, key

#: The catalogue used where the network file lists none: the trade's usual Ku-band sizes.
DEFAULT_ANTENNAS_M = (1.2, 1.8, 2.4)
DEFAULT_BUCS_W = (1.0, 2.0, 3.0)
#: Aperture efficiencies that an antenna can have: above the first, up to the second.
EFFICIENCIES = (0.1, 1.0)
#: Speed of light [m GHz].
_LIGHT_M_GHZ = 0.299792458


class Terminal(Table):
    """``[terminal]``: what every remote has, whatever its antenna and BUC."""

    lnb_noise_k: float = key(75.0, "Noise temperature of the LNB", "K", gt=0, le=2000)
    spillover_noise_k: float = key(
        20.0, "Antenna noise from the ground and spillover", "K", ge=0, le=300
    )
    tx_loss_db: float = key(0.5, "Loss between BUC and feed", "dB", ge=0, le=20)
    rx_loss_db: float = key(0.2, "Loss between feed and LNB", "dB", ge=0, le=20)
    pointing_loss_db: float = key(0.3, "Pointing loss, each way", "dB", ge=0, le=6)
    pointing_error_deg: float | None = key(
        None, "Error of pointing, instead of pointing_loss_db", "deg", ge=0, le=1
    )
    wet_loss_db: float = key(
        0.0, "Loss of a wet reflector and feed while it rains, each way", "dB", ge=0, le=10
    )
    rx_lo_ghz: float | None = key(
        None, "Local oscillator of the LNB, for the frequency on the cable", "GHz", gt=0.1, le=60
    )
    tx_lo_ghz: float | None = key(
        None, "Local oscillator of the BUC, for the frequency on the cable", "GHz", gt=0.1, le=60
    )
    power_control_db: float | None = key(
        None,
        "How far a remote raises its drive in its own rain (absent: all that it was turned down)",
        "dB",
        ge=0,
        le=30,
    )

    @model_validator(mode="after")
    def _one_pointing(self) -> Self:
        if self.pointing_error_deg is not None and "pointing_loss_db" in self.model_fields_set:
            raise ValueError("give pointing_loss_db or pointing_error_deg, not both")
        return self


class Antenna(Patterned):
    """``[[antennas]]``: one antenna of the catalogue."""

    diameter_m: float = key(..., "Diameter of the reflector", "m", gt=0.2, le=20)
    efficiency: float = key(
        0.65,
        "Aperture efficiency (not used where gain_dbi is given)",
        "",
        gt=EFFICIENCIES[0],
        le=EFFICIENCIES[1],
    )
    gain_dbi: float | None = key(
        None, "The maker's gain at gain_ghz; it rules link and exposure", "dBi", ge=10, le=80
    )
    gain_ghz: float | None = key(
        None, "Frequency of gain_dbi; the gain goes by 20 log of the frequency", "GHz", ge=1, le=55
    )
    offset_angle_deg: float = key(
        0.0, "Offset angle of the reflector (0: not an offset dish)", "deg", ge=0, le=45
    )
    pattern: Pattern = pattern_key()
    pattern_file: str | None = pattern_file_key()
    pattern_gains: PatternGains | None = gains_key()
    xpi_db: float = xpi_key(30, "the dish on axis, skew error included")
    price: float | None = price_key("one antenna, its feed included")
    supplier_code: str = code_key("the antenna")

    @property
    def aperture_efficiency(self) -> float:
        """Efficiency that the maker's gain means for the diameter; without one, `efficiency`.

        The gain at any other frequency is then gain_dbi + 20 log(f / gain_ghz).
        """
        if self.gain_dbi is None or self.gain_ghz is None:
            return self.efficiency
        wavelengths = self.diameter_m * self.gain_ghz / _LIGHT_M_GHZ
        return float(10 ** (self.gain_dbi / 10) / (math.pi * wavelengths) ** 2)

    @model_validator(mode="after")
    def _gain_fits(self) -> Self:
        if (self.gain_dbi is None) != (self.gain_ghz is None):
            raise ValueError("gain_dbi and gain_ghz go together: give both or neither")
        (low, high), found = EFFICIENCIES, self.aperture_efficiency
        if not low < found <= high:
            raise ValueError(
                f"gain_dbi = {self.gain_dbi:g} at gain_ghz = {self.gain_ghz:g} would be an"
                f" aperture efficiency of {found:.2g} for diameter_m = {self.diameter_m:g}"
                f" (allowed: above {low:g}, up to {high:g}): check that it is the gain at gain_ghz"
            )
        return self


class Buc(Table):
    """``[[bucs]]``: one transmitter of the catalogue."""

    rated_w: float = key(..., "Rated output power", "W", gt=0, le=2000)
    backoff_db: float = key(1.0, "Back-off from the rated power", "dB", ge=0, le=20)
    dc_w: float | None = key(
        None, "Supply power that it draws (else from [ifl])", "W", gt=0, le=10000
    )
    price: float | None = price_key("one BUC")
    supplier_code: str = code_key("the BUC")


def default_antennas() -> tuple[Antenna, ...]:
    """Return the antennas of a network that lists none, rising."""
    return tuple(Antenna(diameter_m=size) for size in DEFAULT_ANTENNAS_M)


def default_bucs() -> tuple[Buc, ...]:
    """Return the transmitters of a network that lists none, rising."""
    return tuple(Buc(rated_w=power) for power in DEFAULT_BUCS_W)
