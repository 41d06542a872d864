"""A real cluster of two local workers: the same rows, also when a worker is killed."""

from __future__ import annotations

import logging
import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import Any

import geopandas
import numpy as np
import pandas as pd
import pytest

from siteplan.errors import ClusterError, SiteplanError
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


@pytest.mark.parametrize("address", ["tls://127.0.0.1:9", "http://127.0.0.1:9", "tcp://:::"])
def test_an_address_that_cannot_be(address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster, "ANSWERS_WITHIN", "0.2s")
    with pytest.raises(ClusterError, match="no scheduler answers"), cluster.connected(address):
        pass


def work_of(client: Any) -> list[Any]:
    """What takes a client's answers: parts of a plan, pieces of a grid."""
    network = Network.model_validate({"satellite": {"longitude_deg": 10}})

    def parts() -> None:
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(cluster, "store_task", lambda task: task)
            patch.setattr(cluster, "plan_stored", lambda task: None)
            cluster.runner(client)(iter([1, 2, 3]))

    return [parts, lambda: list(cluster.grid_spread(client)(network, [None]))]


@pytest.mark.parametrize("at", [0, 1])
@pytest.mark.parametrize(
    ("lost", "told"),
    [
        (
            "cancelled",
            "^the scheduler is gone. Start it anew. Run the same command again: finished",
        ),
        ("closed", "^the scheduler is gone. Start it anew. Run the same command again: finished"),
        (
            "killed",
            "^workers died 4 times over the same part, perhaps for want of memory. Give them",
        ),
    ],
)
def test_a_scheduler_that_is_lost(at: int, lost: str, told: str) -> None:
    import distributed
    from distributed.client import FutureCancelledError
    from distributed.comm.core import CommClosedError

    error = {
        "cancelled": FutureCancelledError("piece", "scheduler-connection-lost"),
        "closed": CommClosedError("gone"),
        "killed": distributed.KilledWorker("piece", None, 4),
    }[lost]

    class Client:
        def nthreads(self) -> dict[str, int]:
            return {}

        def submit(self, *_: object, **__: object) -> None:
            raise error

        map = submit

    with pytest.raises(ClusterError, match=told):
        work_of(Client())[at]()


def test_a_scheduler_that_is_killed(tmp_path: Path) -> None:
    """Of a cluster that is up: its end reaches who waits for an answer."""
    script = (
        "import sys, time, distributed\n"
        "if __name__ == '__main__':\n"
        "    cluster = distributed.LocalCluster(n_workers=1, threads_per_worker=1,"
        " dashboard_address=':0', scheduler_kwargs={'dashboard': False})\n"
        "    print(cluster.scheduler_address, flush=True)\n"
        "    time.sleep(600)\n"
    )
    path = tmp_path / "scheduler.py"
    path.write_text(script)
    process = subprocess.Popen([sys.executable, str(path)], stdout=subprocess.PIPE, text=True)
    try:
        assert process.stdout is not None
        address = process.stdout.readline().strip()
        import dask

        soon = {"distributed.comm.timeouts.connect": "1s"}
        with dask.config.set(soon), cluster.connected(address) as client:
            future = client.submit(time.sleep, 300)
            process.kill()
            with (
                pytest.raises(ClusterError, match="the scheduler is gone"),
                cluster._lost_is_told(),
            ):
                future.result()
    finally:
        process.kill()
        process.wait()
        process.stdout.close()


def test_without_dask_the_message_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "distributed", None)
    with pytest.raises(SiteplanError, match=r'pip install "siteplan\[cluster\]"'):
        cluster._distributed()


def test_a_worker_says_nothing_of_a_scheduler_that_is_ended(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """Client and scheduler end first: a heartbeat between them is no fault to be told."""
    monkeypatch.setattr(cluster, "leave_to_parent", lambda: None)
    log = logging.getLogger("distributed.worker")
    monkeypatch.setattr(log, "filters", [])
    monkeypatch.setattr(log, "propagate", True)
    cluster.dask_setup(None)
    log.error("Failed to communicate with scheduler during heartbeat.")
    log.error("Out of memory.")
    assert [record.getMessage() for record in caplog.records] == ["Out of memory."]
