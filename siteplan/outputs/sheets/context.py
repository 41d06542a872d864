"""What stands on one site's sheet, made from the plan's fields; what it has not is left out."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
from markupsafe import Markup

from siteplan.fields import FIELDS, FLAGS
from siteplan.frozen import frozen
from siteplan.outputs import taking
from siteplan.outputs.sheets import sun as sheet_sun
from siteplan.outputs.sheets import words as sheet_words
from siteplan.outputs.sheets.assumed import count
from siteplan.outputs.sheets.blocks import installing, measured, sun, surveying
from siteplan.outputs.sheets.drawings import compass_rose, obstacle_view, side_view, skew_view
from siteplan.outputs.sheets.people import contacts, lone_worker
from siteplan.outputs.sheets.qr import qr_code
from siteplan.outputs.sheets.skyplot import Sky, sky_plot
from siteplan.outputs.sheets.tune import bar_words
from siteplan.outputs.shown import SiteValues, angle, fixed, sided, stated
from siteplan.outputs.standing import banner, figure, halt, stands
from siteplan.outputs.times import zone_of, zone_words
from siteplan.results import Plan
from siteplan.words import orbital_position

#: Longest name, notes and id that a sheet shows in full [characters].
LONGEST_NAME, LONGEST_NOTES, LONGEST_ID = 300, 1500, 120


@frozen
class Visit:
    """Where a site stands in the round of its group: ``number`` of ``count``."""

    number: int
    count: int


def context(plan: Plan, i: int, *, visit: Visit | None = None, anchor: str = "") -> dict[str, Any]:
    """Return what the sheet's template shows of site ``i``.

    Parameters
    ----------
    plan : Plan
        The results; fields and tables that it has not leave their blocks out.
    i : int
        Which of its sites.
    visit : Visit, optional
        The site's place in its group's round.
    anchor : str
        Name of the sheet within a file of several.
    """
    v = SiteValues(plan, i, plan.network.network.units)
    zone = zone_of(plan, i)
    hours = sheet_sun.hours(plan, i, zone)
    build = installing if v.has_kit else surveying
    return {
        "v": v,
        "anchor": anchor,
        **_head(plan, v, visit),
        **contacts(plan, i),
        **_angles(plan, v),
        **_pictures(plan, v, zone, hours),
        **build(plan, v),
        "surface": _surface(v),
        **sun(plan, v, zone, hours),
        "measured": measured(v),
        "zone": zone_words(zone),
        "lone_worker": lone_worker(plan),
        "assumed": count(plan, v),
    }


def _head(plan: Plan, v: SiteValues, visit: Visit | None) -> dict[str, Any]:
    """Return who and where: name, place, QR code, what stands against the visit."""
    name = sheet_words.clipped(v["name"], LONGEST_NAME)
    lat, lon = v.number("lat"), v.number("lon")
    facts, satellite = plan.facts, plan.network.satellite.name
    over, stopped = banner(v), halt(v)
    told = {code for b in (over, stopped) if b for code in b.flags}
    takes = _takes(plan, v, banner=bool(over))
    behind = "" if over else takes
    at = orbital_position(plan.network.satellite.longitude_deg)
    return {
        "site_id": sheet_words.clipped(v["site_id"], LONGEST_ID),
        "name": name,
        "short_name": sheet_words.clipped(name, 70),
        "name_class": "h-longest" if len(name) > 150 else "h-long" if len(name) > 60 else "",
        "group": sheet_words.clipped(v["group"], 80),
        "priority": sheet_words.clipped(v["priority"], 40),
        "network": facts.name,
        "visit": f"{visit.number} of {visit.count}" if visit else "",
        "satellite": f"{satellite} at {at}" if satellite else f"at {at}",
        "date": facts.date,
        "install_date": facts.install_date if facts.install_date != facts.date else "",
        "place": f"{sided(lat, 'NS', 6)} {sided(lon, 'EW', 6)}",
        "altitude": v["altitude_m"],
        "geo_uri": geo_uri(lat, lon),
        "qr": Markup(qr_code(geo_uri(lat, lon))),
        "banners": [b for b in (stands(v), stopped, over) if b],
        "stopped": stopped.word if stopped else "",
        "takes": takes if over else "",
        "stands": not v.has_kit and v["kit_source"] != "none",
        "stops": [f for f in _flags(v) if f["severity"] != "note" and f["code"] not in told],
        "notes": sheet_words.clipped(f"{behind} {v['flag_notes']}".strip(), LONGEST_NOTES),
    }


def _takes(plan: Plan, v: SiteValues, *, banner: bool) -> str:
    """Return what would help an unserved or tight site best; empty for others.

    Where nothing does, the banner tells why; without a banner, this does.
    """
    found = taking.of_site(plan, str(plan.columns["site_id"][v.index]))
    if not found or (banner and not found[0].helps):
        return ""
    told = f"{taking.HEADING}: {taking.told(found[0]).removesuffix('.')}."
    if banner or not found[0].helps:
        return told
    return f"Planned with a tight margin, {v['margin_after_reserve_db']} after reserve. {told}"


def geo_uri(lat: float, lon: float) -> str:
    """Return a place as a geo URI (RFC 5870), WGS 84, to a decimetre."""
    north, east = (round(degrees, 6) + 0.0 for degrees in (lat, lon))  # no minus zero
    return f"geo:{fixed(north, 6)},{fixed(east, 6)}"


#: Flags that ask something of whoever sets targets, and nothing of a crew.
PLANNERS = {"target_out_of_range", "delay_too_long"}


def _flags(v: SiteValues) -> list[Mapping[str, str]]:
    """Return the site's flags with their meaning, the severe ones first."""
    codes = set(v["flags"].split(";")) - PLANNERS
    found = [flag for code, flag in FLAGS.items() if code in codes]
    ranked = sorted(found, key=lambda f: list(sheet_words.SEVERITY).index(f.severity))
    return [
        {
            "code": f.code,
            "severity": f.severity,
            "word": sheet_words.SEVERITY[f.severity],
            "meaning": f.meaning,
        }
        for f in ranked
    ]


