"""What would change the kit of each site, as the map has it: read back into the tables."""

from __future__ import annotations

import numpy as np

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.outputs.map.payload import payload
from siteplan.planning.plan import make_plan


def test_the_texts_say_what_the_tables_do() -> None:
    network = Network.model_validate(
        {
            "network": {"date": "2026-06-01", "availability_pct": 99.8},
            "satellite": {"longitude_deg": -61.0},
            "outbound": {"satellite_eirp_dbw": 46.5},
        }
    )
    rng = np.random.default_rng(2)
    sites = Sites.at(rng.uniform(-20, 8, 25), rng.uniform(-72, -45, 25))
    plan = make_plan(sites, network, sensitivity=True)
    found = payload(plan, "Plan")["sensitive"]
    assert found["steps"] == [of.told for of in plan.facts.changes_kit]
    texts = found["of"]["v"] if "v" in found["of"] else [
        found["of"]["d"][k] for k in found["of"]["i"]
    ]  # fmt: skip
    eighths = np.zeros_like(plan.tables["sensitivity_eighths"])
    for i, text in enumerate(texts):
        for step, part, pair in (map(int, one.split(".")) for one in text.split()):
            eighths[i, step] = part
            dish, buc = (plan.tables[f"sensitivity_{n}"][i, step] for n in ("antenna_m", "buc_w"))
            none = np.isnan(dish) or np.isnan(buc)
            assert found["pairs"][pair] == ("" if none else f"{dish:g} m, {buc:g} W")
    np.testing.assert_array_equal(eighths, plan.tables["sensitivity_eighths"])
    assert eighths.any()
    assert "sensitive" not in payload(make_plan(sites, network), "Plan")
