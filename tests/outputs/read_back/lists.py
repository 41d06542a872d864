"""What each box of the map's card, KML, GPX, kit list and sun calendar must say."""

from __future__ import annotations

import math
from typing import Any

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
)
from tests.outputs.read_back.sheet import CAVEAT, flag, local, zone_of
from tests.outputs.read_back.unlike import ALTITUDE_M, ANTENNA_M, LAT_DEG, LON_DEG, look

# --- the map's card -------------------------------------------------------------------------

#: Fields that the card shows in another way than under their label, or not at all.
NOT_LABELLED = {
    *("site_id", "name", "lat", "lon", "flags", "flag_notes", "source_row"),
    *("outbound_clear_es_n0_db", "inbound_clear_es_n0_db"),
    *("outbound_fade_margin_db", "inbound_fade_margin_db"),
    *("next_antenna_m", "next_antenna_margin_db", "tried_antenna_m", "tried_buc_w"),
    *("margin_1_2_m_db", "margin_1_8_m_db", "margin_2_4_m_db"),
}
SPELLED = {
    "mount_certainty",
    "mount",
    "structure",
    "kit_source",
    "cable_class",
    "obstacle_kind",
    "horizon_source",
}
#: The network's loss of each direction's modem [dB].
MODEM_DB = {"outbound": 0.8, "inbound": 1.3}
#: The network's reserve [dB].
RESERVE_DB = 1.0


def tenths(plan: Plan, name: str, i: int) -> float:
    """A figure as it travels to the map: to a tenth."""
    return round(float(plan.columns[name][i]), 1)


def verdict(plan: Plan, i: int) -> str:
    margin, limit = text(plan, "margin_db", i), text(plan, "limiting_direction", i)
    margin += f", {text(plan, 'margin_after_reserve_db', i)} after reserve"
    fails = plan.columns["margin_db"][i] < 0 or any(
        FLAG_WORDS[code].startswith("Stop") for code in plan.columns["flags"][i].split(";")
    )
    if missed(plan, i):
        return f"MISSES THE TARGET. Margin {margin}, limited by {limit}."
    return f"Margin {margin}, limited by {limit}" + (". Not served as planned." if fails else "")


