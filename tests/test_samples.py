"""Which tests rest on the samples that are shipped, and why: these gain keys with every version.

All others take ``FROZEN``, so that a key that a sample gains changes no figure that a test holds.
"""

from __future__ import annotations

import re
from pathlib import Path

from tests.samples import FROZEN, LIVE, NAMES, ROOT

#: Files that plan or read the shipped samples.
LIVE_TESTS = {
    "benchmarks/bench_speed.py": "on demand: what a plan of a sample costs",
    "compare_outputs.py": "on demand: what a change does to every output of both",
    "inputs/sites/test_doubts.py": "their places raise no doubt",
    "jobs/test_around.py": "what their READMEs say of obstacles; returned.csv",
    "jobs/test_samples.py": "what their READMEs say of keys; in parts as a whole; as built",
    "kills/__main__.py": "on demand: kills plans of one",
    "outputs/asbuilt/test_files.py": "returned.csv, against the frozen plan",
    "outputs/map/test_strip.py": "counts of the strip against the same plan's table",
    "outputs/sheets/test_browser.py": "their sheets take two pages",
    "outputs/workbook/test_project.py": "a workbook of each plans to the same rows",
    "packaging/test_build.py": "they are in the package's source",
    "planning/report/test_alarms.py": "no warning stands on most of their sites",
    "planning/report/test_verdict.py": "the verdict against the same plan's table",
    "test_cli.py": "the README's command plans each without a reject",
    "test_examples.py": "examples in docstrings name them",
    "test_readme.py": "the README's command names one",
}
NAMED = re.compile(r"\bsample_sites\b|\bLIVE\b")


def test_only_tests_of_the_samples_rest_on_them() -> None:
    here = Path(__file__).parent
    ours = {Path(__file__), here / "samples.py"}
    found = {
        path.relative_to(here).as_posix()
        for path in here.rglob("*.py")
        if path not in ours and NAMED.search(path.read_text(encoding="utf-8"))
    }
    assert found == set(LIVE_TESTS)


def test_both_are_there_as_they_are_and_as_they_were() -> None:
    folders = {path.name for path in LIVE.iterdir() if path.is_dir()}
    assert folders == {path.name for path in FROZEN.iterdir()} == set(NAMES)
    for name in NAMES:
        for file in ("sites.csv", "obstructions.csv"):
            assert (FROZEN / name / file).read_bytes() == (LIVE / name / file).read_bytes()
    assert ROOT / "sample_sites" == LIVE
