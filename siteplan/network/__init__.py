"""The frozen types of network.toml: one place for keys, defaults, ranges, units and meanings.

A file a subject; ``Network`` joins their tables. The reference of the keys, the starter file and
every error message are made from here.
"""

from __future__ import annotations

from typing import Self

from pydantic import Field, model_validator

from siteplan.network.beams.beams import OWN_TABLES, Beam, check_beams, check_own
from siteplan.network.beams.contours import ContourLine, Contours, beam_names
from siteplan.network.beams.contours import check_beams as check_one_beam
from siteplan.network.capacity.applications import Application, check_applications
from siteplan.network.capacity.lease import Lease
from siteplan.network.capacity.rollout import Rollout
from siteplan.network.capacity.traffic import Traffic
from siteplan.network.carriers import Carrier, Inbound, Outbound, Polarization, Waveform
from siteplan.network.certainty.climate import ClimateTable
from siteplan.network.certainty.uncertainty import Uncertainty
from siteplan.network.costs import Costs, MountPrice, check_pick
from siteplan.network.coverage import CoverageTable, OverlayFile
from siteplan.network.general import General, Methods
from siteplan.network.hub import Hub, check_diversity
from siteplan.network.people import Contacts, Sheets
from siteplan.network.rules import Rules
from siteplan.network.satellite import Satellite
from siteplan.network.site import (
    DEFAULT_WIND_M_S,
    WIND_FLOOR_M_S,
    Cable,
    Ifl,
    SitePack,
    default_cables,
)
from siteplan.network.sites import SitesTable
from siteplan.network.spectrum.neighbours import (
    Neighbour,
    check_positions,
    joined_positions,
)
from siteplan.network.spectrum.patterns import Pattern, PatternGains
from siteplan.network.spectrum.regulation import (
    MASK_BANDS_GHZ,
    OwnMask,
    Regulation,
    check_masks,
)
from siteplan.network.table import Table
from siteplan.network.terminal import (
    DEFAULT_ANTENNAS_M,
    DEFAULT_BUCS_W,
    Antenna,
    Buc,
    Terminal,
    default_antennas,
    default_bucs,
)

__all__ = [
    "DEFAULT_ANTENNAS_M",
    "DEFAULT_BUCS_W",
    "MASK_BANDS_GHZ",
    "Antenna",
    "Application",
    "Beam",
    "Buc",
    "Cable",
    "Carrier",
    "ClimateTable",
    "Contacts",
    "ContourLine",
    "Contours",
    "Costs",
    "CoverageTable",
    "General",
    "Hub",
    "Ifl",
    "Inbound",
    "Lease",
    "Methods",
    "MountPrice",
    "Neighbour",
    "Network",
    "Outbound",
    "OverlayFile",
    "OwnMask",
    "Pattern",
    "PatternGains",
    "Polarization",
    "Regulation",
    "Rollout",
    "Rules",
    "Satellite",
    "Sheets",
    "SitePack",
    "SitesTable",
    "Terminal",
    "Traffic",
    "Uncertainty",
    "Waveform",
]


