"""The verdict equals counts made another way, whole and in parts, and says them in words."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from siteplan.answers import Remedy, Verdict
from siteplan.fields import FLAGS, UNSERVED
from siteplan.jobs.opened import open_project
from siteplan.messages import english
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.planning.report.summary import summarize
from siteplan.planning.report.tally import NAME_LENGTH, Tally, tally
from siteplan.planning.report.verdict import verdict_of
from siteplan.results import Plan
from tests.samples import LIVE, NAMES

NETWORK = Network.model_validate({"satellite": {"longitude_deg": -61}})
SAMPLES = [LIVE / name for name in NAMES]


def known(plan: Plan) -> Verdict:
    assert plan.facts.verdict is not None
    return plan.facts.verdict


def rows(plan: Plan) -> list[SimpleNamespace]:
    """The plan's rows, to be counted one by one."""
    names = list(plan.columns)
    columns = [plan.columns[name].tolist() for name in names]
    return [
        SimpleNamespace(**dict(zip(names, row, strict=True))) for row in zip(*columns, strict=True)
    ]


def is_served(site: SimpleNamespace) -> bool:
    """By the definitions: a pair is there, its margin holds, nothing stops the site."""
    if np.isnan(site.antenna_m) or np.isnan(site.buc_w):
        return False
    stopped = any(FLAGS[code].severity == "stop" for code in filter(None, site.flags.split(";")))
    return bool(site.margin_db >= -5e-7) and not stopped


@pytest.mark.parametrize("folder", SAMPLES, ids=lambda folder: folder.name)
def test_a_sample_s_verdict_is_what_its_table_holds(folder: Path) -> None:
    found = open_project(folder)
    plan = make_plan(found.site_list.sites, found.network, around=found.around)
    v, table = known(plan), rows(plan)
    served = [site for site in table if is_served(site)]
    assert (v.sites, v.served, v.not_served) == (
        len(table), len(served), len(table) - len(served))  # fmt: skip
    assert 0 < v.served < v.sites
    reserve = found.network.rules.reserve_db
    assert v.under_reserve == sum(site.margin_db < reserve - 5e-7 for site in served)
    assert len(v.unserved) == min(3, v.not_served)
    assert set(v.unserved) <= {site.name for site in table if not is_served(site)}
    for sizes, column in ((v.antennas, "antenna_m"), (v.bucs, "buc_w")):
        every = [x for site in table if not np.isnan(x := getattr(site, column))]
        assert sizes == tuple((size, every.count(size)) for size in sorted(set(every)))
    assert {kind: n for kind, n, _ in v.mounts} == {
        kind: sum(site.mount == kind for site in table) for kind, _, _ in v.mounts
    }
    assert sum(n for _, n, _ in v.mounts) == sum(site.mount != "" for site in table)
    assert v.to_survey == sum(site.mount_certainty == "provisional" for site in table) > 0
    assert v.in_doubt == sum("coordinate_doubt" in site.flags.split(";") for site in table)


def test_kit_that_misses_serves_nobody_and_the_reserve_is_another_matter(network: Network) -> None:
    """Installed kit is given: under zero it does not serve, under the reserve it does."""
    sites = Sites.at(
        np.array([-3.1, -3.2]),
        np.array([-60.0, -60.1]),
        name=np.array(["good", "miss"], dtype=object),
        fixed_antenna_m=np.array([2.4, 0.6]),
        fixed_buc_w=np.array([4.0, 1.0]),
    )
    for reserve_db, short in ((0.1, 0), (15.0, 1)):
        rules = network.rules.model_copy(update={"reserve_db": reserve_db})
        plan = make_plan(sites, network.model_copy(update={"rules": rules}))
        v = known(plan)
        good, miss = plan.columns["margin_db"].tolist()
        assert miss < 0 < good
        assert (good < reserve_db) == bool(short)
        assert (v.served, v.not_served, v.under_reserve) == (1, 1, short)
        assert v.unserved == ("miss",)
        assert dict(v.stops) == {"margin_negative": 1}


@pytest.fixture
def network() -> Network:
    return Network.model_validate(
        {
            "network": {"date": "2026-09-01", "availability_pct": 99.7},
            "satellite": {"longitude_deg": -61},
            "antennas": [{"diameter_m": d} for d in (0.6, 1.2, 2.4)],
            "bucs": [{"rated_w": w} for w in (1, 4)],
        }
    )


def test_parts_add_up_to_the_whole(tropical: Network, basin: Sites) -> None:
    plan = make_plan(basin, tropical)
    total = Tally()
    for piece in np.array_split(np.arange(len(basin)), 4):
        part = tally(make_plan(basin.take(piece), tropical))
        total.add(Tally.from_json(json.loads(json.dumps(part.to_json()))))
    v = verdict_of(total)
    assert v == known(plan) == verdict_of(tally(plan))
    assert v.not_served > 3
    assert len(v.unserved) == 3
    assert summarize(plan)["verdict"]["lines"] == [line.text for line in v.lines]


