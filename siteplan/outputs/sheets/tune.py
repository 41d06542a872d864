"""The box that a crew tunes by: kit, ports, frequencies, carriers, and what to expect.

Receive and transmit stand side by side, each under the name of its box on the feed, so that their
ports are not taken for one another. Nothing of it stands on the sheet of a site without kit: who
has a frequency and a level to look for points a dish that nobody planned.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from siteplan.answers import Tuned
from siteplan.outputs.shown import SiteValues, amount, given, megahertz
from siteplan.results import Plan

CIRCULAR = "circular"
#: Polarizations by their direction; a circular one by the hand that only the operator can tell.
PORTS = {
    "horizontal": "HORIZONTAL",
    "vertical": "VERTICAL",
    CIRCULAR: "CIRCULAR, left or right hand as the operator says:",
}
CROSSED = (
    "The two ports stand at right angles: a feed turned by 90° has them swapped, and sends on the"
    " other polarization."
)
ALIKE = "Both ports have the same polarization."
#: What the access test asks of the feed: its turn, or where it sends circular, its hand.
PEAKED = "Polarization peaked at the operator's word"
HANDED = "Left or right hand confirmed by the operator, as written on page 1"
BOTH_CIRCULAR = (
    "Circular both ways: the feed needs no turn, but left and right must not be swapped."
)
ONE_CIRCULAR = "One way is circular: the feed is turned for the other, the {linear} port, alone."
OVERHEAD = (
    "The satellite stands overhead: no turn of the feed can be told. Turn it by level, and then at"
    " the operator's word."
)
#: Flags of sites whose power a limit off the axis holds down.
HELD = frozenset({"power_cut", "off_axis_exceeded"})
LIMITED = (
    "Mask {mask}: never more than {most} at the feed, in no weather; power control must not pass"
    " that."
)
BY_CODE = "as the operator sets it"


class Line(NamedTuple):
    """A line of the box: what it is, of the receive side, of the transmit side."""

    label: str
    receive: str
    transmit: str


def tune(plan: Plan, v: SiteValues) -> dict[str, Any]:
    """Return the box of a site with kit: its heading, lines, and what to mind."""
    tuned = plan.tuning_of(v.index)
    if not tuned:
        return {"kit": kit(v), "tune": (), "tune_notes": (), "polarized": PEAKED}
    received, sent = tuned
    lines = [
        Line("Port's polarization", PORTS[received.polarization], PORTS[sent.polarization]),
        Line("Carrier on the air", *(megahertz(c.carrier_ghz * 1e3) for c in (received, sent))),
        Line("On the cable (L-band)", _on_cable(received), _on_cable(sent)),
        Line("Symbol rate, roll-off", _rate(received), _rate(sent)),
        Line("Modulation and coding", received.modcod or BY_CODE, sent.modcod or BY_CODE),
        Line("In clear sky", _expected(received, v), _level(v)),
    ]
    if plan.facts.beams:
        lines.insert(0, Line("Satellite's beam", v["beam"], v["beam"]))
    notes = [*_limit(v), *_notes(tuned, v)]
    polarized = HANDED if sent.polarization == CIRCULAR else PEAKED
    return {"kit": kit(v), "tune": lines, "tune_notes": tuple(notes), "polarized": polarized}


def kit(v: SiteValues) -> str:
    """Return antenna and BUC, in a line, and which of them stands already."""
    return ", ".join(
        f"{part} {v[name]}{' (stands already)' if v[fixed] else ''}"
        for part, name, fixed in KIT
        if v[name]
    )


KIT = (("Antenna", "antenna_m", "fixed_antenna_m"), ("BUC", "buc_w", "fixed_buc_w"))


def _on_cable(of: Tuned) -> str:
    """Return the frequency on the cable with its oscillator; what is wrong with it first."""
    if math.isnan(of.l_band_mhz):
        return "LO not given: see its plate"
    told = f"{megahertz(of.l_band_mhz)} (LO {megahertz(of.lo_ghz * 1e3)})"
    told += ", spectrum INVERTED" if of.inverted else ""
    return told if of.in_band else f"{told}; CHECK: out of the cable's band"


def _rate(of: Tuned) -> str:
    return f"{amount(of.symbol_rate_msps, 'Msym/s')}, {amount(of.roll_off, '')}"


def _expected(of: Tuned, v: SiteValues) -> str:
    """Return the C/N to expect in the bandwidth that it is told for, and from where it will do."""
    if not v["expected_c_n_db"]:
        return ""
    told = f"C/N {v['expected_c_n_db']} in {amount(of.symbol_rate_msps, 'MHz')}"
    least = v["acceptance_c_n_db"]
    return f"{told}; accept from {least}" if least else told


def _level(v: SiteValues) -> str:
    power = v["tx_power_w"]
    if not power:
        return ""
    told = "BUC set to" if not _held(v) else "BUC turned down to"
    return f"{told} {power}, once the operator says go"


def _held(v: SiteValues) -> bool:
    """Return whether a limit on what is radiated off axis holds the BUC down."""
    return bool(HELD.intersection(v["flags"].split(";")))


def _limit(v: SiteValues) -> list[str]:
    """Return what limits the BUC's power whatever the sky, where something does."""
    if not _held(v):
        return []
    return [LIMITED.format(mask=v["off_axis_mask"], most=v["allowed_feed_w"])]


def _notes(tuned: tuple[Tuned, ...], v: SiteValues) -> list[str]:
    """Return what to mind about the ports."""
    kinds = [of.polarization for of in tuned]
    linear = [kind for kind in kinds if kind != CIRCULAR]
    if not linear:
        return [BOTH_CIRCULAR]
    notes = [ONE_CIRCULAR.format(linear=linear[0])] if len(linear) == 1 else []
    if len(linear) == 2:
        notes = [ALIKE if kinds[0] == kinds[1] else CROSSED]
    overhead = v["elevation_deg"] and math.isnan(v.number("skew_deg"))
    return [*notes, OVERHEAD] if overhead else notes


def bar_words(tuned: tuple[Tuned, ...]) -> str:
    """Return which port lies along the drawn bar, the satellite's vertical, and which across it."""
    side = {"vertical": "along it", "horizontal": "across it"}
    found = [
        f"{name} port {side[of.polarization]}"
        for name, of in zip(("LNB", "BUC"), tuned, strict=False)
        if of.polarization in side
    ]
    return f" {', '.join(found)}." if found else ""


def stop_wind(plan: Plan, units: str) -> str:
    """Return the gust at which work stops."""
    return given(plan.network.sheets.stop_wind_m_s, "m/s", units=units)
