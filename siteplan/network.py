"""The frozen types of network.toml: one place for keys, defaults, ranges, units and meanings.

The README's table of keys and every error message are made from here. Imports nothing of
siteplan.
"""

from __future__ import annotations

import datetime as dt
import itertools
from typing import Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

Polarization = Literal["horizontal", "vertical", "circular"]
Waveform = Literal["DVB-S2", "DVB-S2X", "DVB-RCS2"]


def _key(default: Any, meaning: str, unit: str = "", **limits: Any) -> Any:
    """Return a pydantic field that carries its unit beside its meaning and limits."""
    return Field(default, description=meaning, json_schema_extra={"unit": unit}, **limits)


class _Table(BaseModel):
    """A table of network.toml: frozen, unknown keys refused, no infinities."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, strict=False)


class General(_Table):
    """``[network]``: what the plan is for."""

    name: str = _key("", "Name of the network, for headings", max_length=200)
    date: dt.date | None = _key(None, "Date of the plan, for magnetic azimuths (else today)")
    availability_pct: float = _key(
        99.5, "Availability target in an average year", "%", ge=50, le=99.999
    )


class Satellite(_Table):
    """``[satellite]``: the orbital position."""

    name: str = _key("", "Name of the satellite, for headings", max_length=200)
    longitude_deg: float = _key(
        ..., "Orbital position, east positive (west negative)", "deg", ge=-180, le=360
    )


class Hub(_Table):
    """``[hub]``: the station at the other end."""

    lat: float | None = _key(
        None, "Latitude of the hub (absent: no hub rain, 38500 km)", "deg", ge=-90, le=90
    )
    lon: float | None = _key(None, "Longitude of the hub, east positive", "deg", ge=-180, le=360)
    antenna_m: float = _key(4.5, "Diameter of the hub's antenna", "m", gt=0.3, le=35)
    efficiency: float = _key(0.65, "Aperture efficiency of the hub's antenna", "", gt=0.1, le=1)
    lna_noise_k: float = _key(
        70.0, "Noise of the hub's receiver: LNA, feed loss and spillover", "K", ge=0, le=2000
    )
    power_control_db: float = _key(
        0.0, "Range of the hub's uplink power control", "dB", ge=0, le=30
    )

    @model_validator(mode="after")
    def _both_or_neither(self) -> Self:
        if (self.lat is None) != (self.lon is None):
            raise ValueError("give both lat and lon, or neither")
        return self


class Carrier(_Table):
    """``[outbound]`` and ``[inbound]``: one direction's carrier and its transponder."""

    uplink_ghz: float = _key(14.25, "Uplink frequency", "GHz", ge=1, le=55)
    downlink_ghz: float = _key(11.95, "Downlink frequency", "GHz", ge=1, le=55)
    uplink_polarization: Polarization = _key("horizontal", "Polarization of the uplink")
    downlink_polarization: Polarization = _key("vertical", "Polarization of the downlink")
    symbol_rate_msps: float = _key(6.0, "Symbol rate", "Msym/s", gt=0, le=1000)
    roll_off: float = _key(
        0.2, "Roll-off: occupied bandwidth = symbol rate x (1 + roll-off)", "", ge=0, le=1
    )
    waveform: Waveform = _key("DVB-S2", "Waveform whose MODCOD table is used")
    modcod: str | None = _key("QPSK 3/4", "MODCOD, for example 'QPSK 3/4'")
    es_n0_db: float | None = _key(None, "Threshold Es/N0, instead of a MODCOD", "dB", ge=-20, le=40)
    eb_n0_db: float | None = _key(
        None, "Threshold Eb/N0, instead of a MODCOD; needs bits_per_symbol", "dB", ge=-20, le=40
    )
    bits_per_symbol: float | None = _key(
        None, "Information bits a symbol carries (with eb_n0_db)", "bit", gt=0, le=12
    )
    implementation_loss_db: float = _key(
        1.0, "Modem loss, always added to the threshold", "dB", ge=0, le=10
    )
    satellite_eirp_dbw: float = _key(
        48.0, "Saturated EIRP of the transponder towards the receiver", "dBW", ge=0, le=80
    )
    satellite_g_t_db_k: float = _key(
        1.0, "G/T of the satellite towards the transmitter", "dB/K", ge=-30, le=40
    )
    sfd_dbw_m2: float = _key(
        -88.0, "Saturation flux density, at that G/T", "dBW/m2", ge=-130, le=-50
    )
    transponder_mhz: float = _key(36.0, "Bandwidth of the transponder", "MHz", gt=0, le=5000)
    input_backoff_db: float = _key(
        6.0, "Input back-off of the whole transponder, positive", "dB", ge=0, le=30
    )
    output_backoff_db: float = _key(
        3.5, "Output back-off of the whole transponder, positive", "dB", ge=0, le=30
    )
    ci_db: float = _key(
        20.0, "Carrier to interference in clear sky, all sources", "dB", ge=0, le=60
    )

    @property
    def occupied_mhz(self) -> float:
        """Occupied bandwidth [MHz]: symbol rate times one plus the roll-off."""
        return self.symbol_rate_msps * (1 + self.roll_off)

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


