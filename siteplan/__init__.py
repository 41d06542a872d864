"""Plan VSAT sites: look angles, rain, link margins, kit, mount and an offline map."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from siteplan.version import __version__ as __version__

__all__ = ["plan", "plan_project", "read_network", "read_sites"]

if TYPE_CHECKING:
    from siteplan.api import plan, plan_project, read_network, read_sites


def __getattr__(name: str) -> Any:
    """Import the functions of ``siteplan.api`` when they are first used."""
    if name in __all__:
        from siteplan import api

        return getattr(api, name)
    raise AttributeError(f"module 'siteplan' has no attribute {name!r}")
