"""What a plan opens to the network: nothing; with workers, ports of this machine alone."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import psutil
import pytest

from siteplan.jobs.parts import cluster

ROOT = Path(__file__).parents[3]
#: Taken in by every Python process that has its folder on its path: sockets are refused and noted.
FORBIDDING = """
import os, sys
OPENS = {f"socket.{what}" for what in (
    "__new__", "bind", "connect", "sendto", "sendmsg", "getaddrinfo", "gethostbyname")}
def refuse(event, arguments):
    if event in OPENS:
        with open(os.environ["SOCKETS_SEEN"], "a") as file:
            file.write(f"{os.getpid()} {event} {arguments}\\n")
        raise PermissionError(f"no sockets here: {event}")
sys.addaudithook(refuse)
with open(os.environ["PROCESSES_SEEN"], "a") as file:
    file.write(f"{os.getpid()}\\n")
"""
#: Plans as the command does; a small table is large here, and there are two processors.
PLANNING = """
import os, socket, sys
from siteplan import cli
from siteplan.jobs import asked
from siteplan.jobs.parts import spread
if sys.argv.pop(1) == "parts":
    asked.IN_PARTS_FROM_ROWS, spread.PART_SITES = 10, 50
    os.cpu_count = lambda: 2
if __name__ == "__main__":
    code = cli.main(sys.argv[1:])
    if os.environ.get("SOCKETS_TRIED"):
        socket.socket()
    sys.exit(code)
"""


class Watched:
    """Plans in processes that refuse sockets; what they tried, and how many there were."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.project = folder, folder / "project"
        self.project.mkdir()
        (folder / "sitecustomize.py").write_text(FORBIDDING)
        (folder / "planning.py").write_text(PLANNING)
        rng = np.random.default_rng(3)
        places = {"lat": rng.uniform(-40, 60, 120), "lon": rng.uniform(-60, 80, 120)}
        pd.DataFrame(places).to_csv(self.project / "sites.csv", index=False)
        (self.project / "network.toml").write_text("[satellite]\nlongitude_deg = 10\n")
        self.environment = {
            **os.environ,
            "PYTHONPATH": os.pathsep.join([str(folder), str(ROOT)]),
            "SOCKETS_SEEN": str(folder / "sockets"),
            "PROCESSES_SEEN": str(folder / "processes"),
        }

    def run(self, how: str, *arguments: str, **more: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, str(self.folder / "planning.py"), how, *arguments]
        return subprocess.run(
            command,
            env=self.environment | more,
            cwd=self.folder,
            capture_output=True,
            text=True,
            check=False,
        )

    @property
    def tried(self) -> str:
        path = self.folder / "sockets"
        return path.read_text() if path.exists() else ""

    @property
    def processes(self) -> int:
        return len(set((self.folder / "processes").read_text().split()))


@pytest.fixture
def watched(tmp_path: Path) -> Watched:
    return Watched(tmp_path)


def test_a_plan_opens_no_socket(watched: Watched) -> None:
    done = watched.run("whole", "plan", "project", "--coverage", "5", "--quiet")
    assert (done.returncode, done.stderr, watched.tried) == (0, "", "")
    assert (watched.folder / "output" / "project" / "map.html").is_file()


def test_a_plan_in_parts_opens_no_socket_in_any_of_its_processes(watched: Watched) -> None:
    done = watched.run("parts", "plan", "project", "--quiet")
    assert (done.returncode, done.stderr, watched.tried) == (0, "", "")
    assert watched.processes >= 2, "the parts were spread over processes"


def test_a_socket_would_be_seen(watched: Watched) -> None:
    done = watched.run("whole", "check", "project", SOCKETS_TRIED="1")
    assert done.returncode == 1
    assert "no sockets here: socket.__new__" in done.stderr
    assert "socket.__new__" in watched.tried


def listening() -> set[tuple[str, int]]:
    """Return the addresses and ports on which this process and its children listen."""
    here = psutil.Process()
    return {
        (connection.laddr.ip, connection.laddr.port)
        for process in [here, *here.children(recursive=True)]
        for connection in process.net_connections("inet")
        if connection.status == psutil.CONN_LISTEN
    }


@pytest.mark.filterwarnings("default::ResourceWarning", "default::DeprecationWarning")
def test_workers_listen_on_this_machine_alone() -> None:
    before = listening()  # a browser of other tests, say
    with cluster.local_workers(2) as client:
        client.wait_for_workers(2)
        found = listening() - before
    assert len(found) > 3, "scheduler, workers, and what watches over them"
    assert {ip for ip, _ in found} == {"127.0.0.1"}
