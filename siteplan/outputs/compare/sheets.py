"""Sheets to turn dishes to another satellite by: a file a satellite, an A4 page a dish.

Written into repointing/ of a comparison; printed, and read on the roof.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from markupsafe import Markup

from siteplan.answers.slots import Repointing, Slot, SlotComparison, SlotSites
from siteplan.arrays import IntArray
from siteplan.outputs.assets import asset
from siteplan.outputs.compare import slot_words
from siteplan.outputs.compare.turn_drawings import (
    LEAST_DEG,
    azimuth_turn,
    elevation_turn,
    skew_turn,
)
from siteplan.outputs.compare.turn_tuning import tuning_rows
from siteplan.outputs.filenames import safe_names
from siteplan.outputs.paper import page
from siteplan.outputs.sheets import words as sheet_words
from siteplan.outputs.sheets.context import LONGEST_ID, LONGEST_NAME, geo_uri
from siteplan.outputs.sheets.files import letter
from siteplan.outputs.sheets.people import access, calls, lone_worker
from siteplan.outputs.sheets.qr import qr_code
from siteplan.outputs.sheets.tune import stop_wind
from siteplan.outputs.shown import DASH, SiteValues, amount, angle, sided
from siteplan.results import Plan
from siteplan.words import CAVEAT, orbital_position

#: Decimals of azimuth and elevation, compass, skew, and of what they turn by [deg].
_FINE, _COARSE = 2, 1
#: Longest texts of users that a page has room for in its usual print [characters].
_ROOMY = 420
#: What the crew writes in beside the angles.
_READINGS = ("C/N on the old satellite", "C/N on the new one", "Cross-polar isolation",
             "Operator says go: name, time")  # fmt: skip


class Turned(NamedTuple):
    """A satellite that dishes are turned to: its row, the sites there, and what it takes."""

    slot: Slot
    sites: SlotSites
    turn: Repointing

    @property
    def wanted(self) -> IntArray:
        """The sites (m,) that get a sheet: they have kit, and see the satellite."""
        sees = ~np.isnan(self.sites.elevation_deg)
        return np.flatnonzero((self.turn.fits != "") & sees)


def count(of: SlotComparison) -> int:
    """Return how many sheets a comparison asks for."""
    return sum(len(each.wanted) for each in _turned(of))


def write_sheets(of: SlotComparison, plan: Plan, folder: Path) -> None:
    """Write the sheets, a file a satellite, into a folder to be made.

    Each file begins with a list of all sites. Sheets are made and written one at a time.

    Parameters
    ----------
    of : SlotComparison
        The satellites.
    plan : Plan
        The project's own: places, kit, present angles.
    folder : Path
        Where the files go.
    """
    folder.mkdir()
    stems = safe_names([slot.name for slot in of.slots])
    files = dict(zip((slot.name for slot in of.slots), stems, strict=True))
    anchors = safe_names([str(site) for site in plan.columns["site_id"]])
    style = asset("compare/repointing.css")
    for each in _turned(of):
        title = f"Turning to {each.slot.name}"
        path = folder / f"{files[each.slot.name]}.html"
        with path.open("w", encoding="utf-8", errors="replace") as file:
            file.write(page.head(title, style, letter=letter(plan)))
            file.write(_list(of, each, plan, anchors))
            for site in each.wanted.tolist():
                file.write(sheet(of, each, plan, site, anchor=anchors[site]))
            file.write(page.tail())


def _turned(of: SlotComparison) -> Iterator[Turned]:
    """Yield the satellites that dishes could be turned to."""
    for slot, sites, turn in zip(of.slots, of.sites, of.repointing, strict=True):
        if sites is not None and turn is not None:
            yield Turned(slot, sites, turn)


def _list(of: SlotComparison, each: Turned, plan: Plan, anchors: list[str]) -> str:
    """Return the list at the head of a file: how far each dish turns, and whether it does."""
    wanted, turn = set(each.wanted.tolist()), each.turn
    rows = []
    for i in range(len(plan)):
        changes = (turn.azimuth_deg, _FINE), (turn.elevation_deg, _FINE), (turn.skew_deg, _COARSE)
        cells = [*(_signed(float(by[i]), decimals) for by, decimals in changes),
                 slot_words.FITS[turn.fits[i]], slot_words.MOUNT[turn.mount[i]],
                 slot_words.HORIZON[turn.horizon[i]]]  # fmt: skip
        site, name = (str(plan.columns[key][i]) for key in ("site_id", "name"))
        rows.append(
            {
                "site_id": sheet_words.clipped(site, LONGEST_ID),
                "name": sheet_words.cut(name, 60),
                "cells": cells,
                "anchor": anchors[i] if i in wanted else "",
            }
        )
    found = {
        **_ways(of, each),
        "network": plan.facts.name,
        "date": plan.facts.date,
        "sheets": len(wanted),
        "rows": rows,
        "permission": slot_words.PERMISSION,
    }
    return page.rendered("compare/repointing_list.html", found)


def _ways(of: SlotComparison, each: Turned) -> dict[str, str]:
    """Return the present satellite and the new one with their positions."""
    old, new = of.slots[0], each.slot
    return {
        key: f"{sheet_words.cut(slot.name, 80)} at {orbital_position(slot.longitude_deg)}"
        for key, slot in (("old", old), ("new", new))
    }


def sheet(of: SlotComparison, each: Turned, plan: Plan, i: int, *, anchor: str = "") -> str:
    """Return the sheet of one dish as an ``article`` element."""
    answers = _answers(each, i, plan.network.site.acceptance_db)
    told = {**_ways(of, each), **_head(plan, i), **answers, "rows": _rows(each, plan, i)}
    found = {
        "s": {**told, **_pictures(each, plan, i), "anchor": anchor, "tight": _is_tight(told)},
        "transmit_off": slot_words.TRANSMIT_OFF,
        "steps": slot_words.STEPS,
        "cautions": slot_words.TURNING,
    }  # fmt: skip
    return page.rendered("compare/repointing.html", found)


def _is_tight(told: dict[str, Any]) -> bool:
    """Return whether texts of users or stops are so long that a page needs smaller print."""
    cells = (text for key in ("access", "calls", "stops") for _, text in told[key])
    words = (*(told[key] for key in ("name", "old", "new", "group", "lone_worker")), *cells)
    return sum(map(len, words)) > _ROOMY


def _head(plan: Plan, i: int) -> dict[str, Any]:
    """Return who and where, and what holds at every site."""
    v = SiteValues(plan, i, plan.network.network.units)
    name = sheet_words.clipped(v["name"], LONGEST_NAME)
    lat, lon = v.number("lat"), v.number("lon")
    declination = sided(v.number("magnetic_declination_deg"), ("east", "west"), _COARSE)
    return {
        "site_id": sheet_words.clipped(v["site_id"], LONGEST_ID),
        "name": name,
        "name_class": "h-longest" if len(name) > 150 else "h-long" if len(name) > 60 else "",
        "group": sheet_words.clipped(v["group"], 80),
        "network": plan.facts.name,
        "date": plan.facts.date,
        "place": f"{sided(lat, 'NS', 6)} {sided(lon, 'EW', 6)}",
        "altitude": v["altitude_m"],
        "kit": f"antenna {v['antenna_m']}, BUC {v['buc_w']}",
        "geo_uri": geo_uri(lat, lon),
        "qr": Markup(qr_code(geo_uri(lat, lon))),
        "compass_note": f"Magnetic declination: {declination}.",
        "calls": calls(plan),
        "access": access(plan, i),
        "lone_worker": lone_worker(plan),
        "abort": sheet_words.ABORT.format(wind=stop_wind(plan, v.units)),
        "readings": _READINGS,
        "caveat": f"Every figure here is {CAVEAT}.",
    }


def _answers(each: Turned, i: int, acceptance_db: float) -> dict[str, Any]:
    """Return whether dish and sky do, and what stands over the sheet where they do not."""
    turn = each.turn
    fits, sky = str(turn.fits[i]), str(turn.horizon[i])
    margins = {
        "margin": _decibels(float(turn.margin_db[i])),
        "reserve": _decibels(float(turn.after_reserve_db[i])),
    }
    clear = abs(float(turn.clearance_deg[i]))
    told = slot_words.FITS_TOLD[fits].format(**margins)
    seen = slot_words.HORIZON_TOLD[sky].format(clear="" if sky == "" else angle(clear, _COARSE))
    mount = str(turn.mount[i])
    stops = (
        [("DO NOT TURN AS IT IS", told.removeprefix("No: "))] if fits in slot_words.STOPS else []
    )
    if mount == "no":
        stops.append(("MOUNT", slot_words.MOUNT_TOLD[mount].removeprefix("No: ")))
    if sky == "blocked":
        stops.append(("SKY BLOCKED", seen.removeprefix("No, ")))
    does = [
        ("This dish and BUC there", told),
        ("Its mount in the new direction", slot_words.MOUNT_TOLD[mount]),
        ("Horizon in the new direction", seen),
        *tuning_rows(turn, i, acceptance_db),
    ]
    stops = [(word, reason[:1].upper() + reason[1:]) for word, reason in stops]
    return {"does": does, "stops": stops}


def _decibels(value: float) -> str:
    return DASH if math.isnan(value) else amount(round(value, 1) + 0.0, "dB", 1)


def _rows(each: Turned, plan: Plan, i: int) -> list[dict[str, str]]:
    """Return the angles as they are and as they are to be, and what to turn by, in words."""
    rows = []
    for label, now, then, change, decimals in _angles(each, plan, i):
        if math.isnan(now) and math.isnan(then):
            continue
        cells = _degrees(now, decimals), _degrees(then, decimals)
        rows.append({"label": label, "old": cells[0], "new": cells[1], "turn": change})
    return rows


def _angles(each: Turned, plan: Plan, i: int) -> Iterator[tuple[str, float, float, str, int]]:
    """Yield each angle: what it is called, as it is, as it is to be, the turn, its decimals."""
    old, new, turn = plan.columns, each.sites, each.turn
    up = float(turn.elevation_deg[i])
    by = (
        ("azimuth_true_deg", "Azimuth, true", turn.azimuth_deg, AZIMUTH_WAYS, _FINE),
        ("azimuth_magnetic_deg", "Azimuth, compass", None, AZIMUTH_WAYS, _COARSE),
        ("elevation_deg", "Elevation", turn.elevation_deg, ELEVATION_WAYS, _FINE),
        ("inclinometer_deg", "Rim, from vertical", None, ELEVATION_WAYS, _COARSE),
        ("skew_deg", "Polarization (skew)", turn.skew_deg, SKEW_WAYS, _COARSE),
    )
    for name, label, change, ways, decimals in by:
        now = float(old[name][i])
        then = now + up if name == "inclinometer_deg" else float(getattr(new, name)[i])
        way = "as much" if change is None else way_words(float(change[i]), ways, decimals)
        yield label, now, then, way, decimals


#: Words for a turn of each angle: positive, negative, and what both are seen from.
AZIMUTH_WAYS = "clockwise from above", "counter-clockwise from above"
ELEVATION_WAYS = "up", "down"
SKEW_WAYS = "clockwise from behind", "counter-clockwise from behind"


def way_words(change_deg: float, ways: tuple[str, str], decimals: int) -> str:
    """Return a change as what a crew turns by; empty where it is not known.

    >>> way_words(-12.345, ELEVATION_WAYS, 1), way_words(0.001, ELEVATION_WAYS, 1)
    ('12.3° down', 'no turn')
    """
    if math.isnan(change_deg):
        return ""
    if abs(change_deg) < LEAST_DEG:
        return "no turn"
    return f"{angle(abs(change_deg), decimals)} {ways[change_deg < 0]}"


def _signed(change_deg: float, decimals: int) -> str:
    """Return a change with its sign, a plus too; a dash where it is not known."""
    text = _degrees(change_deg, decimals)
    return f"+{text}" if round(change_deg, decimals) > 0 else text


def _degrees(value: float, decimals: int) -> str:
    return DASH if math.isnan(value) else angle(round(value, decimals) + 0.0, decimals)


def _pictures(each: Turned, plan: Plan, i: int) -> dict[str, Markup | str]:
    """Return the drawings of what is known at both satellites."""
    old, turn = plan.columns, each.turn
    azimuth, skew = float(turn.azimuth_deg[i]), float(turn.skew_deg[i])
    stood, stands = float(old["elevation_deg"][i]), float(each.sites.elevation_deg[i])
    rose = "" if math.isnan(azimuth) else azimuth_turn(float(old["azimuth_true_deg"][i]), azimuth)
    side = "" if math.isnan(stood + stands) else elevation_turn(stood, stands)
    feed = "" if math.isnan(skew) else skew_turn(float(old["skew_deg"][i]), skew)
    return {"rose": Markup(rose), "side": Markup(side), "feed": Markup(feed)}
