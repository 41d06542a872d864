"""Each figure read back by its label from sheet, card, KML, GPX, kit list and sun calendar.

Three unlike sites (``unlike.py``), no figure twice, so that one in another's place is never green.
``FIGURES`` holds label and form of every field; the tables behind it say what stands where. A new
field is a line of ``FIGURES``; one that the sheet shows is also a word of ``SHEET_ROWS``. Words for
directions are checked against look angles worked out by vectors, not by the code under test.
"""

from __future__ import annotations

import datetime as dt
import itertools
import math
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from siteplan.outputs.lists.kit import write_kit
from siteplan.outputs.lists.sun import write_sun_calendars, write_sun_table
from siteplan.outputs.lists.tracks import write_gpx, write_kml
from siteplan.outputs.map.payload import write_map
from siteplan.outputs.sheets.context import Visit
from siteplan.outputs.sheets.files import sheet_html
from siteplan.results import Plan
from tests.outputs import readers
from tests.outputs.readers import Boxes, Card, Point, Sheet
from tests.outputs.unlike import ALTITUDE_M, LAT_DEG, LON_DEG, NOWHERE, OFFSET_DEG, look
from tests.outputs.unlike import network as unlike_network
from tests.outputs.unlike import unlike_plan

SITES = range(3)
CAVEAT = "for planning, to be confirmed by a qualified engineer"

