"""sites.kml and sites.gpx: the sites for maps and hand-held receivers, written line by line.

KML 2.2 and GPX 1.1, beside the plan's tables; read by whoever drives there.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np

from siteplan.outputs.escaping import for_xml
from siteplan.outputs.shown import SiteValues, Texts, fixed
from siteplan.outputs.standing import banner, halt, stands
from siteplan.results import Plan

#: Fields named in the description of each site, where the plan has them.
DESCRIBED = (
    "azimuth_true_deg",
    "azimuth_magnetic_deg",
    "elevation_deg",
    "skew_deg",
    "inclinometer_deg",
    "antenna_m",
    "buc_w",
    "mount",
    "mount_certainty",
    "margin_db",
    "margin_after_reserve_db",
    "flag_notes",
)


def write_kml(plan: Plan, path: Path) -> None:
    """Write the sites as placemarks in a folder for each group (OGC KML 2.2).

    No icon is linked: the file asks for nothing from outside.
    """
    with path.open("w", encoding="utf-8", newline="\n") as file:
        file.writelines(_kml_lines(plan))


def write_gpx(plan: Plan, path: Path) -> None:
    """Write the sites as waypoints (GPX 1.1), the group as their type."""
    with path.open("w", encoding="utf-8", newline="\n") as file:
        file.writelines(_gpx_lines(plan))


def description(values: SiteValues) -> str:
    """Return a site's angles and kit, a line a field, under what stands over the site."""
    lines = [over.text for over in (banner(values), halt(values), stands(values)) if over]
    return "\n".join([*lines, *(f"{name}: {text}" for name, text in values.rows(*DESCRIBED))])


def title(values: SiteValues) -> str:
    """Return id and name, the name of the site in every file of the crew's."""
    return f"{values['site_id']} {values['name']}".strip()


def _kml_lines(plan: Plan) -> Iterator[str]:
    yield '<?xml version="1.0" encoding="UTF-8"?>\n'
    yield '<kml xmlns="http://www.opengis.net/kml/2.2">\n<Document>\n'
    yield f"<name>{for_xml(plan.facts.name or 'siteplan')}</name>\n"
    groups = _groups(plan)
    order = np.argsort(groups, kind="stable")
    before, texts = None, Texts(plan)
    for i in order.tolist():
        if groups[i] != before:
            yield "</Folder>\n" if before is not None else ""
            yield f"<Folder><name>{for_xml(groups[i] or 'no group')}</name>\n"
            before = groups[i]
        yield _placemark(SiteValues(plan, i, texts=texts))
    yield "</Folder>\n" if before is not None else ""
    yield "</Document>\n</kml>\n"


def _placemark(values: SiteValues) -> str:
    at = ",".join(fixed(values.number(k), 6) for k in ("lon", "lat"))
    return (
        f"<Placemark><name>{for_xml(title(values))}</name>"
        f"<description>{for_xml(description(values))}</description>"
        f"<Point><coordinates>{at}</coordinates></Point></Placemark>\n"
    )


def _gpx_lines(plan: Plan) -> Iterator[str]:
    yield '<?xml version="1.0" encoding="UTF-8"?>\n'
    yield '<gpx version="1.1" creator="siteplan" xmlns="http://www.topografix.com/GPX/1/1">\n'
    yield f"<metadata><name>{for_xml(plan.facts.name or 'siteplan')}</name></metadata>\n"
    texts = Texts(plan)
    for i in range(len(plan)):
        yield _waypoint(SiteValues(plan, i, texts=texts))
    yield "</gpx>\n"


def _waypoint(values: SiteValues) -> str:
    """Return a waypoint, its parts in the order of the schema."""
    place = " ".join(f'{k}="{fixed(values.number(k), 6)}"' for k in ("lat", "lon"))
    altitude = values.number("altitude_m")
    height = f"<ele>{fixed(altitude, 1)}</ele>" if np.isfinite(altitude) else ""
    group = f"<type>{for_xml(values['group'])}</type>" if values["group"] else ""
    return (
        f"<wpt {place}>{height}<name>{for_xml(title(values))}</name>"
        f"<desc>{for_xml(description(values))}</desc>{group}</wpt>\n"
    )


def _groups(plan: Plan) -> np.ndarray:
    values = plan.columns.get("group")
    return np.full(len(plan), "", dtype=object) if values is None else values