def dms(value: float, letters: str) -> str:
    seconds = abs(value) * 3600
    degrees, minutes = int(seconds // 3600), int(seconds % 3600 // 60)
    return f"{degrees}° {minutes:02}′ {seconds % 60:04.1f}″ {letters[value < 0]}"


def place_dms(i: int) -> str:
    return f"{dms(LAT_DEG[i], 'NS')}, {dms(LON_DEG[i], 'EW')}"


def catalogue(size: float, *, own: bool) -> Says:
    """The margin with another antenna, or with the site's own."""
    name = f"margin_{size:g}_m_db".replace(".", "_", 1)

    def says(plan: Plan, i: int) -> str:
        if (ANTENNA_M[i] == size) is not own:
            return ""
        return f"{text(plan, name, i)}, {tenths(plan, name, i) - RESERVE_DB:.1f} dB after reserve"

    return says


def next_up(plan: Plan, i: int) -> str:
    size = round(float(plan.columns["next_antenna_m"][i]), 2)
    gain = tenths(plan, "next_antenna_margin_db", i) - tenths(plan, "margin_db", i)
    return f"The next antenna up, {size:g} m, buys {gain:.1f} dB."


def budget(way: str) -> dict[str, Says]:
    """The steps of a direction: levels, and between them what is lost."""

    def part(number: int) -> Any:
        row = 0 if way == "outbound" else 1
        return lambda plan, i: round(float(plan.tables["budget_db"][i, row, number]), 1)

    hop, others, sky, hub = part(0), part(1), part(2), part(4)
    clear, fade, margin = (
        (lambda plan, i, name=name: tenths(plan, f"{way}_{name}", i))
        for name in ("clear_es_n0_db", "fade_margin_db", "margin_db")
    )
    modem = MODEM_DB[way]
    levels = {
        "Downlink to the site, clear sky"
        if way == "outbound"
        else "Uplink from the site, clear sky": hop,
        "Other hop": lambda p, i: clear(p, i) - hop(p, i) + others(p, i),
        "Interference": lambda p, i: -others(p, i),
        "Threshold": lambda p, i: fade(p, i) + modem - clear(p, i),
        "Modem loss": lambda _p, _i: -modem,
        "Fade margin": fade,
        "Rain and gas at the site": lambda p, i: -sky(p, i),
        "Noise of the rain, wet dish" if way == "outbound" else "Wet dish": lambda p, i: (
            margin(p, i) + sky(p, i) + hub(p, i) - fade(p, i)
        ),
        "Rain at the hub": lambda p, i: -hub(p, i),
        "Margin at the target": margin,
        "Reserve": lambda _p, _i: -RESERVE_DB,
        "Margin after reserve": lambda p, i: margin(p, i) - RESERVE_DB,
    }
    return {label: _decibels(level) for label, level in levels.items()}


#: Free-space loss over 1 km at 1 GHz [dB], ITU-R P.525; Boltzmann's constant [dBW/K/Hz], SI.
FREE_SPACE_DB, BOLTZMANN_DB = 92.4478, -228.5992


def hop_lines(way: str) -> dict[str, Says]:
    """The site's own hop in clear sky: what the site brings is what its level asks for."""
    ghz, rate_db = (11.95, 67.782) if way == "outbound" else (14.25, 54.082)
    known = (
        {"Satellite EIRP, saturated": 48.0, "Back-off of the whole transponder": -3.5,
         "Carrier’s share of the power": -6.99}
        if way == "outbound"
        else {"Satellite G/T": 1.0}
    ) | {"Boltzmann’s constant": -BOLTZMANN_DB, "Symbol rate": -rate_db}  # fmt: skip
    units = {"Satellite EIRP, saturated": "dBW", "Satellite G/T": "dB/K", "Symbol rate": "dBHz"}
    own = ("G/T of the site, less pointing and gas", "dB/K") if way == "outbound" else (
        "EIRP of the site, less gas", "dBW")  # fmt: skip

    def loss(plan: Plan, i: int) -> float:
        km = float(plan.columns["slant_range_km"][i])
        return round(FREE_SPACE_DB + 20 * math.log10(km * ghz), 1)

    def level(plan: Plan, i: int) -> float:
        row = 0 if way == "outbound" else 1
        return round(float(plan.tables["budget_db"][i, row, 0]), 1)

    def left(plan: Plan, i: int) -> float:
        return level(plan, i) + loss(plan, i) - sum(round(value, 1) for value in known.values())

    return {
        **{label: _decibels(lambda _p, _i, x=x: x, units.get(label, "dB"))
           for label, x in known.items()},
        f"Free-space loss at {ghz} GHz": _decibels(lambda p, i: -loss(p, i)),
        own[0]: _decibels(left, own[1]),
        "Es/N0 of this hop": _decibels(level),
    }  # fmt: skip


def _decibels(level: Any, unit: str = "dB") -> Says:
    return lambda plan, i: f"{level(plan, i):.1f} {unit}".replace("-", "−")


def sky_words(_plan: Plan, i: int) -> str:
    seen = look(i)
    return (
        f"Sky plot: the satellite stands at azimuth {seen.azimuth:.0f}°,"
        f" elevation {seen.elevation:.0f}°."
    )


def sky_key(plan: Plan, i: int) -> str:
    known = np.isfinite(plan.tables["horizon_deg"][i]).any()
    horizon = "Grey: horizon." if known else "No horizon surveyed."
    sun = "Lines: the sun in June, March and September, December."
    return f"Ring: satellite. {sun} {horizon}"


#: The site's own hop of each direction.
HOPS = {"Downlink to the site": "outbound", "Uplink from the site": "inbound"}
CARD: Table = {
    ("head", "name"): "name",
    ("head", "site_id"): "site_id",
    ("head", "verdict"): verdict,
    ("head", "coordinates"): lambda _plan, i: f"{LAT_DEG[i]:.6f}, {LON_DEG[i]:.6f}",
    ("head", "sheet"): lambda plan, i: f"sheets/{text(plan, 'site_id', i)}.html",
    **{("Flags", f"flag {k}"): flag(k, notes=True) for k in (1, 2, 3)},
    ("Flags", "notes"): "flag_notes",
    **{
        ("What another antenna buys", f"{size:g} m{mark}"): catalogue(size, own=bool(mark))
        for size in ANTENNA_M
        for mark in ("", " (this site)")
    },
    ("What another antenna buys", "next"): next_up,
    **{("Outbound, Es/N0", label): says for label, says in budget("outbound").items()},
    **{("Inbound, Es/N0", label): says for label, says in budget("inbound").items()},
    **{
        (f"{hop}, clear sky", label): says
        for hop, way in HOPS.items()
        for label, says in hop_lines(way).items()
    },
    ("Sky", "plot"): sky_words,
    ("Sky", "key"): sky_key,
    ("From the sites table", "Contact"): lambda plan, i: str(plan.extra["Contact"][i]),
    **{
        ("field", label): spelled(name) if name in SPELLED else name
        for name, (label, _) in FIGURES.items()
        if name not in NOT_LABELLED
    },
}

# --- KML and GPX ----------------------------------------------------------------------------

#: Fields of a description, in order.
DESCRIBED = (
    *("azimuth_true_deg", "azimuth_magnetic_deg", "elevation_deg", "skew_deg"),
    *("inclinometer_deg", "antenna_m", "buc_w", "mount", "mount_certainty", "margin_db"),
    *("margin_after_reserve_db", "flag_notes"),
)
KML: Table = {
    ("place", "latitude"): lambda _plan, i: f"{LAT_DEG[i]:.6f}",
    ("place", "longitude"): lambda _plan, i: f"{LON_DEG[i]:.6f}",
    ("place", "name"): lambda plan, i: f"{text(plan, 'site_id', i)} {text(plan, 'name', i)}",
    ("place", "group"): "group",
    **{("description", FIGURES[name][0]): name for name in DESCRIBED},
}
GPX: Table = {**KML, ("place", "elevation"): lambda _plan, i: f"{ALTITUDE_M[i]:.1f}"}

# --- the kit list ---------------------------------------------------------------------------


def stands(plan: Plan, part: str, i: int) -> bool:
    """Whether a part is on the site already; the mount comes with its antenna."""
    name = "fixed_buc_w" if part == "BUC" else "fixed_antenna_m"
    return math.isfinite(plan.columns[name][i])


def piece(part: str) -> Says:
    return lambda plan, i: "0" if stands(plan, part, i) else "1"


def stands_note(part: str) -> Says:
    return lambda plan, i: "stands already" if stands(plan, part, i) else ""


def rounded_up(name: str) -> Says:
    def says(plan: Plan, i: int) -> str:
        value = plan.columns[name][i]
        return f"{math.ceil(value)}" if math.isfinite(value) else ""

    return says


#: What is said of a cable where none works.
NO_CABLE = "no class of the catalogue works: see the cable advice"


def open_cable(plan: Plan, i: int) -> str:
    known = text(plan, "cable_class", i)
    core = text(plan, "cable_core", i)
    return core if known else NO_CABLE


def mount_note(plan: Plan, i: int) -> str:
    """What stands is ordered by nobody; a provisional mount goes with its question."""
    question = text(plan, "mount_question", i)
    return stands_note("mount")(plan, i) or (f"to be surveyed: {question}" if question else "")  # type: ignore[operator]


def provisional(part: str) -> Says:
    """How much of a mount's quantity, or of its ballast, is provisional: that of the roof."""

    def says(plan: Plan, i: int) -> str:
        open_ = text(plan, "mount_certainty", i) == "provisional"
        if part == "mount":
            return "1" if open_ else "0"
        return rounded_up("ballast_kg")(plan, i) if part == "ballast" and open_ else ""  # type: ignore[operator]

    return says


def where_ballast(words: str) -> Says:
    return lambda plan, i: words if text(plan, "ballast_kg", i) else ""


#: Kind, quantity, unit and note of each part.
PARTS: dict[str, tuple[Says, Says, Says, Says]] = {
    "antenna": ("antenna_m", piece("antenna"), always("pieces"), stands_note("antenna")),
    "BUC": ("buc_w", piece("BUC"), always("pieces"), stands_note("BUC")),
    "LNB": (always(""), always("1"), always("pieces"), always("")),
    "modem": (always(""), always("1"), always("pieces"), always("")),
    "mount": ("mount", piece("mount"), always("pieces"), mount_note),
    "cable": (
        lambda plan, i: text(plan, "cable_class", i) or "open",
        rounded_up("ifl_length_m"),
        always("m"),
        open_cable,
    ),
    "ballast": (
        where_ballast("non_penetrating"),
        rounded_up("ballast_kg"),
        where_ballast("kg"),
        where_ballast(CAVEAT),
    ),
}
KIT: Table = {
    (part, heading): says
    for part, found in PARTS.items()
    for heading, says in zip(("kind", "quantity", "unit", "note"), found, strict=True)
} | {
    (part, heading): lambda plan, i, part=part, heading=heading: (
        text(plan, heading, i) if part != "ballast" or text(plan, "ballast_kg", i) else ""
    )
    for part in PARTS
    for heading in ("site_id", "name", "group")
}
KIT |= {(part, "provisional"): provisional(part) for part in PARTS}
#: Headings that only the totals fill.
OF_TOTALS = ("spares", "to_order")

# --- sun transits ---------------------------------------------------------------------------


def moment(plan: Plan, name: str, k: int) -> str:
    return f"{plan.tables[f'sun_{name}'][k]}Z"


def clock(plan: Plan, name: str, k: int) -> str:
    """The moment by the site's clocks, with its offset; in UTC for a site without a zone."""
    i = int(plan.tables["sun_site"][k])
    return local(plan, i, plan.tables[f"sun_{name}"][k]).isoformat()


def of_site(name: str) -> Says:
    return lambda plan, k: str(plan.columns[name][plan.tables["sun_site"][k]])


#: What each column of the table says of transit ``k``.
SUN: dict[str, Says] = {
    "where": always("site"),
    "site_id": of_site("site_id"),
    "name": of_site("name"),
    "group": of_site("group"),
    "start_utc": lambda plan, k: moment(plan, "start", k),
    "peak_utc": lambda plan, k: moment(plan, "peak", k),
    "end_utc": lambda plan, k: moment(plan, "end", k),
    "depth_db": lambda plan, k: f"{plan.tables['sun_depth_db'][k]:.1f}",
    "timezone": lambda plan, k: of_site("timezone")(plan, k) or "UTC",
    "start_local": lambda plan, k: clock(plan, "start", k),
    "peak_local": lambda plan, k: clock(plan, "peak", k),
    "end_local": lambda plan, k: clock(plan, "end", k),
}


def hub_span(start: Any, end: Any) -> str:
    """From when to when at the hub: the network gives no zone."""
    return f"{str(start)[11:]} to {str(end)[11:]} UTC"


def own_line(plan: Plan, k: int) -> str:
    """A transit's line in the text of its day's entry."""
    i = int(plan.tables["sun_site"][k])
    start, end = (local(plan, i, plan.tables[f"sun_{name}"][k]) for name in ("start", "end"))
    span = f"{start:%H:%M:%S} to {end:%H:%M:%S} {zone_of(plan, i) or 'UTC'}"
    who = f"{text(plan, 'site_id', i)} {text(plan, 'name', i)}"
    return f"{who}: {span}, {plan.tables['sun_depth_db'][k]:.1f} dB"


def entry(title: str, days: list[Any], lines: list[str]) -> dict[str, str]:
    return {
        "DTSTAMP": "2026-09-01T00:00:00+0000",
        "DTSTART": f"{min(start for start, _, _ in days)}+0000",
        "DTEND": f"{max(end for _, end, _ in days)}+0000",
        "SUMMARY": f"{title}, up to {max(depth for _, _, depth in days):.1f} dB",
        "DESCRIPTION": "\n".join(lines),
        "TRANSP": "TRANSPARENT",
    }


def entries(plan: Plan, group: str) -> list[dict[str, str]]:
    """Return a group's calendar: the hub's transits, then its own, an entry a day."""
    found = [
        entry(
            "Sun behind the satellite at the hub: all sites",
            [(hub["start"], hub["end"], hub["depth_db"])],
            [f"Hub: {hub_span(hub['start'], hub['end'])}, {hub['depth_db']:.1f} dB"],
        )
        for hub in plan.facts.hub_sun
    ]
    sites, peaks = plan.tables["sun_site"], plan.tables["sun_peak"]
    mine = [int(k) for k in np.argsort(peaks) if plan.columns["group"][sites[k]] == group]
    for day in sorted({str(peaks[k])[:10] for k in mine}):
        rows = [k for k in mine if str(peaks[k])[:10] == day]
        count = f"{len(rows)} site{'s' if len(rows) > 1 else ''}"
        spans = [
            tuple(plan.tables[f"sun_{n}"][k] for n in ("start", "end", "depth_db")) for k in rows
        ]
        title = f"Sun behind the satellite: {group}, {count}"
        found.append(entry(title, spans, [own_line(plan, k) for k in rows]))
    return found