#: Label and form of each field, as the reader of an output sees it; ``{}`` is a text.
FIGURES: dict[str, tuple[str, str]] = {
    "site_id": ("Site", "{}"),
    "name": ("Name", "{}"),
    "group": ("Group", "{}"),
    "priority": ("Priority", "{}"),
    "lat": ("Latitude", "{:.6f}°"),
    "lon": ("Longitude", "{:.6f}°"),
    "altitude_m": ("Altitude", "{:.0f} m"),
    "altitude_source": ("Altitude from", "{}"),
    "structure": ("Structure", "{}"),
    "wall_facing_deg": ("Wall faces", "{:.0f}°"),
    "timezone": ("Time zone", "{}"),
    "roof_height_m": ("Roof height", "{:.1f} m"),
    "cable_m": ("Cable run", "{:.0f} m"),
    "wind_m_s": ("Wind", "{:.1f} m/s"),
    "fixed_antenna_m": ("Installed antenna", "{:.2f} m"),
    "fixed_buc_w": ("Installed BUC", "{:.1f} W"),
    "availability_target_pct": ("Availability target", "{:.3f} %"),
    "azimuth_true_deg": ("Azimuth (true)", "{:.2f}°"),
    "azimuth_magnetic_deg": ("Azimuth (magnetic)", "{:.1f}°"),
    "magnetic_declination_deg": ("Declination", "{:.2f}°"),
    "elevation_deg": ("Elevation", "{:.2f}°"),
    "skew_deg": ("Skew", "{:.1f}°"),
    "slant_range_km": ("Slant range", "{:.0f} km"),
    "rain_rate_mm_h": ("Rain rate R0.01", "{:.1f} mm/h"),
    "rain_height_km": ("Rain height", "{:.2f} km"),
    "uplink_attenuation_db": ("Uplink attenuation", "{:.2f} dB"),
    "downlink_attenuation_db": ("Downlink attenuation", "{:.2f} dB"),
    "uplink_gas_db": ("Uplink gas", "{:.2f} dB"),
    "uplink_cloud_db": ("Uplink cloud", "{:.2f} dB"),
    "uplink_rain_db": ("Uplink rain", "{:.2f} dB"),
    "uplink_scintillation_db": ("Uplink scintillation", "{:.2f} dB"),
    "downlink_gas_db": ("Downlink gas", "{:.2f} dB"),
    "downlink_cloud_db": ("Downlink cloud", "{:.2f} dB"),
    "downlink_rain_db": ("Downlink rain", "{:.2f} dB"),
    "downlink_scintillation_db": ("Downlink scintillation", "{:.2f} dB"),
    "antenna_m": ("Antenna", "{:.2f} m"),
    "buc_w": ("BUC", "{:.1f} W"),
    "kit_source": ("Kit", "{}"),
    "required_antenna_m": ("Antenna that would just do", "{:.2f} m"),
    "next_antenna_m": ("Next antenna up", "{:.2f} m"),
    "next_antenna_margin_db": ("Margin with the next antenna", "{:.1f} dB"),
    "no_fit_reason": ("Why nothing fits", "{}"),
    "margin_db": ("Margin", "{:.1f} dB"),
    "margin_class": ("Margin class", "{}"),
    "limiting_direction": ("Limited by", "{}"),
    "fade_margin_db": ("Fade margin", "{:.1f} dB"),
    "outbound_clear_es_n0_db": ("Outbound clear-sky Es/N0", "{:.1f} dB"),
    "outbound_fade_margin_db": ("Outbound fade margin", "{:.1f} dB"),
    "outbound_margin_db": ("Outbound margin", "{:.1f} dB"),
    "outbound_availability_pct": ("Outbound availability", "{:.3f} %"),
    "inbound_clear_es_n0_db": ("Inbound clear-sky Es/N0", "{:.1f} dB"),
    "inbound_fade_margin_db": ("Inbound fade margin", "{:.1f} dB"),
    "inbound_margin_db": ("Inbound margin", "{:.1f} dB"),
    "inbound_availability_pct": ("Inbound availability", "{:.3f} %"),
    "availability_achieved_pct": ("Availability achieved", "{:.3f} %"),
    "remote_eirp_dbw": ("Remote EIRP", "{:.1f} dBW"),
    "remote_g_t_db_k": ("Remote G/T", "{:.1f} dB/K"),
    "mount": ("Mount", "{}"),
    "mount_reason": ("Why this mount", "{}"),
    "mount_options": ("All mounts weighed", "{}"),
    "dish_height_m": ("Dish height", "{:.1f} m"),
    "wind_design_m_s": ("Design wind", "{:.1f} m/s"),
    "wind_source": ("Wind from", "{}"),
    "wind_pressure_pa": ("Wind pressure", "{:.0f} Pa"),
    "wind_drag_n": ("Wind force", "{:.0f} N"),
    "overturning_nm": ("Overturning moment", "{:.0f} Nm"),
    "ballast_kg": ("Ballast", "{:.0f} kg"),
    "ballast_governs": ("Ballast set by", "{}"),
    "frame_base_m": ("Frame's side", "{:.1f} m"),
    "roof_load_pa": ("Load on the roof", "{:.0f} Pa"),
    "pole_embedment_m": ("Depth of the footing", "{:.2f} m"),
    "wall_pull_n": ("Pull on a fixing", "{:.0f} N"),
    "wall_shear_n": ("Shear on a fixing", "{:.0f} N"),
    "parapet_distance_m": ("Distance from the parapet", "{:.1f} m"),
    "horizon_at_satellite_deg": ("Horizon at the satellite", "{:.1f}°"),
    "horizon_source": ("Horizon from", "{}"),
    "obstacle_kind": ("Obstacle", "{}"),
    "clearance_deg": ("Clearance", "{:.1f}°"),
    "stand_off_per_m": ("Stand-off per metre of height", "{:.2f} m/m"),
    "beamwidth_deg": ("Beamwidth", "{:.2f}°"),
    "ifl_length_m": ("IFL length", "{:.0f} m"),
    "cable_class": ("Cable class", "{}"),
    "cable_loss_low_db": ("Cable loss, low end", "{:.1f} dB"),
    "cable_loss_high_db": ("Cable loss, high end", "{:.1f} dB"),
    "cable_slope_db": ("Cable slope", "{:.1f} dB"),
    "buc_dc_w": ("BUC supply power", "{:.0f} W"),
    "buc_voltage_v": ("Voltage at the BUC", "{:.1f} V"),
    "buc_current_a": ("BUC current", "{:.2f} A"),
    "modem_output_dbm": ("Modem output", "{:.1f} dBm"),
    "modem_input_dbm": ("Modem input", "{:.1f} dBm"),
    "cable_advice": ("Cable advice", "{}"),
    "aperture_w_m2": ("Density at the reflector", "{:.1f} W/m2"),
    "near_field_w_m2": ("Density in the near field", "{:.1f} W/m2"),
    "near_field_end_m": ("Near field ends", "{:.1f} m"),
    "far_field_start_m": ("Far field starts", "{:.1f} m"),
    "controlled_distance_m": ("Controlled distance in the beam", "{:.1f} m"),
    "public_distance_m": ("Public distance in the beam", "{:.1f} m"),
    "controlled_beside_m": ("Controlled distance beside the beam", "{:.1f} m"),
    "public_beside_m": ("Public distance beside the beam", "{:.1f} m"),
    "exposure_rule": ("Exposure rule", "{}"),
    "beam_edge_m": ("Beam's lower edge", "{:.1f} m"),
    "beam_over_head_m": ("Beam over head height from", "{:.1f} m"),
    "sun_first_day": ("Sun transits from", "{}"),
    "sun_last_day": ("Sun transits to", "{}"),
    "sun_days": ("Days with sun transits", "{:.0f}"),
    "sun_peak_utc": ("Deepest sun transit", "{}"),
    "sun_longest_min": ("Longest sun transit", "{:.1f} min"),
    "sun_depth_db": ("Sun transit depth", "{:.1f} dB"),
    "sun_outage": ("Sun outage", "{}"),
    "inclinometer_deg": ("Inclinometer on the rim", "{:.1f}°"),
    "azimuth_step_deg": ("Azimuth per 0.1 degree", "{:.2f}°"),
    "elevation_step_deg": ("Elevation per 0.1 degree", "{:.2f}°"),
    "skew_step_deg": ("Skew per 0.1 degree", "{:.2f}°"),
    "loss_0_1_deg_db": ("Loss for 0.1 degree", "{:.2f} dB"),
    "expected_c_n_db": ("Expected C/N", "{:.1f} dB"),
    "acceptance_c_n_db": ("Accept from", "{:.1f} dB"),
    "flags": ("Flags", "{}"),
    "flag_notes": ("Notes", "{}"),
    "margin_1_2_m_db": ("Margin with 1.2 m", "{:.1f} dB"),
    "margin_1_8_m_db": ("Margin with 1.8 m", "{:.1f} dB"),
    "margin_2_4_m_db": ("Margin with 2.4 m", "{:.1f} dB"),
    "source_row": ("Row", "{:.0f}"),
}
#: Codes that a reader sees as words.
WORDS = {"flat_roof": "flat roof", "non_penetrating": "non penetrating"}
FLAG_WORDS = {
    "low_elevation": "Check: Low elevation: long path in rain, obstructions likely",
    "drive_range": "Check: A level at the modem is out of its range",
    "blocked": "Stop: An obstacle or the terrain stands in the beam",
    "margin_short": "Check: The margin at the target is under the reserve",
    "azimuth_sensitive": "Note: A small error in position turns the azimuth markedly",
    "heavy_rain": "Note: Heavy rain climate",
}
#: What a box says of site ``i``: the name of a field, or a function of plan and site.
Says = str | Callable[[Plan, int], str]
Table = dict[tuple[str, str], Says]


