"""availability/: tables and page of a log of outages, hostile names and all."""

from __future__ import annotations

import csv
import datetime as dt
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.model import OUTAGE_CAUSES, OutageLog, Reject, Sites
from siteplan.network import Network
from siteplan.outputs.console.availability import show_availability
from siteplan.outputs.escaping import as_given
from siteplan.outputs.operations.availability import (
    OUTPUT_NAMES,
    SHOWN,
    page,
    write_availability,
)
from siteplan.planning.operations.outages import outage_report
from siteplan.planning.plan import make_plan
from siteplan.results import OutageStatistics

BASE = int(dt.datetime(2024, 1, 1, tzinfo=dt.UTC).timestamp())
DAY = 86_400


@pytest.fixture(scope="module")
def result(hostile_names: tuple[str, ...]) -> OutageStatistics:
    n = len(hostile_names)
    names = np.array(hostile_names, dtype=object)
    lat, lon = np.linspace(36, 52, n), np.linspace(2, 30, n)
    lat[-1], lon[-1] = 40.0, -80.0  # below the horizon: no plan to compare with
    ids = np.array([f"{name}~{k}" for k, name in enumerate(hostile_names)], dtype=object)
    sites = Sites.at(lat, lon, site_id=ids, name=names, group=names)
    times = {"equipment_mtbf_h": 40_000, "equipment_mttr_h": 24}
    network = Network.model_validate(
        {
            "network": {"name": "A </script> network", "date": "2026-03-01", **times},
            "satellite": {"longitude_deg": 13.0},
            "hub": {"lat": 50.1, "lon": 8.7},
        }
    )
    plan = make_plan(sites, network)
    rng = np.random.default_rng(2)
    m = 300
    site = rng.integers(-1, n, m)
    begin = BASE + rng.integers(0, 700 * DAY, m)
    cause = rng.integers(0, len(OUTAGE_CAUSES), m)
    log = OutageLog(
        *(site, begin, begin + rng.integers(60, 30_000, m), cause, rng.random(m) < 0.9),
        np.arange(m) + 2, BASE, BASE + 731 * DAY, ("Told <b>once</b>.",),
    )  # fmt: skip
    before = replace(log.take(np.array([4])), begin=np.array([BASE - DAY]),
                     end=np.array([BASE - DAY + 90]), source_row=np.array([1000]))  # fmt: skip
    log = replace(log, outside=before)
    rejects = (Reject(7, "<i>x</i>", "from", "=1", "log: that is no moment", "Mend it."),)
    return OutageStatistics(plan, log, outage_report(plan, log), rejects)


