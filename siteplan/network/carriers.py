"""``[outbound]`` and ``[inbound]``: the carriers and their transponders."""

from __future__ import annotations

import math
from typing import Literal, Self

from pydantic import model_validator

from siteplan.network.table import Table, key

Polarization = Literal["horizontal", "vertical", "circular"]
Waveform = Literal["DVB-S2", "DVB-S2X", "DVB-RCS2"]


class Carrier(Table):
    """``[outbound]`` and ``[inbound]``: one direction's carrier and its transponder."""

    uplink_ghz: float = key(14.25, "Uplink frequency", "GHz", ge=1, le=55)
    downlink_ghz: float = key(11.95, "Downlink frequency", "GHz", ge=1, le=55)
    uplink_polarization: Polarization = key("horizontal", "Polarization of the uplink")
    downlink_polarization: Polarization = key("vertical", "Polarization of the downlink")
    symbol_rate_msps: float = key(6.0, "Symbol rate", "Msym/s", gt=0, le=1000)
    roll_off: float = key(
        0.2, "Roll-off: occupied bandwidth = symbol rate x (1 + roll-off)", "", ge=0, le=1
    )
    waveform: Waveform = key("DVB-S2", "Waveform whose MODCOD table is used")
    modcod: str | None = key("QPSK 3/4", "MODCOD, for example 'QPSK 3/4'")
    es_n0_db: float | None = key(None, "Threshold Es/N0, instead of a MODCOD", "dB", ge=-20, le=40)
    eb_n0_db: float | None = key(
        None, "Threshold Eb/N0, instead of a MODCOD; needs bits_per_symbol", "dB", ge=-20, le=40
    )
    bits_per_symbol: float | None = key(
        None, "Information bits a symbol carries (with eb_n0_db)", "bit", gt=0, le=12
    )
    implementation_loss_db: float = key(
        1.0, "Modem loss, always added to the threshold", "dB", ge=0, le=10
    )
    satellite_eirp_dbw: float = key(
        48.0, "Saturated EIRP of the transponder towards the receiver", "dBW", ge=0, le=80
    )
    satellite_g_t_db_k: float = key(
        1.0, "G/T of the satellite towards the transmitter", "dB/K", ge=-30, le=40
    )
    sfd_dbw_m2: float = key(
        -88.0, "Saturation flux density, at that G/T", "dBW/m2", ge=-130, le=-50
    )
    transponder_mhz: float = key(36.0, "Bandwidth of the transponder", "MHz", gt=0, le=5000)
    input_backoff_db: float = key(
        6.0, "Input back-off of the whole transponder, positive", "dB", ge=0, le=30
    )
    output_backoff_db: float = key(
        3.5, "Output back-off of the whole transponder, positive", "dB", ge=0, le=30
    )
    ci_db: float = key(20.0, "Carrier to interference in clear sky, all sources", "dB", ge=0, le=60)
    cross_polar_level_db: float | None = key(
        None,
        "Density of the carriers on the other polarization over ours (absent: none there)",
        "dB",
        ge=-40,
        le=20,
    )
    adaptive: bool = key(
        False, "Whether the MODCOD follows the weather; the site stays sized for modcod"
    )
    modcods: tuple[str, ...] = key(
        (),
        "MODCODs that may be used (absent: all of the waveform, bursts of modcod's length)",
        max_length=100,
    )
    max_modcod: str | None = key(None, "MODCOD that none used carries more than")
    hysteresis_db: float = key(
        0.5, "How far the level lies above a MODCOD's need where it is used", "dB", ge=0, le=3
    )
    frame_efficiency: float = key(
        0.95, "Share of what symbols carry that is left for the user's data", "", ge=0.3, le=1
    )

    @property
    def occupied_mhz(self) -> float:
        """Occupied bandwidth [MHz]: symbol rate times one plus the roll-off."""
        return self.symbol_rate_msps * (1 + self.roll_off)

    @property
    def over_share_db(self) -> float:
        """How far the carrier is planned over its bandwidth's share of the power [dB]."""
        return 0.0

    @model_validator(mode="after")
    def _one_threshold(self) -> Self:
        given = [k for k in ("modcod", "es_n0_db", "eb_n0_db") if k in self.model_fields_set]
        if len(given) > 1:
            raise ValueError(
                f"give one of modcod, es_n0_db and eb_n0_db, not {' and '.join(given)}"
            )
        if (self.eb_n0_db is None) != (self.bits_per_symbol is None):
            raise ValueError("eb_n0_db and bits_per_symbol go together")
        if self.occupied_mhz > self.transponder_mhz:
            raise ValueError(
                f"the carrier occupies {self.occupied_mhz:g} MHz, more than transponder_mhz"
                f" = {self.transponder_mhz:g}"
            )
        if self.output_backoff_db > self.input_backoff_db:
            raise ValueError("output_backoff_db is larger than input_backoff_db")
        return self

    @model_validator(mode="after")
    def _has_a_table(self) -> Self:
        figure = "es_n0_db" if self.es_n0_db is not None else "eb_n0_db"
        if self.adaptive and (self.es_n0_db is not None or self.eb_n0_db is not None):
            raise ValueError(
                f"adaptive = true takes a waveform's MODCODs, and {figure} names none: give"
                " waveform and modcod in its place"
            )
        for name in self.modcods:
            if self.modcods.count(name) > 1:
                raise ValueError(f"modcods names {name!r} twice: keep one")
        return self


class Outbound(Carrier):
    """``[outbound]``: hub to remotes."""

    level_db: float = key(
        0.0, "Level of the carrier over its bandwidth's share of the power", "dB", ge=-10, le=10
    )

    @property
    def over_share_db(self) -> float:
        """How far the carrier is planned over its bandwidth's share of the power [dB]."""
        return self.level_db

    @model_validator(mode="after")
    def _not_beyond_saturation(self) -> Self:
        alone = 10 * math.log10(self.transponder_mhz / self.occupied_mhz)
        if self.level_db > (most := self.output_backoff_db + alone):
            raise ValueError(
                f"level_db = {self.level_db:g} asks for more than the saturated transponder gives:"
                f" this carrier takes all of it at {most:.2f} dB"
            )
        return self


class Inbound(Carrier):
    """``[inbound]``: remote to hub. The same keys with other defaults."""

    symbol_rate_msps: float = key(0.256, "Symbol rate", "Msym/s", gt=0, le=1000)
    waveform: Waveform = key("DVB-RCS2", "Waveform whose MODCOD table is used")
    modcod: str | None = key("QPSK 1/2", "MODCOD, for example 'QPSK 1/2'")
    power_share: Literal["own", "free"] = key(
        "own", "Satellite power a remote may take in clear sky: its bandwidth's share, or any"
    )
    clear_sky_reduction_db: float = key(
        0.0,
        "What remotes with power control are turned down besides in clear sky, while the reserve"
        " holds; they raise it in their own fade, not in the hub's",
        "dB",
        ge=0,
        le=20,
    )
    frame_efficiency: float = key(
        0.85, "Share of what symbols carry that is left for the user's data", "", ge=0.3, le=1
    )
