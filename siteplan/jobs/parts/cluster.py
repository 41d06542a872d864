"""Parts planned on this machine's processors or on a cluster, through dask.distributed.

``pip install "siteplan[cluster]"`` brings it. The results go to a folder that client and workers
share. A part that a dying worker held is given to another; parts that are finished stay, also
when the client dies.
"""

from __future__ import annotations

import importlib
import logging
from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from functools import partial
from typing import TYPE_CHECKING, Any

from siteplan.errors import ClusterError
from siteplan.jobs.parts.part import Runner, Task, leave_to_parent, plan_stored, store_task
from siteplan.network import Network

if TYPE_CHECKING:
    from siteplan.planning.coverage.cover import Columns, Piece, Spread

#: How long a scheduler may take to answer.
ANSWERS_WITHIN = "15s"
#: Where workers on this machine listen.
LOOPBACK = "127.0.0.1"
#: Parts in flight for each worker thread: one at work, one waiting.
IN_FLIGHT = 2
#: How often a part may be taken up again after a worker died with it.
RETRIES = 3
#: The C library gives memory back in large pieces: dask's own small threshold makes numpy slow.
MEMORY_SETTINGS = {
    "MALLOC_TRIM_THRESHOLD_": str(256 * 1024 * 1024),
    "MALLOC_MMAP_THRESHOLD_": str(64 * 1024 * 1024),
    "OPENBLAS_NUM_THREADS": "1",
    "OMP_NUM_THREADS": "1",
}


def _distributed() -> Any:
    """Return the module ``distributed``.

    Raises
    ------
    ClusterError
        If it is not installed.
    """
    try:
        import distributed
    except ImportError:
        raise ClusterError(
            "dask.distributed is not installed.", fix='Run: pip install "siteplan[cluster]"'
        ) from None
    # What they log, with tracebacks, of a scheduler that is gone is told in our words.
    for name in ("distributed.client", "distributed.utils"):
        logging.getLogger(name).setLevel(logging.CRITICAL)
    return distributed


@contextmanager
def _lost_is_told() -> Iterator[None]:
    """Turn what a lost scheduler, or a worker that dies again and again, raises into words.

    Raises
    ------
    ClusterError
        With what to do.
    """
    distributed = _distributed()
    from concurrent.futures import CancelledError

    from distributed.comm.core import CommClosedError

    again = "Run the same command again: finished parts are kept."
    try:
        yield
    except distributed.KilledWorker:
        what = f"workers died {RETRIES + 1} times over the same part, perhaps for want of memory."
        raise ClusterError(what, fix=f"Give them more memory. {again}") from None
    except (CancelledError, CommClosedError):
        raise ClusterError("the scheduler is gone.", fix=f"Start it anew. {again}") from None


@contextmanager
def local_workers(count: int) -> Iterator[Any]:
    """Yield a client of ``count`` worker processes on this machine."""
    distributed = _distributed()
    import dask

    settings = {
        "distributed.nanny.pre-spawn-environ": MEMORY_SETTINGS,
        "distributed.scheduler.allowed-failures": RETRIES,
        "distributed.worker.daemon": False,
        "distributed.worker.preload": [__name__],
    }
    with (
        dask.config.set(settings),
        distributed.LocalCluster(
            n_workers=count,
            threads_per_worker=1,
            processes=True,
            # This machine alone can reach them: whoever does can run code on the workers.
            host=LOOPBACK,
            # Any free port and no page on it: a second run would warn of the first one's. Without
            # the address it would listen to every network.
            dashboard_address=f"{LOOPBACK}:0",
            scheduler_kwargs={"dashboard": False},
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        # The workers import while the client reads the table.
        warming = client.map(_warm_up, range(count), pure=False)
        yield client
        del warming


def dask_setup(worker: Any) -> None:
    """Leave Ctrl-C to the client, which ends the workers: dask calls this in each as it starts.

    A worker that looks for its scheduler while the client ends both would log a traceback.
    """
    leave_to_parent()
    logging.getLogger("distributed.worker").addFilter(_not_of_a_heartbeat)


def _not_of_a_heartbeat(record: logging.LogRecord) -> bool:
    """Whether a record is of anything but a heartbeat that found no scheduler."""
    return "during heartbeat" not in record.getMessage()


def _warm_up(_: int) -> None:
    """Import what planning a part needs."""
    for name in (
        "pyarrow.parquet",
        "shapely",
        "siteplan.outputs.tables.parquet",
        "siteplan.planning.plan",
    ):
        importlib.import_module(name)


@contextmanager
def connected(address: str) -> Iterator[Any]:
    """Yield a client of the scheduler at an address such as ``tcp://10.0.0.5:8786``.

    Raises
    ------
    ClusterError
        If nothing answers there, or it has no worker.
    """
    distributed = _distributed()
    try:
        client = distributed.Client(address, timeout=ANSWERS_WITHIN)
    except Exception as error:  # what an address asks for may be missing: certificates, a library
        raise ClusterError(
            f"no scheduler answers: {error}.", where=address, fix="Check address and network."
        ) from None
    with client:
        if not client.nthreads():
            raise ClusterError("the scheduler has no worker.", where=address, fix="Start one.")
        yield client


def runner(client: Any) -> Runner:
    """Return what plans tasks on a client's workers, in any order.

    A task goes by way of a file that client and workers share: a worker's death loses nothing.
    Only a few parts are in flight at once, so that reading does not run ahead of planning.
    """

    def run(tasks: Iterator[Task]) -> None:
        distributed = _distributed()
        limit = IN_FLIGHT * max(sum(client.nthreads().values()), 1)
        waiting = distributed.as_completed()
        with _lost_is_told():
            for task in tasks:
                if waiting.count() >= limit:
                    next(waiting).result()
                stored = store_task(task)
                waiting.add(client.submit(plan_stored, stored, pure=False, retries=RETRIES))
            for future in waiting:
                future.result()

    return run


def grid_spread(client: Any) -> Spread:
    """Return what works the pieces of a coverage grid out on a client's workers."""
    from siteplan.planning.coverage.cover import piece_columns

    def spread(network: Network, pieces: Sequence[Piece]) -> Iterator[Columns]:
        with _lost_is_told():
            work = partial(piece_columns, network)
            futures = client.map(work, pieces, pure=False, retries=RETRIES)
        for future in futures:
            with _lost_is_told():
                columns = future.result()
            yield columns

    return spread


def client_of(workers: int | None, scheduler: str | None) -> AbstractContextManager[Any]:
    """Return a client, to be entered, of the scheduler at an address, else of workers here."""
    return connected(scheduler) if scheduler is not None else local_workers(workers or 1)


@contextmanager
def spread_over(workers: int | None, scheduler: str | None) -> Iterator[Spread | None]:
    """Yield what spreads a grid over workers here or on a cluster; None for neither.

    Raises
    ------
    ClusterError
        If the cluster cannot be reached, or dask is not installed.
    """
    if scheduler is None and not workers:
        yield None
        return
    with client_of(workers, scheduler) as client:
        yield grid_spread(client)
