"""The report of a plan with beams and hubs of their own: what is said of which."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from lxml import html

from siteplan.answers import Remedy
from siteplan.model import Sites
from siteplan.outputs.report.files import page
from siteplan.outputs.report.sections.certainty.years import _chance
from siteplan.planning.plan import make_plan
from siteplan.planning.report.composed import composed
from siteplan.results import Plan
from tests.planning.beams.two import EAST, WEST, sites_and_network, with_beams

HOSTILE = "<b>east & all</b>"


@pytest.fixture(scope="module")
def plan() -> Plan:
    """Two sites in beams of two hubs, one in none, one below the horizon."""
    _, network = sites_and_network()
    at = np.array([-5.5, -4.0, -30.0, -5.0]), np.array([-66.5, -60.5, -60.0, 120.0])
    return make_plan(Sites.at(*at), with_beams(network, WEST, EAST | {"name": HOSTILE}))


def words(plan: Plan) -> str:
    return " ".join(html.fromstring(page(plan, composed(plan))).text_content().split())


def test_hubs_in_the_picture_are_told_apart(plan: Plan) -> None:
    text = words(plan)
    assert "Hub of west" in text
    assert "Hub of <b>east" in text
    assert HOSTILE not in page(plan, composed(plan)), "a name of a user's is escaped"


def test_a_site_in_no_beam_is_not_said_to_be_out_of_view(plan: Plan) -> None:
    told = "2 sites without a margin: in no beam, or the satellite is not in view."
    assert told in words(plan)
    _, network = sites_and_network()
    unseen = make_plan(Sites.at(np.array([-3.0, -5.0]), np.array([-60.0, 120.0])), network)
    assert "1 site without a margin: the satellite is not in view." in words(unseen)


def test_where_nothing_helps_it_is_not_said_that_nobody_tried(plan: Plan) -> None:
    none: tuple[Remedy, ...] = tuple(one for one in plan.facts.remedies if not one.helps)
    assert len(none) == 2
    text = words(replace(plan, facts=replace(plan.facts, remedies=none)))
    assert "No change of kit or settings: what each of these sites needs stands in the list" in text
    assert "Not worked out for this plan" not in text


def test_levels_are_said_to_be_those_of_each_beam(plan: Plan) -> None:
    assert "Satellite EIRP, G/T and SFD are those of each site's beam" in words(plan)


@pytest.mark.parametrize(
    ("pct", "told"),
    [
        (100.0, "over 99.9 %"),
        (99.95, "over 99.9 %"),
        (99.9, "99.9 %"),
        (85.12, "85.1 %"),
        (0.1, "0.1 %"),
        (0.04, "under 0.1 %"),
        (0.0, "under 0.1 %"),
        (math.nan, "-"),
    ],
)
def test_no_chance_is_certain(pct: float, told: str) -> None:
    assert _chance(pct) == told
