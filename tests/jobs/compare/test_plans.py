"""Two plans compared by their outputs: what changed, by which inputs, and what cannot be told."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path
from typing import Any

import pytest

import siteplan
from siteplan.answers.differences import Change, Differences, SiteChange
from siteplan.errors import OutputError, ProjectError
from siteplan.jobs.compare.plans import COMPARED_NAME, compare_outputs, compare_plans
from tests.jobs.compare.conftest import Planned

WALL = "site_id,azimuth_from_deg,azimuth_to_deg,elevation_deg\nE,0,359,80\n"
#: One change of each group: keys, cells of the sites, and what stands around them.
ONE: dict[str, tuple[dict[str, Any], dict[str, Any], str]] = {
    "place": ({}, {"C": {"lat": -3.6, "lon": -61.1}}, ""),
    "satellite": ({"outbound": {"satellite_eirp_dbw": 47}}, {}, ""),
    "carriers": ({"inbound": {"symbol_rate_msps": 1.4}}, {}, ""),
    "interference": ({"outbound": {"ci_db": 11.0}}, {}, ""),
    "regulation": (
        {
            "regulation": {"masks": ["own"]},
            "masks": [{"name": "own", "reference_khz": 40, "segments": [[1, 180, -12, 25]]}],
        },
        {},
        "",
    ),
    "catalogue": ({"bucs": [{"rated_w": w} for w in (1, 4)]}, {}, ""),
    "rules": ({"network": {"availability_pct": 99.9}}, {}, ""),
}
#: Changes of a kind that only some sites have, or that move nothing but a flag.
MORE: dict[str, tuple[str, dict[str, Any], dict[str, Any], str]] = {
    "obstacles": ("place", {}, {}, WALL),
    "target of a site": ("rules", {}, {"B": {"availability_pct": 99.95}}, ""),
    "kit of a site": ("catalogue", {}, {"B": {"fixed_antenna_m": 0.98, "fixed_buc_w": 1}}, ""),
    "hub": ("carriers", {"hub": {"antenna_m": 1.8}}, {}, ""),
    "satellite's place": ("satellite", {"satellite": {"longitude_deg": -15}}, {}, ""),
    "terminal": ("catalogue", {"terminal": {"lnb_noise_k": 200}}, {}, ""),
    "altitude in feet": ("place", {}, {"A": {"altitude_m": "300 ft"}}, ""),
}


def changes(found: Differences) -> list[tuple[SiteChange, Change]]:
    return [(site, change) for site in found.sites for change in site.changes]


def shares(site: SiteChange) -> dict[tuple[str, ...], float]:
    return {groups: db for groups, db in site.margin_by_group if abs(db) > 1e-6}


def table(folder: Path) -> list[dict[str, str]]:
    with (folder / "differences.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_a_plan_is_no_other_than_itself(planned: Planned, tmp_path: Path) -> None:
    found, folder = compare_outputs(planned(), planned(), tmp_path / "same")
    assert found.is_empty
    assert (found.common, found.sites, found.inputs, found.told) == (6, (), (), ())
    assert table(folder) == []
    assert "Nothing changed" in (folder / "differences.html").read_text(encoding="utf-8")


def test_the_same_inputs_planned_twice_are_the_same(planned: Planned) -> None:
    assert compare_plans(planned(), planned({}, {"A": {}})).is_empty


@pytest.mark.parametrize("group", ONE)
def test_one_group_is_the_cause_of_all(group: str, planned: Planned) -> None:
    keys, cells, around = ONE[group]
    found = compare_plans(planned(), planned(keys, cells, around=around))
    assert found.sites
    assert {change.cause for _, change in changes(found)} == {(group,)}
    assert {change.what for _, change in changes(found)} & {"antenna_m", "buc_w", "flag"}
    assert {c.group for c in found.inputs} == {group}
    assert found.told == ()
    for site in found.sites:
        assert set(shares(site)) <= {(group,)}


@pytest.mark.parametrize("what", MORE)
def test_what_one_site_has_or_all_share(what: str, planned: Planned) -> None:
    group, keys, cells, around = MORE[what]
    found = compare_plans(planned(), planned(keys, cells, around=around))
    assert {change.cause for _, change in changes(found)} == {(group,)}
    if cells:
        assert [site.site_id for site in found.sites] == list(cells)


def test_a_wall_takes_the_service(planned: Planned) -> None:
    found = compare_plans(planned(), planned(around=WALL))
    assert [site.site_id for site in found.lost] == ["E"]
    told = {c.what: (c.old, c.new) for c in found.lost[0].changes}
    assert told == {"service": ("served", "not served"), "flag": ("", "blocked")}
    assert compare_plans(planned(around=WALL), planned()).gained[0].site_id == "E"


def test_shares_sum_to_the_change_of_the_plans(planned: Planned) -> None:
    """Bar: the attribution sums to the whole change, which is that of the plans themselves."""
    keys = {
        "outbound": {"satellite_eirp_dbw": 49, "ci_db": 16},
        "inbound": {"symbol_rate_msps": 0.8},
        "rules": {"reserve_db": 1.5},
        "network": {"availability_pct": 99.8},
        "terminal": {"lnb_noise_k": 90},
    }
    cells = {"C": {"lat": -14.0}}
    old, new = planned(), planned(keys, cells)
    found = compare_plans(old, new)
    plans = [in_memory(folder) for folder in (old, new)]
    assert len(found.sites) == 6
    for site in found.sites:
        summed = sum(db for _, db in site.margin_by_group)
        assert summed == pytest.approx(site.margin_change_db, abs=1e-9)
        whole = plans[1][site.site_id] - plans[0][site.site_id]
        assert site.margin_change_db == pytest.approx(whole, abs=1e-9)
        assert shares(site).keys() <= {(g,) for g in siteplan_groups()}
    moved = next(site for site in found.sites if site.site_id == "C")
    assert ("place",) in shares(moved)
    assert all(("place",) not in shares(s) for s in found.sites if s.site_id != "C")


def in_memory(folder: Path) -> dict[str, float]:
    """Return the margin of each site in full, planned anew from the project of an output."""
    _, site_list, network = siteplan.read_project(folder.parent / "small")
    plan = siteplan.plan_sites(site_list, network)
    ids, margins = plan.columns["site_id"].tolist(), plan.columns["margin_db"].tolist()
    return dict(zip(ids, margins, strict=True))


def siteplan_groups() -> tuple[str, ...]:
    from siteplan.planning.differences.groups import GROUPS

    return GROUPS


def test_two_groups_share_what_they_do(planned: Planned) -> None:
    """What each brings by itself is its own, and together they bring more than either."""
    keys = {**ONE["interference"][0], **ONE["rules"][0]}
    both = compare_plans(planned(), planned(keys))
    first = compare_plans(planned(), planned(ONE["interference"][0]))
    for site in first.sites:
        again = next(s for s in both.sites if s.site_id == site.site_id)
        assert shares(again).get(("interference",), 0.0) == pytest.approx(
            site.margin_change_db, abs=1e-9
        )
    causes = {change.cause for _, change in changes(both) if change.what != "margin_db"}
    assert causes <= {("interference",), ("rules",), ("interference", "rules")}


def test_what_only_both_bring_is_told_together(planned: Planned) -> None:
    """Either step alone leaves the kit of some site as it is; both together do not."""
    one, other = {"outbound": {"satellite_eirp_dbw": 49.3}}, {"terminal": {"lnb_noise_k": 87}}
    alone = [compare_plans(planned(), planned(keys)) for keys in (one, other)]
    both = compare_plans(planned(), planned({**one, **other}))
    kit = {(s.site_id, c.what): c.cause for s, c in changes(both) if c.what == "antenna_m"}
    single = [{(s.site_id, c.what) for s, c in changes(d) if c.what == "antenna_m"} for d in alone]
    together = {where for where, cause in kit.items() if cause == ("satellite", "catalogue")}
    assert together, "the project is to have such a site"
    assert not together & (single[0] | single[1])


def test_groups_that_do_not_go_apart_are_switched_together(planned: Planned) -> None:
    """At another frequency the old mask does not hold: carriers and regulation go as one."""
    old = {"regulation": {"masks": ["s728_1"]}}
    c_band = {"uplink_ghz": 6.2, "downlink_ghz": 3.95}
    new = {"inbound": {**c_band, "satellite_g_t_db_k": 2}, "outbound": c_band,
           "regulation": {"masks": ["s524_9"]}}  # fmt: skip
    found = compare_plans(planned(old), planned(new))
    assert found.sites
    for site in found.sites:
        assert shares(site).keys() <= {("carriers", "regulation")}
        assert {c.cause for c in site.changes} == {("carriers", "regulation")}


def test_sites_come_and_go_with_the_reason(planned: Planned) -> None:
    cells = {"A": None, "B": {"lat": "north"}, "Z": {"name": "New", "lat": -10, "lon": -60}}
    found = compare_plans(planned(), planned({}, cells))
    assert [(s.site_id, s.why) for s in found.gone] == [
        ("A", ""),
        ("B", "rejected: lat cannot be read as an angle"),
    ]
    assert [(s.site_id, s.name, s.why) for s in found.added] == [("Z", "New", "")]
    assert (found.common, found.sites) == (4, ())
    back = compare_plans(planned({}, cells), planned())
    assert {s.site_id: s.why for s in back.added}["B"].startswith("was rejected: lat cannot")


def test_an_older_folder_is_compared_by_results(planned: Planned, tmp_path: Path) -> None:
    old = copied(planned(), tmp_path / "older")
    shutil.rmtree(old / "inputs")
    found = compare_plans(old, planned(ONE["rules"][0]))
    assert found.by_results
    assert found.told == (
        "older has no folder inputs, which plans keep from version 0.2 on.",
        "The plans are compared by their results only, and no cause is known.",
    )
    known = compare_plans(planned(), planned(ONE["rules"][0]))
    assert [(s.site_id, c.what, c.old, c.new) for s, c in changes(found)] == [
        (s.site_id, c.what, c.old, c.new) for s, c in changes(known)
    ]
    assert {c.cause for _, c in changes(found)} == {()}
    assert compare_plans(old, planned()).is_empty


def test_what_another_version_made_is_told(planned: Planned, tmp_path: Path) -> None:
    """The old plan told another antenna and margin than its inputs give today."""
    old = copied(planned(), tmp_path / "old")
    rows = read(old / "sites.csv")
    row = next(row for row in rows if row["site_id"] == "D")
    margin = float(row["margin_db"])
    row |= {"antenna_m": "3.7", "margin_db": str(margin + 2)}
    write(old / "sites.csv", rows)
    made = json.loads((old / "inputs/methods.json").read_text(encoding="utf-8"))
    made |= {"siteplan": "0.1.9", "methods": made["methods"] | {"rain": "an earlier edition"}}
    (old / "inputs/methods.json").write_text(json.dumps(made), encoding="utf-8")
    found = compare_plans(old, planned(ONE["interference"][0]))
    assert found.told[0] == (
        f"The old plan was made by version 0.1.9, the new one by version {siteplan.__version__}."
    )
    assert found.told[1].startswith("Made unlike, method: rain: an earlier edition, in the new")
    assert found.told[-1] == (
        "The inputs kept give other results today than the plans told, by another version or since"
        " somebody changed a file (sites: 1): that part stands under 'method or version'."
    )
    site = next(s for s in found.sites if s.site_id == "D")
    assert "method" in {c.what: c.cause for c in site.changes}["antenna_m"]
    assert shares(site)[("method",)] == pytest.approx(
        in_memory(planned())["D"] - margin - 2, abs=1e-9
    )
    assert sum(db for _, db in site.margin_by_group) == pytest.approx(
        site.margin_change_db, abs=1e-9
    )
    others = [c for s, c in changes(found) if s.site_id != "D"]
    assert {c.cause for c in others} == {("interference",)}


def test_the_same_inputs_by_another_version(planned: Planned, tmp_path: Path) -> None:
    old = copied(planned(), tmp_path / "old")
    rows = read(old / "sites.csv")
    rows[0] |= {"buc_w": "40"}
    write(old / "sites.csv", rows)
    found = compare_plans(old, planned())
    assert [(c.what, c.cause) for _, c in changes(found)] == [("buc_w", ("method",))]


@pytest.mark.parametrize("kinds", ["parquet", "gpkg", "geojson"])
def test_plans_in_parts_and_other_tables_tell_the_same(kinds: str, planned: Planned) -> None:
    keys = {**ONE["interference"][0], **ONE["rules"][0]}
    whole = compare_plans(planned(), planned(keys))
    parts = compare_plans(
        planned(workers=0, tables=kinds), planned(keys, workers=0, tables=kinds)
    )  # fmt: skip
    assert parts.sites == whole.sites
    assert (parts.inputs, parts.told, parts.common) == (whole.inputs, whole.told, whole.common)
    assert compare_plans(planned(), planned(workers=0, tables=kinds)).is_empty


def test_the_inputs_of_a_plan_in_parts_are_those_of_the_whole(planned: Planned) -> None:
    one, other = planned(around=WALL), planned(around=WALL, workers=0)
    names = sorted(p.relative_to(one / "inputs") for p in (one / "inputs").rglob("*"))
    assert [str(n) for n in names] == [
        "methods.json",
        "network.toml",
        "obstructions.csv",
        "sites.csv",
    ]
    for name in names:
        assert (one / "inputs" / name).read_bytes() == (other / "inputs" / name).read_bytes()


def test_nothing_in_inputs_tells_where_it_was_made(planned: Planned) -> None:
    folder = planned({}, {"A": {"contact": "+55 92 1234"}}) / "inputs"
    for path in folder.rglob("*"):
        text = path.read_text(encoding="utf-8")
        assert str(folder.parent.parent) not in text
        assert "1234" not in text
        assert "contact" not in text


def test_hostile_names_stay_texts(planned: Planned, tmp_path: Path) -> None:
    name, site = "<script>alert(1)</script>", "=HYPERLINK(1)"
    cells = {site: {"name": name, "lat": -5, "lon": -60}, "'=x": {"lat": -6, "lon": -60}}
    found, folder = compare_outputs(
        planned({}, cells), planned(ONE["rules"][0], cells), tmp_path / "out"
    )
    assert {site, "'=x"} <= {s.site_id for s in found.sites}
    page = (folder / "differences.html").read_text(encoding="utf-8")
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert not any(cell.startswith("=") for row in table(folder) for cell in row.values())
    assert f"'{site}" in {row["site_id"] for row in table(folder)}


def test_a_terrain_is_named_and_not_kept(planned: Planned, tmp_path: Path) -> None:
    """What hangs on it cannot be planned anew: its flags are put down to the place, or to it."""
    old, new = (copied(planned(keys), tmp_path / n) for n, keys in
                (("old", {}), ("new", ONE["interference"][0])))  # fmt: skip
    hills = {"name": "terrain.tif", "bytes": 3, "sha256": "ab" * 32}
    for folder, terrain in ((old, hills), (new, hills | {"sha256": "cd" * 32})):
        path = folder / "inputs/methods.json"
        made = json.loads(path.read_text(encoding="utf-8"))
        assert made["terrain"] is None
        path.write_text(json.dumps(made | {"terrain": terrain}), encoding="utf-8")
    rows = read(new / "sites.csv")
    rows[0]["flags"] = ";".join(filter(None, ("blocked", rows[0]["flags"])))
    write(new / "sites.csv", rows)
    found = compare_plans(old, new)
    assert found.told == (
        "A terrain file was in use, and none is kept: the flags that hang on it (blocked,"
        " outside_terrain, sky_tight) are compared as the plans have them.",
    )
    blocked = {s.site_id: c.cause for s, c in changes(found) if "blocked" in (c.old, c.new)}
    assert blocked == {"A": ("place",)}
    assert ("place", "terrain") in {(c.group, c.key) for c in found.inputs}


def test_what_is_no_plan_is_refused(planned: Planned, tmp_path: Path) -> None:
    with pytest.raises(ProjectError, match="there is no such folder"):
        compare_plans(tmp_path / "none", planned())
    with pytest.raises(ProjectError, match=r"there is no plan: none of sites\.csv, sites\.parquet"):
        compare_plans(planned(), tmp_path)
    broken = copied(planned(), tmp_path / "broken")
    rows = [{k: v for k, v in row.items() if k != "flags"} for row in read(broken / "sites.csv")]
    write(broken / "sites.csv", rows)
    with pytest.raises(ProjectError, match="there is no column flags in it"):
        compare_plans(broken, planned())


def test_differences_lie_in_the_new_plan_s_folder(planned: Planned, tmp_path: Path) -> None:
    new = copied(planned(ONE["rules"][0]), tmp_path / "new")
    before = {p.name for p in new.iterdir()}
    _, folder = compare_outputs(planned(), new)
    assert folder == new / COMPARED_NAME
    written = {"differences.csv", "differences_totals.csv", "differences.html"}
    assert {p.name for p in folder.iterdir()} == written | {".siteplan.json"}
    assert {p.name for p in new.iterdir()} - before == {COMPARED_NAME}
    assert compare_plans(planned(ONE["rules"][0]), new).is_empty


def test_an_output_never_takes_a_plan_s_place(planned: Planned, tmp_path: Path) -> None:
    old = copied(planned(), tmp_path / "plans" / "old")
    for output in (old, tmp_path / "plans"):
        with pytest.raises(OutputError, match="one of the plans that are compared lies there") as e:
            compare_outputs(old, planned(), output)
        assert str(planned() / COMPARED_NAME) in str(e.value.fix)


def copied(folder: Path, to: Path) -> Path:
    """Return a copy of a plan's output, to be changed."""
    shutil.copytree(folder, to)
    return to


