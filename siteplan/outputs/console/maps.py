"""What ``siteplan maps`` prints: the maps in use, their editions, where they come from."""

from __future__ import annotations

from collections.abc import Iterable


def show_maps(rows: Iterable[tuple[str, str, str]]) -> None:
    """Print a line a map: what it gives, its edition, where it comes from."""
    for quantity, edition, source in rows:
        print(f"  {quantity.ljust(18)}{edition.ljust(11)}{source}")
