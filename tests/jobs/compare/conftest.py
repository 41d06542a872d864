"""Plans of a small project of its own, each made once, to be compared."""

from __future__ import annotations

import copy
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from siteplan.jobs.plan import plan_project
from siteplan.network import Network
from siteplan.outputs.inputs.network import network_text

#: Sites of the project: in rain and out of it, near and far from what the catalogue can.
SITES = [
    {"site_id": "A", "name": "Harbour", "lat": -3.1, "lon": -60.02, "structure": "ground"},
    {"site_id": "B", "name": "Hill", "lat": -1.45, "lon": -48.49, "structure": "ground"},
    {"site_id": "C", "name": "Plain", "lat": -15.6, "lon": -56.1, "structure": "ground"},
    {"site_id": "D", "name": "Coast", "lat": -8.05, "lon": -34.9, "structure": "ground"},
    {"site_id": "E", "name": "South", "lat": -30.0, "lon": -51.2, "structure": "ground"},
    {"site_id": "F", "name": "River", "lat": -9.97, "lon": -67.8, "structure": "ground"},
]  # fmt: skip
NETWORK: dict[str, Any] = {
    "network": {"name": "Small", "date": "2026-09-01", "availability_pct": 99.7},
    "satellite": {"longitude_deg": -61},
    "hub": {"lat": -15.8, "lon": -47.9, "antenna_m": 6.3, "power_control_db": 6},
    "outbound": {"satellite_eirp_dbw": 50},
    "inbound": {"satellite_eirp_dbw": 50, "satellite_g_t_db_k": 2, "symbol_rate_msps": 0.512},
    "antennas": [{"diameter_m": d} for d in (0.98, 1.2, 1.8, 2.4)],
    "bucs": [{"rated_w": w} for w in (1, 2, 3, 6)],
}

#: Makes a plan with other keys and other cells, and returns its output.
Planned = Callable[..., Path]


def edited(keys: dict[str, Any]) -> dict[str, Any]:
    """Return the network's tables with other keys, such as ``{"hub": {"antenna_m": 9}}``."""
    tables = copy.deepcopy(NETWORK)
    for table, given in keys.items():
        tables[table] = {**tables.get(table, {}), **given} if isinstance(given, dict) else given
    return tables


def write_project(
    folder: Path, keys: dict[str, Any], cells: dict[str, dict[str, Any]], around: str
) -> None:
    """Write the project with other keys, and cells of its sites by their ids; None: no such row."""
    folder.mkdir()
    network = Network.model_validate(edited(keys))
    (folder / "network.toml").write_text(network_text(network), encoding="utf-8")
    known = {str(site["site_id"]): site for site in SITES}
    rows = [known.get(name, {"site_id": name}) | cells.get(name, {}) for name in
            dict.fromkeys((*known, *cells)) if cells.get(name, {}) is not None]  # fmt: skip
    heads = list(dict.fromkeys(key for row in rows for key in row))
    lines = [",".join(f'"{row.get(k, "")}"' for k in heads) for row in rows]
    (folder / "sites.csv").write_text("\n".join([",".join(heads), *lines]), encoding="utf-8")
    if around:
        (folder / "obstructions.csv").write_text(around, encoding="utf-8")


@pytest.fixture(scope="package")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Planned:
    """Plan the project with other keys and cells; the same plan is made once."""
    made: dict[str, Path] = {}

    def plan(
        keys: dict[str, Any] | None = None,
        cells: dict[str, Any] | None = None,
        *,
        around: str = "",
        **options: Any,
    ) -> Path:
        what = repr((keys, cells, around, options))
        if what not in made:
            root = tmp_path_factory.mktemp("plans")
            write_project(root / "small", keys or {}, cells or {}, around)
            plan_project(root / "small", root / "output", with_map=False, with_sheets=False,
                         with_report=False, **options)  # fmt: skip
            made[what] = root / "output"
        return made[what]

    return plan
