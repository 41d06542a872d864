"""How long ten years of a log of 10,000 sites take: ``python -m tests.benchmarks.bench_outages``.

Prints processor seconds of reading, of what the log comes to, and of writing it. The plan, which
any project needs, is made before.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from siteplan.inputs.outages import Places, read_outages
from siteplan.model import OUTAGE_CAUSES, Sites
from siteplan.network import Network
from siteplan.outputs.operations.availability import write_availability
from siteplan.planning.operations.outages import outage_report
from siteplan.planning.plan import make_plan
from siteplan.results import OutageStatistics, Plan

YEARS = 10
ZONES = ("America/Manaus", "America/New_York", "America/Bogota", "")


def plan_of(sites: int) -> Plan:
    rng = np.random.default_rng(1)
    zones = np.array(ZONES, dtype=object)[np.arange(sites) % len(ZONES)]
    at = rng.uniform(-30, 10, sites), rng.uniform(-75, -42, sites)
    network = {"network": {"date": "2026-06-01"}, "satellite": {"longitude_deg": -61.0},
               "hub": {"lat": -15.8, "lon": -47.9}}  # fmt: skip
    return make_plan(Sites.at(*at, timezone=zones), Network.model_validate(network))


def write_log(plan: Plan, rows: int, path: Path) -> None:
    """Write outages at random over the years, a tenth of them without an offset."""
    rng = np.random.default_rng(2)
    begin = np.datetime64("2016-01-01", "s") + rng.integers(0, YEARS * 365 * 86_400, rows)
    end = begin + rng.exponential(3600, rows).astype("timedelta64[s]")
    ids = plan.columns["site_id"][rng.integers(0, len(plan), rows)]
    causes = np.array(OUTAGE_CAUSES, dtype=object)[rng.integers(0, len(OUTAGE_CAUSES), rows)]
    tail = np.where(rng.random(rows) < 0.1, "", "-04:00").astype(object)
    texts = (np.datetime_as_string(moment).astype(object) + tail for moment in (begin, end))
    lines = zip(ids.tolist(), *(t.tolist() for t in texts), causes.tolist(), strict=True)
    with path.open("w", encoding="utf-8") as file:
        file.write("site_id,from,to,cause,counted\n")
        file.writelines(",".join(line) + ",\n" for line in lines)


@contextmanager
def timed(what: str) -> Iterator[None]:
    start = time.process_time()
    yield
    print(f"{what:10s} {time.process_time() - start:6.2f} s")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=10_000)
    parser.add_argument("--rows", type=int, default=1_000_000)
    asked = parser.parse_args()
    plan = plan_of(asked.sites)
    places = Places(plan.columns["site_id"], plan.columns["timezone"], ("hub",), "")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "outages.csv"
        write_log(plan, asked.rows, path)
        print(f"{asked.rows} rows, {asked.sites} sites, {YEARS} years")
        with timed("read"):
            log, rejects = read_outages(path, places)
        with timed("worked out"):
            report = outage_report(plan, log)
        with timed("written"):
            write_availability(OutageStatistics(plan, log, report, rejects), Path(folder))
        print(f"{len(report.rows.place)} rows of availability.csv, {len(rejects)} rejects")


if __name__ == "__main__":
    main()
