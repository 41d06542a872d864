"""The frozen types of network.toml: one place for keys, defaults, ranges, units and meanings.

The README's table of keys and every error message are made from here. Imports nothing of
siteplan.
"""

from __future__ import annotations

import datetime as dt
import itertools
from typing import Any, Literal, Self
from zoneinfo import ZoneInfo

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
    install_date: dt.date | None = _key(
        None, "Date of the installation, for the sun's bearings (else the plan's date)"
    )
    timezone: str = _key(
        "", "Time zone (IANA name) of sites that give none, for sun transits", max_length=60
    )

    @model_validator(mode="after")
    def _known_zone(self) -> Self:
        try:
            if self.timezone:
                ZoneInfo(self.timezone)
        except (ValueError, OSError, LookupError):
            raise ValueError(
                f"timezone {self.timezone!r} is not in the time zone database;"
                " write a name such as 'America/Bogota'"
            ) from None
        return self


class Satellite(_Table):
    """``[satellite]``: the orbital position."""

    name: str = _key("", "Name of the satellite, for headings", max_length=200)
    longitude_deg: float = _key(
        ..., "Orbital position, east positive (west negative)", "deg", ge=-180, le=360
    )
    neighbours_deg: tuple[float, ...] = _key(
        (),
        "Orbital positions of neighbouring satellites, to tell them apart when pointing",
        "deg",
        min_length=0,
        max_length=12,
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
    dc_w: float | None = _key(
        None, "Supply power that it draws (else from [ifl])", "W", gt=0, le=10000
    )


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


class Cable(_Table):
    """``[[cables]]``: one class of coaxial cable of the catalogue."""

    name: str = _key(..., "Name of the class", "", min_length=1, max_length=60)
    diameter_mm: float = _key(
        7.0, "Outer diameter; the thinnest is the lightest", "mm", gt=1, le=60
    )
    loss_db_100m: float = _key(21.5, "Loss of 100 m at 1 GHz", "dB", gt=0.5, le=100)
    core_mm: float = _key(1.02, "Diameter of the centre conductor", "mm", gt=0.1, le=20)
    core: Literal["copper", "clad_steel"] = _key(
        "copper", "Centre conductor: copper, or copper-clad steel"
    )
    shield_ohm_km: float = _key(15.0, "Resistance of the shield", "ohm/km", gt=0, le=200)


class Ifl(_Table):
    """``[ifl]``: the cable run between dish and modem, its levels and its supply."""

    cable_m: float = _key(30.0, "Cable run of sites that give none", "m", gt=0, le=2000)
    low_mhz: float = _key(950.0, "Low end of the band on the cable", "MHz", ge=5, le=5000)
    high_mhz: float = _key(2150.0, "High end of the band on the cable", "MHz", ge=5, le=5000)
    max_slope_db: float = _key(12.0, "Slope across the band that is accepted", "dB", gt=0, le=60)
    supply_v: float = _key(24.0, "Supply of the BUC at the indoor end", "V", gt=5, le=100)
    buc_min_v: float = _key(18.0, "Least voltage that the BUC accepts", "V", gt=3, le=100)
    buc_efficiency: float = _key(
        0.15, "Rated power over supply power, overhead not counted", "", gt=0.01, le=0.9
    )
    buc_overhead_w: float = _key(
        8.0, "Supply power that every BUC draws besides", "W", ge=0, le=500
    )
    buc_gain_db: float = _key(60.0, "Conversion gain of the BUC", "dB", ge=20, le=100)
    modem_output_min_dbm: float = _key(-35.0, "Least output of the modem", "dBm", ge=-80, le=20)
    modem_output_max_dbm: float = _key(0.0, "Greatest output of the modem", "dBm", ge=-60, le=20)
    lnb_gain_db: float = _key(60.0, "Conversion gain of the LNB", "dB", ge=20, le=100)
    modem_input_min_dbm: float = _key(
        -70.0, "Least level of a carrier at the modem", "dBm", ge=-120, le=0
    )
    modem_input_max_dbm: float = _key(
        -20.0, "Greatest level of a carrier at the modem", "dBm", ge=-100, le=20
    )

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        for low, high in (
            ("low_mhz", "high_mhz"),
            ("buc_min_v", "supply_v"),
            ("modem_output_min_dbm", "modem_output_max_dbm"),
            ("modem_input_min_dbm", "modem_input_max_dbm"),
        ):
            if getattr(self, low) >= getattr(self, high):
                raise ValueError(f"{low} must be smaller than {high}")
        return self


class SitePack(_Table):
    """``[site]``: what the crew's figures rest on where a site gives none."""

    wind_m_s: float = _key(
        25.0, "Design wind of sites that give none, on wind_basis", "m/s", gt=5, le=120
    )
    terrain_category: Literal["0", "I", "II", "III", "IV"] = _key(
        "II", "Terrain category of EN 1991-1-4 (with mean_10min)"
    )
    gust_exposure: Literal["B", "C", "D"] = _key("C", "Exposure of ASCE 7 (with gust_3s)")
    force_coefficient: float = _key(1.5, "Drag of a dish on its aperture", "", ge=0.5, le=3)
    lift_coefficient: float = _key(0.5, "Lift of a dish on its aperture", "", ge=0, le=3)
    friction: float = _key(0.4, "Friction of a ballasted frame", "", gt=0.05, le=1)
    safety_factor: float = _key(1.5, "Safety on sliding and overturning", "", ge=1, le=5)
    roof_limit_pa: float = _key(1500.0, "Load that a roof takes", "Pa", gt=0, le=50000)
    snow_pa: float = _key(0.0, "Snow on the roof, part of that load", "Pa", ge=0, le=20000)
    parapet_m: float = _key(0.9, "Height of the parapet above the roof", "m", ge=0, le=10)
    frame_base_ratio: float = _key(
        1.5, "Side of a ballasted frame over the dish's diameter", "", ge=0.5, le=5
    )
    mount_kg_m2: float = _key(
        40.0, "Mass of dish and mount for each m2 of aperture", "kg/m2", ge=0, le=500
    )
    roof_height_m: float = _key(6.0, "Roof height of sites that give none", "m", ge=0, le=500)
    frame_rim_m: float = _key(0.3, "Lower rim above the roof, ballasted frame", "m", ge=0, le=5)
    pole_rim_m: float = _key(1.2, "Lower rim above the ground, pole", "m", ge=0, le=20)
    bracket_height_m: float = _key(
        3.0, "Height of a wall bracket where no roof height is given", "m", gt=0, le=100
    )
    bracket_stand_off_m: float = _key(0.6, "Dish's centre off the wall", "m", gt=0.1, le=3)
    bracket_spacing_m: float = _key(0.4, "Spacing of a bracket's fixings", "m", gt=0.05, le=3)
    footing_m: float = _key(0.6, "Diameter of a pole's concrete footing", "m", gt=0.1, le=5)
    soil_pa_per_m: float = _key(
        15700.0, "Lateral bearing of the soil for each metre", "Pa/m", gt=1000, le=200000
    )
    clearance_deg: float = _key(2.0, "Clearance over obstacles to be left", "deg", ge=0, le=20)
    growth_years: float = _key(5.0, "Years of growth of trees to allow for", "a", ge=0, le=50)
    tree_growth_m_year: float = _key(0.5, "Growth of trees that give none", "m/a", ge=0, le=5)
    exposure_limits: Literal["both", "47 CFR 1.1310", "ICNIRP 2020"] = _key(
        "both", "Limits of exposure that must hold; with both the longer distance counts"
    )
    acceptance_db: float = _key(
        1.0, "Shortfall of C/N in clear sky that is still accepted", "dB", ge=0, le=6
    )
    cross_polar_db: float = _key(
        30.0, "Cross-polar isolation that the operator asks for", "dB", ge=0, le=60
    )
    spares_pct: float = _key(10.0, "Spares added to the kit list", "%", ge=0, le=100)


#: Classes of cable used where the network file lists none: typical figures, from memory.
DEFAULT_CABLES = (
    ("75 ohm, series 59", 6.1, 26.6, 0.812, 20.0),
    ("75 ohm, series 6", 6.9, 21.5, 1.024, 15.0),
    ("75 ohm, series 11", 10.3, 14.3, 1.628, 9.0),
)


class CoverageTable(_Table):
    """``[coverage]``: what is drawn behind the sites of the map, and written beside them."""

    step_deg: float | None = _key(
        None, "Spacing of the coverage grid (absent: only when asked for)", "deg", ge=0.01, le=10
    )
    area: str | None = _key(
        None, "File of polygons, from the project's folder (absent: around the sites)",
        max_length=400,
    )  # fmt: skip
    land_only: bool = _key(False, "Cut coverage to land")


class OverlayFile(_Table):
    """``[[overlays]]``: a map layer of the user's own."""

    file: str = _key(
        ..., "Vector file to draw on the map, from the project's folder", min_length=1,
        max_length=400,
    )  # fmt: skip
    name: str = _key("", "Name on the map (absent: the file's)", max_length=200)
    color: Literal["blue", "vermilion", "green", "purple", "grey", "black"] | None = _key(
        None, "Colour of its lines (absent: one after another)"
    )


def _default_cables() -> tuple[Cable, ...]:
    return tuple(
        Cable(name=name, diameter_mm=width, loss_db_100m=loss, core_mm=core, shield_ohm_km=shield)
        for name, width, loss, core, shield in DEFAULT_CABLES
    )


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
    site: SitePack = Field(default_factory=SitePack)
    ifl: Ifl = Field(default_factory=Ifl)
    cables: tuple[Cable, ...] = Field(default_factory=_default_cables, min_length=1, max_length=40)
    coverage: CoverageTable = Field(default_factory=CoverageTable)
    overlays: tuple[OverlayFile, ...] = Field(default=(), max_length=40)

    @model_validator(mode="after")
    def _no_twins(self) -> Self:
        sizes = [a.diameter_m for a in self.antennas]
        powers = [b.rated_w for b in self.bucs]
        if len(set(sizes)) < len(sizes):
            raise ValueError("antennas: two of the same diameter_m; keep one of them")
        if len(set(powers)) < len(powers):
            raise ValueError("bucs: two of the same rated_w; keep one of them")
        if len({c.name for c in self.cables}) < len(self.cables):
            raise ValueError("cables: two of the same name; keep one of them")
        return self