def text(plan: Plan, name: str, i: int) -> str:
    """Return what a reader must see of a field; empty where the plan has no answer."""
    value = plan.columns[name][i]
    if isinstance(value, str):
        return value
    return "" if math.isnan(value) else FIGURES[name][1].format(value)


def said(plan: Plan, says: Says, i: int) -> str:
    return text(plan, says, i) if isinstance(says, str) else says(plan, i)


def always(words: str) -> Says:
    return lambda _plan, _i: words


def spelled(name: str) -> Says:
    """A field whose codes are shown as words."""
    return lambda plan, i: WORDS.get(text(plan, name, i), text(plan, name, i))


def unsigned(name: str) -> Says:
    return lambda plan, i: text(plan, name, i).removeprefix("-")


def places(table: Table) -> list[Any]:
    return [pytest.param(key, id=": ".join(key)) for key in table]


# --- directions, from geometry worked out in unlike.py ---------------------------------------


def place_letters(_plan: Plan, i: int) -> str:
    north, east = LAT_DEG[i] > 0, LON_DEG[i] > 0
    lat, lon = abs(LAT_DEG[i]), abs(LON_DEG[i])
    return f"{lat:.6f}° {'N' if north else 'S'} {lon:.6f}° {'E' if east else 'W'}"


def geo(_plan: Plan, i: int) -> str:
    """RFC 5870, section 3.4.2: latitude first, a comma, longitude."""
    return f"geo:{LAT_DEG[i]:.6f},{LON_DEG[i]:.6f}"


def turn(i: int, *, behind: bool = True) -> str:
    """Which way the feed turns; from in front of the dish it runs the other way."""
    return "clockwise" if (look(i).skew > 0) is behind else "counter-clockwise"


def rim_deg(i: int) -> float:
    """How far the rim leans back: an offset dish looks lower than its beam by its offset."""
    return look(i).elevation - OFFSET_DEG[i]