class Outbound(Carrier):
    """``[outbound]``: hub to remotes."""


class Inbound(Carrier):
    """``[inbound]``: remote to hub. The same keys with other defaults."""

    symbol_rate_msps: float = _key(0.256, "Symbol rate", "Msym/s", gt=0, le=1000)
    waveform: Waveform = _key("DVB-RCS2", "Waveform whose MODCOD table is used")
    modcod: str | None = _key("QPSK 1/2", "MODCOD, for example 'QPSK 1/2'")


class Terminal(_Table):
    """``[terminal]``: what every remote has, whatever its antenna and BUC."""

    lnb_noise_k: float = _key(75.0, "Noise temperature of the LNB", "K", gt=0, le=2000)
    spillover_noise_k: float = _key(
        20.0, "Antenna noise from the ground and spillover", "K", ge=0, le=300
    )
    tx_loss_db: float = _key(0.5, "Loss between BUC and feed", "dB", ge=0, le=20)
    rx_loss_db: float = _key(0.2, "Loss between feed and LNB", "dB", ge=0, le=20)
    pointing_loss_db: float = _key(0.3, "Pointing loss, each way", "dB", ge=0, le=6)
    wet_loss_db: float = _key(
        0.0, "Loss of a wet reflector and feed in rain, each way", "dB", ge=0, le=10
    )


class Antenna(_Table):
    """``[[antennas]]``: one antenna of the catalogue."""

    diameter_m: float = _key(..., "Diameter of the reflector", "m", gt=0.2, le=20)
    efficiency: float = _key(0.65, "Aperture efficiency", "", gt=0.1, le=1)
    offset_angle_deg: float = _key(
        0.0, "Offset angle of the reflector (0: not an offset dish)", "deg", ge=0, le=45
    )


class Buc(_Table):
    """``[[bucs]]``: one transmitter of the catalogue."""

    rated_w: float = _key(..., "Rated output power", "W", gt=0, le=2000)
    backoff_db: float = _key(1.0, "Back-off from the rated power", "dB", ge=0, le=20)


class Rules(_Table):
    """``[rules]``: how the planner decides."""

    reserve_db: float = _key(1.0, "Margin that must be left over at the target", "dB", ge=0, le=20)
    min_elevation_deg: float = _key(
        10.0, "Sites that see the satellite lower are not given kit", "deg", ge=0, le=89
    )
    hub_outage_share: float = _key(
        0.2,
        "Share of the outage that the hub's rain may take (0: its rain is not counted)",
        "",
        ge=0,
        le=0.95,
    )
    margin_classes_db: tuple[float, ...] = _key(
        (0.0, 1.0, 3.0, 6.0),
        "Bounds of the margin classes, rising",
        "dB",
        min_length=1,
        max_length=8,
    )
    wind_basis: Literal["mean_10min", "gust_3s"] = _key(
        "mean_10min", "What the sites' wind speed is: EN 1991-1-4's mean, or a 3-second gust"
    )

    @model_validator(mode="after")
    def _rising(self) -> Self:
        bounds = self.margin_classes_db
        if any(b <= a for a, b in itertools.pairwise(bounds)):
            raise ValueError("margin_classes_db must rise from each bound to the next")
        return self


#: The catalogue used where the network file lists none: the trade's usual Ku-band sizes.
DEFAULT_ANTENNAS_M = (1.2, 1.8, 2.4)
DEFAULT_BUCS_W = (1.0, 2.0, 3.0)


class Network(_Table):
    """network.toml, checked: one attribute a table."""

    network: General = Field(default_factory=General)
    satellite: Satellite
    hub: Hub = Field(default_factory=Hub)
    outbound: Outbound = Field(default_factory=Outbound)
    inbound: Inbound = Field(default_factory=Inbound)
    terminal: Terminal = Field(default_factory=Terminal)
    antennas: tuple[Antenna, ...] = Field(
        default_factory=lambda: tuple(Antenna(diameter_m=d) for d in DEFAULT_ANTENNAS_M),
        min_length=1,
        max_length=40,
    )
    bucs: tuple[Buc, ...] = Field(
        default_factory=lambda: tuple(Buc(rated_w=w) for w in DEFAULT_BUCS_W),
        min_length=1,
        max_length=40,
    )
    rules: Rules = Field(default_factory=Rules)

    @model_validator(mode="after")
    def _no_twins(self) -> Self:
        sizes = [a.diameter_m for a in self.antennas]
        powers = [b.rated_w for b in self.bucs]
        if len(set(sizes)) < len(sizes):
            raise ValueError("antennas: two of the same diameter_m; keep one of them")
        if len(set(powers)) < len(powers):
            raise ValueError("bucs: two of the same rated_w; keep one of them")
        return self
