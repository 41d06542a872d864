"""Where the ``itur`` package keeps the ITU-R's files, found without importing it.

Its import, and its loading of every percentage level of a map, cost seconds and half a gigabyte.
"""

from __future__ import annotations

import importlib.util
import os
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray


def home() -> Path:
    """Return the user's home, or a place that no file can be in where the system knows of none."""
    try:
        return Path.home()
    except RuntimeError:
        return Path(os.devnull)


def expanded(path: str | Path) -> Path:
    """Return a path with ``~`` as the home; as it is where the system knows of none."""
    try:
        return Path(path).expanduser()
    except RuntimeError:
        return Path(path)


@lru_cache(maxsize=1)
def package_folder() -> Path:
    """Return the folder of the ``itur`` package.

    Raises
    ------
    RuntimeError
        If the package is not installed.
    """
    spec = importlib.util.find_spec("itur")
    if spec is None or not spec.submodule_search_locations:
        raise RuntimeError("the package itur, which carries the ITU-R maps, is not installed")
    return Path(next(iter(spec.submodule_search_locations)))


def data_folder() -> Path:
    """Return the folder of the map files."""
    return package_folder() / "data"


@lru_cache(maxsize=1)
def package_version() -> str:
    """Return the version that the package states of itself."""
    text = (package_folder() / "__version__.py").read_text(encoding="utf-8")
    parts = [line.split("=", 1)[1] for line in text.splitlines() if line.startswith("__version__")]
    return parts[0].strip().strip("\"'") if parts else "unknown"


def load_array(name: str) -> NDArray[Any]:
    """Return the array of map file ``name``, for example ``"837/v7_r001"``."""
    with np.load(data_folder() / f"{name}.npz") as archive:
        values: NDArray[Any] = archive["arr_0"]
    return values
