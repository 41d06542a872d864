"""monitoring/: each format read by a standard reader, hostile names and all; the same in each."""

from __future__ import annotations

import csv
import datetime as dt
import json
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
from jsonschema.validators import validator_for
from prometheus_client.openmetrics.parser import text_string_to_metric_families

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.outputs.escaping import as_given
from siteplan.outputs.operations.monitoring import HEADINGS, write_monitoring
from siteplan.outputs.operations.records import DECIMALS
from siteplan.planning.operations.levels import monitored
from siteplan.planning.plan import make_plan
from siteplan.results import Plan

#: Beside those that all outputs must carry.
MORE = ('a"b\\c\nd', "\\n", "tab\tand\rreturn", 'x"} 1\n# EOF', "half \ud83d", "=1+1", "-3", "")
ALIKE = 1e-9


@pytest.fixture(scope="module")
def plan(hostile_names: tuple[str, ...]) -> Plan:
    names = (*hostile_names, *MORE)
    n = len(names)
    lat, lon = np.linspace(36, 52, n), np.linspace(2, 30, n)
    lat[-1], lon[-1] = 40.0, -80.0  # below the horizon: nothing is expected of it
    texts = np.array(names, dtype=object)
    ids = np.array([f"{name}~{k}" for k, name in enumerate(names)], dtype=object)
    zones = np.array(["Asia/Kathmandu", "", "America/New_York"] * n, dtype=object)[:n]
    sites = Sites.at(lat, lon, site_id=ids, name=texts, group=texts, timezone=zones)
    network = Network.model_validate(
        {
            "network": {"name": "A </script> network", "date": "2026-03-01"},
            "satellite": {"longitude_deg": 13.0},
            "hub": {"lat": 50.1, "lon": 8.7},
        }
    )
    return make_plan(sites, network, with_tables=True)