def declination(plan: Plan, i: int) -> str:
    """East where magnetic north lies to the right of true north: the compass reads less."""
    right = (look(i).azimuth - plan.columns["azimuth_magnetic_deg"][i] + 180) % 360 - 180
    return f"{abs(right):.1f}° {'east' if right > 0 else 'west'}"


def test_angles_are_those_of_the_place() -> None:
    """The plan's own angles stand within half of the last digit shown."""
    plan = unlike_plan()
    for i in SITES:
        seen = look(i)
        for name, worth, half in (
            ("azimuth_true_deg", seen.azimuth, 0.005),
            ("elevation_deg", seen.elevation, 0.005),
            ("skew_deg", seen.skew, 0.05),
            ("inclinometer_deg", rim_deg(i), 0.05),
        ):
            assert plan.columns[name][i] == pytest.approx(worth, abs=half), name


def test_the_sites_are_unlike() -> None:
    """Every pair of words for a direction is told of one site or another."""
    plan = unlike_plan()
    assert {turn(i) for i in SITES} == {"clockwise", "counter-clockwise"}
    assert {rim_deg(i) > 0 for i in SITES} == {True, False}
    assert {declination(plan, i).split()[-1] for i in SITES} == {"east", "west"}
    assert {(lat > 0, lon > 0) for lat, lon in zip(LAT_DEG, LON_DEG, strict=True)} == {
        *((True, True), (False, False), (True, False)),
    }
    for name in NOWHERE:
        assert {value == 0 for value in plan.columns[name]} == {True, False}


# --- the crew's sheet -----------------------------------------------------------------------

#: Fields that stand under their label in a block of the sheet.
SHEET_ROWS = {
    "Peak and accept": "expected_c_n_db acceptance_c_n_db fade_margin_db margin_db loss_0_1_deg_db"
    " azimuth_step_deg elevation_step_deg skew_step_deg",
    "Mount": "roof_height_m wall_facing_deg dish_height_m parapet_distance_m",
    "Wind and ballast": "wind_design_m_s wind_source wind_pressure_pa wind_drag_n overturning_nm"
    " ballast_kg ballast_governs frame_base_m roof_load_pa pole_embedment_m wall_pull_n"
    " wall_shear_n",
    "Cable and power": "ifl_length_m cable_class cable_loss_low_db cable_loss_high_db"
    " cable_slope_db buc_dc_w buc_voltage_v buc_current_a modem_output_dbm modem_input_dbm",
    "Keep out of the beam": "beam_edge_m beam_over_head_m aperture_w_m2 near_field_w_m2"
    " near_field_end_m far_field_start_m",
    "Sun behind the satellite": "sun_longest_min sun_depth_db sun_outage",
}
MOUNT_WORDS = (
    *("pole in a footing", "wall bracket", "ballasted frame on the roof, nothing drilled"),
)
SMALL_PARTS = (
    "LNB, feed, filter; plugs and sealing tape for the cable's class",
    "Bonding conductor and clamps as the local code asks",
    "Warning sign for the beam; barrier where people can reach it",
)


def distance(name: str) -> Says:
    """A distance of exposure: in words where the limit holds everywhere."""

    def says(plan: Plan, i: int) -> str:
        return "limit not reached" if i in NOWHERE[name] else text(plan, name, i)

    return says


def side_note(_plan: Plan, i: int) -> str:
    if not OFFSET_DEG[i]:
        return "Lay the inclinometer across the rim, top to bottom. The maker's scale comes first."
    return (
        f"Offset dish, {OFFSET_DEG[i]:g}°: it looks lower than its beam. Lay the inclinometer on"
        " the rim, not along the beam. The maker's scale comes first."
    )


def sky_note(plan: Plan, i: int) -> str:
    clearance = text(plan, "clearance_deg", i)
    known = f"Grey: what stands in the way, clearance {clearance}."
    held = known if clearance else "No horizon known: draw it in."
    return (
        f"Rim: horizon; middle: overhead; lay it flat, N to north. {held} Small rings: the sun"
        f" each hour, 2026-09-14, {zone_of(plan, i) or 'UTC'}."
    )


def zone_of(plan: Plan, i: int) -> str:
    return str(plan.columns["timezone"][i])