def read(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def write(path: Path, rows: list[dict[str, str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


def test_cloud_maps_that_are_not_at_hand_are_told(planned: Planned, tmp_path: Path) -> None:
    """What is planned anew then takes other maps than the new plan: said, and told apart."""
    new = copied(planned(ONE["rules"][0]), tmp_path / "new")
    path = new / "inputs/methods.json"
    made = json.loads(path.read_text(encoding="utf-8"))
    made["cloud_maps"] = {"edition": "P.840-9", "fingerprint": "0123456789abcdef"}
    path.write_text(json.dumps(made), encoding="utf-8")
    found = compare_plans(planned(), new)
    here = json.loads((planned() / "inputs/methods.json").read_text(encoding="utf-8"))
    at_hand = here["cloud_maps"]["edition"]
    assert found.told[0].startswith("Made unlike, cloud maps: ")
    assert (
        "The new plan was made with cloud maps (P.840-9) that are not at hand: what is planned"
        f" anew takes those of {at_hand}."
    ) in found.told


def test_a_table_that_is_not_the_inputs_own_is_compared_by_results(
    planned: Planned, tmp_path: Path
) -> None:
    old = copied(planned(), tmp_path / "old")
    write(old / "sites.csv", read(old / "sites.csv")[1:])
    found = compare_plans(old, planned())
    assert found.by_results
    assert [site.site_id for site in found.added] == ["A"]


def test_beams_are_of_the_satellite(planned: Planned) -> None:
    """A beam of a site, and a beam's own level, are no carriers."""
    beam = {"major_deg": 6, "minor_deg": 6, "lon": -58}
    beams = [{"name": "North", "lat": -4, **beam}, {"name": "South", "lat": -16, **beam}]
    stronger = [beams[0] | {"outbound": {"satellite_eirp_dbw": 53}}, beams[1]]
    old = {"beams": beams}
    moved = compare_plans(planned(old), planned({"beams": stronger}))
    assert {c.cause for _, c in changes(moved)} == {("satellite",)}
    chosen = compare_plans(planned(old), planned(old, {"A": {"beam": "South"}}))
    assert {c.cause for _, c in changes(chosen)} == {("satellite",)}
    assert ("beam", "North", "South") in {(c.what, c.old, c.new) for _, c in changes(chosen)}
