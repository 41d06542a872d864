"""The offline map: one HTML file with the sites on a canvas, to open without a network."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from siteplan.fields import FIELDS, FLAGS, Field, lookup
from siteplan.model import Plan
from siteplan.outputs import behind, dataset, page
from siteplan.outputs.behind import Behind
from siteplan.outputs.extent import extent
from siteplan.outputs.scales import LAYERS, layer_specs

#: The card of a site: headings and the fields under them, in the order of use on site.
CARD: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "Pointing",
        (
            "azimuth_true_deg",
            "azimuth_magnetic_deg",
            "magnetic_declination_deg",
            "elevation_deg",
            "skew_deg",
        ),
    ),
    ("Kit", ("antenna_m", "buc_w", "kit_source", "no_fit_reason", "required_antenna_m")),
    ("Mount", ("mount", "mount_reason", "structure")),
    (
        "Link",
        (
            "margin_db",
            "limiting_direction",
            "outbound_margin_db",
            "inbound_margin_db",
            "fade_margin_db",
            "availability_target_pct",
            "outbound_availability_pct",
            "inbound_availability_pct",
        ),
    ),
    (
        "Rain and attenuation",
        ("rain_rate_mm_h", "uplink_attenuation_db", "downlink_attenuation_db"),
    ),
    ("Place", ("altitude_m", "altitude_source", "group", "priority", "slant_range_km")),
)

#: Fields that the page reads by name, beside those of the card and the layers.
_BY_NAME = ("site_id", "name", "lat", "lon", "flags", "flag_notes")


def write_map(
    plan: Plan, path: Path, *, title: str = "", backing: Behind | None = None
) -> None:
    """Write the map of ``plan`` to ``path``, one file that needs nothing else.

    Parameters
    ----------
    plan : Plan
        The results; sites along axis 0.
    path : pathlib.Path
        The HTML file to write.
    title : str, optional
        Heading of the page, else the plan's name.
    """
    heading = title or str(plan.facts.get("name") or "") or "Site plan"
    whole = {**payload(plan, heading), "behind": behind.payload(backing or behind.NOTHING)}
    path.write_text(page.render(heading, whole), encoding="utf-8", newline="\n")


def payload(plan: Plan, heading: str) -> dict[str, Any]:
    """Return everything the page knows of ``plan``, ready for JSON."""
    names = tuple(dict.fromkeys(_names(plan)))
    rules = plan.network.rules
    return {
        "heading": heading,
        "count": len(plan),
        "facts": headline(plan),
        "hub": _hub(plan),
        "fields": {name: _described(field) for name, field in _known(names)},
        "columns": dataset.field_columns(plan.columns, names),
        "extra": [
            {"label": str(name), **dataset.extra_column(values)}
            for name, values in plan.extra.items()
        ],
        "card": [{"heading": head, "fields": fields} for head, fields in CARD],
        "layers": layer_specs(
            plan.columns, bounds_db=rules.margin_classes_db, reserve_db=rules.reserve_db
        ),
        "flags": {f.code: {"severity": f.severity, "meaning": f.meaning} for f in FLAGS.values()},
        "assumptions": [
            {"key": a.key, "value": a.value, "unit": a.unit, "meaning": a.meaning}
            for a in plan.assumptions
        ],
        "view": extent(plan.columns["lat"], plan.columns["lon"]),
    }


def _names(plan: Plan) -> Iterable[str]:
    """Yield the fields that go into the page."""
    yield from _BY_NAME
    yield from (layer.field for layer in LAYERS)
    for _, fields in CARD:
        yield from fields
    yield from (name for name in plan.columns if name not in FIELDS)


def _known(names: Iterable[str]) -> Iterable[tuple[str, Field]]:
    for name in names:
        field = lookup(name)
        if field is not None:
            yield name, field


def _described(field: Field) -> dict[str, Any]:
    return {
        "label": field.label,
        "unit": shown_unit(field.unit),
        "decimals": field.decimals,
        "meaning": field.meaning,
        "source": field.source,
    }


def shown_unit(unit: str) -> str:
    """Return a unit as readers expect it: the degree as its sign."""
    return "°" if unit == "deg" else unit


def headline(plan: Plan) -> list[list[str]]:
    """Return the facts under the heading as label and value."""
    facts: list[tuple[str, str]] = [
        ("Satellite", _satellite(plan)),
        ("Date", str(plan.facts.get("date") or plan.network.network.date or "")),
        ("Target", _target(plan)),
        ("Sites", str(len(plan))),
    ]
    return [[label, value] for label, value in facts if value]


def _satellite(plan: Plan) -> str:
    given = plan.facts.get("satellite_lon_deg")
    lon = float(plan.network.satellite.longitude_deg if given is None else given)
    lon = math.remainder(lon, 360.0)
    place = f"{abs(lon):.1f}° {'W' if lon < 0 else 'E'}"
    name = plan.network.satellite.name
    return f"{name}, {place}" if name else place


def _target(plan: Plan) -> str:
    targets = plan.columns.get("availability_target_pct")
    if targets is None or not np.isfinite(targets).any():
        return f"{plan.network.network.availability_pct:g} %"
    low, high = float(np.nanmin(targets)), float(np.nanmax(targets))
    return f"{low:g} %" if low == high else f"{low:g} to {high:g} %"


def _hub(plan: Plan) -> dict[str, float] | None:
    facts: Mapping[str, Any] = plan.facts
    hub = plan.network.hub
    lat = facts.get("hub_lat", hub.lat)
    lon = facts.get("hub_lon", hub.lon)
    if lat is None or lon is None:
        return None
    return {"lat": float(lat), "lon": float(lon)}
