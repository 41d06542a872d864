"""transmission_plan.html: one or two A4 pages for the satellite's operator, before switching on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from siteplan.answers.transmission import AssumedKey, Transmission
from siteplan.network import Network
from siteplan.outputs.assets import asset
from siteplan.outputs.capacity.transmission_rows import ROOMY, marker, short, tables
from siteplan.outputs.paper.page import on_page
from siteplan.outputs.shown import amount, angle, stated, unit_sign
from siteplan.results import Plan
from siteplan.words import orbital_position

#: Notes and assumed keys that the page has room for.
MOST_NOTES, MOST_KEYS = 12, 30


def write_transmission_page(of: Transmission, plan: Plan, path: Path) -> None:
    """Write the transmission plan as a page to print, for the satellite's operator.

    One or two A4 pages that need nothing else. Of many beams those that are alike are told once,
    and how many carriers more stand in ``transmission_plan.csv``. ``plan`` gives names and
    contacts.
    """
    path.write_text(page(of, plan), encoding="utf-8", errors="replace")


def page(of: Transmission, plan: Plan) -> str:
    """Return the transmission plan as a page."""
    name = plan.facts.name or "Network"
    network = plan.network
    found = {
        "name": name,
        "facts": list(_facts(of, plan)),
        "tables": list(tables(of)),
        "tight": len(of.alike) > ROOMY,
        "tests": list(_tests(of, network)),
        "lines": _LINES,
        "notes": (*_READING, *of.notes[:MOST_NOTES]),
        "more_notes": max(len(of.notes) - MOST_NOTES, 0),
        "marked": bool(of.assumed),
        "assumed": list(_assumed(of.assumed[:MOST_KEYS])),
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
    "Centre frequencies: the frequencies given are the middle of all carriers of a"
    " direction in a beam, and the offset counts from there; carriers told in one row stand around"
    " the centre of that row. They stand side by side, each in the width that is leased for it.",
    "Levels are those of one carrier in clear sky; 'with control' adds all of the power control"
    " that its station has for rain. EIRP of terminals is the greatest of any of them towards the"
    " satellite; flux, back-offs and power-equivalent bandwidth are those of the terminal that"
    " takes most of the satellite's power. Back-offs of a carrier lie under saturation.",
)


def _facts(of: Transmission, plan: Plan) -> Iterator[tuple[str, str]]:
    """Yield what heads the page."""
    network = plan.network
    where = orbital_position(network.satellite.longitude_deg)
    satellite = network.satellite.name
    yield "Satellite", f"{short(satellite)}, {where}" if satellite else where
    yield "Plan of", plan.facts.date
    yield "Leased in all", amount(of.leased_mhz, "MHz")
    yield "Operator", _called(network.contacts.operator_name, network.contacts.operator_phone)
    yield "Planner", _called(network.contacts.planner_name, network.contacts.planner_phone)


def _called(name: str, phone: str) -> str:
    """Return whom to call; a line to fill in where nobody is told."""
    return ", ".join(short(text, 30) for text in (name, phone) if text.strip())


def _assumed(keys: Sequence[AssumedKey]) -> Iterator[str]:
    """Yield what nobody gave, with what stands for it: that of each direction under its name."""
    found: dict[str, list[str]] = {}
    for key, value, unit, label in keys:
        told = stated(value, unit_sign(unit)) if unit and value else value or "not given"
        way = key.partition(".")[0]
        named = label if label[:2].isupper() else f"{label[0].lower()}{label[1:]}"
        found.setdefault(way if way in _WAYS else "", []).append(f"{named} {told}")
    for way, those in found.items():
        yield f"{way}: {', '.join(those)}" if way else ", ".join(those)


#: Directions, whose figures have the same names.
_WAYS = ("outbound", "inbound")


def _tests(of: Transmission, network: Network) -> Iterator[tuple[str, str]]:
    """Yield what an access test asks for."""
    marked = marker(of.basis)
    isolation = amount(of.cross_polar_db, "dB")
    yield "Cross-polar isolation, at least", marked("cross_polar_db", isolation)
    shortfall = amount(of.acceptance_db, "dB")
    yield "C/N in clear sky under the plan, at most", marked("acceptance_db", shortfall)
    yield "EIRP in the test, at most", "as in clear sky, within what is allowed"
    if network.satellite.tilt_deg:
        yield "Tilt of the satellite's polarization", angle(network.satellite.tilt_deg)
