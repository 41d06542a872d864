"""The examples in the docstrings give what they say."""

from __future__ import annotations

import doctest
import importlib
from pathlib import Path

import pytest

import siteplan
from tests.samples import LIVE

PACKAGE = Path(siteplan.__file__).parent
#: Not everyone has these: what needs them is left out where they are missing.
OPTIONAL = {"dask", "distributed", "rasterio"}
#: Line breaks and blanks of arrays differ between versions of numpy.
FLAGS = doctest.NORMALIZE_WHITESPACE | doctest.ELLIPSIS
EXAMPLES = {
    ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts).removesuffix(".__init__"): path
    for path in sorted(PACKAGE.rglob("*.py"))
    if ">>> " in path.read_text(encoding="utf-8")
}


@pytest.mark.parametrize("name", EXAMPLES)
def test_examples(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    try:
        module = importlib.import_module(name)
    except ModuleNotFoundError as error:
        if error.name not in OPTIONAL:
            raise
        pytest.skip(f"{error.name} is not installed")
    # What an example writes is thrown away; the samples that it may read stand where they do.
    (tmp_path / "sample_sites").symlink_to(LIVE, target_is_directory=True)
    monkeypatch.chdir(tmp_path)
    runner = doctest.DocTestRunner(optionflags=FLAGS)
    told: list[str] = []
    for test in doctest.DocTestFinder(exclude_empty=True).find(module):
        runner.run(test, out=told.append)
    assert not runner.failures, "".join(told)
    # An example that the finder passes over (of an inner function, say) would hold nothing.
    lines = EXAMPLES[name].read_text(encoding="utf-8").splitlines()
    assert runner.tries == sum(line.lstrip().startswith(">>> ") for line in lines)


def test_some_modules_have_examples() -> None:
    assert {"siteplan.fields", "siteplan.messages"} <= EXAMPLES.keys()