@pytest.fixture(scope="module")
def folder(plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("out") / "monitoring"
    write_monitoring(((plan, of) for of in monitored(plan)), place)
    return place


@pytest.fixture(scope="module")
def found(folder: Path) -> dict[str, Any]:
    data: dict[str, Any] = json.loads((folder / "sites.json").read_bytes())
    return data


@pytest.fixture(scope="module")
def rows(folder: Path) -> list[dict[str, str]]:
    with (folder / "sites.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def readable(text: str) -> str:
    return text.encode("utf-8", "replace").decode()


def test_the_folder_holds_four_files(folder: Path) -> None:
    names = {path.name for path in folder.iterdir()}
    assert names == {"sites.csv", "sites.json", "sites.schema.json", "sites.prom"}


def test_the_json_follows_its_schema(folder: Path, found: dict[str, Any]) -> None:
    schema = json.loads((folder / "sites.schema.json").read_text(encoding="utf-8"))
    kind = validator_for(schema)
    assert kind is jsonschema.Draft202012Validator
    kind.check_schema(schema)
    validator = kind(schema, format_checker=kind.FORMAT_CHECKER)
    assert list(validator.iter_errors(found)) == []


@pytest.mark.parametrize(
    ("where", "value"),
    [
        ("es_n0_db", "12"),
        ("warn_min_month", -1.0),
        ("direction", "up"),
        ("maintenance", [{"from": "2026-03-01 08:00", "to": "2026-03-01", "depth_db": 1}]),
        ("more", 1),
    ],
)
def test_the_schema_refuses_what_is_wrong(
    folder: Path, found: dict[str, Any], where: str, value: Any
) -> None:
    schema = json.loads((folder / "sites.schema.json").read_text(encoding="utf-8"))
    wrong = json.loads(json.dumps(found))
    wrong["sites"][0]["directions"][0][where] = value
    with pytest.raises(jsonschema.ValidationError, match=r"."):
        jsonschema.validate(wrong, schema)


def test_texts_come_back_whole(
    plan: Plan, found: dict[str, Any], rows: list[dict[str, str]], folder: Path
) -> None:
    (watched,) = monitored(plan)
    here = watched.rows.tolist()
    assert len(here) == len(plan) - 1
    for name in ("site_id", "name", "group"):
        own = [readable(str(plan.columns[name][i])) for i in here]
        assert [site[name] for site in found["sites"]] == own
        told = [as_given(row[name]) for row in rows if row["kind"] == "site"]
        assert told == [text for text in own for _ in range(2)]
        in_labels = [s.labels[name] for s in samples(folder, "siteplan_site_info")]
        assert in_labels == [text.replace("\r", " ") for text in own]
    assert found["network"] == "A </script> network"


def samples(folder: Path, name: str) -> list[Any]:
    text = (folder / "sites.prom").read_text(encoding="utf-8")
    families = list(text_string_to_metric_families(text))
    return [sample for family in families for sample in family.samples if sample.name == name]


def test_no_cell_runs_as_a_formula(rows: list[dict[str, str]]) -> None:
    for row in rows:
        for name in ("site_id", "name", "group", "hub", "near"):
            assert not row[name].startswith(("=", "+", "@", "-cmd"))


def test_the_table_says_what_the_json_says(
    found: dict[str, Any], rows: list[dict[str, str]]
) -> None:
    assert tuple(rows[0]) == HEADINGS
    hubs, sites = ([row for row in rows if row["kind"] == kind] for kind in ("hub", "site"))
    assert [row["hub"] for row in hubs] == [hub["hub"] for hub in found["hubs"]]
    ways = [(site, way) for site in found["sites"] for way in site["directions"]]
    assert len(ways) == len(sites)
    for row, (site, way) in zip(sites, ways, strict=True):
        assert row["direction"] == way["direction"]
        for name in DECIMALS:
            told = None if row[name] == "" else float(row[name])
            assert told == way[name]
        pairs = [f"{w['from']}/{w['to']}" for w in way["maintenance"]]
        assert row["maintenance"] == ";".join(pairs)
        assert row["notes"] == " ".join(found["notes"][code] for code in way["notes"])
        assert as_given(row["near"]) == ";".join(site["near"])


@pytest.mark.parametrize(
    ("metric", "name", "labels"),
    [
        ("siteplan_expected_es_n0_db", "es_n0_db", {}),
        ("siteplan_expected_c_n_db", "c_n_db", {}),
        ("siteplan_expected_modem_input_dbm", "modem_input_dbm", {}),
        ("siteplan_expected_modem_output_dbm", "modem_output_dbm", {}),
        ("siteplan_warn_below_db", "warn_below_db", {}),
        ("siteplan_fault_below_db", "fault_below_db", {}),
        ("siteplan_expected_minutes", "warn_min_month", {"level": "warn", "month": "average"}),
        (
            "siteplan_expected_minutes",
            "fault_min_worst_month",
            {"level": "fault", "month": "worst"},
        ),
    ],
)
def test_metrics_say_what_the_json_says(
    folder: Path, found: dict[str, Any], metric: str, name: str, labels: dict[str, str]
) -> None:
    told = {
        (s.labels["site_id"], s.labels["direction"]): s.value
        for s in samples(folder, metric)
        if labels.items() <= s.labels.items()
    }
    known = {
        (site["site_id"].replace("\r", " "), way["direction"]): way[name]
        for site in found["sites"]
        for way in site["directions"]
        if way[name] is not None
    }
    assert known
    assert told == pytest.approx(known, rel=ALIKE)


def test_transits_are_windows_of_who_receives(
    plan: Plan, found: dict[str, Any], folder: Path
) -> None:
    """Outbound the site's own transits, inbound the hub's; with the offset of the zone."""
    hub = found["hubs"][0]["maintenance"]
    assert [w["from"] for w in hub] == [f"{t['start']}+00:00" for t in plan.facts.hub_sun]
    sites, starts = plan.tables["sun_site"], plan.tables["sun_start"]
    seconds = {}
    (watched,) = monitored(plan)
    for i, site in zip(watched.rows.tolist(), found["sites"], strict=True):
        out, back = site["directions"]
        assert back["maintenance"] == hub
        moments = [dt.datetime.fromisoformat(w["from"]) for w in out["maintenance"]]
        own = [dt.datetime.fromisoformat(f"{t}+00:00") for t in starts[sites == i]]
        assert moments == own
        offset = {"Asia/Kathmandu": {345}, "America/New_York": {-240, -300}, "": {0}}
        zone = str(plan.columns["timezone"][i])
        ahead = {int(m.utcoffset().total_seconds() / 60) for m in moments}  # type: ignore[union-attr]
        assert ahead <= offset[zone]
        seconds[site["site_id"].replace("\r", " ")] = [m.timestamp() for m in own]
    name = "siteplan_maintenance_start_timestamp_seconds"
    told: dict[str, list[float]] = {site: [] for site in seconds}
    for s in samples(folder, name):
        if "site_id" in s.labels:
            told[s.labels["site_id"]].append(s.value)
    assert told == seconds


def test_groups_name_their_sites(found: dict[str, Any]) -> None:
    of = {group["group"]: group["site_ids"] for group in found["groups"]}
    told = {site_id: name for name, ids in of.items() for site_id in ids}
    assert told == {site["site_id"]: site["group"] for site in found["sites"]}