def counted(**counts: dict[str, int]) -> Verdict:
    found = Tally(5)
    for name, values in counts.items():
        found.counts[name].update(values)
    return verdict_of(found)


def test_the_words() -> None:
    v = counted(
        standing={"served": 3, "under_reserve": 1},
        antenna_m={"1.2": 1, "0.75": 3, "none": 1},
        buc_w={"2": 4, "none": 1},
        mount={"pole": 1, "non_penetrating": 3, "": 1},
        provisional_mount={"non_penetrating": 2},
        flags={"no_fit": 1, "blocked": 1, "coordinate_doubt": 2},
    )
    assert [line.text for line in v.lines] == [
        "Served: 3 of 5, 1 of them under the reserve",
        "Not served: 2 ( and 2 more)",
        "Why not: 1 that no pair fits, 1 with the beam blocked",
        "Antennas: 3 of 0.75 m, 1 of 1.2 m, 1 without",
        "BUCs: 4 of 2 W",
        "Mounts: 3 non penetrating (2 to be surveyed), 1 pole, 2 to be surveyed in all",
        "Coordinates: 2 to check",
    ]


def test_nothing_wrong_is_told_too() -> None:
    v = counted(standing={"served": 5}, antenna_m={"1.2": 5}, buc_w={"2": 5}, mount={"pole": 5})
    told = [line.text for line in v.lines]
    assert told[:2] == ["Served: 5 of 5", "Not served: none"]
    assert told[2:] == [
        "Antennas: 5 of 1.2 m", "BUCs: 5 of 2 W", "Mounts: 5 pole", "Coordinates: none to check",
    ]  # fmt: skip
    asked = [item for line in v.lines for item in line.items if not item.asks]
    assert [item.text for item in asked] == ["none", "none to check"]


def test_every_flag_that_stops_has_its_words() -> None:
    assert {f"verdict.stop.{code}" for code in UNSERVED} <= set(english())


def test_a_site_without_a_name_is_called_by_its_id_and_long_names_are_cut(network: Network) -> None:
    name = np.array(["", "n" * 60], dtype=object)
    sites = Sites.at(np.array([60.0, 61.0]), np.array([120.0, 121.0]), name=name)
    v = known(make_plan(sites, network))
    assert v.served == 0
    assert set(v.unserved) == {str(sites.site_id[0]), "n" * NAME_LENGTH + "…"}


def test_kit_that_stands_is_counted_apart() -> None:
    """It is in the counts by size, and nobody buys it."""
    lat, lon = np.array([-3.1, -3.2, -3.3]), np.array([-60.0, -60.1, -60.2])
    nan = np.nan
    sites = Sites.at(lat, lon, fixed_antenna_m=np.array([2.4, 2.4, nan]),
                     fixed_buc_w=np.array([nan, 4.0, nan]))  # fmt: skip
    verdict = make_plan(sites, NETWORK).facts.verdict
    assert verdict is not None
    assert verdict.standing == (("antenna", 2.4, 2), ("buc", 4.0, 1))
    assert (verdict.stands("antenna"), verdict.stands("buc", 4.0), verdict.stands("buc", 2.0)) == (
        2,
        1,
        0,
    )
    lines = {line.code: line for line in verdict.lines}
    details = {
        item.text: item.detail for code in ("antennas", "bucs") for item in lines[code].items
    }
    assert details["2 of 2.4 m"] == "2 standing already"
    assert {k: d for k, d in details.items() if " of 4 W" in k} == {
        "1 of 4 W": "1 standing already"
    }
    assert "(2 standing already)" in lines["antennas"].text
    bare = make_plan(Sites.at(lat, lon), NETWORK).facts.verdict
    assert bare is not None
    assert "standing" not in " ".join(line.text for line in bare.lines)


def test_sites_with_coordinates_to_check_are_in_no_summary_of_what_would_help() -> None:
    sites = Sites.at(np.array([-3.0, -3.1, -3.2]), np.full(3, -60.0))
    plan = make_plan(sites, Network.model_validate({"satellite": {"longitude_deg": -61}}))
    ids, nan = plan.columns["site_id"].tolist(), float("nan")
    remedies = (
        Remedy(ids[0], "coordinates", "Check.", nan, 0.2, False),
        Remedy(ids[1], "buc", "More.", 1.0, 1.2, True),
        Remedy(ids[1], "target", "Less.", 1.0, 1.2, True),
        Remedy(ids[2], "low", "Too low.", nan, nan, False),
    )
    counted = tally(replace(plan, facts=replace(plan.facts, remedies=remedies)))
    assert counted.counts["best_remedy"] == {"buc": 1, "low": 1}
