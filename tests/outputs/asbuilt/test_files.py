"""What came back: table, acceptance list and map agree, worst first, hostile texts as texts."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Callable
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest

from siteplan.fields import ASBUILT_FIELDS, FIELDS
from siteplan.jobs.asbuilt import asbuilt_outputs
from siteplan.model import Reject
from siteplan.outputs.asbuilt.files import (
    MARKS,
    OUTPUT_NAMES,
    UNUSABLE,
    as_plan,
    page,
    write_asbuilt,
)
from siteplan.outputs.map.classing import CODES
from siteplan.outputs.map.layers import layers_of
from siteplan.results import AsBuilt, Plan
from tests.outputs.pack import with_pack
from tests.samples import FROZEN, LIVE

VERDICTS = ("accepted", "not accepted", "incomplete", "accepted", "not accepted")


class Words(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.text = ""
        self.tags: set[str] = set()
        self.feed(text)

    def handle_data(self, data: str) -> None:
        self.text += f" {data}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)


@pytest.fixture
def returned(make_plan: Callable[..., Plan]) -> AsBuilt:
    lat, lon = np.array([45.0, 50.0, 5.0, -30.0, 1.0]), np.array([20.0, 20.0, 13.5, 40.0, 13.0])
    plan = with_pack(make_plan(lat, lon))
    columns: dict[str, Any] = {}
    for name, field in ASBUILT_FIELDS.items():
        given = plan.columns.get(name)
        empty = np.full(5, "", dtype=object) if field.is_text else np.full(5, np.nan)
        columns[name] = empty if given is None else given
    columns |= {
        "verdict": np.array(VERDICTS, dtype=object),
        "causes": np.array(["", "mispointed", "", "", "wet_cable;mispointed"], dtype=object),
        "findings": np.array(["As planned.", "It looks mispointed.", "", "", "<b>x</b>"], object),
        "remarks": np.array(["", "=cmd('x')", "<script>1</script>", "", ""], dtype=object),
        "azimuth_error_deg": np.array([0.01, 3.1, np.nan, -0.2, -2.5]),
        "measured_lat": lat + np.array([0.0, 0.05, np.nan, 0.0, 0.0]),
        "measured_lon": lon.copy(),
        "moved_m": np.array([0.0, 5560.0, np.nan, 20.0, 0.0]),
    }
    reject = Reject(9, "Z", "site_id", "<i>Z</i>", "is not in the project.", "Check it.")
    return AsBuilt(columns, plan, plan, (reject,), 2, ("S7", "S8"))


def test_all_files_are_written_and_the_table_has_every_field(
    returned: AsBuilt, tmp_path: Path
) -> None:
    write_asbuilt(returned, tmp_path)
    assert {p.name for p in tmp_path.iterdir()} == set(OUTPUT_NAMES)
    with (tmp_path / "asbuilt.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert set(rows[0]) == set(ASBUILT_FIELDS)
    assert [row["verdict"] for row in rows] == list(VERDICTS)
    assert rows[1]["azimuth_error_deg"] == "3.1"
    assert rows[1]["remarks"] == "'=cmd('x')"
    with (tmp_path / "asbuilt_rejects.csv").open(encoding="utf-8", newline="") as file:
        assert [row["site_id"] for row in csv.DictReader(file)] == ["Z"]


def test_the_list_has_the_worst_first_and_texts_as_texts(returned: AsBuilt) -> None:
    shown = Words(page(returned))
    order = [shown.text.index(site) for site in ("S00001", "S00004", "S00002", "S00000")]
    assert order == sorted(order)
    for words in ("2 accepted", "2 not accepted", "1 incomplete", "2 have not come back", "S7, S8",
                  "mispointed (2)", "wet cable (1)", "azimuth +3.10°", "azimuth -2.50°",
                  "<script>1</script>", "<i>Z</i>", "<b>x</b>"):  # fmt: skip
        assert words in shown.text, words
    assert not shown.tags & {"script", "img"}
    assert all(MARKS[verdict] in shown.text for verdict in returned.columns["verdict"])
    assert "operator's access test decides" in shown.text


def test_the_map_has_planned_against_measured(returned: AsBuilt, tmp_path: Path) -> None:
    write_asbuilt(returned, tmp_path)
    layers = {layer.field for layer in layers_of(as_plan(returned).columns)}
    assert {"verdict", "pointing_error_deg", "c_n_difference_db", "moved_m"} <= layers
    text = (tmp_path / "map.html").read_text("utf-8")
    assert "Planned to measured" in text
    assert "S00001 measured" in text
    assert "S00003 measured" not in text
    assert "<script>1</script>" not in text


def embedded(path: Path) -> dict[str, Any]:
    """The dataset inside a map."""
    text = path.read_text("utf-8")
    start = text.index(">", text.index('id="siteplan-data"')) + 1
    found: dict[str, Any] = json.loads(text[start : text.index("</script>", start)])
    return found


def test_the_map_opens_on_its_verdict_and_has_the_sites_that_are_awaited(
    returned: AsBuilt, make_plan: Callable[..., Plan], tmp_path: Path
) -> None:
    awaited = with_pack(make_plan(np.array([46.0, 47.0]), np.array([21.0, 22.0])))
    ids = np.array(["S7", "S8"], dtype=object)
    plan_only = {name: v for name, v in awaited.columns.items() if name in FIELDS}
    columns = MappingProxyType({**plan_only, "site_id": ids})
    with_them = replace(returned, awaited=replace(awaited, columns=columns))
    write_asbuilt(with_them, tmp_path)
    found = embedded(tmp_path / "map.html")
    assert found["opens_on"] == "verdict"
    assert found["count"] == len(returned) + 2
    verdict = next(layer for layer in found["layers"] if layer["field"] == "verdict")
    blank = len(verdict["classes"]) - 1
    assert verdict["classes"][blank]["label"] == "Not come back"
    assert [CODES.index(code) for code in verdict["codes"]][-2:] == [blank, blank]
    assert blank not in [CODES.index(code) for code in verdict["codes"]][:-2]
    for name in ("budget", "horizon"):
        assert name not in found or len(found[name]) % found["count"] == 0, name
    with (tmp_path / "asbuilt.csv").open(encoding="utf-8", newline="") as file:
        assert len(list(csv.DictReader(file))) == len(returned)


def test_the_map_of_a_sample_holds_every_site_with_kit(tmp_path: Path) -> None:
    name = "fjord_substations"
    returned = LIVE / name / "returned.csv"
    result, folder = asbuilt_outputs(FROZEN / name, returned, tmp_path / "out")
    found = embedded(folder / "map.html")
    assert found["count"] == len(result) + len(result.missing)
    assert result.awaited is not None
    assert tuple(result.awaited.columns["site_id"]) == result.missing
    assert np.isfinite(result.awaited.columns["antenna_m"]).all()
    assert len(found["horizon"]) == found["count"] * 72


def test_what_came_back_and_could_not_be_used_is_told_apart(
    returned: AsBuilt, make_plan: Callable[..., Plan], tmp_path: Path
) -> None:
    awaited = with_pack(make_plan(np.array([46.0, 47.0]), np.array([21.0, 22.0])))
    plan_only = {name: v for name, v in awaited.columns.items() if name in FIELDS}
    columns = {**plan_only, "site_id": np.array(["S7", "S8"], dtype=object)}
    bad = Reject(4, "S8", "elevation_deg", "fifty", "'fifty' is no number.", "Give -45 to 90 deg.")
    result = replace(
        returned,
        rejects=(*returned.rejects, bad),
        missing=("S7",),
        unusable=("S8",),
        awaited=replace(awaited, columns=MappingProxyType(columns)),
    )
    shown = Words(page(result)).text
    assert "1 came back and could not be used; 1 have not come back" in shown
    assert re.search(r"Came back, could not be used\s+S8\s+Not come back\s+S7", shown)
    write_asbuilt(result, tmp_path)
    found = embedded(tmp_path / "map.html")
    verdict = next(layer for layer in found["layers"] if layer["field"] == "verdict")
    told = [verdict["classes"][CODES.index(code)]["label"] for code in verdict["codes"][-2:]]
    assert told == ["Not come back", UNUSABLE]
    assert "Give -45 to 90 deg." in json.dumps(found["columns"]["findings"])


def test_work_at_sites_that_the_plan_does_not_serve_is_told_before_the_signatures(
    returned: AsBuilt,
) -> None:
    verdicts = np.array(["accepted but not served", *VERDICTS[1:]], dtype=object)
    shown = Words(page(replace(returned, columns={**returned.columns, "verdict": verdicts}))).text
    assert "1 accepted but not served" in shown
    assert "accepts the work at these sites, not the service" in shown
    assert "not the service" not in Words(page(returned)).text
