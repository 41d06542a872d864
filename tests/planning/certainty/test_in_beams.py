"""What would change the kit, where beams give their own levels: each level is off by the step."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace
from typing import Any

import numpy as np

from siteplan.planning.plan import make_plan
from tests.planning.beams.two import EAST, WEST, sites_and_network, with_beams


def lower(table: dict[str, Any], way: str, by_db: float) -> dict[str, Any]:
    """A beam whose EIRP is lower, where it tells its own."""
    found = deepcopy(table)
    if "satellite_eirp_dbw" in found.get(way, {}):
        found[way]["satellite_eirp_dbw"] -= by_db
    return found


def test_the_row_of_eirp_is_a_plan_with_every_level_lower() -> None:
    sites, network = sites_and_network()
    plan = make_plan(sites, with_beams(network, WEST, EAST), sensitivity=True)
    named = replace(sites, beam=plan.columns["beam"])
    assert {"west", "east"} <= set(named.beam.tolist())
    files = {
        way: getattr(network, way).model_copy(
            update={"satellite_eirp_dbw": getattr(network, way).satellite_eirp_dbw - 1}
        )
        for way in ("outbound", "inbound")
    }
    beams = [lower(lower(beam, "outbound", 1.0), "inbound", 1.0) for beam in (WEST, EAST)]
    other = make_plan(named, with_beams(network, *beams, **files))
    k = [of.code for of in plan.facts.changes_kit].index("eirp_minus")
    for size in ("antenna_m", "buc_w"):
        np.testing.assert_array_equal(plan.tables[f"sensitivity_{size}"][:, k], other.columns[size])
    assert plan.tables["sensitivity_eighths"][:, k].any()
