"""Whole commands killed at random, and several at once: whether anything is lost.

    python -m tests.kills --kills 200 --rounds 30 --seed 1

Each kill meets one of the commands that write outputs, at a random moment or before a random
operation on the output's files. Then every byte of the user's and of the last good or the new
outputs must be there, and the next command must put it in place. A round starts several commands
on one output at once. Ends with 1 where anything was lost.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from siteplan.outputs.folder.record import read

ROOT = Path(__file__).parent.parent.parent
SAMPLE = ROOT / "sample_sites" / "fjord_substations"
#: Arms the harness, perhaps, and runs a command; kills before an operation only once it writes.
PROGRAM = """
import sys
from pathlib import Path
from siteplan.cli import main
from tests.outputs.folder.kills import arm
if __name__ == "__main__":
    below, before, *command = sys.argv[1:]
    if before != "no":
        arm(Path(below), int(before), 0, for_good=False)
    sys.exit(main(command))
"""
#: The commands that write outputs.
COMMANDS = {
    "plan": "plan PROJECT --quiet --no-map --no-sheets --output OUT",
    "coverage": "coverage PROJECT --quiet --step 5 --output OUT",
    "sheets": "sheets PROJECT --quiet --group south --output OUT",
    "asbuilt": "asbuilt PROJECT PROJECT/returned.csv --quiet --output OUT",
}
#: The user's files, in all that commands write.
USERS = (
    "notes.txt", "photos/north.txt", "selected/mine.txt", "asbuilt/signed.txt", "sheets/mine.txt",
)  # fmt: skip
#: About as many operations on files in the output has each; what comes later is no kill.
OPERATIONS = {"plan": 156, "coverage": 194, "sheets": 69, "asbuilt": 31}


class Trial:
    """A project, its output with the user's files, and what was lost of them."""

    def __init__(self, folder: Path, seed: int) -> None:
        self.folder, self.out = folder, folder / "outputs" / "out"
        self.chance = random.Random(seed)
        self.lost: list[str] = []
        self.met: dict[str, int] = {}
        shutil.copytree(SAMPLE, folder / "project")
        for name in COMMANDS:
            self._start(name).wait()
        for name in USERS:
            (self.out / name).parent.mkdir(exist_ok=True)
            (self.out / name).write_text(f"mine, {name}")

    def _start(self, name: str, before: str = "no") -> subprocess.Popen[bytes]:
        words = COMMANDS[name].replace("PROJECT", str(self.folder / "project"))
        command = words.replace("OUT", str(self.out)).split()
        return subprocess.Popen(
            [sys.executable, "-c", PROGRAM, str(self.out.parent), before, *command],
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            cwd=self.folder,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )

    def kill(self, number: int) -> None:
        """Kill a command, look, run the next one to its end, and look again."""
        name = self.chance.choice(list(COMMANDS))
        if self.chance.random() < 0.3:
            running = self._start(name)
            time.sleep(self.chance.uniform(0.5, 3.5))
            os.killpg(running.pid, signal.SIGKILL)
            running.wait()
            how = "by the clock"
        else:
            before = self.chance.randrange(OPERATIONS[name])
            code = self._start(name, str(before)).wait()
            how = f"before operation {before} ({code})"
        left = "/".join(sorted({p.name.split("-")[1] for p in self._hidden()})) or "nothing"
        self.met[left] = self.met.get(left, 0) + 1
        self._look(f"kill {number} of {name} {how}, with {left} left", anywhere=True)
        if self.chance.random() < 0.3:
            self._start(self.chance.choice(list(COMMANDS))).wait()
            self._look(f"kill {number}, after the next command")

    def terminate(self, number: int) -> None:
        """End a command with SIGTERM: it sweeps what it began."""
        name = self.chance.choice(list(COMMANDS))
        before = set(self._hidden())  # of a kill: who is ended while still starting sweeps nothing
        running = self._start(name)
        time.sleep(self.chance.uniform(0.3, 3.5))
        running.terminate()
        running.wait()
        self._look(f"SIGTERM {number} of {name}")
        left = (path for path in self._hidden() if path not in before)
        self.lost += [f"SIGTERM {number} of {name} left {path}" for path in left]

    def together(self, number: int, runs: int) -> None:
        """Run several commands at once: each ends well or is turned away."""
        names = [self.chance.choice(["plan", *COMMANDS]) for _ in range(runs)]
        running = [self._start(name) for name in names]
        codes = [process.wait() for process in running]
        if not set(codes) <= {0, 1, 2} or set(codes) == {2}:
            self.lost.append(f"round {number} of {names} ended with {codes}")
        self._look(f"round {number} of {names}")

    def _hidden(self) -> list[Path]:
        found = [*self.out.parent.glob(".siteplan-*"), *self.out.glob(".siteplan-*-*")]
        return [path for path in found if not path.name.startswith(".siteplan-lock-")]

    def _look(self, when: str, *, anywhere: bool = False) -> None:
        """Note what is missing, where it must stand in place or may stand in a hidden folder."""
        hidden = self._hidden() if anywhere else []
        for name in USERS:
            places = [self.out / name, *(p / part for p in hidden for part in _within(name))]
            if not any(_reads(path, f"mine, {name}") for path in places):
                self.lost.append(f"{when}: {name} is gone")
        for part in ("", "asbuilt", "selected"):
            last = f".siteplan-last-{part or self.out.name}"
            places = [self.out / part, *(p for p in hidden if p.name == last)]
            if part:  # the whole output may be in the hidden folder
                places += [p / part for p in hidden]
            if not any(_is_whole(place) for place in places):
                self.lost.append(f"{when}: the outputs in {part or 'the folder'} are not whole")


def _within(name: str) -> tuple[str, str]:
    """Return a file's path in the whole output, and in the part of it that was replaced."""
    return name, Path(name).name


def _reads(path: Path, text: str) -> bool:
    return path.is_file() and path.read_text() == text


def _is_whole(place: Path) -> bool:
    """Return whether a folder holds all that its record says, as it was written."""
    files = read(place).files
    return bool(files) and all(
        (place / rel).is_file() and read(place).wrote(place / rel, rel) for rel in files
    )


def main(arguments: Sequence[str] | None = None) -> int:
    """Kill, terminate and run together as often as asked; print what was lost."""
    parser = argparse.ArgumentParser(prog="python -m tests.kills", description=__doc__)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--terms", type=int, default=20)
    parser.add_argument("--rounds", type=int, default=30)
    parser.add_argument("--runs", type=int, default=3, help="commands at once in a round")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        trial = Trial(Path(folder), asked.seed)
        for number in range(asked.kills):
            trial.kill(number)
        for number in range(asked.terms):
            trial.terminate(number)
        for number in range(asked.rounds):
            trial.together(number, asked.runs)
    met = ", ".join(f"{left}: {count}" for left, count in sorted(trial.met.items()))
    print(f"{asked.kills} kills (left beside the output: {met or 'none'})")
    print(f"{asked.terms} SIGTERMs, {asked.rounds} rounds of {asked.runs} at once")
    print("\n".join(trial.lost) or "0 losses")
    return int(bool(trial.lost))


if __name__ == "__main__":
    sys.exit(main())
