"""What lies behind the sites on the map: contours, relief and overlays, small enough to embed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

import numpy as np

from siteplan.frozen import frozen
from siteplan.model import Overlay
from siteplan.outputs.map.colors import ramp_colors
from siteplan.outputs.shown import angle, unit_sign
from siteplan.results import Coverage

if TYPE_CHECKING:
    from siteplan.outputs.coverage.contours import Geometry
    from siteplan.outputs.coverage.files import Layer

#: Contours are set on this share of the grid's step.
_CODE_SHARE = 25
#: Ramps from low to high. Pale, so that sites stand out; each falls or rises steadily in
#: lightness, so that the order holds in grey. The end that needs care is the darker.
_RAMPS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "required_antenna_m": ("#f3f7e4", "#b9d3a4", "#7ba383"),
        "elevation_deg": ("#b7a3c2", "#dccbd6", "#fbf4e8"),
        "rain_rate_mm_h": ("#f1f6ef", "#b5d3dd", "#7c9fc4"),
        "uplink_attenuation_db": ("#faf4e3", "#e3c99d", "#b9946f"),
        "downlink_attenuation_db": ("#faf4e3", "#dcc3ab", "#ad8f86"),
    }
)
#: Meanings that are plainer here than in the dictionary of fields, which speaks of sites.
_MEANINGS = MappingProxyType(
    {
        "required_antenna_m": "Smallest size that meets both directions with the reserve",
        "uplink_attenuation_db": "Total on the uplink, of the target's whole outage",
        "downlink_attenuation_db": "Total on the downlink, of the target's whole outage",
    }
)
#: What cannot be served is hatched over this.
_CARE_COLOR = "#dedad4"


@frozen
class Behind:
    """What the page draws behind the sites; all of it may be missing.

    ``heights`` is a height model with its latitudes and longitudes.
    """

    coverage: Coverage | None = None
    layers: tuple[Layer, ...] = ()
    heights: tuple[Any, Any, Any] | None = None
    overlays: Sequence[Overlay] = field(default_factory=tuple)


#: Land and graticule alone.
NOTHING = Behind()


def payload(behind: Behind, *, other_targets: str = "") -> dict[str, Any] | None:
    """Return everything that the page knows of what lies behind the sites, ready for JSON.

    None where there is nothing. ``other_targets`` says that sites have targets of their own.
    """
    if behind.coverage is None and not behind.overlays:
        return None
    from siteplan.outputs.map import overlays, relief

    found: dict[str, Any] = {"overlays": overlays.embedded(behind.overlays), "layers": []}
    coverage = behind.coverage
    if coverage is None:
        return found
    step = coverage.grid.step_deg / _CODE_SHARE
    found |= {
        "note": f"{coverage.note} Grid of {angle(coverage.grid.step_deg)}.",
        "targets": other_targets,
        "step_deg": step,
        "layers": [_layer(layer, coverage, step) for layer in behind.layers],
    }
    if behind.heights is not None:
        found["relief"] = relief.embedded(behind.heights, coverage.grid.frame)
    return found


def _layer(layer: Layer, coverage: Coverage, step_deg: float) -> dict[str, Any]:
    """Return one quantity; colours go by all its classes, so that they do not hang on the cut."""
    name = layer.field.name
    ordinary = [band for band in coverage.bands[name] if not band.care]
    shades = ramp_colors(_RAMPS[name], len(ordinary))
    colors = {band.label: shade for band, shade in zip(ordinary, shades, strict=True)}
    return {
        "name": name,
        "label": layer.field.label,
        "unit": unit_sign(layer.field.unit),
        "meaning": _MEANINGS.get(name, layer.field.meaning),
        "bands": [
            {
                "label": band.label,
                "color": colors.get(band.label, _CARE_COLOR),
                "care": band.care,
                "rings": rings(shape, step_deg),
            }
            for band, shape in layer.bands
        ],
    }


def rings(shape: Geometry, step_deg: float) -> list[str]:
    """Return the rings of polygons as texts of whole steps, to fill by the even-odd rule."""
    import shapely

    from siteplan.basemap.make import encoded
    from siteplan.outputs.coverage import contours

    found = shapely.get_rings(shapely.get_parts(contours.on_grid(shape, step_deg)))
    if not len(found):
        return []
    xy, owner = shapely.get_coordinates(found, return_index=True)
    steps = np.rint(xy / step_deg).astype(np.int64)
    starts = np.flatnonzero(np.diff(owner)) + 1
    return [encoded(ring) for ring in np.split(steps, starts)]
