"""What each box of the crew's sheet must say: block and label, and where the figure comes from.

A field that stands under its own label is a word of ``ROWS``; any other box is a line of
``SHEET``. Words for directions come from look angles worked out by vectors.
"""

from __future__ import annotations

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from siteplan.results import Plan
from tests.outputs.read_back.figures import (
    FIGURES,
    FLAG_WORDS,
    Says,
    Table,
    always,
    missed,
    spelled,
    text,
    unsigned,
)
from tests.outputs.read_back.unlike import ALTITUDE_M, LAT_DEG, LON_DEG, OFFSET_DEG, look

#: The sites in the order of their visits.
VISITED = (1, 0, 2)
CAVEAT = "for planning, to be confirmed by a qualified engineer"


# --- directions, from look angles worked out by vectors -------------------------------------


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


# --- boxes -----------------------------------------------------------------------------------

#: Fields that stand under their label in a block of the sheet.
ROWS = {
    "Peak and accept": "fade_margin_db margin_db margin_after_reserve_db loss_0_1_deg_db",
    "Mount": "roof_height_m wall_facing_deg dish_height_m parapet_distance_m",
    "Wind and ballast": "wind_design_m_s wind_source wind_pressure_pa wind_drag_n overturning_nm"
    " ballast_kg ballast_governs frame_base_m roof_load_pa pole_embedment_m wall_pull_n"
    " wall_shear_n",
    "Cable and power": "ifl_length_m cable_class cable_core cable_loss_low_db cable_loss_high_db"
    " cable_slope_db buc_dc_w buc_voltage_v buc_current_a modem_output_dbm modem_input_dbm",
    "Keep out of the beam": "controlled_distance_m public_distance_m controlled_beside_m"
    " public_beside_m fence_m beam_edge_m beam_over_head_m aperture_w_m2 near_field_w_m2"
    " near_field_end_m far_field_start_m",
    "Sun behind the satellite": "sun_longest_min sun_depth_db sun_outage",
}
#: The dish of the first site stands, and the BUC of the second: each without the other.
DISH_STANDS, BUC_STANDS = 0, 1
STANDS = "stands already, plate read"
MOUNT_WORDS = (
    *("as it stands, not to be built", "wall bracket"),
    "ballasted frame on the roof, nothing drilled, to be surveyed",
)
#: At the second something stands in the beam; its notes hold no sentence about that.
BLOCKED = 1
STOPPED = (
    "An obstacle or the terrain stands in the beam. Survey the site: move the dish, raise it, or"
    " have the way cleared with its owner's leave."
)
#: What heights of obstacles are counted from: a pole, a bracket at a roof's edge, a roof frame.
SURFACE = (
    *("the ground that the dish stands on", "the roof at whose edge the dish hangs"),
    "the roof that the dish stands on",
)
SMALL_PARTS = (
    "LNB, feed, filter; plugs and sealing tape for the cable's class",
    "Bonding conductor and clamps as the local code asks",
    "Warning sign for the beam; barrier where people can reach it",
)


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
        (f"{hour:02}:00", float(azimuth), float(up))  # from midnight at the site on
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
    dish += f": {STANDS}" if i == DISH_STANDS else ""
    power += f": {STANDS}" if i == BUC_STANDS else ""
    found = [f"Antenna {dish}", f"BUC {power}", f"Mount: {MOUNT_WORDS[i]}"]
    found += [f"Ballast {ballast} ({CAVEAT})"] if ballast else []
    metal = text(plan, "cable_core", i).partition(",")[0]
    kind = f"Cable {cable or 'class open'}, {metal}"
    return " | ".join([*found, f"{kind}: {run}, and slack", *SMALL_PARTS])


def assumed(_plan: Plan, i: int) -> str:
    """Six figures that nobody gave; a site's own wind, roof and cable take the place of theirs."""
    count = (5, 5, 4)[i]
    altitude = "the altitude is from P.1511; " if i == 1 else ""
    return f"Given by nobody: {altitude}{count} figures, in words at the end of the group's file."


def stands(plan: Plan, i: int) -> str:
    """Which part of the kit is there already, and what is done about it."""
    antenna, buc = text(plan, "antenna_m", i), text(plan, "buc_w", i)
    return (
        f"ANTENNA STANDS ALREADY{antenna} and what holds it: check, do not build. New is the BUC"
        f" of {buc}.",
        f"BUC STANDS ALREADY{buc}: check it. New is the antenna of {antenna} with its mount.",
        "",
    )[i]


def kit_heading(plan: Plan, i: int) -> str:
    antenna = f"Antenna {text(plan, 'antenna_m', i)}{' (stands already)' * (i == DISH_STANDS)}"
    return f"{antenna}, BUC {text(plan, 'buc_w', i)}{' (stands already)' * (i == BUC_STANDS)}"


def unless_the_dish_stands(says: Says) -> Says:
    """What is told of a mount to be built, and not of one that is there."""
    return lambda plan, i: "" if i == DISH_STANDS else says(plan, i)