def local(plan: Plan, i: int, moment: Any) -> dt.datetime:
    """Return a UTC moment by the clocks at a site."""
    utc = dt.datetime.fromisoformat(str(moment)).replace(tzinfo=dt.UTC)
    return utc.astimezone(ZoneInfo(zone_of(plan, i) or "UTC"))


def sun_hours(plan: Plan, i: int) -> list[tuple[str, float, float]]:
    """Hour by the clocks at the site, azimuth, elevation, while the sun is up."""
    tables = (plan.tables[f"sun_hour_{k}_deg"][i] for k in ("azimuth", "elevation"))
    found = [
        (f"{local(plan, i, f'2026-09-14T{hour:02}:00:00'):%H:%M}", float(azimuth), float(up))
        for hour, (azimuth, up) in enumerate(zip(*tables, strict=True))
    ]
    return sorted(row for row in found if row[2] > 0)


def hours_table(plan: Plan, i: int) -> str:
    return "; ".join(f"{h} {azimuth:.1f}° {up:.0f}°" for h, azimuth, up in sun_hours(plan, i))


def sun_note(plan: Plan, i: int) -> str:
    (first, second) = plan.tables["sun_on_azimuth"][i]
    assert np.isnat(second)
    at = f"{local(plan, i, first):%H:%M}"
    return (
        f"Azimuths from true north. It stands on the dish's azimuth at {at}."
        " Never look into the sun."
    )


def transits(plan: Plan, i: int) -> list[int]:
    return [int(k) for k in np.flatnonzero(plan.tables["sun_site"] == i)]


def season(number: int) -> Says:
    """A season's days, and the times of day between which its transits fall."""

    def says(plan: Plan, i: int) -> str:
        pairs = [
            tuple(local(plan, i, plan.tables[f"sun_{k}"][row]) for k in ("start", "end"))
            for row in transits(plan, i)
        ]
        spring = [pair for pair in pairs if (pair[0].month < 6) is (number == 2)]
        first, last = (f"{m.day} {m:%b %Y}" for m in (spring[0][0], spring[-1][0]))
        early, late = min(a.time() for a, _ in spring), max(b.time() for _, b in spring)
        zone = zone_of(plan, i) or "UTC"
        return f"{first} to {last}: {early:%H:%M} to {late:%H:%M} {zone}"

    return says


def neighbours(plan: Plan, i: int) -> str:
    azimuth, up, apart = (
        plan.tables[f"neighbour_{k}_deg"][i] for k in ("azimuth", "elevation", "separation")
    )
    found = [
        f"{place}, {apart[k]:.1f}° away: azimuth {azimuth[k]:.1f}° true, elevation {up[k]:.1f}°"
        for k, place in enumerate(("12.5° W", "3° E"))
    ]
    return f"Not these: {'; '.join(found)}."


def parts(plan: Plan, i: int) -> str:
    dish, power, cable, run, ballast = (
        text(plan, name, i)
        for name in ("antenna_m", "buc_w", "cable_class", "ifl_length_m", "ballast_kg")
    )
    found = [f"Antenna {dish}", f"BUC {power}", f"Mount: {MOUNT_WORDS[i]}"]
    found += [f"Ballast {ballast} ({CAVEAT})"] if ballast else []
    return " | ".join([*found, f"Cable {cable or 'class open'}, {run}, and slack", *SMALL_PARTS])


def assumed(_plan: Plan, i: int) -> str:
    given = (
        *("roof_height_m = 6 m; cable_m = 30 m", "wind_m_s = 25 m/s; roof_height_m = 6 m"),
        "wind_m_s = 25 m/s",
    )
    altitude = "altitude from P.1511; " if i == 1 else ""
    return (
        f"{altitude}{given[i]}; friction = 0.4;"
        " and 2 figures of link and catalogue, listed in summary.json."
    )


def flag(number: int, *, notes: bool) -> Says:
    """A flag in words; the sheet's head leaves those out that are good to know only."""

    def says(plan: Plan, i: int) -> str:
        told = [FLAG_WORDS[code] for code in plan.columns["flags"][i].split(";")]
        told = [words for words in told if notes or not words.startswith("Note")]
        return told[number - 1] if number <= len(told) else ""

    return says


def deepest(plan: Plan, i: int) -> str:
    return plan.columns["sun_peak_utc"][i][:16].replace("T", " ") + " UTC"


