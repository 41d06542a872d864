"""What ``siteplan coverage`` prints: each class's share of the area, and the files."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from siteplan.outputs.console.terminal import console, row, table
from siteplan.outputs.shown import amount, label


def show_coverage(shares: Mapping[str, Sequence[tuple[str, float]]], note: str) -> None:
    """Print the share of the area [%] that each class of each quantity takes."""
    out = console()
    listed = table("Coverage of the area", ("Quantity", "Class", "Share"), ("Share",))
    for name, classes in shares.items():
        for k, (words, share) in enumerate(classes):
            row(listed, label(name) if k == 0 else "", words, amount(share, "%", 1))
    out.print(listed)
    out.print(note)


def show_written(points: int, names: Sequence[str], folder: str) -> None:
    """Print which files of coverage were written."""
    out = console()
    out.print(f"{points:,} points; {', '.join(names)} written to {folder}")
    if not any(name.endswith(".tif") for name in names):
        out.print("No GeoTIFF: it needs rasterio (pip install 'siteplan[terrain]').")
