"""The tables of the transmission plan's page: carriers, hubs, types of terminals, as texts."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from siteplan.answers.transmission import (
    Basis,
    CarrierGroup,
    HubStation,
    TerminalStation,
    Transmission,
)
from siteplan.outputs.shown import amount, fixed, megahertz, sided
from siteplan.words import quoted

#: Marks a figure that rests in part on a key that nobody gave.
MARK = "*"
#: Groups of carriers, and single carriers, that the page has room for.
MOST_ROWS, MOST_SINGLE = 10, 16
#: Hubs and types of terminals that it has room for.
MOST_HUBS, MOST_TYPES = 5, 10
#: Beams that are named in a cell, characters of a name, and rows up to which there is room for so
#: much.
_BEAMS, _LENGTH, ROOMY = 3, 24, 6
_WAYS = {"outbound": "Outbound", "inbound": "Inbound"}


class Head(NamedTuple):
    """A column of a table: its words, its unit, and whether it holds words and not numbers."""

    label: str
    unit: str = ""
    text: bool = False


class Table(NamedTuple):
    """A table of the page: its heading, its columns, its rows of texts, and what is left out."""

    heading: str
    heads: tuple[Head, ...]
    rows: list[tuple[str, ...]]
    note: str = ""
    left: int = 0


def tables(of: Transmission) -> Iterator[Table]:
    """Yield the tables in the page's order."""
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
    single = sum(len(g.centres) for g in shown) <= MOST_SINGLE
    rows = [row for g in shown for row in (_singly(g, of) if single else _together(g, of))]
    heads = (
        *_carrier_heads(of),
        *(Head("Uplink centre", "MHz"), Head("Uplink pol.", text=True)),
        *(Head("Downlink centre", "MHz"), Head("Downlink pol.", text=True), Head("Offset", "MHz")),
        *(Head("Symbol rate", "Msym/s"), Head("Occupied", "MHz"), Head("Power-equiv.", "MHz")),
        Head("Leased", "MHz"),
    )
    return Table("Frequencies and bandwidth", heads, rows, "", left)


def _singly(of: CarrierGroup, plan: Transmission) -> Iterator[tuple[str, ...]]:
    """Yield a row a carrier."""
    for centre in of.centres:
        number = fixed(centre.number, 0) if len(of.centres) > 1 else ""
        yield (
            *_carrier(of, plan, number),
            *_place(of, centre.uplink_ghz, centre.downlink_ghz),
            _digits(centre.offset_mhz),
            *_widths(of),
        )


def _together(of: CarrierGroup, plan: Transmission) -> Iterator[tuple[str, ...]]:
    """Yield one row of all carriers of a group: the middle of them, and the outermost offsets."""
    ends = dict.fromkeys((of.centres[0].offset_mhz, of.centres[-1].offset_mhz))
    many = f"× {len(of.centres)}" if len(of.centres) > 1 else ""
    yield (
        *_carrier(of, plan, many),
        *_place(of, of.uplink_ghz, of.downlink_ghz),
        " to ".join(map(_digits, ends)),
        *_widths(of),
    )


def _several(plan: Transmission) -> bool:
    """Whether carriers are told apart by their beams."""
    return len(plan.groups) > len(_WAYS)


def _carrier_heads(plan: Transmission) -> tuple[Head, ...]:
    beam = (Head("Beam", text=True),) if _several(plan) else ()
    return (*beam, Head("Carrier", text=True))


def _carrier(of: CarrierGroup, plan: Transmission, number: str = "") -> tuple[str, ...]:
    """Return a carrier by its beams, if there are several, and its direction.

    It is marked where the number of carriers is assumed.
    """
    mark = MARK if number and "number" in of.basis[0] else ""
    way = f"{_WAYS[of.direction]} {number}".strip() + mark
    return (_beams(of.beams, len(plan.alike)), way) if _several(plan) else (way,)


def _beams(beams: Sequence[str], rows: int) -> str:
    """Return beams by name: fewer and shorter ones where there are many rows of them."""
    tight = rows > ROOMY
    most, length = (1, 14) if tight else (_BEAMS, _LENGTH)
    more = len(beams) - most
    told = ", ".join(short(name, length) for name in beams[:most])
    if more <= 0:
        return told
    return f"{told} +{more}" if tight else f"{told} and {more} more"


def _place(of: CarrierGroup, up_ghz: float, down_ghz: float) -> tuple[str, ...]:
    """Return centre and polarization, up and down."""
    marked = marker(of.basis)
    return (
        marked("uplink", _centre(up_ghz)),
        marked("uplink_polarization", of.uplink_polarization),
        marked("downlink", _centre(down_ghz)),
        marked("downlink_polarization", of.downlink_polarization),
    )


def _centre(ghz: float) -> str:
    return megahertz(ghz * 1000).removesuffix(" MHz")


def _widths(of: CarrierGroup) -> tuple[str, ...]:
    marked = marker(of.basis)
    names = ("symbol_rate_msps", "occupied_mhz", "power_equivalent_mhz", "leased_mhz")
    return tuple(marked(name, _digits(getattr(of, name))) for name in names)


def _signals(of: Transmission) -> Table:
    """Return how each carrier is sent, and through which transponder."""
    heads = (
        *_carrier_heads(of),
        *(Head("MODCOD", text=True), Head("Roll-off"), Head("Es/N0 needed", "dB")),
        *(Head("Information rate", "kbit/s"), Head("Emission", text=True)),
        *(Head("Transponder", "MHz"), Head("its input back-off", "dB")),
        Head("its output back-off", "dB"),
    )
    shown, left = _groups(of)
    return Table("Signal and transponder", heads, [_signal(g, of) for g in shown], "", left)