SHEET: Table = {
    ("head", "QR code"): geo,
    ("head", "under the QR code"): geo,
    ("head", "name"): "name",
    ("head", "network"): always("Wayfarers"),
    ("head", "group"): "group",
    ("head", "visit"): lambda _plan, i: f"{i + 1} of 3",
    ("head", "Site"): "site_id",
    ("head", "priority"): "priority",
    ("head", "place"): place_letters,
    ("head", "above sea level"): lambda _plan, i: f"{ALTITUDE_M[i]:.0f} m",
    ("head", "Satellite"): always("Lantern 5 at 5° W"),
    ("head", "plan of"): always("2026-09-01"),
    ("head", "install"): always("2026-09-14"),
    ("head", "flag 1"): flag(1, notes=False),
    ("head", "flag 2"): flag(2, notes=False),
    ("page 2", "head"): lambda plan, i: (
        f"{text(plan, 'site_id', i)} · {text(plan, 'name', i)} · page 2: build, power, test"
    ),
    ("angles", "Azimuth from true north"): "azimuth_true_deg",
    ("angles", "Azimuth from true north, note"): always("clockwise"),
    ("angles", "Azimuth on a compass"): "azimuth_magnetic_deg",
    ("angles", "Azimuth on a compass, note"): lambda plan, i: (
        f"World Magnetic Model 2025, 2026-09-01: {declination(plan, i)}"
    ),
    ("angles", "Elevation"): "elevation_deg",
    ("angles", "Elevation, note"): always("of the beam, above level"),
    ("angles", "Inclinometer on the rim"): unsigned("inclinometer_deg"),
    ("angles", "Inclinometer on the rim, note"): lambda _plan, i: (
        "leans back" if rim_deg(i) > 0 else "leans FORWARD, over the feed"
    ),
    ("angles", "Skew (feed's turn)"): unsigned("skew_deg"),
    ("angles", "Skew (feed's turn), note"): lambda _plan, i: f"{turn(i)}, seen from behind",
    ("drawing", "Compass rose"): lambda _plan, i: f"satellite at {look(i).azimuth:.1f}° true",
    ("drawing", "Dish from the side"): lambda _plan, i: f"elevation {look(i).elevation:.2f}°",
    ("drawing", "Skew from behind the dish"): lambda _plan, i: (
        f"{abs(look(i).skew):.1f}° {turn(i)}"
    ),
    ("drawing", "Skew from in front of the dish"): lambda _plan, i: (
        f"{abs(look(i).skew):.1f}° {turn(i, behind=False)}"
    ),
    ("drawing", "Sky"): lambda _plan, i: (
        f"satellite at {look(i).azimuth:.1f}, elevation {look(i).elevation:.1f} degrees"
    ),
    ("drawing", "How far an obstacle must stand from the dish"): always(""),
    ("caption", "Compass rose"): always(
        "Arrow: the satellite, from true north. Dashed: where a compass needle points."
    ),
    ("caption", "Dish from the side"): side_note,
    ("caption", "Skew from behind the dish"): always(
        "Dashed: upright. Bar: the satellite's vertical polarization. The feed's zero mark and port"
        " are the maker's. A reading of 0 needs no turn."
    ),
    ("caption", "Sky"): sky_note,
    ("caption", "How far an obstacle must stand from the dish"): lambda plan, i: (
        "How far off a wall or tree of that height (above the mount's foot) must stand."
        f" Each metre more: {text(plan, 'stand_off_per_m', i).removesuffix('/m')}."
    ),
    ("Check the compass by the sun", "hours"): hours_table,
    ("Check the compass by the sun", "day"): lambda plan, i: (
        f"on 2026-09-14, {zone_of(plan, i) or 'UTC'}"
    ),
    ("caption", "Check the compass by the sun"): sun_note,
    ("Peak and accept", "Not these"): neighbours,
    ("Mount", "heading"): lambda _plan, i: MOUNT_WORDS[i],
    ("Mount", "reason"): "mount_reason",
    ("Mount", "options"): lambda plan, i: (
        text(plan, "mount_options", i)
        .replace(". Wall", ". | Wall")
        .replace(". Pole", ". | Pole")
    ),
    ("Mount", "Structure"): spelled("structure"),
    ("Wind and ballast", "basis"): always(
        "The design wind is a 10-minute mean (EN 1991-1-4), terrain category III."
    ),
    ("Parts", "parts"): parts,
    ("Cable and power", "advice"): "cable_advice",
    **{("Keep out of the beam", FIGURES[name][0]): distance(name) for name in NOWHERE},
    ("Keep out of the beam", "rule"): lambda plan, i: (
        f"By {text(plan, 'exposure_rule', i)}; transmitter at its rated power."
    ),
    ("Sun behind the satellite", "season 1"): season(1),
    ("Sun behind the satellite", "season 2"): season(2),
    ("Sun behind the satellite", "Deepest sun transit"): deepest,
    ("Write in what you measure", "Latitude"): "lat",
    ("Write in what you measure", "Longitude"): "lon",
    ("Write in what you measure", "C/N, clear sky"): "expected_c_n_db",
    ("Write in what you measure", "Cable laid"): "ifl_length_m",
    ("Write in what you measure", "Cable loss"): "cable_loss_high_db",
    ("Write in what you measure", "Voltage at BUC"): "buc_voltage_v",
    ("Write in what you measure", "Obstacles: az, el"): "horizon_at_satellite_deg",
    ("Access test", "Cross-polar isolation"): always(
        "Cross-polar isolation dB; operator asks 27.5 dB"
    ),
    ("The flags in words", "notes"): "flag_notes",
    ("Assumed, given by nobody (keys of network.toml)", "keys"): assumed,
    **{
        (block, FIGURES[name][0]): name
        for block, names in SHEET_ROWS.items()
        for name in names.split()
    },
}
#: Figures of the sheet that stand in no box: page and step of the test, and a tick to write at.
FREE_FIGURES = ["1"]


