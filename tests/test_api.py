"""The front door: every documented name exists, and every name is documented."""

from __future__ import annotations

import inspect
import re
import subprocess
import sys

import pytest

import siteplan
from siteplan import api, errors


def test_names_are_those_that_are_documented() -> None:
    told = re.findall(r"``(\w+)``", api.__doc__ or "")
    assert sorted(told) == list(api.__all__) == sorted(set(api.__all__)) == sorted(api._WHERE)
    for name in api.__all__:
        assert inspect.getdoc(getattr(api, name)), name
        assert getattr(siteplan, name) is getattr(api, name)
    assert set(api.__all__) <= set(dir(siteplan))


def test_every_error_is_there() -> None:
    classes = {n for n, c in vars(errors).items() if inspect.isclass(c)}
    assert classes == {n for n in api.__all__ if n.endswith("Error")}


def test_names_that_are_not_there() -> None:
    with pytest.raises(AttributeError, match="no attribute 'nonsense'"):
        _ = siteplan.nonsense


def test_the_package_itself_is_light() -> None:
    code = (
        "import sys, siteplan; assert siteplan.__version__;"
        "print(sorted({'numpy', 'pydantic', 'siteplan.api'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_the_front_door_is_light() -> None:
    code = (
        "import sys; from siteplan.api import *; print(sorted({'pandas', 'geopandas', 'pyarrow',"
        " 'folium', 'itur', 'rich', 'scipy', 'distributed', 'shapely'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
