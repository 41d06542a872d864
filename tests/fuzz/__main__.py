"""Damaged and nasty files of every kind, by the thousand, and whether siteplan minds them rightly.

    python -m tests.fuzz --count 100000 --seed 1 --workers 2

Each case is made from its seed and number alone. What fails is told with what repeats it:

    python -m tests.fuzz --seed 1 --only 4711 --keep folder

``--keep`` lays the file there. A process that dies or hangs in a library is told as well, and the
run goes on after it. Exit code 1 where anything failed.
"""

from __future__ import annotations

import argparse
import faulthandler
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from tests.fuzz.cases import case, described
from tests.fuzz.trying import tried

#: Longest that one case may take on the clock before its process is ended [s].
GIVE_UP_S = 120
#: Most memory of a process [bytes]: a length that lies must not fill the machine.
MEMORY = 8 << 30


def main() -> int:
    asked = _parser().parse_args()
    os.environ["SITEPLAN_DATA"] = str(Path(__file__).parent / "no-such-folder")
    if asked.only:
        return _only(asked)
    if asked.share:
        return _share(asked)
    return _all(asked)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz")
    parser.add_argument("--count", type=int, default=1000, help="how many cases")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="number of the first case")
    parser.add_argument("--workers", type=int, default=1, help="processes")
    parser.add_argument("--only", type=int, nargs="*", help="try these numbers again")
    parser.add_argument("--keep", type=Path, help="lay the files of --only there")
    parser.add_argument("--share", type=int, nargs=2, help=argparse.SUPPRESS)
    parser.add_argument("--state", type=Path, help=argparse.SUPPRESS)
    return parser


def _only(asked: argparse.Namespace) -> int:
    bad = 0
    for number in asked.only:
        one = case(asked.seed, number)
        if asked.keep:
            asked.keep.mkdir(parents=True, exist_ok=True)
            (asked.keep / f"{number}-{one.name}").write_bytes(one.data)
        failure = tried(one)
        bad += failure is not None
        print(failure or f"{described(one)}\ngood")
    return int(bad > 0)


def _share(asked: argparse.Namespace) -> int:
    """Try every so-many-th case in this process; the number at work stands in a file."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    step, first = asked.share
    for number in range(first, asked.first + asked.count, step):
        asked.state.write_text(str(number))
        faulthandler.dump_traceback_later(GIVE_UP_S, exit=True)
        failure = tried(case(asked.seed, number))
        if failure:
            print(f"\x1e{failure.kind}\x1f{failure}\x1d", flush=True)
    asked.state.write_text("done")
    return 0


def _all(asked: argparse.Namespace) -> int:
    """Run the shares until all are done; a process that died is followed by another."""
    began = time.monotonic()
    kinds: Counter[str] = Counter()
    told: dict[Path, int] = {}
    with tempfile.TemporaryDirectory(prefix="siteplan-fuzz-run-") as folder:
        # All processes share one cache of inflated maps, and files they leave go with it.
        os.environ["SITEPLAN_CACHE"] = os.environ["TMPDIR"] = folder
        at = [asked.first + k for k in range(asked.workers)]
        running = [_started(asked, Path(folder) / f"{k}", first) for k, first in enumerate(at)]
        try:
            while any(running):
                for k, process in enumerate(running):
                    if process is None:
                        continue
                    state, ended = Path(folder) / f"{k}", process.poll() is not None
                    out = state.with_suffix(".out")
                    told[out] = _tell(out, told.get(out, 0), kinds)
                    if ended:
                        running[k] = _next(asked, process, state, kinds)
                        told[out] = 0
                time.sleep(0.5)
        finally:
            for process in running:
                if process is not None:
                    process.kill()
                    process.wait()
    print(f"{asked.count} cases in {time.monotonic() - began:.0f} s, seed {asked.seed}")
    for kind, count in kinds.most_common():
        print(f"{count:6d}  {kind}")
    print("all good" if not kinds else f"{sum(kinds.values())} failed, {len(kinds)} kinds")
    return int(bool(kinds))


def _started(asked: argparse.Namespace, state: Path, first: int) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "tests.fuzz", f"--seed={asked.seed}", f"--first={asked.first}",
               f"--count={asked.count}", f"--state={state}",
               "--share", str(asked.workers), str(first)]  # fmt: skip
    with state.with_suffix(".out").open("wb") as out:
        return subprocess.Popen(command, stdout=out, stderr=subprocess.STDOUT)


def _tell(out: Path, done: int, kinds: Counter[str]) -> int:
    """Print the first failures of each kind; return how many of the file were told by now."""
    pieces = out.read_text(errors="replace").split("\x1e")[1:]
    whole = [piece for piece in pieces if piece.rstrip("\n").endswith("\x1d")]
    for piece in whole[done:]:
        kind, _, told = piece.partition("\x1f")
        kinds[kind] += 1
        if kinds[kind] <= 2:
            print(told.partition("\x1d")[0], flush=True)
    return len(whole)


def _next(
    asked: argparse.Namespace, process: subprocess.Popen[bytes], state: Path, kinds: Counter[str]
) -> subprocess.Popen[bytes] | None:
    """Return what goes on after a process that died, None where it came to its end."""
    last = state.read_text() if state.exists() else "0"
    if process.returncode == 0 and last == "done":
        return None
    if not last.isdigit():
        raise RuntimeError(f"a process ended with {process.returncode} at {last}")
    one = case(asked.seed, int(last))
    kinds[f"{one.name}: the process ended with {process.returncode}"] += 1
    print(described(one), state.with_suffix(".out").read_text(errors="replace")[-1500:], flush=True)
    return _started(asked, state, int(last) + asked.workers)


if __name__ == "__main__":
    sys.exit(main())