class Network(Table):
    """network.toml, checked: one attribute a table."""

    network: General = Field(default_factory=General)
    satellite: Satellite
    hub: Hub = Field(default_factory=Hub)
    outbound: Outbound = Field(default_factory=Outbound)
    inbound: Inbound = Field(default_factory=Inbound)
    terminal: Terminal = Field(default_factory=Terminal)
    antennas: tuple[Antenna, ...] = Field(
        default_factory=default_antennas,
        min_length=1,
        max_length=40,
    )
    bucs: tuple[Buc, ...] = Field(
        default_factory=default_bucs,
        min_length=1,
        max_length=40,
    )
    rules: Rules = Field(default_factory=Rules)
    methods: Methods = Field(default_factory=Methods)
    sites: SitesTable = Field(default_factory=SitesTable)
    site: SitePack = Field(default_factory=SitePack)
    ifl: Ifl = Field(default_factory=Ifl)
    cables: tuple[Cable, ...] = Field(default_factory=default_cables, min_length=1, max_length=40)
    mounts: tuple[MountPrice, ...] = Field(default=(), max_length=5)
    costs: Costs = Field(default_factory=Costs)
    contacts: Contacts = Field(default_factory=Contacts)
    sheets: Sheets = Field(default_factory=Sheets)
    coverage: CoverageTable = Field(default_factory=CoverageTable)
    overlays: tuple[OverlayFile, ...] = Field(default=(), max_length=40)
    neighbours: tuple[Neighbour, ...] = Field(default=(), max_length=12)
    regulation: Regulation = Field(default_factory=Regulation)
    masks: tuple[OwnMask, ...] = Field(default=(), max_length=12)
    beams: tuple[Beam, ...] = Field(default=(), max_length=400)
    contours: tuple[Contours, ...] = Field(default=(), max_length=200)
    traffic: Traffic = Field(default_factory=Traffic)
    lease: Lease = Field(default_factory=Lease)
    applications: tuple[Application, ...] = Field(default=(), max_length=40)
    rollout: Rollout = Field(default_factory=Rollout)
    climate: ClimateTable = Field(default_factory=ClimateTable)
    uncertainty: Uncertainty = Field(default_factory=Uncertainty)

    @property
    def neighbour_positions_deg(self) -> tuple[float, ...]:
        """Positions of all neighbours, those with levels first; one in both lists is one. [deg]"""
        levels = (neighbour.longitude_deg for neighbour in self.neighbours)
        return joined_positions(levels, self.satellite.neighbours_deg)

    @property
    def limits(self) -> tuple[OwnMask | str, ...]:
        """The masks that must hold: the operator's own, then the names of published ones.

        Either kind stands in the order of ``[regulation] masks``.
        """
        own = {mask.name: mask for mask in self.masks}
        names = self.regulation.masks
        return (*(own[n] for n in names if n in own), *(n for n in names if n not in own))

    @property
    def has_cross_polar(self) -> bool:
        """Whether carriers on the other polarization are told of, so that isolation counts."""
        ways = (self.outbound, self.inbound)
        return any(way.cross_polar_level_db is not None for way in ways)

    @property
    def pattern_files(self) -> dict[str, str]:
        """The files of patterns by the key that names each, such as ``[hub] pattern_file``."""
        listed = ((f"[[antennas]] no. {k}", a) for k, a in enumerate(self.antennas, 1))
        return {
            f"{place} pattern_file": of.pattern_file
            for place, of in (*listed, ("[hub]", self.hub))
            if of.pattern_file is not None
        }

    @property
    def without_gains(self) -> tuple[str, ...]:
        """The places, such as ``[hub]``, whose pattern comes from a file that nobody has read."""
        listed = enumerate(self.antennas, 1)
        places = [f"[[antennas]] no. {k}" for k, antenna in listed if antenna.lacks_gains]
        return (*places, *(["[hub]"] if self.hub.lacks_gains else []))

    @property
    def usual_target_pct(self) -> float:
        """The target of a site that tells none and names no application, on the file's basis [%].

        The highest of the applications of ``[network]``; where they ask nothing, the network's.
        """
        here = (of for of in self.applications if of.name in self.network.applications)
        asked = [of.asked(self.traffic).availability_pct for of in here]
        known = [pct for pct in asked if pct is not None]
        return max(known, default=self.network.availability_pct)

    def of_beam(self, name: str) -> Network:
        """Return the network of one of ``beams``, with its own keys and contours, and it alone.

        Raises
        ------
        KeyError
            If there is no such beam.
        pydantic.ValidationError
            If its keys do not go with the shared ones.
        """
        beam = next((beam for beam in self.beams if beam.name == name), None)
        if beam is None:
            raise KeyError(name)
        tables = {table: beam.own(table, getattr(self, table)) for table in OWN_TABLES}
        contours = tuple(of for of in self.contours if of.beam == name)
        return self.model_copy(update={**tables, "beams": (beam,), "contours": contours})

    @property
    def times_delays(self) -> bool:
        """Whether any application tells the longest delay that it allows."""
        return any(of.asked(self.traffic).max_delay_ms is not None for of in self.applications)

    @property
    def hub_places(self) -> tuple[tuple[float, float], ...]:
        """Latitude and longitude of every hub that is placed, each once, in the beams' order."""
        hubs = [self.of_beam(b.name).hub for b in self.beams] if self.beams else [self.hub]
        placed = [(h.lat, h.lon) for h in hubs if h.lat is not None and h.lon is not None]
        return tuple(dict.fromkeys(placed))

    @property
    def beam_names(self) -> tuple[str, ...]:
        """The names of ``beams``, else of those that contours are told of; '' for the only one."""
        return tuple(b.name for b in self.beams) if self.beams else beam_names(self.contours)

    @property
    def contour_files(self) -> dict[str, str]:
        """The files of contours by the key that names each, such as ``[[contours]] no. 1 file``."""
        listed = enumerate(self.contours, 1)
        return {f"[[contours]] no. {k} file": of.file for k, of in listed if of.file is not None}

    @property
    def area_files(self) -> dict[str, str]:
        """The files of service areas by the key that names each, as ``[[beams]] no. 1 area``."""
        listed = enumerate(self.beams, 1)
        return {f"[[beams]] no. {k} area": of.area for k, of in listed if of.area is not None}

    @property
    def without_lines(self) -> tuple[str, ...]:
        """The places, such as ``[[contours]] no. 1``, whose file of contours nobody has read."""
        listed = enumerate(self.contours, 1)
        return tuple(f"[[contours]] no. {k}" for k, of in listed if of.lacks_lines)

    @property
    def design_wind_m_s(self) -> float:
        """Design wind of sites that give none [m/s]: given, else the default of its basis."""
        given = self.site.wind_m_s
        return DEFAULT_WIND_M_S[self.rules.wind_basis] if given is None else given

    @property
    def wind_floor_m_s(self) -> float:
        """Least that is taken for a design wind [m/s]: given, else the one of its basis."""
        given = self.site.wind_floor_m_s
        return WIND_FLOOR_M_S[self.rules.wind_basis] if given is None else given

    @model_validator(mode="after")
    def _winds_of_design(self) -> Self:
        wind, floor, basis = self.design_wind_m_s, self.wind_floor_m_s, self.rules.wind_basis
        if wind < floor:
            raise ValueError(
                f"[site] wind_m_s = {wind:g} is less than the {floor:g} m/s that a design wind has"
                f" at least (as {basis}). An observed speed is no design wind: give the one that"
                " the local code asks for, or set wind_floor_m_s if you know better"
            )
        return self

    @model_validator(mode="after")
    def _neighbours_apart(self) -> Self:
        check_positions(self.satellite.longitude_deg, self.neighbours)
        return self

    @model_validator(mode="after")
    def _second_hub_holds(self) -> Self:
        check_diversity(self.hub, self.outbound.uplink_ghz, self.inbound.downlink_ghz)
        return self

    @model_validator(mode="after")
    def _masks_hold(self) -> Self:
        check_masks(self.regulation, self.masks, self.inbound.uplink_ghz)
        return self

    @model_validator(mode="after")
    def _prices_are_there(self) -> Self:
        if self.rules.pick == "cost":
            antennas = [(f"the price of the antenna of {a.diameter_m:g} m", a.price)
                        for a in self.antennas]  # fmt: skip
            bucs = [(f"the price of the BUC of {b.rated_w:g} W", b.price) for b in self.bucs]
            check_pick(antennas, bucs, self.costs)
        return self

    @model_validator(mode="after")
    def _applications_hold(self) -> Self:
        check_applications(self.network.applications, self.applications)
        return self

    @model_validator(mode="after")
    def _beams_go_together(self) -> Self:
        if not self.beams:
            check_one_beam(self.contours)
            return self
        check_beams(self.beams, self.contours)
        shared = {table: getattr(self, table) for table in OWN_TABLES}
        for number, beam in enumerate(self.beams, 1):
            check_own(number, beam, shared)
            try:
                check_masks(self.regulation, self.masks, self.of_beam(beam.name).inbound.uplink_ghz)
            except ValueError as error:
                raise ValueError(f"[[beams]] no. {number} ({beam.name}): {error}") from None
        return self

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
        if len({m.kind for m in self.mounts}) < len(self.mounts):
            raise ValueError("mounts: two of the same kind; keep one of them")
        return self