@pytest.fixture(scope="module")
def folder(result: OutageStatistics, tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("availability")
    write_availability(result, place)
    return place


def read(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_every_file_is_named(folder: Path) -> None:
    assert {path.name for path in folder.iterdir()} == set(OUTPUT_NAMES)


def test_the_table_has_every_row(result: OutageStatistics, folder: Path) -> None:
    rows, told = result.report.rows, read(folder / "availability.csv")
    assert len(told) == len(rows.place)
    ids = [str(site) for site in result.plan.columns["site_id"]]
    for k, row in enumerate(told):
        place = int(rows.place[k])
        assert as_given(row["site_id"]) == (ids[place] if place >= 0 else "hub")
        month = int(rows.month[k])
        assert row["month"] == ("all" if month < 0 else result.report.months[month])
        cause = int(rows.cause[k])
        assert row["cause"] == ("all" if cause < 0 else OUTAGE_CAUSES[cause])
        for name in ("logged_min", "outage_min", "longest_min", "mean_between_h"):
            value = float(getattr(rows, name)[k])
            assert (row[name] == "") == np.isnan(value)
            if row[name]:
                assert float(row[name]) == pytest.approx(value, abs=0.0051)
        assert int(row["outages"]) == rows.outages[k]


def test_months_sum_to_the_whole(folder: Path) -> None:
    sums: dict[tuple[str, str], float] = {}
    whole: dict[tuple[str, str], float] = {}
    for row in read(folder / "availability.csv"):
        key = row["site_id"], row["cause"]
        if row["month"] == "all":
            whole[key] = float(row["outage_min"])
        else:
            sums[key] = sums.get(key, 0) + float(row["outage_min"])
    for key, minutes in whole.items():
        assert sums.get(key, 0) == pytest.approx(minutes, abs=0.2)  # 24 months to a hundredth


def test_rain_is_told_with_its_verdict(result: OutageStatistics, folder: Path) -> None:
    told = read(folder / "weather.csv")
    assert [row["verdict"] for row in told] == result.report.weather.verdict.tolist()
    assert {row["years"] for row in told} == {"2"}
    assert told[-1]["site_id"] == "hub"
    assert told[-1]["rain"] == "at the hub"
    for row, z in zip(told, result.report.weather.z.tolist(), strict=True):
        assert (row["z"] == "") == np.isnan(z)
        assert row["says"].endswith((".", ")"))


def test_each_outage_that_is_left_out_is_listed(result: OutageStatistics, folder: Path) -> None:
    told, log = read(folder / "left_out.csv"), result.log
    apart = np.flatnonzero(~log.counted)
    assert [int(row["row"]) for row in told] == [*log.source_row[apart].tolist(), 1000]
    for row, k in zip(told, apart.tolist(), strict=False):
        assert row["cause"] == OUTAGE_CAUSES[log.cause[k]]
        assert dt.datetime.fromisoformat(row["from"]).timestamp() == log.begin[k]
        assert dt.datetime.fromisoformat(row["to"]).timestamp() == log.end[k]
        assert float(row["outage_min"]) == pytest.approx((log.end[k] - log.begin[k]) / 60, abs=0.01)
        assert row["why"] == "the log says that it does not count"
    assert told[-1]["why"] == "it lies outside the span of the log"
    assert (told[-1]["from"], told[-1]["outage_min"]) == ("2023-12-31T00:00:00+00:00", "1.5")


def test_the_page_lists_the_longest_that_are_left_out(result: OutageStatistics) -> None:
    text = page(result)
    part = text[text.index("Left out of availability") : text.index("Rows that could not be used")]
    left = len(result.report.left_out)
    assert part.count("<tr>") == min(left, SHOWN) + 1
    many = result.log.take(np.repeat(np.flatnonzero(~result.log.counted), 9))
    more = replace(result, report=outage_report(result.plan, many))
    assert f"left_out.csv has all {len(many)}" in page(more)
    none = replace(result.log.take(np.flatnonzero(result.log.counted)), remarks=())
    assert "Left out of availability" not in page(
        replace(result, log=none, report=outage_report(result.plan, none))
    )


def test_texts_do_no_harm(result: OutageStatistics, folder: Path) -> None:
    for name in ("availability.csv", "weather.csv", "left_out.csv", "availability_rejects.csv"):
        with (folder / name).open(encoding="utf-8", newline="") as file:
            for row in csv.reader(file):
                for cell in row:
                    assert not cell.startswith(("=", "+", "@"))
    text = page(result)
    assert "<script" not in text
    assert "<img" not in text
    assert "<b>once</b>" not in text
    assert "&lt;b&gt;once" in text
    assert "<i>x</i>" not in text


def test_the_page_says_what_the_log_comes_to(result: OutageStatistics) -> None:
    text = re.sub(r"\s+", " ", page(result))
    assert "300 outages logged from 2024-01-01 00:00 to 2026-01-01 00:00 UTC" in text
    assert "Compared over 2 years, 2024-01 to 2025-12." in text
    assert "Plan: service" in text
    assert text.count("<tr") > 2 * len(result.plan)
    assert "Rows that could not be used" in text


def test_without_the_keys_of_equipment_no_service_is_told(result: OutageStatistics) -> None:
    plan = result.plan
    columns = {k: v for k, v in plan.columns.items() if k != "service_availability_pct"}
    other = OutageStatistics(type(plan)(columns, plan.extra, plan.network, (), plan.facts),
                             result.log, result.report, ())  # fmt: skip
    text = page(other)
    assert "Plan: service" not in text
    assert "Rows that could not be used" not in text


def test_the_screen_shows_the_worst(
    result: OutageStatistics, capsys: pytest.CaptureFixture[str]
) -> None:
    show_availability(result, "here")
    out = capsys.readouterr().out
    assert f"300 outages; {len(result.plan)} of {len(result.plan)} sites had one" in out
    assert "Told <b>once</b>." in out
    assert "Sites of least availability" in out
    assert "Written to here" in out


def test_counts_of_verdicts_are_of_sites(result: OutageStatistics) -> None:
    counts: dict[str, Any] = result.verdict_counts
    assert sum(counts.values()) == len(result.plan)
    assert counts["no_plan"] == 1