def _signal(of: CarrierGroup, plan: Transmission) -> tuple[str, ...]:
    marked = marker(of.basis)
    adaptive = ", adaptive" if of.modcods else ""
    if of.modcods and len(plan.alike) <= ROOMY:
        adaptive = f", adaptive {' to '.join(of.modcods)}"
    return (
        *_carrier(of, plan),
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
        *_carrier_heads(of),
        *(Head("EIRP of the station", "dBW"), Head("with control", "dBW")),
        *(Head("Flux at the satellite", "dBW/m²"), Head("SFD", "dBW/m²")),
        *(Head("at its G/T", "dB/K"), Head("Input back-off", "dB"), Head("Output back-off", "dB")),
        *(Head("Satellite, saturated", "dBW"), Head("EIRP of the carrier", "dBW")),
    )
    shown, left = _groups(of)
    return Table("Levels of one carrier", heads, [_level(g, of) for g in shown], "", left)


def _level(of: CarrierGroup, plan: Transmission) -> tuple[str, ...]:
    marked = marker(of.basis)
    names = ("eirp_dbw", "greatest_eirp_dbw", "flux_dbw_m2", "sfd_dbw_m2", "satellite_g_t_db_k",
             "carrier_input_backoff_db", "carrier_output_backoff_db")  # fmt: skip
    return (
        *_carrier(of, plan),
        *(marked(name, _two(getattr(of, name))) for name in names),
        marked("satellite_eirp_dbw", _span(of.least_satellite_eirp_dbw, of.satellite_eirp_dbw)),
        marked("carrier_eirp_dbw", _span(of.least_carrier_eirp_dbw, of.carrier_eirp_dbw)),
    )


def _hubs(of: Transmission) -> Table:
    heads = (
        *(Head("Hub", text=True), Head("Place", text=True), Head("Antenna", "m")),
        *(Head("Tx gain", "dBi"), Head("G/T", "dB/K"), Head("Feed, a carrier", "W")),
        *(Head("with control", "W"), Head("allowed", "W"), Head("Carriers")),
        *(Head("Amplifier", "W"), Head("needed", "W"), Head("its back-off", "dB")),
    )
    rows = [_hub(hub, len(of.hubs)) for hub in of.hubs[:MOST_HUBS]]
    return Table("Hub", heads, rows, _allowed(of), len(of.hubs) - len(rows))


def _hub(of: HubStation, hubs: int) -> tuple[str, ...]:
    marked = marker(of.basis)
    return (
        (_beams(of.beams, hubs) if hubs > 1 else "") or "Hub",
        _at(of.lat, of.lon),
        marked("antenna_m", _digits(of.antenna_m)),
        marked("tx_gain_dbi", _two(of.tx_gain_dbi)),
        marked("g_t_db_k", _two(of.g_t_db_k)),
        *(marked(name, _watts(getattr(of, name))) for name in ("feed_w", "greatest_feed_w")),
        _watts(of.allowed_feed_w),
        marked("carriers", fixed(of.carriers, 0)),
        _watts(of.hpa_w),
        marked("needed_hpa_w", _watts(of.needed_hpa_w)),
        marked("hpa_backoff_db", _two(of.hpa_backoff_db)),
    )


def _at(lat: float, lon: float) -> str:
    """Return a place on one line; blank where it is not known."""
    if math.isnan(lat):
        return ""
    return f"{sided(lat, 'NS', 4)}, {sided(lon, 'EW', 4)}".replace(" ", "\xa0")


def _allowed(of: Transmission) -> str:
    """Return by what power is allowed."""
    return f"Allowed by {', '.join(of.masks)}." if of.masks else ""


def _terminals(of: Transmission) -> Table:
    heads = (
        *((Head("Beam", text=True),) if _several(of) else ()),
        *(Head("Antenna", "m"), Head("BUC", "W"), Head("Sites"), Head("Tx gain", "dBi")),
        *(Head("G/T", "dB/K"), Head("Feed", "W"), Head("with control", "W"), Head("allowed", "W")),
        *(Head("EIRP", "dBW"), Head("with control", "dBW"), Head("Flux", "dBW/m²")),
        Head("Uplink", "MHz"),
    )
    rows = [_terminal(station, of) for station in of.types[:MOST_TYPES]]
    return Table("Terminals", heads, rows, _allowed(of), len(of.types) - len(rows))


def _terminal(station: TerminalStation, plan: Transmission) -> tuple[str, ...]:
    marked, of = marker(station.basis), station.type
    return (
        *((_beams(station.beams, len(plan.types)),) if _several(plan) else ()),
        marked("antenna_m", _digits(of.antenna_m)),
        marked("buc_w", _digits(of.buc_w)),
        fixed(of.sites, 0),
        marked("tx_gain_dbi", _two(station.tx_gain_dbi)),
        marked("g_t_db_k", _two(of.g_t_db_k)),
        *(marked(name, _watts(getattr(of, name))) for name in ("feed_w", "faded_feed_w")),
        _watts(of.allowed_feed_w),
        *(marked(name, _two(getattr(of, name))) for name in ("eirp_dbw", "faded_eirp_dbw")),
        marked("flux_dbw_m2", _two(of.flux_dbw_m2)),
        marked("uplink", _centre(station.uplink_ghz)),
    )


# --- cells ----------------------------------------------------------------------------------


def marker(basis: Basis) -> Callable[[str, str], str]:
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


def short(text: str, most: int = _LENGTH) -> str:
    """Return a text of a user's, short enough, on one line."""
    return quoted(text.strip(), most)