def _angles(plan: Plan, v: SiteValues) -> dict[str, Any]:
    """Return the readings in words: compass, rim, feed."""
    skew, rim = v.number("skew_deg"), v.number("inclinometer_deg")
    turn = "clockwise" if skew > 0 else "counter-clockwise"
    turn = f"{turn}, seen from behind" if abs(skew) >= 0.05 else "no turn"
    lean = "leans back" if rim >= 0 else "leans FORWARD, over the feed"
    declination = sided(v.number("magnetic_declination_deg"), ("east", "west"), 1)
    return {
        "azimuth_note": _azimuth_note(v),
        "compass_note": f"{_source('azimuth_magnetic_deg')}, {plan.facts.date}: {declination}",
        "rim": v.size("inclinometer_deg"),
        "rim_note": lean if abs(rim) >= 0.05 else "upright",
        "skew": v.size("skew_deg"),
        "skew_note": turn,
    }


def _azimuth_note(v: SiteValues) -> str:
    """Return how the azimuth is read; where a small error of position turns it, that it does."""
    code = "azimuth_sensitive"
    if code not in v["flags"].split(";"):
        return sheet_words.CLOCKWISE
    turn = figure(v, code, "azimuth_turn_deg_km")
    by = f"by {stated(turn, 'deg')} per km" if turn else "markedly"
    return f"{sheet_words.CLOCKWISE}. {sheet_words.SENSITIVE.format(by=by)}"


def _source(name: str) -> str:
    """Return the method that the dictionary names for a field."""
    field = FIELDS.get(name)
    return field.source if field else ""


def _offset_deg(plan: Plan, v: SiteValues) -> float:
    """Return the offset angle of the catalogue's antenna nearest to the site's."""
    diameter = v.number("antenna_m")
    antennas = plan.network.antennas
    if not math.isfinite(diameter):
        return math.nan
    return float(min(antennas, key=lambda a: abs(a.diameter_m - diameter)).offset_angle_deg)


