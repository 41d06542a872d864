"""The mutation run: random changes to siteplan, and whether the tests notice them.

    python -m tests.mutation --changes 300 --seed 7 --out mutation.txt

Each change is made in a private copy of the tree. The tests of its room that execute it run first,
stopping at the first failure; the rest run for survivors only. Which tests execute which lines is
recorded room by room, into ``.mutation/``. Needs ``pip install -e ".[dev,mutation]"``.
"""

from __future__ import annotations

import argparse
import os
import random
import signal
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from pathlib import Path

from tests.mutation import report
from tests.mutation.changes.change import Change
from tests.mutation.changes.drawn import Source, draw, quotas, read_scripts, read_sources, tracked
from tests.mutation.copies import Copy
from tests.mutation.examined import examination, script_examination
from tests.mutation.recorded import check, record_of
from tests.mutation.running import carry_out, warm_up

ROOT = Path(__file__).parent.parent.parent


def main(arguments: Sequence[str] | None = None) -> int:
    """Carry out a run; return 0 however many changes survive, 1 where it cannot begin."""
    asked = _parser().parse_args(arguments)
    signal.signal(signal.SIGTERM, lambda *_: sys.exit("ended"))
    if asked.nice:
        os.nice(asked.nice)
    changes = drawn(read_sources(ROOT, asked.folder), asked.changes, asked.seed)
    changes += drawn(read_scripts(ROOT), asked.scripts, asked.seed) if asked.scripts else []
    if asked.only:
        changes = [changes[k - 1] for k in asked.only]
    if asked.list:
        for k, change in enumerate(changes, start=1):
            source = (ROOT / change.path).read_bytes()
            before, after = change.before_and_after(source)
            print(f"{k}. {change.path}:{change.line(source)} [{change.kind}]")
            print(f"   - {before}\n   + {after}")
        return 0
    warm_up()
    with tempfile.TemporaryDirectory(prefix="mutation-") as folder:
        return _run(asked, changes, Path(folder))


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m tests.mutation",
        description="Make random changes to siteplan and tell which ones the tests notice.",
    )
    parser.add_argument(
        "--changes",
        default=300,
        help="changes in Python, tables and templates",
        type=int,
        metavar="N",
    )
    parser.add_argument(
        "--scripts", default=0, help="changes in the map's scripts", type=int, metavar="N"
    )
    parser.add_argument(
        "--seed", default=1, help="the same seed, the same changes", type=int, metavar="N"
    )
    parser.add_argument("--folder", default="siteplan", metavar="PATH", help="only files below it")
    parser.add_argument("--workers", default=2, help="runs at a time", type=int, metavar="N")
    parser.add_argument("--nice", default=0, help="run at lower priority", type=int, metavar="N")
    parser.add_argument(
        "--only", nargs="+", help="only the changes of these numbers", type=int, metavar="N"
    )
    parser.add_argument(
        "--quick", action="store_true", help="leave out the slow tests of other rooms"
    )
    parser.add_argument(
        "--own", action="store_true", help="ask the tests below the folder's mirror alone"
    )
    parser.add_argument("--list", action="store_true", help="print the changes and run nothing")
    parser.add_argument("--out", type=Path, metavar="FILE", help="write the report there as well")
    return parser


def drawn(sources: Mapping[str, Source], count: int, seed: int) -> list[Change]:
    """Return the changes of a seed, file by file."""
    lines = {path: source.lines for path, source in sources.items()}
    shares = quotas(lines, count, random.Random(seed))
    return [
        change
        for path, source in sources.items()
        for change in draw(path, source, shares[path], random.Random(f"{seed} {path}"))
    ]


def _run(asked: argparse.Namespace, changes: list[Change], folder: Path) -> int:
    start = time.monotonic()
    paths = [path for path in tracked(ROOT, ".") if not path.startswith("tests/mutation/")]
    copies = [Copy(folder / str(k)) for k in range(asked.workers)]
    for copy in copies:
        copy.make(ROOT, paths)
    below = f"tests{asked.folder.removeprefix('siteplan').rstrip('/')}/" if asked.own else "tests/"
    known = record_of(ROOT, copies, paths, _say, below=below)
    modules = [c for c in changes if not c.path.endswith(".js")]
    red = check(modules, known, copies, _say, quick=asked.quick)
    if red:
        print("These tests fail without a change; the run cannot begin:", *red, sep="\n  ")
        return 1
    outcomes: list[report.Outcome] = []
    total = len(changes)

    def tell(outcome: report.Outcome) -> None:
        outcomes.append(outcome)
        _say(f"{len(outcomes)}/{total} {report.short(outcome)}")

    tasks = [examination(c, known, ROOT, tell, quick=asked.quick) for c in modules]
    tasks += [script_examination(c, tell) for c in changes if c not in modules]
    try:
        carry_out(tasks, copies)
    finally:
        minutes = (time.monotonic() - start) / 60
        head = (
            f"{len(outcomes)} of {total} changes below {asked.folder}, seed {asked.seed}, "
            f"{asked.workers} workers, {minutes:.0f} minutes"
        )
        text = report.whole(outcomes, head)
        print(text)
        if asked.out:
            asked.out.write_text(text, encoding="utf-8")
    return 0


def _say(text: str) -> None:
    print(time.strftime("%H:%M:%S"), text, file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main())
