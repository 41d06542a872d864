"""The written tables hold what was planned, and nothing that bites."""

from __future__ import annotations

import csv
import dataclasses
import itertools
import json
from pathlib import Path

import numpy as np
import pytest

from siteplan.errors import OutputError
from siteplan.fields import FIELDS, lookup
from siteplan.model import Reject, Sites
from siteplan.network import Network
from siteplan.outputs.tables import files as tables
from siteplan.outputs.tables.parquet import join_csv, write_part
from siteplan.planning.plan import make_plan
from siteplan.results import Plan
from tests.priced import with_prices

HOSTILE = [
    '=cmd()|"x"', "+1+1", "@SUM(A1)", "\t=1", 'a "quoted", name', "née Øre\nline", "سلام", "-12.5",
]  # fmt: skip


@pytest.fixture(scope="module")
def plan() -> Plan:
    n = len(HOSTILE)
    network = Network.model_validate(
        {"satellite": {"longitude_deg": -61}, "network": {"date": "2026-06-01"}}
    )
    sites = Sites.at(
        np.linspace(-5, 50, n),
        np.linspace(-70, 80, n),
        name=np.array(HOSTILE, dtype=object),
        extra={
            "beds": np.arange(n),
            "mixed": np.array([1, "x", None, 2.5, True, "", "b", 3], dtype=object),
            "margin_db": np.array(["mine"] * n, dtype=object),
        },
    )
    return make_plan(sites, with_prices(network))


def test_csv_round_trip(plan: Plan, tmp_path: Path) -> None:
    tables.write_csv(plan, tmp_path / "s.csv")
    with (tmp_path / "s.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [r["name"] for r in rows] == [
        "'" + name if name[0] in "=+@\t" else name for name in HOSTILE
    ]
    assert [r["input_margin_db"] for r in rows] == ["mine"] * len(rows)
    for name, values in tables.rounded(plan).items():
        field = lookup(name)
        if field is not None and not field.is_text:
            written = [float(r[name]) if r[name] else np.nan for r in rows]
            np.testing.assert_array_equal(written, values.astype(float), err_msg=name)


@pytest.mark.parametrize("joined", [False, True], ids=["whole", "from parts"])
def test_no_heading_is_a_formula(plan: Plan, tmp_path: Path, joined: bool) -> None:
    """Nor does one vanish that then reads like another."""
    headings = ["=cmd()", "'=cmd()", "\uff1dcmd()", "+1 floor", " @home", "plain", "-1"]
    beds = np.arange(len(plan))
    with_headings = dataclasses.replace(
        plan, extra={name: beds + k for k, name in enumerate(headings)}
    )
    if joined:
        write_part(with_headings, tmp_path / "p.parquet")
        join_csv([tmp_path / "p.parquet"], tmp_path / "s.csv")
    else:
        tables.write_csv(with_headings, tmp_path / "s.csv")
    with (tmp_path / "s.csv").open(encoding="utf-8", newline="") as file:
        first, second = itertools.islice(csv.reader(file), 2)
    assert first[: len(plan.columns)] == list(plan.columns)
    assert first[len(plan.columns) :] == [
        *("'=cmd()", "'=cmd()", "'\uff1dcmd()", "'+1 floor", "' @home", "plain", "-1"),
    ]
    assert second[len(plan.columns) :] == [str(k) for k in range(len(headings))]


def test_rounding_follows_the_dictionary(plan: Plan) -> None:
    """Against Python's own rounding of each number of the plan."""
    found, count = tables.rounded(plan), 0
    for name, values in plan.columns.items():
        field = lookup(name)
        if field is None or field.decimals is None or values.dtype.kind != "f":
            continue
        expected = [round(float(v), field.decimals) for v in values]
        np.testing.assert_allclose(found[name], expected, rtol=0, atol=1e-9, err_msg=name)
        assert not np.any(np.signbit(found[name][found[name] == 0]))
        count += 1
    assert count > 70


def test_a_result_outside_the_dictionary_is_refused(plan: Plan) -> None:
    stray = Plan({**plan.columns, "stray_db": np.zeros(len(plan))}, {}, plan.network, (), {})
    with pytest.raises(OutputError, match="'stray_db' is not in the dictionary of fields"):
        tables.rounded(stray)


def test_geopackage_and_geojson(plan: Plan, tmp_path: Path) -> None:
    import geopandas

    tables.write_gpkg(plan, tmp_path / "s.gpkg")
    tables.write_geojson(plan, tmp_path / "s.geojson")
    for path in (tmp_path / "s.gpkg", tmp_path / "s.geojson"):
        frame = geopandas.read_file(path)
        assert frame.crs.to_epsg() == 4326
        assert frame["name"].tolist() == HOSTILE
        np.testing.assert_allclose(frame.geometry.y, plan.columns["lat"], atol=5e-7)
        np.testing.assert_allclose(frame.geometry.x, plan.columns["lon"], atol=5e-7)
        np.testing.assert_allclose(
            frame["margin_db"].astype(float), np.round(plan.columns["margin_db"], 1), atol=1e-9
        )
    text = (tmp_path / "s.geojson").read_text(encoding="utf-8")
    assert "NaN" not in text
    assert json.loads(text)["features"][-1]["properties"]["elevation_deg"] is None


#: Of the dish's own beam, which is always there.
OF_THE_DISH = ("beamwidth_deg", "beam_edge_m", "beam_over_head_m")


#: Of applications and of costs over the years.
OF_COSTS = (
    *("applications", "outbound_offered_kbit_s", "inbound_offered_kbit_s", "hop_delay_ms"),
    *("capex", "monthly_cost", "life_cost", "line_month", "line_life_cost", "breakeven_months"),
    *("cheaper_by", "own_mhz"),
)


def always() -> list[str]:
    """Return the fields that every plan has; those of coding, beams, limits, months want a key."""
    of_keys = {"annual_target_pct", "target_source"} | {
        f.name for f in FIELDS.values() if f.group in ("interference", "licence", "coding")
    }
    of_beams = ("beam", "satellite_", "other_beam")
    return [
        name
        for name in FIELDS
        if name not in (*of_keys, *OF_COSTS, "service_availability_pct")
        and not (name.startswith(of_beams) and name not in OF_THE_DISH)
    ]


def test_frame_is_unrounded(plan: Plan) -> None:
    frame = tables.frame(plan)
    np.testing.assert_array_equal(frame["elevation_deg"], plan.columns["elevation_deg"])
    assert set(always()) <= set(frame.columns)


def test_rejects(tmp_path: Path) -> None:
    reject = Reject(7, "\uff0bA7", "lat", "=bad", "=No latitude.", "Write one.")
    tables.write_rejects([reject], tmp_path / "r.csv")
    with (tmp_path / "r.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows == [
        {"row": "7", "site_id": "'\uff0bA7", "key": "lat", "value": "'=bad",
         "reason": "'=No latitude.",
         "fix": "Write one."}
    ]  # fmt: skip
    tables.write_rejects([], tmp_path / "none.csv")
    assert (tmp_path / "none.csv").read_text(encoding="utf-8").startswith("row,site_id,key")


def test_every_planned_column_is_in_the_dictionary(plan: Plan) -> None:
    assert all(lookup(name) for name in plan.columns)
    assert always() == [name for name in plan.columns if name in FIELDS]
