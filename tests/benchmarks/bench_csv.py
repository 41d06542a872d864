"""What a row costs to read as CSV, clean and with 10 % bad rows, against GeoParquet, in one run.

Run on demand, with nothing else at work on the machine; no time is asserted:

    python tests/benchmarks/bench_csv.py 1000000
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from siteplan.inputs.sites.read import iter_site_lists

CHUNK_ROWS = 100_000


def sites(rows: int) -> pd.DataFrame:
    """Return invented sites."""
    rng = np.random.default_rng(1)
    return pd.DataFrame(
        {
            "site_id": [f"A{i:07d}" for i in range(rows)],
            "name": [f"Place {i % 50_000} of {i % 97}" for i in range(rows)],
            "lat": np.round(rng.uniform(-50, 60, rows), 5),
            "lon": np.round(rng.uniform(-55, 55, rows), 5),
            "altitude_m": np.round(rng.uniform(0, 2000, rows), 0),
            "structure": rng.choice(["ground", "flat_roof", "wall", ""], rows),
            "region": rng.choice(["North", "South", "East"], rows),
        }
    )


def spoilt(table: pd.DataFrame) -> tuple[pd.DataFrame, int]:
    """Return the sites with a fault or an odd spelling in each tenth row, and rows refused."""
    rng = np.random.default_rng(2)
    bad = table.astype(str)
    at = rng.choice(len(bad), len(bad) // 10, replace=False)
    kind = rng.integers(0, 5, len(at))
    faults = [("lat", "95.123"), ("lon", ""), ("altitude_m", "n/a"), ("lon", "abc")]
    faults.append(("lat", "12° 30' 15\" N"))
    for k, (column, text) in enumerate(faults):
        bad.loc[at[kind == k], column] = text
    return bad, int(np.isin(kind, (0, 1, 3)).sum())


def cost(path: Path, rows: int) -> tuple[float, int]:
    """Return the process time a row [us] of reading a file, and how many rows are refused."""
    begun, kept, refused = time.process_time(), 0, 0
    for part in iter_site_lists(path, CHUNK_ROWS):
        kept += len(part.sites)
        refused += len(part.rejects)
    assert kept + refused == rows
    return (time.process_time() - begun) / rows * 1e6, refused


def main(rows: int) -> None:
    """Print the costs and their ratios."""
    table = sites(rows)
    bad, expected = spoilt(table)
    with tempfile.TemporaryDirectory() as folder:
        parquet, clean, worse = (Path(folder) / f for f in ("a.parquet", "a.csv", "bad.csv"))
        points = shapely.points(table["lon"], table["lat"])
        whole = gpd.GeoDataFrame(table.drop(columns=["lat", "lon"]), geometry=points, crs=4326)
        whole.to_parquet(parquet)
        table.to_csv(clean, index=False)
        bad.to_csv(worse, index=False)
        del table, bad, points, whole
        base = cost(parquet, rows)[0]
        print(f"GeoParquet {base:.1f} us a row")
        for path, refused in ((clean, 0), (worse, expected)):
            each, found = cost(path, rows)
            assert found == refused, (found, refused)
            print(f"{path.name} {each:.1f} us a row, {each / base:.2f} times; {found} refused")
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(f"at most {most} MiB, the making of the tables with it")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200_000)
