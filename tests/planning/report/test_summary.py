"""The summary's counts equal counts made another way."""

from __future__ import annotations

import numpy as np

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.kit.classes import margin_class
from siteplan.planning.plan import make_plan
from siteplan.planning.report.summary import summarize
from siteplan.planning.report.tally import worst_sites
from siteplan.words import class_labels


def test_counts(tropical: Network, basin: Sites) -> None:
    plan = make_plan(basin, tropical)
    counts = summarize(plan)["counts"]
    n = len(basin)
    assert sum(counts["margin_class"].values()) == n
    assert sum(counts["antenna_m"].values()) == n
    assert sum(counts["mount"].values()) == n
    assert counts["margin_class"]["no margin"] == np.isnan(plan.columns["margin_db"]).sum()
    assert counts["antenna_m"]["1.8"] == (plan.columns["antenna_m"] == 1.8).sum()
    unseen = sum("below_horizon" in flags for flags in plan.columns["flags"])
    assert counts["flags"]["below_horizon"] == unseen


def test_the_worst_come_first(tropical: Network, basin: Sites) -> None:
    plan = make_plan(basin, tropical)
    order = worst_sites(plan)
    margin = plan.columns["margin_db"][order]
    unseen = int(np.isnan(margin).sum())
    assert np.isnan(margin[:unseen]).all()
    kit = np.isfinite(plan.columns["antenna_m"][order])
    assert not kit[: int((~kit).sum())].any()
    served = margin[kit]
    assert np.all(np.diff(served) >= 0)
    low = plan.columns["elevation_deg"][order[2:4]]
    worst = summarize(plan)["worst"]
    assert len(worst) == 5
    assert [w["site_id"] for w in worst] == plan.columns["site_id"][order[:5]].tolist()
    told = [None if np.isnan(m) else round(float(m), 1) for m in margin[:5]]
    assert [w["margin_db"] for w in worst] == told
    # Two that see nothing, two too low, and the least margin of those that are served.
    assert [w["reason"] for w in worst] == [
        *["The satellite is below the horizon."] * 2,
        *(f"Elevation {el:.1f} deg is under 10 deg: no kit is picked." for el in low),
        f"1.2 m with 1 W holds the target with {told[4]} dB, limited outbound.",
    ]


def test_classes() -> None:
    labels = class_labels((0.0, 1.0, 3.5), "dB")
    assert labels == ["below 0 dB", "0 to 1 dB", "1 to 3.5 dB", "3.5 dB or more"]
    margins = np.array([-0.1, 0.0, 0.9999999, 3.4, 3.5, 99, np.nan])
    found = margin_class(margins, (0.0, 1.0, 3.5))
    assert found.tolist() == [labels[i] for i in (0, 1, 2, 2, 3, 3)] + [""]
