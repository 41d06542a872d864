"""The report's section on capacity: what is said of one beam's carriers is said behind its name."""

from __future__ import annotations

from dataclasses import replace

import pytest
from lxml import html

from siteplan.answers.capacity import Capacity
from siteplan.outputs.report.files import page
from siteplan.outputs.shown import to_digits
from siteplan.planning.plan import make_plan
from siteplan.planning.report.composed import composed
from siteplan.planning.report.summary import summarize
from siteplan.results import Plan
from tests.planning.beams.two import EAST, WEST, sites_and_network, with_beams

LEFT_OUT = "The traffic of 3 sites without kit is not counted."
SHARED = "Sites are all alike."
HOSTILE = "<b>west & all</b>"


@pytest.fixture(scope="module")
def plan() -> Plan:
    sites, network = sites_and_network()
    beams = {**WEST, "name": HOSTILE}, EAST
    return make_plan(sites, with_beams(network, *beams))


def last_words(plan: Plan, *notes: tuple[str, ...]) -> str:
    """Return the section's last paragraph with notes of the pools in place of the plan's."""
    found = plan.facts.capacity
    assert isinstance(found, Capacity)
    pools = tuple(replace(p, notes=n) for p, n in zip(found.pools, notes, strict=True))
    facts = replace(plan.facts, capacity=replace(found, pools=pools))
    told = replace(plan, facts=facts)
    tree = html.fromstring(page(told, composed(told)))
    (words,) = tree.xpath("//section[h2='Capacity and lease']/*[last()]")
    return " ".join(words.text_content().split())


def test_a_note_on_one_beam_names_it(plan: Plan) -> None:
    assert plan.facts.capacity is not None
    names = [pool.load.pool for pool in plan.facts.capacity.pools]
    assert sorted(names) == sorted([HOSTILE, "east"])
    told = last_words(plan, (LEFT_OUT, SHARED), (SHARED,))
    assert told == f"{names[0]}: {LEFT_OUT} {SHARED}"


def test_a_note_on_all_names_none(plan: Plan) -> None:
    assert last_words(plan, (LEFT_OUT,), (LEFT_OUT,)) == LEFT_OUT


def test_the_rates_of_adaptive_carriers_are_told_and_are_the_summary_s() -> None:
    sites, network = sites_and_network()
    still = make_plan(sites, network)
    assert "Adaptive coding: while" not in page(still, composed(still))
    adaptive = {"outbound": {"adaptive": True}, "inbound": {"adaptive": True}}
    made = make_plan(sites, with_beams(network, WEST, EAST | adaptive))
    (of_out, of_back) = summarize(made)["coding"].values()
    text = " ".join(html.fromstring(page(made, composed(made))).text_content().split())
    assert f"outbound {to_digits(of_out['mean_kbit_s_median'], 'kbit/s')} on average" in text
    assert f"{to_digits(of_back['target_kbit_s_median'], 'kbit/s')} at the target" in text
    assert "with QPSK 3/4 alone" in text
    assert "while the transponder is linear" in text
