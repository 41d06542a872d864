"""The dictionary of result fields and of flags.

One table drives CSV headers, GeoPackage fields, map legends, sheet labels and the list that
``siteplan fields`` prints. A result that is not here cannot be written.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from siteplan.fieldrows import PACK
from siteplan.fieldrows.asbuilt import ASBUILT, ASBUILT_PLANNED

#: Sources that recur in the table below.
_GIVEN = "given in the sites table"
_P618 = "ITU-R P.618-14 section 2"
_LINK = "link budget, see README: method"


@dataclass(frozen=True, slots=True)
class Field:
    """One result field.

    ``decimals`` is the number of decimals shown and written (None for text); ``unit`` is empty
    where there is none; ``source`` names the standard or the origin of the value.
    """

    name: str
    label: str
    unit: str
    decimals: int | None
    meaning: str
    source: str
    group: str

    @property
    def is_text(self) -> bool:
        """Whether the field holds text."""
        return self.decimals is None

    @property
    def heading(self) -> str:
        """Label with the unit, for a column or a legend."""
        return f"{self.label} [{self.unit}]" if self.unit else self.label


@dataclass(frozen=True, slots=True)
class Flag:
    """One flag: a stable code, how bad it is, and what it means.

    ``severity`` is ``stop`` (the site cannot be served as planned), ``warn`` (decide before
    going) or ``note`` (know it).
    """

    code: str
    severity: str
    meaning: str


def _table(group: str, rows: Iterable[tuple[str, str, str, int | None, str, str]]) -> list[Field]:
    return [Field(*row, group=group) for row in rows]


_IDENTITY = _table(
    "site",
    [
        ("site_id", "Site", "", None, "Identifier, unique in the project", _GIVEN),
        ("name", "Name", "", None, "Name of the site", _GIVEN),
        ("group", "Group", "", None, "Group that plans and visits are made for", _GIVEN),
        ("priority", "Priority", "", None, "The user's priority, carried through", _GIVEN),
        ("lat", "Latitude", "deg", 6, "Geodetic latitude, north positive, WGS 84", _GIVEN),
        ("lon", "Longitude", "deg", 6, "Longitude, east positive, WGS 84", _GIVEN),
        (
            "altitude_m",
            "Altitude",
            "m",
            0,
            "Height above mean sea level used in the computation",
            "given in the sites table, else ITU-R P.1511-2",
        ),
        (
            "altitude_source",
            "Altitude from",
            "",
            None,
            "given, or P.1511 where the site gave none",
            "siteplan",
        ),
        (
            "structure",
            "Structure",
            "",
            None,
            "What the mount can stand on: ground, flat_roof, pitched_roof, wall",
            _GIVEN,
        ),
        (
            "wall_facing_deg",
            "Wall faces",
            "deg",
            0,
            "Direction that the wall looks, from true north",
            _GIVEN,
        ),
        (
            "timezone",
            "Time zone",
            "",
            None,
            "Name of the time zone (IANA), else empty",
            "given in the sites table, else network.toml",
        ),
        ("roof_height_m", "Roof height", "m", 1, "Height of the roof above ground", _GIVEN),
        ("cable_m", "Cable run", "m", 0, "Length of the IFL cable run", _GIVEN),
        ("wind_m_s", "Wind", "m/s", 1, "Design wind speed on the basis of wind_basis", _GIVEN),
        ("fixed_antenna_m", "Installed antenna", "m", 2, "Antenna already on site", _GIVEN),
        ("fixed_buc_w", "Installed BUC", "W", 1, "BUC already on site, rated power", _GIVEN),
        (
            "availability_target_pct",
            "Availability target",
            "%",
            3,
            "Percentage of an average year in which both directions must hold",
            "given in the sites table, else network.toml",
        ),
    ],
)

_GEOMETRY = _table(
    "geometry",
    [
        (
            "azimuth_true_deg",
            "Azimuth (true)",
            "deg",
            2,
            "Bearing of the satellite, clockwise from true north",
            "WGS 84 geometry",
        ),
        (
            "azimuth_magnetic_deg",
            "Azimuth (magnetic)",
            "deg",
            1,
            "Bearing of the satellite on a compass, on the plan's date",
            "World Magnetic Model 2025",
        ),
        (
            "magnetic_declination_deg",
            "Declination",
            "deg",
            2,
            "Magnetic north seen from true north, east positive",
            "World Magnetic Model 2025",
        ),
        (
            "elevation_deg",
            "Elevation",
            "deg",
            2,
            "Geometric angle of the satellite above the horizon, no refraction",
            "WGS 84 geometry",
        ),
        (
            "skew_deg",
            "Skew",
            "deg",
            1,
            "Polarization rotation seen from behind the dish, facing the satellite, "
            "clockwise positive",
            "projection of the satellite's north axis",
        ),
        (
            "slant_range_km",
            "Slant range",
            "km",
            0,
            "Distance from the site to the satellite",
            "WGS 84 geometry",
        ),
    ],
)

_CLIMATE = _table(
    "climate",
    [
        (
            "rain_rate_mm_h",
            "Rain rate R0.01",
            "mm/h",
            1,
            "Rain rate exceeded for 0.01 % of an average year",
            "ITU-R P.837-7",
        ),
        ("rain_height_km", "Rain height", "km", 2, "Mean annual rain height", "ITU-R P.839-4"),
        (
            "uplink_attenuation_db",
            "Uplink attenuation",
            "dB",
            2,
            "Total attenuation at the site's uplink frequency, at the site's share of the outage",
            _P618,
        ),
        (
            "downlink_attenuation_db",
            "Downlink attenuation",
            "dB",
            2,
            "Total attenuation at the site's downlink frequency, at the site's share of the outage",
            _P618,
        ),
        ("uplink_gas_db", "Uplink gas", "dB", 2, "Gaseous part", "ITU-R P.676-12 annex 2"),
        ("uplink_cloud_db", "Uplink cloud", "dB", 2, "Cloud part", "ITU-R P.840-8"),
        ("uplink_rain_db", "Uplink rain", "dB", 2, "Rain part", _P618 + ".2.1.1"),
        (
            "uplink_scintillation_db",
            "Uplink scintillation",
            "dB",
            2,
            "Scintillation part",
            _P618 + ".4",
        ),
        ("downlink_gas_db", "Downlink gas", "dB", 2, "Gaseous part", "ITU-R P.676-12 annex 2"),
        ("downlink_cloud_db", "Downlink cloud", "dB", 2, "Cloud part", "ITU-R P.840-8"),
        ("downlink_rain_db", "Downlink rain", "dB", 2, "Rain part", _P618 + ".2.1.1"),
        (
            "downlink_scintillation_db",
            "Downlink scintillation",
            "dB",
            2,
            "Scintillation part",
            _P618 + ".4",
        ),
    ],
)

_SIZING = _table(
    "sizing",
    [
        (
            "antenna_m",
            "Antenna",
            "m",
            2,
            "Diameter of the antenna picked, or installed; blank where nothing fits",
            "sizing, see README: method",
        ),
        (
            "buc_w",
            "BUC",
            "W",
            1,
            "Rated power of the BUC picked, or installed; blank where nothing fits",
            "sizing, see README: method",
        ),
        (
            "kit_source",
            "Kit",
            "",
            None,
            "picked (from the catalogue), installed (judged as it stands) or none (no fit)",
            "sizing, see README: method",
        ),
        (
            "required_antenna_m",
            "Antenna that would just do",
            "m",
            2,
            "Continuous diameter that meets both directions with the reserve, with the BUC "
            "picked (else the largest)",
            "sizing, see README: method",
        ),
        (
            "next_antenna_m",
            "Next antenna up",
            "m",
            2,
            "The next larger antenna of the catalogue",
            "sizing, see README: method",
        ),
        (
            "next_antenna_margin_db",
            "Margin with the next antenna",
            "dB",
            1,
            "margin_db with the next larger antenna and the same BUC",
            _LINK,
        ),
        (
            "no_fit_reason",
            "Why nothing fits",
            "",
            None,
            "The reason and the nearest miss, where no pair of the catalogue meets the target",
            "sizing, see README: method",
        ),
    ],
)


def _direction_rows(d: str) -> list[tuple[str, str, str, int | None, str, str]]:
    """Return the rows of one direction, ``outbound`` or ``inbound``."""
    title = d.capitalize()
    return [
        (
            f"{d}_clear_es_n0_db",
            f"{title} clear-sky Es/N0",
            "dB",
            1,
            f"{title} Es/(N0+I0) with gas only",
            _LINK,
        ),
        (
            f"{d}_fade_margin_db",
            f"{title} fade margin",
            "dB",
            1,
            f"{title} clear-sky Es/(N0+I0) less threshold and implementation loss",
            _LINK,
        ),
        (
            f"{d}_margin_db",
            f"{title} margin",
            "dB",
            1,
            f"{title} margin at the availability target, reserve not taken off",
            _LINK,
        ),
        (
            f"{d}_availability_pct",
            f"{title} availability",
            "%",
            3,
            f"Availability achieved {d}: where the margin reaches zero",
            f"{_P618} inverted",
        ),
    ]


_LINK_FIELDS = _table(
    "link",
    [
        (
            "margin_db",
            "Margin",
            "dB",
            1,
            "The smaller of the two directions' margins at the availability target, "
            "reserve not taken off",
            _LINK,
        ),
        (
            "margin_class",
            "Margin class",
            "",
            None,
            "The class of margin_db on the network file's scale",
            "margin_classes_db of network.toml",
        ),
        (
            "limiting_direction",
            "Limited by",
            "",
            None,
            "outbound or inbound: the direction with the smaller margin",
            _LINK,
        ),
        (
            "fade_margin_db",
            "Fade margin",
            "dB",
            1,
            "Clear-sky fade margin of the limiting direction",
            _LINK,
        ),
        *_direction_rows("outbound"),
        *_direction_rows("inbound"),
        (
            "availability_achieved_pct",
            "Availability achieved",
            "%",
            3,
            "The smaller of the two directions' availabilities",
            f"{_P618} inverted",
        ),
        (
            "remote_eirp_dbw",
            "Remote EIRP",
            "dBW",
            1,
            "EIRP of the remote in clear sky towards the satellite",
            _LINK,
        ),
        (
            "remote_g_t_db_k",
            "Remote G/T",
            "dB/K",
            1,
            "G/T of the remote in clear sky",
            "ITU-R P.618-14 section 3 for the sky's noise",
        ),
    ],
)

_DECISIONS = _table(
    "decisions",
    [
        (
            "mount",
            "Mount",
            "",
            None,
            "pole, wall, non_penetrating, ground (a ballasted frame) or survey_decides",
            "mount rules, see README: method",
        ),
        (
            "mount_reason",
            "Why this mount",
            "",
            None,
            "The reason, in a sentence",
            "mount rules, see README: method",
        ),
        ("flags", "Flags", "", None, "Stable codes joined by a semicolon", "siteplan"),
        ("flag_notes", "Notes", "", None, "A sentence for each flag", "siteplan"),
        ("source_row", "Row", "", 0, "Row of the site in the sites table", "siteplan"),
    ],
)

#: What the site pack adds, between the mount and the flags.
_PACK = [field for group, rows in PACK for field in _table(group, rows)]

#: Every fixed result field by name, in the order of the tables that are written.
FIELDS: Mapping[str, Field] = MappingProxyType(
    {
        field.name: field
        for field in (
            *_IDENTITY,
            *_GEOMETRY,
            *_CLIMATE,
            *_SIZING,
            *_LINK_FIELDS,
            *_DECISIONS[:2],
            *_PACK,
            *_DECISIONS[2:],
        )
    }
)

#: The fields of what came back from the sites, by name.
ASBUILT_FIELDS: Mapping[str, Field] = MappingProxyType(
    {name: FIELDS[name] for name in ASBUILT_PLANNED}
    | {field.name: field for field in _table("as built", ASBUILT)}
)

#: Catalogue antennas get one column each: margin with that antenna and its best BUC.
CATALOGUE_MARGIN = Field(
    "margin_{diameter}_m_db",
    "Margin with {diameter} m",
    "dB",
    1,
    "margin_db with this antenna of the catalogue and the BUC in use (else the largest)",
    _LINK,
    "sizing",
)
_CATALOGUE_PATTERN = re.compile(r"margin_(\d+(?:_\d+)?)_m_db")

#: A free column of the user's that collides with a result field gets this prefix.
INPUT_PREFIX = "input_"


def catalogue_margin_name(diameter_m: float) -> str:
    """Return the field name of the margin with one catalogue antenna.

    >>> catalogue_margin_name(1.2)
    'margin_1_2_m_db'
    """
    return CATALOGUE_MARGIN.name.format(diameter=f"{diameter_m:g}".replace(".", "_"))


def lookup(name: str) -> Field | None:
    """Return the field called ``name``, or None where the dictionary has none."""
    if name in FIELDS:
        return FIELDS[name]
    if name in ASBUILT_FIELDS:
        return ASBUILT_FIELDS[name]
    match = _CATALOGUE_PATTERN.fullmatch(name)
    if match is None:
        return None
    diameter = match[1].replace("_", ".")
    return Field(
        name,
        CATALOGUE_MARGIN.label.format(diameter=diameter),
        CATALOGUE_MARGIN.unit,
        CATALOGUE_MARGIN.decimals,
        CATALOGUE_MARGIN.meaning,
        CATALOGUE_MARGIN.source,
        CATALOGUE_MARGIN.group,
    )


#: Every flag by code, the worst first.
FLAGS: Mapping[str, Flag] = MappingProxyType(
    {
        flag.code: flag
        for flag in (
            Flag("below_horizon", "stop", "The satellite is below the horizon"),
            Flag("no_fit", "stop", "No pair of the catalogue meets the target with the reserve"),
            Flag("below_min_elevation", "stop", "Elevation is under the network's minimum"),
            Flag("margin_negative", "stop", "The margin at the target is below zero"),
            Flag("blocked", "stop", "An obstacle or the terrain stands in the beam"),
            Flag("sky_tight", "warn", "The beam clears the horizon by less than clearance_deg"),
            Flag("roof_load", "warn", "The ballasted frame is heavier than the roof's limit"),
            Flag("cable_none", "warn", "No cable class of the catalogue works over this run"),
            Flag("drive_range", "warn", "A level at the modem is out of its range"),
            Flag("beam_reachable", "warn", "People can reach the beam inside the safe distance"),
            Flag("outside_terrain", "note", "The terrain file does not cover the site's horizon"),
            Flag("method_range", "warn", "A method is used outside its stated range"),
            Flag("margin_short", "warn", "The margin at the target is under the reserve"),
            Flag("coordinate_doubt", "warn", "The coordinates look wrong; check them"),
            Flag("coordinate_mended", "note", "The coordinates were mended on reading"),
            Flag("input_mended", "note", "Another value of the row was mended or left out"),
            Flag("low_elevation", "warn", "Low elevation: long path in rain, obstructions likely"),
            Flag("heavy_rain", "note", "Heavy rain climate"),
            Flag("near_vertical", "note", "Dish looks nearly straight up: water collects"),
            Flag(
                "azimuth_sensitive", "note", "A small error in position turns the azimuth markedly"
            ),
            Flag("compass_unreliable", "warn", "Compass bearings are unreliable here"),
            Flag("magnetic_model_date", "note", "The plan's date is outside the magnetic model"),
            Flag("power_share", "warn", "The inbound carrier takes more than its share of power"),
            Flag("availability_capped", "note", "Availability achieved is beyond 99.999 %"),
            Flag("availability_low", "warn", "Availability achieved is below 50 %"),
            Flag("small_p", "note", "Outage under 0.01 %: the prediction is uncertain there"),
        )
    }
)