def _pictures(plan: Plan, v: SiteValues, zone: str, hours: sheet_sun.Hours) -> dict[str, Any]:
    """Return the drawings: none where the satellite is out of sight, of a dish only with one."""
    azimuth, elevation = v.number("azimuth_true_deg"), v.number("elevation_deg")
    of_dish = ("side", "skew_behind", "skew_front", "obstacle")
    nothing = dict.fromkeys(("rose", "sky", "sky_note", "bar", *of_dish), "")
    if not math.isfinite(elevation):
        return nothing
    horizon = plan.tables.get("horizon_deg")
    around = (
        [] if horizon is None or np.isnan(horizon[v.index]).all() else horizon[v.index].tolist()
    )
    sights = {
        "rose": Markup(compass_rose(azimuth, v.number("magnetic_declination_deg"))),
        "sky": Markup(sky_plot(Sky(azimuth, elevation, around, hours))),
        "sky_note": _sky_note(plan, v, hours=bool(hours), surveyed=bool(around), zone=zone),
    }
    return nothing | sights | (_dish_pictures(plan, v) if v.has_kit else {})


def _dish_pictures(plan: Plan, v: SiteValues) -> dict[str, Any]:
    """Return the drawings of the dish: from the side, the feed's turn, distances to obstacles."""
    elevation, skew, offset = v.number("elevation_deg"), v.number("skew_deg"), _offset_deg(plan, v)
    turned = math.isfinite(skew)
    return {
        "side": Markup(side_view(elevation, offset, v.number("inclinometer_deg"))),
        "side_note": _side_note(offset),
        "skew_behind": Markup(skew_view(skew, behind=True)) if turned else "",
        "skew_front": Markup(skew_view(skew, behind=False)) if turned else "",
        "bar": bar_words(plan.tuning_of(v.index)),
        **_obstacle(plan, v, elevation),
    }


def _side_note(offset_deg: float) -> str:
    if offset_deg > 0:
        return (
            f"Offset dish, {angle(offset_deg)}: it looks lower than its beam. Lay the"
            " inclinometer on the rim, not along the beam. The maker's scale comes first."
        )
    return "Lay the inclinometer across the rim, top to bottom. The maker's scale comes first."


def _sky_note(plan: Plan, v: SiteValues, *, hours: bool, surveyed: bool, zone: str) -> str:
    """Return what the sky plot shows and how to hold it."""
    grey = "Grey: what stands in the way" if surveyed else "No horizon known: draw it in"
    clear = f", clearance {v['clearance_deg']}" if surveyed and v["clearance_deg"] else ""
    day = plan.facts.install_date
    sun = f" Small rings: the sun each hour, {day}, {zone_words(zone)}." if hours else ""
    return f"Rim: horizon; middle: overhead; lay it flat, N to north. {grey}{clear}.{sun}"


def _obstacle(plan: Plan, v: SiteValues, elevation_deg: float) -> dict[str, Any]:
    """Return the drawing of the distances to obstacles, and its note."""
    table = plan.tables.get("stand_off_m")
    heights = plan.facts.stand_off_heights_m
    if table is None or len(heights) != table.shape[1]:
        return {"obstacle": "", "obstacle_note": ""}
    away = table[v.index].tolist()
    surface = v["stand_off_from"]
    note = f"How far off a wall or tree of that height above {_surface(v)} must stand."
    each = v.size("stand_off_per_m", "m")
    return {
        "obstacle": Markup(
            obstacle_view(elevation_deg, list(heights), away, surface, units=v.units)
        ),
        "obstacle_note": note + (f" Each metre more: {each}." if each else ""),
    }


def _surface(v: SiteValues) -> str:
    """Return what heights of obstacles and of the beam are counted from, in words."""
    surface = v["stand_off_from"]
    if v["mount"] == "wall":
        return {"roof": "the roof at whose edge the dish hangs"}.get(surface, "the ground below")
    return f"the {surface or 'roof or ground'} that the dish stands on"
