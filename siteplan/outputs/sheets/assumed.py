"""Figures that nobody gave: how many on each sheet, all in words at the end of its group's file."""

from __future__ import annotations

import re
from typing import Any

from siteplan.model import Assumption
from siteplan.outputs.paper import page
from siteplan.outputs.shown import SiteValues, choice, stated
from siteplan.outputs.units import in_sentence
from siteplan.results import Plan

#: Keys of network.toml that a site's own column takes the place of.
_GIVEN_BY_SITE = (("ifl.cable_m", "cable_m"), ("site.roof_height_m", "roof_height_m"))
#: Keys that move nothing of a site but its traffic and how sure it is, which no sheet tells: how
#: they begin or end.
_OF_TRAFFIC = (
    ("traffic.", "lease.", "climate.", "uncertainty."),
    (".frame_efficiency", ".availability_basis"),
)
#: The tables of network.toml as people call them.
TABLES = {
    "network": "Network",
    "satellite": "Satellite",
    "hub": "Hub",
    "outbound": "Outbound carrier, hub to sites",
    "inbound": "Inbound carrier, sites to hub",
    "terminal": "Equipment of every site",
    "antennas": "Antennas",
    "bucs": "BUCs",
    "rules": "Rules of the plan",
    "methods": "Methods",
    "site": "Mounts, loads and acceptance",
    "ifl": "Cable run and levels",
    "cables": "Cables",
    "sheets": "Work on site",
    "sites": "Sites table",
    "mounts": "Mounts' prices",
    "costs": "Costs",
    "contacts": "Contacts",
    "coverage": "Coverage",
    "overlays": "Overlays of the map",
    "neighbours": "Neighbouring satellites",
    "regulation": "Licence and limits",
    "masks": "Masks off axis",
    "beams": "Beams of the satellite",
    "contours": "Contours of the beams",
    "traffic": "Traffic",
    "lease": "Lease of capacity",
    "applications": "Applications and their users",
    "rollout": "Waves of building",
    "climate": "Climate",
    "uncertainty": "Uncertainty",
}


def count(plan: Plan, v: SiteValues) -> str:
    """Return how many figures behind a sheet nobody gave, and where they stand; '' for none."""
    given = {key for key, field in _GIVEN_BY_SITE if v[field]}
    given |= {"site.wind_m_s"} if v["wind_source"] == "given" else set()
    number = sum(a.key not in given for a in _of_sites(plan))
    altitude = v["altitude_source"]
    found = [f"the altitude is from {altitude}"] if altitude not in ("", "given") else []
    if number:
        found.append(f"{number} figures, in words at the end of the group's file")
    return "; ".join(found)


def _of_sites(plan: Plan) -> list[Assumption]:
    """Return the figures that nobody gave and that a site's link, kit or work rests on."""
    first, last = _OF_TRAFFIC
    return [a for a in plan.assumptions if not (a.key.startswith(first) or a.key.endswith(last))]


def listed(plan: Plan) -> list[dict[str, Any]]:
    """Return the figures that nobody gave, in words, table by table; same ones once."""
    units = plan.network.network.units
    found: dict[str, dict[str, list[str]]] = {}
    for a in _of_sites(plan):
        table = a.key.partition(".")[0]
        told = in_sentence(_figure(choice(a.value), a.unit), units)
        of = found.setdefault(TABLES.get(table, table), {}).setdefault(_in_short(a.meaning), [])
        if told not in of:
            of.append(told)
    return [
        {"heading": heading, "rows": [(name, ", ".join(told)) for name, told in rows.items()]}
        for heading, rows in found.items()
    ]


def _figure(value: str, unit: str) -> str:
    """Return a figure with its unit; words such as 'not counted' have none."""
    return stated(value, unit) if re.search(r"\d", value) else value


def page_of(plan: Plan) -> str:
    """Return the page that ends a group's file; '' where every figure was given."""
    found = listed(plan)
    if not found:
        return ""
    shown = {"tables": found, "count": len(_of_sites(plan)), "network": plan.facts.name}
    return page.rendered("sheets/templates/assumed.html", shown)


def _in_short(meaning: str) -> str:
    """Return a key's meaning up to its first pause: the crew has no use for the key."""
    return re.split(r"[,;:(]", meaning)[0].strip()