def made_fast(_plan: Plan, i: int) -> str:
    looked_at = (
        "What holds it written down: pole, bracket or frame, its size, its footing or ballast | No"
        " rust, cracks, play or lean; else photographed, and the planner called | "
    )
    return (
        f"{looked_at * (i == DISH_STANDS)}Bolts at the maker's torque, each marked; checked again"
        " after peaking | Earth conductor and bonds, size and route as the local code asks"
    )


def wind_basis(_plan: Plan, i: int) -> str:
    mean = "The design wind is a 10-minute mean (EN 1991-1-4), terrain category III."
    if i == DISH_STANDS:
        left_out = "Loads of footing, frame or fixings are left out"
        return f"{mean} {left_out}: nobody has told what holds the dish."
    return (
        f"{mean} Ballast is worked out with a safety factor of 1.5. Where a code's speed is an"
        " ultimate one, its factor is in the speed already and must not be taken twice."
    )


def obstacle(plan: Plan, i: int) -> str:
    top = text(plan, "horizon_at_satellite_deg", i)
    return f"{text(plan, 'azimuth_true_deg', i)}, {top}" if top else ""


def steps(plan: Plan, i: int) -> str:
    """What 0.1 degree of orbit to the east turns; a plus is said too."""
    told = [
        f"{word} {'+' * bool(plan.columns[name][i] > 0)}{text(plan, name, i)}"
        for word, name in (("azimuth", "azimuth_step_deg"), ("elevation", "elevation_step_deg"),
                           ("skew", "skew_step_deg"))
    ]  # fmt: skip
    return f"For 0.1 degree of orbit to the east: {', '.join(told)}."


def expected(plan: Plan, i: int) -> str:
    told = f"C/N {text(plan, 'expected_c_n_db', i)} in 6 MHz; accept from"
    return f"{told} {text(plan, 'acceptance_c_n_db', i)}"


def flag(number: int, *, notes: bool) -> Says:
    """A flag in words; the sheet's head leaves those out that are good to know, or boxed."""

    def says(plan: Plan, i: int) -> str:
        told = [FLAG_WORDS[code] for code in plan.columns["flags"][i].split(";")]
        told = [words for words in told if notes or not words.startswith(("Know", "Stop"))]
        return told[number - 1] if number <= len(told) else ""

    return says


def deepest(plan: Plan, i: int) -> str:
    minute = plan.columns["sun_peak_local"][i][:16].replace("T", " ")
    return f"{minute} {zone_of(plan, i) or 'UTC'}"