@pytest.fixture(scope="module")
def plan() -> Plan:
    return unlike_plan()


@pytest.fixture(scope="module")
def sheets(plan: Plan) -> list[Sheet]:
    return [Sheet(sheet_html(plan, i, visit=Visit(i + 1, 3))) for i in SITES]


@pytest.mark.parametrize("key", places(SHEET))
def test_the_sheet(plan: Plan, sheets: list[Sheet], key: tuple[str, str]) -> None:
    """A box that the site has no figure for is left out, or stands empty to be written in."""
    for i in SITES:
        assert sheets[i].boxes.get(key, "") == said(plan, SHEET[key], i)


def test_the_sheet_has_no_label_that_the_table_does_not_name(sheets: list[Sheet]) -> None:
    for sheet in sheets:
        assert set(sheet.boxes) <= set(SHEET)
    assert set(SHEET) == {key for sheet in sheets for key in sheet.boxes}


def test_no_figure_of_the_sheet_stands_outside_of_a_box(sheets: list[Sheet]) -> None:
    for sheet in sheets:
        assert re.findall(r"\S*\d\S*", sheet.rest) == FREE_FIGURES


# --- the sheet's drawings -------------------------------------------------------------------


def near(found: list[Point], expected: list[Point]) -> bool:
    """Whether two sets of points are the same, to the tenth that a drawing is written with."""
    apart = [[math.dist(a, b) for b in expected] for a in found]
    rows, columns = list(apart), list(zip(*apart, strict=True))
    return len(found) > 0 and all(min(row) < 0.08 for row in (*rows, *columns))


def sky_at(centre: Point, ring: float, azimuth: float, elevation: float) -> Point:
    """Where a direction lies on a sky plot: north up, east to the right, overhead in the middle."""
    out, way = ring * (90 - elevation) / 90, math.radians(azimuth)
    return centre[0] + out * math.sin(way), centre[1] - out * math.cos(way)


def test_the_letters_of_the_compass_stand_in_their_quarters(sheets: list[Sheet]) -> None:
    for title in ("Compass rose", "Sky"):
        drawing = sheets[0].drawings[title]
        centre = readers.rings(drawing, "circle")[0]
        found = {w: readers.bearing(centre, p) for w, p in readers.words(drawing) if w in "NESW"}
        for letter, bearing in (("N", 0), ("E", 90), ("S", 180), ("W", 270)):
            off = (found[letter] - bearing + 180) % 360 - 180
            assert off == pytest.approx(0, abs=5), letter  # letters stand on their base line


def test_arrow_and_needle_of_the_rose(plan: Plan, sheets: list[Sheet]) -> None:
    for i in SITES:
        rose = sheets[i].drawings["Compass rose"]
        centre = readers.rings(rose, "circle")[0]
        tail, tip = readers.points(rose, "path.heavy")[:2]
        assert math.dist(tail, centre) == pytest.approx(0, abs=0.1)
        assert readers.bearing(centre, tip) == pytest.approx(look(i).azimuth, abs=0.2)
        needle = readers.points(rose, "path.hollow")[0]
        size, side = declination(plan, i).split("° ")
        east = float(size) if side == "east" else -float(size)
        assert readers.bearing(centre, needle) == pytest.approx(east % 360, abs=0.2)


