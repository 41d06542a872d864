"""What is packed is what the tree holds: no leftovers, nothing missing, and tests that pass."""

from __future__ import annotations

import importlib
import os
import shutil
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from email import message_from_string
from pathlib import Path

import pytest

from siteplan.version import __version__

ROOT = Path(__file__).parent.parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
#: The only kinds of file that the package may consist of.
KINDS = {".py", ".csv", ".json", ".txt", ".html", ".css", ".js", ".md"}
#: What the sources carry beside the package: what it takes to run the tests.
BESIDE = (
    "tests",
    "sample_sites",
    ".ci",
    ".gitignore",
    "CHANGELOG.md",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "output/README.md",
    "pyproject.toml",
)
#: A file of a kind that the package does not hold.
STRAY = "siteplan/outputs/notes.orig"
#: What lies about in a tree that was worked in, and must not be packed: (file, its text).
LEFTOVERS = {
    "build/lib/siteplan/ghost.py": "raise SystemExit('stale')\n",
    "build/lib/siteplan/outputs/ghost.html": "<p>stale</p>\n",
    "dist/siteplan-0.0.1.tar.gz": "",
    "siteplan.egg-info/SOURCES.txt": "siteplan/ghost.py\n",
    "siteplan/__pycache__/ghost.cpython-311.pyc": "",
    STRAY: "an editor's\n",
    "tests/outputs/web/node_modules/ghost/index.js": "stale\n",
    "output/river_clinics/sites.csv": "site_id\n",
    ".venv/lib/ghost.py": "",
}
#: Tests that take seconds, and read the samples, the guides and helpers beside the tests.
QUICK = (
    "tests/test_readme.py",
    "tests/outputs/lists/test_kit.py",
    "tests/inputs/test_project.py",
)


def files(folder: Path, *, below: str = "") -> set[str]:
    """Return the paths of the files under ``folder / below``, with slashes, caches left out."""
    return {
        path.relative_to(folder).as_posix()
        for path in (folder / below).rglob("*")
        if path.is_file() and not {"__pycache__", "node_modules"} & set(path.parts)
    }


@pytest.fixture(scope="module")
def tree(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the project's tree, worked in: a former build and other leftovers lie in it."""
    copy = tmp_path_factory.mktemp("tree")
    for name in ("siteplan", *BESIDE):
        source, target = ROOT / name, copy / name
        target.parent.mkdir(exist_ok=True)
        if source.is_dir():
            unwanted = shutil.ignore_patterns("__pycache__", "node_modules", ".*_cache", "*.orig")
            shutil.copytree(source, target, ignore=unwanted)
        else:
            shutil.copy(source, target)
    for name, text in LEFTOVERS.items():
        (copy / name).parent.mkdir(parents=True, exist_ok=True)
        (copy / name).write_text(text, encoding="utf-8")
    return copy


def build(kind: str, tree: Path, target: Path) -> Path:
    """Build a ``wheel``, an ``editable`` wheel or an ``sdist`` with the backend that is named."""
    backend = importlib.import_module(PROJECT["build-system"]["build-backend"])
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(tree)
        return target / str(getattr(backend, f"build_{kind}")(str(target)))


@pytest.fixture(scope="module")
def wheel(tree: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build("wheel", tree, tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def unpacked(tree: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder that the packed sources unpack to."""
    folder = tmp_path_factory.mktemp("sdist")
    with tarfile.open(build("sdist", tree, folder)) as archive:
        archive.extractall(folder / "unpacked", filter="data")
    (inner,) = (folder / "unpacked").iterdir()
    return inner


def packed(wheel: Path) -> set[str]:
    """Return the files of a wheel, its own description left out."""
    with zipfile.ZipFile(wheel) as archive:
        return {name for name in archive.namelist() if ".dist-info/" not in name}


def test_the_package_holds_only_kinds_that_are_packed() -> None:
    strange = {n for n in files(ROOT, below="siteplan") if Path(n).suffix not in KINDS}
    assert strange == {"siteplan/py.typed"}


def test_the_wheel_is_the_tree(wheel: Path) -> None:
    assert packed(wheel) == files(ROOT, below="siteplan")


def test_the_sources_are_the_tree(unpacked: Path) -> None:
    expected = files(ROOT, below="siteplan")
    for name in BESIDE:
        expected |= files(ROOT, below=name) if (ROOT / name).is_dir() else {name}
    expected = {name for name in expected if "_cache/" not in name}
    # A stray file of the package travels with the sources, but is not installed.
    assert files(unpacked) == expected | {"PKG-INFO", STRAY}


def test_the_sources_build_the_same_wheel(unpacked: Path, wheel: Path, tmp_path: Path) -> None:
    again = build("wheel", unpacked, tmp_path)
    with zipfile.ZipFile(wheel) as first, zipfile.ZipFile(again) as second:
        assert {i.filename: i.CRC for i in first.infolist()} == {
            i.filename: i.CRC for i in second.infolist()
        }


def test_tests_pass_from_the_sources(unpacked: Path) -> None:
    environment = {**os.environ, "PYTHONPATH": str(unpacked)}
    command = [sys.executable, "-m", "pytest", "-m", "not browser", *QUICK]
    result = subprocess.run(
        command, cwd=unpacked, env=environment, capture_output=True, text=True, check=False
    )
    assert result.returncode == 0, result.stdout[-4000:] + result.stderr[-1000:]
    where = subprocess.run(
        [sys.executable, "-c", "import siteplan; print(siteplan.__file__)"],
        cwd=unpacked,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    assert Path(where.stdout.strip()) == unpacked / "siteplan" / "__init__.py"


def test_an_editable_install_points_at_the_tree(tree: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(build("editable", tree, tmp_path)) as archive:
        (link,) = [name for name in archive.namelist() if name.endswith(".pth")]
        assert Path(archive.read(link).decode().strip()) == tree


def test_the_wheel_describes_itself(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        inner = {
            name.split(".dist-info/")[1]: name
            for name in archive.namelist()
            if ".dist-info/" in name
        }
        about = message_from_string(archive.read(inner["METADATA"]).decode("utf-8"))
        commands = archive.read(inner["entry_points.txt"]).decode("utf-8")
    assert about["Version"] == __version__
    assert about["Author"] == "siteplan maintainers"
    assert about["License-Expression"] == "MIT"
    assert "licenses/LICENSE" in inner
    assert "siteplan = siteplan.__main__:run" in commands
    assert about["Project-URL"] is None
