"""Which figures nobody gave: at the end of every page that rests on them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from siteplan.outputs.console.terminal import console, row, table


def show_assumed(
    assumed: Sequence[Mapping[str, str]],
    *,
    where: str = "'assumed' in summary.json or the map's panel",
    all_of_them: bool = False,
) -> None:
    """Print which figures nobody gave: their tables and ``where`` they stand, or them all."""
    if not assumed:
        return
    out = console()
    if not all_of_them:
        tables = sorted({a["key"].split(".")[0] for a in assumed})
        out.print(f"{len(assumed)} figures were assumed, in {', '.join(tables)}: see {where}.")
        return
    listed = table("Assumed", ("Key", "Value", "Unit", "Meaning"))
    for a in assumed:
        row(listed, a["key"], a["value"], a["unit"], a["meaning"])
    out.print(listed)
