"""A real cluster of two local workers: the same rows, also when a worker is killed."""

from __future__ import annotations

import os
import signal
import threading
import time
from pathlib import Path
from typing import Any

import geopandas
import numpy as np
import pandas as pd
import pytest

from siteplan.errors import SiteplanError
from siteplan.inputs.project import Project, find_project
from siteplan.jobs import products
from siteplan.jobs.asked import Asked, Job
from siteplan.jobs.parts import cluster
from siteplan.jobs.parts import spread as bulk
from siteplan.jobs.parts.part import run_here
from siteplan.jobs.plan import Outcome, carry_out
from siteplan.network import Network

ROWS = 6_000


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Project:
    folder = tmp_path_factory.mktemp("large") / "trial"
    folder.mkdir()
    rng = np.random.default_rng(8)
    pd.DataFrame(
        {
            "site_id": [f"C{k:05d}" for k in range(ROWS)],
            "lat": rng.uniform(-40, 60, ROWS),
            "lon": rng.uniform(-60, 80, ROWS),
        }
    ).to_parquet(folder / "sites.parquet")
    (folder / "network.toml").write_text("[satellite]\nlongitude_deg = 10\n")
    return find_project(folder)


@pytest.fixture(scope="module")
def network() -> Network:
    return Network.model_validate(
        {"satellite": {"longitude_deg": 10}, "network": {"date": "2026-06-01"}}
    )


@pytest.fixture(autouse=True)
def quiet_ports() -> Any:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(bulk, "PART_SITES", 500)
        patch.setattr(products, "READ_BACK_UP_TO", 0)
        yield


def planned(project: Project, network: Network, out: Path, hands: bulk.Hands) -> Outcome:
    return carry_out(Job(project, network, Asked(map=False), out), hands)


@pytest.mark.filterwarnings("default::ResourceWarning", "default::DeprecationWarning")
def test_a_killed_worker_changes_nothing(
    project: Project, network: Network, tmp_path: Path
) -> None:
    alone = planned(project, network, tmp_path / "alone", bulk.Hands(run_here, as_folder=True))
    killed: list[int] = []
    with cluster.local_workers(2) as client:
        pids = client.run(os.getpid)

        def kill_one_at_work() -> None:
            while not list(tmp_path.glob(".spread.parts-*/part-*.json")):
                time.sleep(0.02)
            victim = next(iter(pids.values()))
            os.kill(victim, signal.SIGKILL)
            killed.append(victim)

        hand = threading.Thread(target=kill_one_at_work, daemon=True)
        hand.start()
        hands = bulk.Hands(cluster.runner(client), as_folder=True)
        spread = planned(project, network, tmp_path / "spread", hands)
        hand.join()
        assert killed[0] not in client.run(os.getpid).values()
    assert spread.summary["counts"] == alone.summary["counts"]
    a, b = (geopandas.read_parquet(tmp_path / n / "sites.parquet") for n in ("alone", "spread"))
    assert len(a) == ROWS
    assert a.equals(b)
    assert len(list((tmp_path / "spread" / "sites.parquet").iterdir())) == ROWS // 500


def test_a_coverage_grid_goes_the_same_way(network: Network) -> None:
    from siteplan.planning.coverage.cover import cover
    from siteplan.planning.coverage.grid import make_grid

    grid = make_grid((30.0, -10.0, 60.0, 60.0), 0.25)
    alone = cover(grid, network)
    told: list[int] = []
    with cluster.spread_over(2, None) as spread:
        assert spread is not None
        far = cover(grid, network, spread=spread, progress=told.append)
    assert len(told) > 1
    for name, values in alone.columns.items():
        np.testing.assert_array_equal(values, far.columns[name])


def test_no_scheduler_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    assert cluster.ANSWERS_WITHIN == "15s"
    monkeypatch.setattr(cluster, "ANSWERS_WITHIN", "0.2s")
    with (
        pytest.raises(SiteplanError, match="no scheduler answers"),
        cluster.connected("tcp://127.0.0.1:9"),
    ):
        pass


def test_without_dask_the_message_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "distributed", None)
    with pytest.raises(SiteplanError, match=r'pip install "siteplan\[cluster\]"'):
        cluster._distributed()
