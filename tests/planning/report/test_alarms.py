"""Warnings of the samples as they are shipped: none on more than half of the sites, but stops.

What stands everywhere is read nowhere. It is judged here, when the product is made; a plan never
leaves a warning out because many sites carry it.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from siteplan.fields import FLAGS
from siteplan.jobs.opened import open_project
from siteplan.planning.plan import make_plan
from tests.samples import LIVE, NAMES

SAMPLES = [LIVE / name for name in NAMES]


@pytest.mark.parametrize("folder", SAMPLES, ids=lambda folder: folder.name)
def test_no_caution_or_note_stands_on_more_than_half_of_a_sample(folder: Path) -> None:
    found = open_project(folder)
    plan = make_plan(found.site_list.sites, found.network, around=found.around)
    counts = Counter(code for text in plan.columns["flags"] for code in text.split(";") if code)
    assert counts
    loud = {c: n for c, n in counts.items() if FLAGS[c].severity != "stop" and 2 * n > len(plan)}
    assert loud == {}


def test_what_stops_a_site_is_told_at_the_site() -> None:
    # But for the hub, which all sites share: what it lacks is in every margin.
    stops = {f.code: f.told for f in FLAGS.values() if f.severity == "stop"}
    assert stops.pop("hub_power_short") == "plan"
    assert set(stops.values()) == {"site"}
    assert {f.told for f in FLAGS.values()} == {"site", "plan"}
