"""The blocks of a site's sheet: pointing, mount and loads, parts, cable, exposure, sun.

Rows are label and text of the plan's fields; those that the plan has not are left out.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any, Final

from siteplan.outputs import units as other_units
from siteplan.outputs.sheets import sun as sheet_sun
from siteplan.outputs.sheets import words as sheet_words
from siteplan.outputs.sheets.tune import stop_wind, tune
from siteplan.outputs.shown import SiteValues, amount, angle, given, label, words
from siteplan.outputs.standing import whole_stands
from siteplan.outputs.times import to_minute, zone_named
from siteplan.results import Plan
from siteplan.words import CAVEAT, orbital_position

#: Fields of the blocks, in order; those that the plan has not are left out.
ACCEPT = ("margin_db", "margin_after_reserve_db", "fade_margin_db")
#: What a small step of the satellite along its orbit turns, each by its word.
STEPS = (("azimuth", "azimuth_step_deg"), ("elevation", "elevation_step_deg"),
         ("skew", "skew_step_deg"))  # fmt: skip
BUILD = ("structure", "roof_height_m", "wall_facing_deg", "dish_height_m", "parapet_distance_m")
WIND = (
    *("wind_design_m_s", "wind_source", "wind_pressure_pa", "ballast_kg", "ballast_governs"),
    "frame_base_m",
)
#: Loads that hold no safety factor: only the ballast has one.
BARE_LOADS = (
    *("wind_drag_n", "overturning_nm", "roof_load_pa", "pole_embedment_m", "wall_pull_n"),
    "wall_shear_n",
)
#: Of these, what holds whatever the mount is: the wind, and what it does to the dish.
ON_ANY_MOUNT = ("wind_design_m_s", "wind_source", "wind_pressure_pa")
ON_THE_DISH = ("wind_drag_n", "overturning_nm")
#: Figures of the network file that stand behind a load: its name, label, unit.
BEHIND = {
    "pole_embedment_m": ("footing_m", "Diameter of the footing"),
    "wall_shear_n": ("bracket_spacing_m", "Spacing of the fixings"),
}
CABLE = (
    *("ifl_length_m", "cable_class", "cable_core", "cable_loss_low_db", "cable_loss_high_db"),
    *("cable_slope_db", "buc_dc_w", "buc_voltage_v", "buc_current_a"),
    *("modem_output_dbm", "modem_input_dbm"),
)
EXPOSURE = (
    *("controlled_distance_m", "public_distance_m", "controlled_beside_m", "public_beside_m"),
    *("fence_m", "beam_edge_m", "beam_over_head_m", "aperture_w_m2", "near_field_w_m2"),
    *("near_field_end_m", "far_field_start_m"),
)
#: Of a site that gets no kit: how the nearest pair did, and what is known of the place.
TRIED = (
    *("margin_db", "limiting_direction", "limiting_end", "fade_margin_db"),
    *("availability_target_pct", "annual_target_pct", "availability_achieved_pct"),
    "required_antenna_m",
)
PLACE = (
    *("structure", "roof_height_m", "wall_facing_deg", "horizon_at_satellite_deg"),
    *("obstacle_kind", "horizon_source", "clearance_deg", "rain_rate_mm_h"),
)
SUN = ("sun_longest_min", "sun_depth_db", "sun_outage")


def installing(plan: Plan, v: SiteValues) -> dict[str, Any]:
    """Return what only a site that gets kit has: peaking, mount, parts, cable, exposure."""
    return {**pointing(plan, v), **building(plan, v)}


def surveying(plan: Plan, v: SiteValues) -> dict[str, Any]:
    """Return what a site has that gets no kit: what was tried, and what a new survey starts from.

    Nothing that a crew could install by.
    """
    rows = [(label(name), v[name]) for name in TRIED if v[name]]
    half = (len(rows) + 1) // 2
    return {
        "tried": v.tried,
        "tried_rows": (rows[:half], rows[half:]),
        "known": [(name, words(text)) for name, text in v.rows(*PLACE)],
        "wanted": sheet_words.SURVEY,
        "survey_photos": sheet_words.SURVEY_PHOTOS,
        "abort": sheet_words.SURVEY_ABORT.format(wind=stop_wind(plan, v.units)),
    }


def pointing(plan: Plan, v: SiteValues) -> dict[str, Any]:
    """Return what the receiver must show, what a small turn does, and the wrong satellites."""
    return {
        **tune(plan, v),
        "accept": v.rows(*ACCEPT),
        "loss": v.rows("loss_0_1_deg_db"),
        "steps": _steps(v),
        "abort": sheet_words.ABORT.format(wind=stop_wind(plan, v.units)),
        "cross_polar": amount(plan.network.site.cross_polar_db, "dB"),
        "neighbours": _neighbours(plan, v.index),
    }


def _steps(v: SiteValues) -> str:
    """Return what 0.1 degree of orbit to the east turns, with its signs, in a line.

    Nothing of a satellite overhead, whose azimuth has no meaning.
    """
    if not v["azimuth_true_deg"]:
        return ""
    told = [f"{word} {v.difference(name)}" for word, name in STEPS if v[name]]
    return f"For 0.1 degree of orbit to the east: {', '.join(told)}." if told else ""


def _neighbours(plan: Plan, i: int) -> list[str]:
    """Return where the neighbouring satellites stand."""
    places = plan.network.satellite.neighbours_deg
    tables = [plan.tables.get(f"neighbour_{k}_deg") for k in ("azimuth", "elevation", "separation")]
    if any(t is None for t in tables):
        return []
    rows = zip(places, *(t[i].tolist() for t in tables if t is not None), strict=True)
    return [
        f"{orbital_position(place)}, {angle(apart, 1)} away: azimuth"
        f" {angle(azimuth, 1)} true, elevation {angle(up, 1)}"
        for place, azimuth, up, apart in rows
        if math.isfinite(apart)
    ]


def building(plan: Plan, v: SiteValues) -> dict[str, Any]:
    """Return mount, loads, parts, cable and exposure.

    Of a dish that stands already no mount is weighed, asked about, or loaded: nobody builds one.
    """
    rules, site = plan.network.rules, plan.network.site
    basis = sheet_words.WIND_BASIS[rules.wind_basis].format(
        terrain=site.terrain_category, exposure=site.gust_exposure
    )
    there = bool(v["fixed_antenna_m"])
    factor = sheet_words.WIND_FACTOR.format(safety=site.safety_factor)
    reason = "" if there else v["mount_reason"]
    weighed = [] if there else _options(v["mount_options"])
    return {
        "mount": _mount(v),
        "question": "" if there else v["mount_question"],
        "reason": reason,
        "options": [o for o in weighed if o not in reason],
        "build": [(name, words(text)) for name, text in v.rows(*BUILD)],
        "made_fast": (*(sheet_words.STANDING_MOUNT if there else ()), *sheet_words.MADE_FAST),
        "wind": _wind(plan, v, ON_ANY_MOUNT if there else WIND),
        "bare_loads": _bare_loads(plan, v, ON_THE_DISH if there else BARE_LOADS),
        "wind_basis": f"{basis} {sheet_words.NO_MOUNT if there else factor}",
        "task": "check" if whole_stands(v) else "build",
        "parts_heading": sheet_words.TO_CHECK if whole_stands(v) else "Parts",
        "parts": parts(v),
        "cable": _cable(plan, v),
        "exposure": v.rows(*EXPOSURE),
    }


def _mount(v: SiteValues) -> str:
    """Return the mount in words, and that it is to be surveyed where it is provisional."""
    if v["fixed_antenna_m"]:
        return sheet_words.AS_IT_STANDS
    open_ = ", to be surveyed" if v["mount_certainty"] == "provisional" else ""
    return sheet_words.MOUNTS.get(v["mount"], v["mount"]) + open_


def _options(listed: str) -> list[str]:
    """Return the mounts that were weighed, one a line."""
    scored = r"(?:, \d+ of 100|: not possible|: beyond a planning limit)"
    pieces = re.split(rf"(?<=\.)\s+(?=[A-Z][A-Za-z -]*{scored})", listed)
    return [piece.strip() for piece in pieces if piece.strip()]


def _wind(plan: Plan, v: SiteValues, names: Sequence[str] = WIND) -> list[tuple[str, str]]:
    """Return the wind and the ballast; a wind of the network file is not called assumed."""
    assumed_keys = {a.key for a in plan.assumptions}
    of_network = v["wind_source"] == "assumed" and "site.wind_m_s" not in assumed_keys
    source = label("wind_source")
    rows = v.rows(*names)
    return [(name, "the network file" if of_network and name == source else t) for name, t in rows]


def _bare_loads(plan: Plan, v: SiteValues, loads: Sequence[str]) -> list[tuple[str, str]]:
    """Return the loads that hold no safety factor, each with the figure that it rests on."""
    rows = []
    for name, text in ((name, v[name]) for name in loads if v[name]):
        rows.append((v.label(name), text))
        if name in BEHIND:
            key, told = BEHIND[name]
            rows.append((told, given(getattr(plan.network.site, key), "m", 2, v.units)))
    return rows


def _cable(plan: Plan, v: SiteValues) -> list[tuple[str, str]]:
    """Return the cable's figures; with other units, the gauge of its centre conductor too."""
    rows = v.rows(*CABLE)
    core_mm = {c.name: c.core_mm for c in plan.network.cables}.get(v["cable_class"])
    if v.units != other_units.US or core_mm is None:
        return rows
    gauge = f"{amount(core_mm, 'mm', 2)} ({other_units.wire_gauge(core_mm)})"
    at = next((k for k, (name, _) in enumerate(rows) if name == label("cable_core")), len(rows))
    return [*rows[:at], ("Centre conductor", gauge), *rows[at:]]


