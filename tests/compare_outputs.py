"""Keep what siteplan writes today, and compare it with what it writes tomorrow.

A change that should move code and no figure is held against outputs kept before it::

    python tests/compare_outputs.py keep FOLDER       # before
    python tests/compare_outputs.py compare FOLDER    # after: lists every difference, exit code 1

Both samples are planned, one of them also with a terrain file (rasterio makes it), with coverage,
as built and in parts; so are the texts that the commands print. Files are compared byte for byte,
but for those that hold the time of writing (GeoPackage, Parquet: by content) and for the map (by
its data blocks, styles and shell; its scripts are left to the browser tests).
"""

from __future__ import annotations

import filecmp
import hashlib
import json
import os
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parent.parent
SAMPLES = ROOT / "sample_sites"
#: Name of a run, and its commands, in a folder that holds the samples and ``hills``.
RUNS = {
    "clinics": [
        "plan river_clinics",
        "check river_clinics",
        "site -3.10 -60.02 --satellite -61 --assumed",
    ],
    "fjord": [
        "plan fjord_substations --coverage 0.5",
        "asbuilt fjord_substations fjord_substations/returned.csv",
        "coverage fjord_substations --step 1 --land --output output/land",
        "sheets fjord_substations --group south --output output/some",
        "fields --markdown",
        "fields --network --markdown",
    ],
    "hills": ["plan hills --plain-map", "new starter", "plan starter --no-map"],
    "parts": [
        "plan river_clinics --workers 0 --tables parquet,csv,gpkg",
        "plan fjord_substations --workers 0 --tables parquet,csv,gpkg",
    ],
}
_SCRIPT = re.compile(r"<script>.*?</script>", re.DOTALL)


def write_terrain(path: Path) -> None:
    """Write invented hills under the sites of the northern sample."""
    import numpy as np
    import rasterio
    from rasterio.transform import from_origin

    lat, lon = np.meshgrid(np.arange(71.5, 57.5, -1 / 60), np.arange(4, 32, 1 / 30), indexing="ij")
    height = 300 + 280 * np.sin(lat * 40) * np.cos(lon * 23)
    with rasterio.open(
        path, "w", driver="GTiff", width=lon.shape[1], height=lat.shape[0], count=1,
        dtype="float32", crs="EPSG:4326", transform=from_origin(4, 71.5, 1 / 30, 1 / 60),
    ) as file:  # fmt: skip
        file.write(height.astype("float32"), 1)


def run_all(folder: Path) -> None:
    """Run every command in a folder of its own and keep what it prints beside its outputs."""
    for name, commands in RUNS.items():
        here = folder / name
        for sample in SAMPLES.iterdir():
            shutil.copytree(sample, here / sample.name, copy_function=shutil.copy2)
        if name == "hills":
            shutil.copytree(SAMPLES / "fjord_substations", here / "hills")
            write_terrain(here / "hills" / "terrain.tif")
        told = []
        for command in commands:
            done = subprocess.run(
                [sys.executable, "-m", "siteplan", *command.split()],
                cwd=here,
                env={**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "100"},
                capture_output=True,
                text=True,
                check=False,
            )
            told.append(f"$ {command}\n{done.stdout}{done.stderr}[{done.returncode}]\n")
        text = "\n".join(told).replace(str(folder), "FOLDER")
        (here / "output" / "printed.txt").write_text(text, encoding="utf-8")


def digest(path: Path) -> bytes:
    """Return what is compared of a file."""
    if path.suffix == ".gpkg":
        return _geopackage(path)
    if path.suffix == ".parquet":
        return _parquet(path)
    if path.suffix == ".html" and b"siteplan-data" in path.read_bytes():
        return _SCRIPT.sub("<script></script>", path.read_text(encoding="utf-8")).encode()
    return path.read_bytes()


def _geopackage(path: Path) -> bytes:
    with sqlite3.connect(path) as db:
        db.text_factory = bytes
        tables = [r[0].decode() for r in db.execute("select name from sqlite_master")]
        kept = [t for t in tables if not t.startswith(("gpkg_contents", "rtree_", "sqlite_"))]
        rows = []
        for table in sorted(kept):
            try:
                rows.append((table, db.execute(f'select * from "{table}"').fetchall()))
            except sqlite3.OperationalError:  # an index or a trigger
                continue
    return repr(rows).encode()


def _parquet(path: Path) -> bytes:
    import pyarrow.parquet as pq

    table = pq.read_table(path)
    told = hashlib.sha256(repr(table.schema.names).encode())
    for name in table.schema.names:
        told.update(repr(table[name].to_pylist()).encode())
    return told.hexdigest().encode()


def _written(folder: Path) -> set[Path]:
    """Return the outputs in a folder; what siteplan keeps for itself tells times and processes."""
    files = (p for p in folder.rglob("*") if p.is_file() and not p.name.startswith(".siteplan"))
    return {path.relative_to(folder) for path in files if "output" in path.parts}


def differences(before: Path, after: Path) -> Iterator[str]:
    """Yield a line for each file that is new, gone or other."""
    old, new = _written(before), _written(after)
    yield from (f"gone: {name}" for name in sorted(old - new))
    yield from (f"new: {name}" for name in sorted(new - old))
    for name in sorted(old & new):
        a, b = before / name, after / name
        if not filecmp.cmp(a, b, shallow=False) and digest(a) != digest(b):
            yield f"other: {name}"


def main(argv: list[str]) -> int:
    """Keep or compare; return 1 where anything differs."""
    if len(argv) != 2 or argv[0] not in ("keep", "compare"):
        print(__doc__)
        return 2
    kept = Path(argv[1]).absolute()
    if argv[0] == "keep":
        run_all(kept)
        return 0
    with tempfile.TemporaryDirectory() as fresh:
        run_all(Path(fresh))
        found = list(differences(kept, Path(fresh)))
        if found:
            shutil.copytree(fresh, kept.with_name(kept.name + ".now"), dirs_exist_ok=True)
    print("\n".join(found) or "no difference")
    print(json.dumps({"different": len(found)}))
    return int(bool(found))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