SHEET: Table = {
    ("head", "QR code"): geo,
    ("head", "under the QR code"): geo,
    ("head", "name"): "name",
    ("head", "network"): always("Wayfarers"),
    ("head", "group"): "group",
    ("head", "visit"): lambda _plan, i: f"{VISITED.index(i) + 1} of 3",
    ("head", "Site"): "site_id",
    ("head", "priority"): "priority",
    ("head", "place"): place_letters,
    ("head", "above sea level"): lambda _plan, i: f"{ALTITUDE_M[i]:.0f} m",
    ("head", "Satellite"): always("Lantern 5 at 5° W"),
    ("head", "plan of"): always("2026-09-01"),
    ("head", "install"): always("2026-09-14"),
    ("head", "banner"): lambda plan, i: (
        f"MISSES THE TARGET{missed(plan, i)}" if missed(plan, i) else ""
    ),
    ("head", "stands"): stands,
    ("head", "stop"): lambda _plan, i: f"STOP: DO NOT BUILD YET{STOPPED}" if i == BLOCKED else "",
    ("head", "flag 1"): flag(1, notes=False),
    ("head", "flag 2"): flag(2, notes=False),
    ("page 2", "head"): lambda plan, i: (
        f"{text(plan, 'site_id', i)} · {text(plan, 'name', i)} · page 2: build, power, test"
        + " · STOP: DO NOT BUILD YET, see page 1" * (i == BLOCKED)
    ),
    ("angles", "Azimuth from true north"): "azimuth_true_deg",
    ("angles", "Azimuth from true north, note"): lambda plan, i: (
        "clockwise. A wrong position turns it markedly: measure the position first"
        if "azimuth_sensitive" in plan.columns["flags"][i]
        else "clockwise"
    ),
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
    ("angles", "Polarization angle (skew)"): unsigned("skew_deg"),
    ("angles", "Polarization angle (skew), note"): lambda _plan, i: f"{turn(i)}, seen from behind",
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
        "Dashed: upright. Bar: the satellite's vertical polarization. LNB port along it, BUC port"
        " across it. The feed's zero mark and port are the maker's. A reading of 0 needs no turn."
    ),
    ("caption", "Sky"): sky_note,
    ("caption", "How far an obstacle must stand from the dish"): lambda plan, i: (
        f"How far off a wall or tree of that height above {SURFACE[i]} must stand."
        f" Each metre more: {text(plan, 'stand_off_per_m', i).removesuffix('/m')}."
    ),
    ("Check the compass by the sun", "hours"): hours_table,
    ("Check the compass by the sun", "day"): lambda plan, i: (
        f"on 2026-09-14, {zone_of(plan, i) or 'UTC: no time zone was given'}"
    ),
    ("caption", "Check the compass by the sun"): sun_note,
    ("people", "Operator"): always("Desk of Lantern, +49 30 5550 100"),
    ("people", "Planner"): always("Io, +49 30 5550 199"),
    ("people", "Contact"): lambda plan, i: str(plan.extra["Contact"][i]),
    ("Kit and carriers", "heading"): kit_heading,
    ("Kit and carriers", "Port's polarization, receive"): always("VERTICAL"),
    ("Kit and carriers", "Port's polarization, transmit"): always("HORIZONTAL"),
    ("Kit and carriers", "Carrier on the air, receive"): always("11950 MHz"),
    ("Kit and carriers", "Carrier on the air, transmit"): always("14250 MHz"),
    # 11950 - 10600 = 1350; 15200 - 14250 = 950, half of 0.3072 MHz beyond the cable's band
    ("Kit and carriers", "On the cable (L-band), receive"): always("1350 MHz (LO 10600 MHz)"),
    ("Kit and carriers", "On the cable (L-band), transmit"): always(
        "950 MHz (LO 15200 MHz), spectrum INVERTED; CHECK: out of the cable's band"
    ),
    ("Kit and carriers", "Symbol rate, roll-off, receive"): always("6 Msym/s, 0.2"),
    ("Kit and carriers", "Symbol rate, roll-off, transmit"): always("0.256 Msym/s, 0.2"),
    ("Kit and carriers", "Modulation and coding, receive"): always("DVB-S2 QPSK 3/4"),
    ("Kit and carriers", "Modulation and coding, transmit"): always("DVB-RCS2 QPSK 1/2"),
    ("Kit and carriers", "In clear sky, receive"): expected,
    ("Kit and carriers", "In clear sky, transmit"): lambda plan, i: (
        f"BUC set to {text(plan, 'tx_power_w', i)}, once the operator says go"
    ),
    ("Kit and carriers", "mind"): always(
        "The two ports stand at right angles: a feed turned by 90° has them swapped, and sends on"
        " the other polarization."
    ),
    ("Peak and accept", "for 0.1 degree"): steps,
    ("Peak and accept", "Not these"): neighbours,
    ("Mount", "heading"): lambda _plan, i: MOUNT_WORDS[i],
    ("Mount", "question"): unless_the_dish_stands(
        lambda plan, i: (
            f"To settle it: {question}" if (question := text(plan, "mount_question", i)) else ""
        )
    ),
    ("Mount", "reason"): unless_the_dish_stands(lambda plan, i: text(plan, "mount_reason", i)),
    ("Mount", "options"): unless_the_dish_stands(
        lambda plan, i: (
            text(plan, "mount_options", i)
            .replace(". Wall", ". | Wall")
            .replace(". Pole", ". | Pole")
        )
    ),
    ("Mount", "Structure"): spelled("structure"),
    ("Mount", "made fast"): made_fast,
    ("Wind and ballast", "no factor"): always("No safety factor included in:"),
    ("Wind and ballast", "Diameter of the footing"): lambda plan, i: (
        "0.75 m" if text(plan, "pole_embedment_m", i) else ""
    ),
    ("Wind and ballast", "Spacing of the fixings"): lambda plan, i: (
        "0.35 m" if text(plan, "wall_shear_n", i) else ""
    ),
    ("Wind and ballast", "basis"): wind_basis,
    ("Parts", "parts"): parts,
    ("Cable and power", "clad steel"): "cable_clad_steel",
    ("Cable and power", "advice"): "cable_advice",
    ("Keep out of the beam", "rule"): lambda plan, i: (
        f"By {text(plan, 'exposure_rule', i)}. {text(plan, 'exposure_basis', i)} Heights from"
        f" {SURFACE[i]}."
    ),
    ("Sun behind the satellite", "season 1"): season(1),
    ("Sun behind the satellite", "season 2"): season(2),
    ("Sun behind the satellite", "Deepest sun transit, local"): deepest,
    ("Write in what you measure", "Latitude"): "lat",
    ("Write in what you measure", "Longitude"): "lon",
    ("Write in what you measure", "C/N, clear sky"): "expected_c_n_db",
    ("Write in what you measure", "Cable laid"): "ifl_length_m",
    ("Write in what you measure", "Cable loss"): "cable_loss_high_db",
    ("Write in what you measure", "Voltage at BUC"): lambda plan, i: (
        f"{text(plan, 'buc_voltage_v', i)}, {text(plan, 'cable_core', i).split(',')[0]}"
    ),
    ("Write in what you measure", "Obstacles: az, el"): obstacle,
    ("Access test", "Cross-polar isolation"): always(
        "Cross-polar isolation dB; operator asks 27.5 dB"
    ),
    ("The flags in words", "notes"): "flag_notes",
    ("foot", "assumed"): assumed,
    **{(block, FIGURES[name][0]): name for block, names in ROWS.items() for name in names.split()},
}