def parts(v: SiteValues) -> list[str]:
    """Return the parts to carry, the big ones with their figures; what stands already says so.

    Where the whole station stands, what is to be checked.
    """
    antenna, buc = (
        f": {sheet_words.STANDS}" if v[name] else "" for name in ("fixed_antenna_m", "fixed_buc_w")
    )
    core = v["cable_core"].partition(",")[0]
    kind = ", ".join(filter(None, (v["cable_class"] or "class open", core)))
    cable = f"Cable {kind}: {v['ifl_length_m']}, and slack"
    found = [f"Antenna {v['antenna_m']}{antenna}", f"BUC {v['buc_w']}{buc}", f"Mount: {_mount(v)}"]
    if v["ballast_kg"] and not antenna:
        found.append(f"Ballast {v['ballast_kg']} ({CAVEAT})")
    if whole_stands(v):
        laid = f"Cable: what is laid, its class and length; planned with {kind}: "
        laid += v["ifl_length_m"]
        return [*found, *([laid] if v["ifl_length_m"] else []), *sheet_words.STANDING_PARTS]
    return [*found, *([cable] if v["ifl_length_m"] else []), *sheet_words.SMALL_PARTS]


def sun(plan: Plan, v: SiteValues, zone: str, hours: sheet_sun.Hours) -> dict[str, Any]:
    """Return the sun's hours, and its seasons behind the satellite."""
    times = sheet_sun.on_azimuth(plan, v.index, zone)
    day = plan.facts.install_date
    whose = "dish" if v.has_kit else "satellite"
    behind = f"It stands on the {whose}'s azimuth at {' and '.join(times)}." if times else ""
    return {
        "sun_hours": _side_by_side([(h, angle(a, 1), angle(e, 0)) for h, a, e in hours]),
        "sun_day": f"on {day}, {zone_named(plan, zone)}",
        "sun_note": f"Azimuths from true north. {behind} Never look into the sun.",
        "sun": [*sheet_sun.seasons(plan, v.index, zone), *_sun_rows(v, zone)],
    }


