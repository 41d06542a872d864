"""Plan VSAT sites: look angles, rain, link margins, kit, mount and an offline map.

What may be used from Python is listed and explained in ``siteplan.api``; each name of it is also
``siteplan.NAME``, imported when it is first used.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

from siteplan.version import __version__ as __version__

if TYPE_CHECKING:
    from siteplan.api import *  # noqa: F403


def _api() -> Any:
    # Not "from siteplan import api": that would ask __getattr__ for it.
    return importlib.import_module("siteplan.api")


def __getattr__(name: str) -> Any:
    """Import the names of ``siteplan.api`` when they are first used."""
    if not name.startswith("_") and name in _api().__all__:
        return getattr(_api(), name)
    raise AttributeError(f"module 'siteplan' has no attribute {name!r}")


def __dir__() -> list[str]:
    """Return the module's own names and those of ``siteplan.api``."""
    return sorted({*globals(), *_api().__all__})