def test_beam_and_rim_from_the_side(sheets: list[Sheet]) -> None:
    """The beam runs to the right: a rim that leans forward has its top to the right."""
    for i in SITES:
        side = sheets[i].drawings["Dish from the side"]
        told = [words for words, _ in readers.words(side)]
        lean = "back" if rim_deg(i) > 0 else "forward"
        assert f"elevation {look(i).elevation:.2f}°" in told
        assert f"rim {abs(rim_deg(i)):.1f}° {lean}" in told
        top, _, bottom = readers.points(side, "path.heavy")[:3]
        upright = readers.bearing(bottom, top)
        assert (upright + 180) % 360 - 180 == pytest.approx(-rim_deg(i), abs=0.3)
        start, end = readers.points(side, "path.heavy")[3:5]
        assert 90 - readers.bearing(start, end) == pytest.approx(look(i).elevation, abs=0.3)


@pytest.mark.parametrize(("title", "behind"), [("behind", True), ("in front of", False)])
def test_the_feeds_turn(sheets: list[Sheet], title: str, behind: bool) -> None:
    """The bar of the drawing, and the words below it; from in front all runs the other way."""
    for i in SITES:
        drawing = sheets[i].drawings[f"Skew from {title} the dish"]
        top, bottom = readers.points(drawing, "path.bar")
        leans = (readers.bearing(bottom, top) + 90) % 180 - 90
        assert leans == pytest.approx(look(i).skew * (1 if behind else -1), abs=0.2)
        told = [words for words, _ in readers.words(drawing)]
        assert told == [
            f"{title} the dish",
            f"{abs(look(i).skew):.1f}° {turn(i, behind=behind)}",
        ]


def horizon_corners(plan: Plan, i: int) -> list[tuple[float, float]]:
    """Azimuth and height of the corners of each piece of the horizon, 5 degrees wide."""
    tops = plan.tables["horizon_deg"][i]
    return [
        (5.0 * k + side, float(top))
        for k, top in enumerate(tops)
        for side in (-2.5, 2.5)
        if top > 0
    ]


def test_satellite_sun_and_horizon_of_the_sky(plan: Plan, sheets: list[Sheet]) -> None:
    for i in SITES:
        sky = sheets[i].drawings["Sky"]
        centre, ring = readers.rings(sky, "circle.thick")[0], 88.0
        at = sky_at(centre, ring, look(i).azimuth, look(i).elevation)
        assert near(readers.rings(sky, "circle.hollow"), [at])
        sun = [sky_at(centre, ring, azimuth, up) for _, azimuth, up in sun_hours(plan, i)]
        assert near(readers.rings(sky, "circle.ray"), sun)
        inside = [p for p in readers.points(sky, "path.grey") if math.dist(p, centre) < ring - 1]
        tops = [sky_at(centre, ring, *corner) for corner in horizon_corners(plan, i)]
        assert near(inside, tops) if tops else not inside
    assert [bool(horizon_corners(plan, i)) for i in SITES] == [True, True, False]


def test_each_obstacles_distance_stands_below_its_height(plan: Plan, sheets: list[Sheet]) -> None:
    """Rounded up: to a tenth below 10 m, else to a metre; ``any`` where none need be kept."""

    def kept(away: float) -> str:
        if away <= 0:
            return "any"
        return f"{math.ceil(away * 10) / 10:.1f} m" if away < 10 else f"{math.ceil(away)} m"

    for i in SITES:
        told = readers.words(sheets[i].drawings["How far an obstacle must stand from the dish"])
        columns: dict[float, list[tuple[float, str]]] = {}
        for words, (x, y) in told:
            columns.setdefault(x, []).append((y, words))
        found = [[words for _, words in sorted(columns[x])] for x in sorted(columns)]
        away = plan.tables["stand_off_m"][i].tolist()
        heights = ("3 m", "5 m", "10 m", "15 m", "20 m")
        assert found == [
            ["height", "away, least"],
            *([high, kept(far)] for high, far in zip(heights, away, strict=True)),
        ]
