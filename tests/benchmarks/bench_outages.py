"""How long ten years of a log of 10,000 sites take: ``python -m tests.benchmarks.bench_outages``.

Prints processor seconds of reading, of what the log comes to, and of writing it; and the ratio of
all three to what Python takes to read the same log's rows and moments alone, in the same run. The
plan, which any project needs, is made before. ``--command`` runs the whole command as well. No time
is asserted.
"""

from __future__ import annotations

import argparse
import csv
import datetime as dt
import os
import subprocess
import sys
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
def timed(what: str) -> Iterator[list[float]]:
    """Print what a block took; yield where its processor seconds will stand."""
    start, taken = time.process_time(), list[float]()
    yield taken
    taken.append(time.process_time() - start)
    print(f"{what:10s} {taken[0]:6.2f} s")


def read_plainly(path: Path) -> int:
    """Return how many rows a log has, each read with the standard library, its moments too."""
    with path.open(encoding="utf-8", newline="") as file:
        rows = csv.reader(file)
        next(rows)
        return sum(
            dt.datetime.fromisoformat(begin).year + dt.datetime.fromisoformat(end).year > 0
            for _, begin, end, *_ in rows
        )


def against_plain_reading(plan: Plan, path: Path) -> float:
    """Print what each step takes; return the ratio of all of them to reading the rows plainly."""
    places = Places(plan.columns["site_id"], plan.columns["timezone"], ("hub",), "")
    with timed("plainly") as plain:
        rows = read_plainly(path)
    with timed("read") as read:
        log, rejects = read_outages(path, places)
    with timed("worked out") as worked:
        report = outage_report(plan, log)
    with timed("written") as written:
        write_availability(OutageStatistics(plan, log, report, rejects), path.parent)
    if len(log) + len(rejects) != rows:
        raise AssertionError(f"{rows} rows, of which {len(log) + len(rejects)} came back")
    print(f"{len(report.rows.place)} rows of availability.csv, {len(rejects)} rejects")
    return (read[0] + worked[0] + written[0]) / plain[0]


def whole_command(plan: Plan, log: Path) -> float:
    """Return the processor seconds of ``siteplan availability``, plan and start of Python too."""
    columns = ("site_id", "lat", "lon", "timezone")
    with (log.parent / "sites.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerow(columns)
        csv.writer(file).writerows(zip(*(plan.columns[name] for name in columns), strict=True))
    keys = "[network]\ndate = 2026-06-01\n[satellite]\nlongitude_deg = -61\n"
    (log.parent / "network.toml").write_text(keys + "[hub]\nlat = -15.8\nlon = -47.9\n")
    own = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    command = (sys.executable, "-m", "siteplan", "availability", str(log.parent), str(log),
               "--output", str(log.parent / "out"), "--quiet")  # fmt: skip
    before = os.times()
    subprocess.run(command, env=own, check=True)
    after = os.times()
    return sum(after[2:4]) - sum(before[2:4])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=10_000)
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--command", action="store_true", help="time the whole command too")
    asked = parser.parse_args()
    plan = plan_of(asked.sites)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "outages.csv"
        write_log(plan, asked.rows, path)
        print(f"{asked.rows} rows, {asked.sites} sites, {YEARS} years")
        ratio = against_plain_reading(plan, path)
        print(f"{ratio:.2f} times as long as Python takes to read the rows and their moments")
        if asked.command:
            print(f"the whole command {whole_command(plan, path):.2f} s of processor time")


if __name__ == "__main__":
    main()
