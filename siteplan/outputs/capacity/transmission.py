"""transmission_plan.html: one or two A4 pages for the satellite's operator, before switching on."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from siteplan.answers.transmission import (
    Basis,
    CarrierGroup,
    HubStation,
    TerminalStation,
    Transmission,
)
from siteplan.network import Network
from siteplan.outputs.assets import asset
from siteplan.outputs.paper.page import on_page
from siteplan.outputs.shown import amount, angle, fixed, megahertz, sided, stated, unit_sign
from siteplan.results import Plan
from siteplan.words import orbital_position, quoted

#: Marks a figure that rests in part on a key that nobody gave.
MARK = "*"
#: Rows of a table of carriers, hubs and types of terminals, and assumed keys that a page has room for.
MOST_ROWS, MOST_HUBS, MOST_TYPES, MOST_KEYS = 16, 6, 12, 60
#: Beams that are named in a cell, and characters of a name.
_BEAMS, _LENGTH = 3, 24
_WAYS = {"outbound": "Outbound", "inbound": "Inbound"}


class Table(NamedTuple):
    """A table of the page: its heading, its columns, its rows of texts, and what is left out."""

    heading: str
    heads: tuple[tuple[str, str], ...]
    rows: list[tuple[str, ...]]
    css: str
    texts: frozenset[int]
    note: str = ""
    left: int = 0


def write_transmission_page(of: Transmission, plan: Plan, path: Path) -> None:
    """Write the transmission plan as a page to print, for the satellite's operator.

    One or two A4 pages that need nothing else; of many beams those that are alike are told once,
    and how many carriers more stand in ``transmission_plan.csv``. ``plan`` gives names and contacts.
    """
    path.write_text(page(of, plan), encoding="utf-8", errors="replace")


def page(of: Transmission, plan: Plan) -> str:
    """Return the transmission plan as a page."""
    name = plan.facts.name or "Network"
    network = plan.network
    found = {
        "name": name,
        "facts": list(_facts(of, plan)),
        "tables": list(_tables(of)),
        "tests": list(_tests(of, network)),
        "lines": _LINES,
        "notes": (*_READING, *of.notes),
        "marked": bool(of.assumed),
        "assumed": [_assumed(*key) for key in of.assumed[:MOST_KEYS]],
        "more_assumed": max(len(of.assumed) - MOST_KEYS, 0),
    }
    title = f"{name}: transmission plan"
    style = asset("capacity/transmission.css")
    return on_page(title, "capacity/transmission.html", found, style=style)


#: What the operator fills in before the access test.
_LINES = (
    "Access test: date and time (UTC)",
    "Test frequency and polarization",
    "Transponder and operator's reference",
    "Released by: name, date, signature",
)
#: How the page is to be read.
_READING = (
    "Centre frequencies: the frequencies of network.toml are the middle of all carriers of a"
    " direction in a beam, and the offset counts from there. Carriers stand side by side, each in the"
    " width that is leased for it.",
    "Levels are those of one carrier in clear sky; 'with control' adds all of the power control that"
    " its station has for rain. EIRP of terminals is the greatest of any of them towards the"
    " satellite; flux, back-offs and power-equivalent bandwidth are those of the terminal that takes"
    " most of the satellite's power. Back-offs of a carrier lie under saturation.",
)


def _facts(of: Transmission, plan: Plan) -> Iterator[tuple[str, str]]:
    """Yield what heads the page."""
    network = plan.network
    where = orbital_position(network.satellite.longitude_deg)
    satellite = network.satellite.name
    yield "Satellite", f"{_short(satellite)}, {where}" if satellite else where
    yield "Plan of", plan.facts.date
    yield "Leased in all", amount(of.leased_mhz, "MHz")
    yield "Operator", _called(network.contacts.operator_name, network.contacts.operator_phone)
    yield "Planner", _called(network.contacts.planner_name, network.contacts.planner_phone)


def _called(name: str, phone: str) -> str:
    """Return whom to call; a line to fill in where nobody is told."""
    return ", ".join(_short(text, 40) for text in (name, phone) if text.strip())


def _short(text: str, most: int = _LENGTH) -> str:
    return quoted(text.strip(), most)


def _assumed(key: str, value: str, unit: str, meaning: str) -> str:
    """Return a key that nobody gave with what stands for it."""
    told = stated(value, unit_sign(unit)) if unit and value else value
    return f"{key} {told or 'not given'}"


# --- tables ---------------------------------------------------------------------------------


def _tables(of: Transmission) -> Iterator[Table]:
    yield _frequencies(of)
    yield _signals(of)
    yield _levels(of)
    yield _hubs(of)
    yield _terminals(of)


def _groups(of: Transmission) -> tuple[tuple[CarrierGroup, ...], int]:
    """Return the groups that there is room for, and how many carriers are left out."""
    shown = of.alike[:MOST_ROWS]
    return shown, sum(len(g.centres) * max(len(g.beams), 1) for g in of.alike[MOST_ROWS:])


def _frequencies(of: Transmission) -> Table:
    """Return where the carriers stand: a row each where there is room, else a row a group."""
    shown, left = _groups(of)
    single = sum(len(g.centres) for g in shown) <= MOST_ROWS
    rows = [row for g in shown for row in (_singly(g, of) if single else _together(g, of))]
    heads = (
        *(("Carrier", ""), ("Uplink centre", "MHz"), ("Uplink pol.", "")),
        *(("Downlink centre", "MHz"), ("Downlink pol.", ""), ("Offset", "MHz")),
        *(("Symbol rate", "Msym/s"), ("Occupied", "MHz"), ("Power-equivalent", "MHz")),
        ("Leased", "MHz"),
    )
    return Table("Frequencies and bandwidth", heads, rows, "wide", frozenset((0, 2, 4)), "", left)


def _singly(of: CarrierGroup, plan: Transmission) -> Iterator[tuple[str, ...]]:
    """Yield a row a carrier."""
    for centre in of.centres:
        number = f" {centre.number}" if len(of.centres) > 1 else ""
        yield (
            _carrier(of, plan, number),
            *_place(of, (centre.uplink_ghz,), (centre.downlink_ghz,)),
            _digits(centre.offset_mhz),
            *_widths(of),
        )


def _together(of: CarrierGroup, plan: Transmission) -> Iterator[tuple[str, ...]]:
    """Yield one row of all carriers of a group: the first and the last."""
    first, last = of.centres[0], of.centres[-1]
    both = (first, last) if len(of.centres) > 1 else (first,)
    number = f" 1 to {last.number}" if len(both) > 1 else ""
    yield (
        _carrier(of, plan, number),
        *_place(of, [c.uplink_ghz for c in both], [c.downlink_ghz for c in both]),
        " to ".join(_digits(c.offset_mhz) for c in both),
        *_widths(of),
    )


def _carrier(of: CarrierGroup, plan: Transmission, number: str = "") -> str:
    """Return a carrier by its direction and beams; marked where their number is assumed."""
    mark = MARK if number and "number" in of.basis[0] else ""
    named = _beams(of.beams)
    way = f"{_WAYS[of.direction]}{number}{mark}"
    return f"{way}, {named}" if named and len(plan.groups) > 2 else way


def _beams(beams: Sequence[str]) -> str:
    """Return beams by name, some of many."""
    more = len(beams) - _BEAMS
    told = ", ".join(_short(name) for name in beams[:_BEAMS])
    return f"{told} and {more} more" if more > 0 else told


def _place(of: CarrierGroup, up_ghz: Iterable[float], down_ghz: Iterable[float]) -> tuple[str, ...]:
    """Return centre and polarization, up and down."""
    marked = _marker(of.basis)
    return (
        marked("uplink", " to ".join(_centre(ghz) for ghz in up_ghz)),
        marked("uplink_polarization", of.uplink_polarization),
        marked("downlink", " to ".join(_centre(ghz) for ghz in down_ghz)),
        marked("downlink_polarization", of.downlink_polarization),
    )


def _centre(ghz: float) -> str:
    return megahertz(ghz * 1000).removesuffix(" MHz")


def _widths(of: CarrierGroup) -> tuple[str, ...]:
    marked = _marker(of.basis)
    names = ("symbol_rate_msps", "occupied_mhz", "power_equivalent_mhz", "leased_mhz")
    return tuple(marked(name, _digits(getattr(of, name))) for name in names)


def _signals(of: Transmission) -> Table:
    """Return how each carrier is sent, and through which transponder."""
    heads = (
        *(("Carrier", ""), ("MODCOD", ""), ("Roll-off", ""), ("Es/N0 needed", "dB")),
        *(("Information rate", "kbit/s"), ("Emission", ""), ("Transponder", "MHz")),
        *(("its input back-off", "dB"), ("its output back-off", "dB")),
    )
    shown, _ = _groups(of)
    rows = [_signal(g, of) for g in shown]
    return Table("Signal and transponder", heads, rows, "", frozenset((0, 1, 5)))


def _signal(of: CarrierGroup, plan: Transmission) -> tuple[str, ...]:
    marked = _marker(of.basis)
    adaptive = f" (adaptive, {' to '.join(of.modcods)})" if of.modcods else ""
    return (
        _carrier(of, plan),
        marked("modcod", of.modcod) + adaptive,
        marked("roll_off", _digits(of.roll_off)),
        marked("required_es_n0_db", _two(of.required_es_n0_db)),
        marked("information_rate_kbit_s", _digits(of.information_rate_kbit_s)),
        marked("emission", of.emission),
        marked("transponder_mhz", _digits(of.transponder_mhz)),
        marked("input_backoff_db", _two(of.input_backoff_db)),
        marked("output_backoff_db", _two(of.output_backoff_db)),
    )


def _levels(of: Transmission) -> Table:
    """Return the levels of one carrier at each end, from station to station."""
    heads = (
        *(("Carrier", ""), ("EIRP of the station", "dBW"), ("with control", "dBW")),
        *(("Flux at the satellite", "dBW/m²"), ("SFD", "dBW/m²"), ("Input back-off", "dB")),
        *(("Output back-off", "dB"), ("Satellite, saturated", "dBW"), ("EIRP of the carrier", "dBW")),
    )
    shown, left = _groups(of)
    rows = [_level(g, of) for g in shown]
    return Table("Levels of one carrier", heads, rows, "", frozenset((0,)), "", left)


def _level(of: CarrierGroup, plan: Transmission) -> tuple[str, ...]:
    marked = _marker(of.basis)
    names = ("eirp_dbw", "greatest_eirp_dbw", "flux_dbw_m2", "sfd_dbw_m2",
             "carrier_input_backoff_db", "carrier_output_backoff_db")  # fmt: skip
    return (
        _carrier(of, plan),
        *(marked(name, _two(getattr(of, name))) for name in names),
        marked("satellite_eirp_dbw", _span(of.least_satellite_eirp_dbw, of.satellite_eirp_dbw)),
        marked("carrier_eirp_dbw", _span(of.least_carrier_eirp_dbw, of.carrier_eirp_dbw)),
    )


def _hubs(of: Transmission) -> Table:
    heads = (
        *(("Hub", ""), ("Place", ""), ("Antenna", "m"), ("Tx gain", "dBi"), ("G/T", "dB/K")),
        *(("At the feed, a carrier", "W"), ("with control", "W"), ("allowed", "W")),
        *(("Carriers", ""), ("Amplifier", "W"), ("needed", "W"), ("its back-off", "dB")),
    )
    several = len(of.hubs) > 1
    rows = [_hub(hub, several=several) for hub in of.hubs[:MOST_HUBS]]
    left = len(of.hubs) - len(rows)
    return Table("Hub", heads, rows, "", frozenset((0, 1)), _allowed(of), max(left, 0))


def _hub(of: HubStation, *, several: bool) -> tuple[str, ...]:
    marked = _marker(of.basis)
    return (
        (_beams(of.beams) if several else "Hub") or "Hub",
        _at(of.lat, of.lon),
        marked("antenna_m", _digits(of.antenna_m)),
        marked("tx_gain_dbi", _two(of.tx_gain_dbi)),
        marked("g_t_db_k", _two(of.g_t_db_k)),
        *(marked(name, _watts(getattr(of, name))) for name in ("feed_w", "greatest_feed_w")),
        _watts(of.allowed_feed_w),
        fixed(of.carriers, 0),
        _watts(of.hpa_w),
        marked("needed_hpa_w", _watts(of.needed_hpa_w)),
        marked("hpa_backoff_db", _two(of.hpa_backoff_db)),
    )


def _at(lat: float, lon: float) -> str:
    return "" if math.isnan(lat) else f"{sided(lat, 'NS', 4)}, {sided(lon, 'EW', 4)}"


def _allowed(of: Transmission) -> str:
    """Return by what power is allowed."""
    return f"Allowed by {', '.join(of.masks)}." if of.masks else ""


def _terminals(of: Transmission) -> Table:
    heads = (
        *(("Antenna", "m"), ("BUC", "W"), ("Sites", ""), ("Tx gain", "dBi"), ("G/T", "dB/K")),
        *(("At the feed", "W"), ("with control", "W"), ("allowed", "W")),
        *(("EIRP", "dBW"), ("with control", "dBW"), ("Flux", "dBW/m²"), ("Uplink", "MHz")),
    )
    rows = [_terminal(station) for station in of.types[:MOST_TYPES]]
    left = len(of.types) - len(rows)
    return Table("Terminals", heads, rows, "", frozenset(), _allowed(of), max(left, 0))


def _terminal(station: TerminalStation) -> tuple[str, ...]:
    marked, of = _marker(station.basis), station.type
    return (
        marked("antenna_m", _digits(of.antenna_m)),
        marked("buc_w", _digits(of.buc_w)),
        fixed(of.sites, 0),
        marked("tx_gain_dbi", _two(station.tx_gain_dbi)),
        marked("g_t_db_k", _two(of.g_t_db_k)),
        *(marked(name, _watts(getattr(of, name))) for name in ("feed_w", "faded_feed_w")),
        _watts(of.allowed_feed_w),
        *(marked(name, _two(getattr(of, name))) for name in ("eirp_dbw", "faded_eirp_dbw")),
        marked("feed_w", _two(of.flux_dbw_m2)),
        _centre(station.uplink_ghz),
    )


def _tests(of: Transmission, network: Network) -> Iterator[tuple[str, str]]:
    """Yield what an access test asks for."""
    marked = _marker(of.basis)
    isolation = amount(of.cross_polar_db, "dB")
    yield "Cross-polar isolation, at least", marked("cross_polar_db", isolation)
    shortfall = amount(of.acceptance_db, "dB")
    yield "C/N in clear sky under the plan, at most", marked("acceptance_db", shortfall)
    yield "EIRP in the test, at most", "as in clear sky, never above what is allowed"
    tilt = network.satellite.tilt_deg
    if tilt:
        yield "Tilt of the satellite's polarization", angle(tilt)


# --- cells ----------------------------------------------------------------------------------


def _marker(basis: Basis) -> Callable[[str, str], str]:
    """Return what marks the text of a figure that rests on what nobody gave; never a blank."""
    assumed = basis[0]
    return lambda name, text: text + MARK if text and name in assumed else text


def _two(value: float) -> str:
    """Return a level with two decimals; blank where it is not known."""
    return "" if math.isnan(value) else fixed(round(value, 2) + 0.0, 2)


def _span(low: float, high: float) -> str:
    """Return a level, or the range of several."""
    least, most = _two(low), _two(high)
    return least if least == most else f"{least} to {most}"


def _digits(value: float) -> str:
    """Return a figure to six digits at most, without zeros behind; blank where not known."""
    return "" if math.isnan(value) else amount(round(value, 6) + 0.0, "")


def _watts(value: float) -> str:
    """Return a power: hundredths of a watt under 10 W, tenths under 100 W, whole watts above."""
    if math.isnan(value):
        return ""
    return fixed(value, 2 if value < 10 else 1 if value < 100 else 0)