def _side_by_side(cells: list[tuple[str, str, str]]) -> list[list[str]]:
    """Return a column of cells as two columns, side by side."""
    half = (len(cells) + 1) // 2
    right = [*cells[half:], ("", "", "")]
    return [[*left, *right[k]] for k, left in enumerate(cells[:half])]


def _sun_rows(v: SiteValues, zone: str) -> list[tuple[str, str]]:
    """Return the depth of the next season, ISO's time in words."""
    peak = "sun_peak_local"
    rows = [(label(peak), to_minute(v[peak], zone))] if v[peak] else []
    return [*rows, *v.rows(*SUN)]


#: What the crew reads by the sheet, each box and line, and the columns of the blank it goes into.
ASKED: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "Azimuth from true north": ("azimuth_true_deg",),
        "Azimuth on a compass": ("azimuth_magnetic_deg",),
        "Elevation": ("elevation_deg",),
        "Inclinometer on the rim": ("rim_angle_deg",),
        "Polarization angle (skew)": ("skew_deg",),
        "Latitude": ("lat",),
        "Longitude": ("lon",),
        "Altitude": ("altitude_m",),
        "C/N, clear sky": ("c_n_db",),
        "Cable laid": ("cable_m",),
        "Cable loss": ("cable_loss_db",),
        "Voltage at BUC": ("buc_voltage_v",),
        "Obstacles: az, el": ("obstacle_azimuth_deg", "obstacle_elevation_deg"),
        "Cross-polar isolation": ("cross_polar_db",),
    }
)


def measured(v: SiteValues) -> list[tuple[str, str]]:
    """Return what the crew brings back besides the angles, with what was planned."""
    planned: tuple[tuple[str, str], ...] = (
        ("Latitude", v["lat"]),
        ("Longitude", v["lon"]),
        ("C/N, clear sky", v["expected_c_n_db"]),
        ("Cable laid", v["ifl_length_m"] or v["cable_m"]),
        ("Cable loss", v["cable_loss_high_db"]),
        ("Voltage at BUC", _with_core(v)),
        ("Obstacles: az, el", _obstacle(v)),
    )
    if not v.has_kit:
        planned = (*planned[:2], ("Altitude", v["altitude_m"]), planned[-1])
    return [(name, text) for name, text in planned if text or name.startswith("Obst")]


def _obstacle(v: SiteValues) -> str:
    """Return where the highest thing at the satellite's bearing stands; the azimuth is true."""
    top = v["horizon_at_satellite_deg"]
    return f"{v['azimuth_true_deg']}, {top}" if top and v["azimuth_true_deg"] else top


def _with_core(v: SiteValues) -> str:
    """Return the voltage at the BUC with the metal of the core that it rests on."""
    core = v["cable_core"].partition(",")[0]
    return ", ".join(filter(None, (v["buc_voltage_v"], core))) if v["buc_voltage_v"] else ""
