"""Layers of the map: how each field is classed, coloured and drawn.

A layer is one line in ``LAYERS``. Every class has a colour and a second cue, because some
readers do not see the colour, and print and sunlight take it from everyone:

* the margin's classes differ in shape. What fails is a large dark octagon with a cross (the
  outline that people already read as 'stop'), the shortest passing class is a triangle, and
  the shapes get rounder and smaller as the margin grows, so trouble is what the eye finds;
* ordered numbers differ in size, the end that needs care being the larger and the darker;
* names differ in shape.

In every layer a site that is not served as planned has a heavy octagon around it, and in the
margin's a site that a flag stops in spite of its margin has a class of its own; with another
target so has a site without kit.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from siteplan.frozen import frozen
from siteplan.outputs.map.looks import DUSK, NAMES, PASSING, POWER, RAIN, SIZE, VERDICTS

Kind = Literal["verdict", "steps", "sizes", "names", "flags"]


@frozen
class Layer:
    """One way to colour the sites.

    ``kind`` is ``verdict`` (the margin on the network's own classes), ``steps`` (a number in
    round steps), ``sizes`` (a number that takes few values), ``names`` or ``flags`` (the worst
    of them). ``care`` says which end of a number needs care; ``blank`` labels the sites that
    have no value; ``bounds`` fixes the steps, which otherwise follow the data: alike wide, or
    with ``alike`` such that about as many sites are in each. ``order`` gives names their
    places, and so their looks, whichever of them a plan has; else they stand in the alphabet's.
    """

    field: str
    kind: Kind
    ramp: tuple[str, ...] = ()
    care: Literal["low", "high"] = "high"
    blank: str = "No value"
    bounds: tuple[float, ...] = ()
    alike: bool = False
    order: tuple[str, ...] = ()


#: The layers in the order of the keys 1, 2, 3 and so on; those whose field a plan has not got
#: are left out.
LAYERS: tuple[Layer, ...] = (
    Layer("margin_db", "verdict", blank="No margin: satellite not in view"),
    # Under 10 degrees most rules want a reason; the rest is common practice, no source.
    Layer("elevation_deg", "steps", DUSK, "low", "Satellite below the horizon", (10, 20, 30, 45)),
    Layer("rain_rate_mm_h", "steps", RAIN),
    Layer("antenna_m", "sizes", SIZE, blank="Nothing fits, or not in view"),
    Layer("mount", "names", NAMES, blank="No mount chosen"),
    Layer("flags", "flags", PASSING),
    Layer("beam", "names", NAMES, blank="In no beam"),
    Layer("buc_w", "sizes", POWER, blank="Nothing fits, or not in view"),
    Layer("limiting_direction", "names", NAMES[1:], blank="Satellite not in view"),
    Layer(
        "availability_achieved_pct",
        "steps",
        DUSK,
        "low",
        "Under 50 %, or not in view",
        (99, 99.5, 99.9, 99.99),
    ),
    Layer("certainty", "names", NAMES, blank="No grade"),
    Layer("year_risk_pct", "steps", RAIN, blank="Not known, or not in view", bounds=(1, 5, 20, 50)),
    Layer("site_cost", "steps", SIZE, blank="No kit, or a price is missing"),
    # Only where costs over the years are asked for. A few far sites cost many times the usual.
    Layer("life_cost", "steps", SIZE, blank="No figure: no kit, or no price", alike=True),
    Layer("cable_class", "names", NAMES, blank="No cable picked"),
    Layer("cable_loss_high_db", "steps", SIZE, blank="No cable picked"),
    Layer("clearance_deg", "steps", DUSK, "low", "No horizon known", (0, 2, 5, 10)),
    # Only where neighbours or the other polarization count: else no plan has the column.
    Layer("outbound_ci_db", "steps", DUSK, "low", "No kit, or not in view"),
    # Only where satellites were compared.
    Layer("best_slot", "names", NAMES, blank="No satellite serves it"),
    # What came back from the sites, against the plan.
    Layer("verdict", "names", tuple(VERDICTS.values()), blank="Not come back", order=(*VERDICTS,)),
    Layer("pointing_error_deg", "steps", RAIN, blank="Not measured", bounds=(0.2, 0.5, 1, 2)),
    Layer("c_n_difference_db", "steps", DUSK, "low", "Not measured", (-3, -2, -1, 0, 1)),
    Layer("moved_m", "steps", SIZE, blank="Not measured", bounds=(10, 30, 100, 1000)),
)

#: Any field that starts so is a layer too: how far the emission stays under its limit.
_OFF_AXIS = "off_axis_"


def layers_of(columns: Mapping[str, NDArray[Any]]) -> list[Layer]:
    """Return the layers whose fields are in ``columns``: those listed, and off-axis figures."""
    listed = [layer for layer in LAYERS if layer.field in columns]
    off_axis = [
        Layer(name, "steps", DUSK, "low")
        for name, values in columns.items()
        if name.startswith(_OFF_AXIS) and np.asarray(values).dtype.kind == "f"
    ]
    return listed + off_axis
