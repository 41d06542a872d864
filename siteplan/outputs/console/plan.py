"""What the terminal shows: tables of the summary, of rejects, of fields and of one site."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import numpy as np

from siteplan.fields import FIELDS, Field, lookup
from siteplan.fields.page import dictionary
from siteplan.model import Reject
from siteplan.results import AsBuilt, Plan
from siteplan.words import markdown_table, orbital_position, percent

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

#: Plans of fewer sites show no progress bar: they are done before it is drawn.
PROGRESS_FROM_SITES = 20_000
#: Sheets take longer: they show a bar from so many.
SHEETS_PROGRESS_FROM = 400
#: Width of tables where the output is no terminal.
PIPED_WIDTH = 160
#: Rejects shown on the terminal; rejects.csv holds them all.
REJECTS_SHOWN = 20
#: What ``siteplan site`` prints, under its headings.
SITE_BLOCKS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "Look angles",
        (
            "altitude_m",
            "azimuth_true_deg",
            "azimuth_magnetic_deg",
            "elevation_deg",
            "skew_deg",
            "slant_range_km",
        ),
    ),
    (
        "Rain and attenuation at the target",
        (
            "availability_target_pct",
            "rain_rate_mm_h",
            "uplink_attenuation_db",
            "downlink_attenuation_db",
        ),
    ),
    (
        "Kit and margins",
        (
            "antenna_m",
            "buc_w",
            "required_antenna_m",
            "margin_db",
            "limiting_direction",
            "outbound_margin_db",
            "inbound_margin_db",
            "outbound_availability_pct",
            "inbound_availability_pct",
        ),
    ),
)


def console(*, error: bool = False) -> Console:
    """Return the terminal; text of users is printed as it is, never as markup."""
    from rich.console import Console

    out = Console(stderr=error, markup=False, highlight=False, emoji=False, soft_wrap=True)
    if not out.is_terminal:
        out.width = PIPED_WIDTH
    return out


def _table(title: str, headings: Sequence[str], right: Sequence[str] = ()) -> Table:
    """Return an empty table; the columns named in ``right`` are set flush right."""
    from rich import box
    from rich.table import Table

    table = Table(title=title, title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for k, heading in enumerate(headings):
        table.add_column(heading, justify="right" if heading in right else "left", no_wrap=k == 0)
    return table


def _row(table: Table, *cells: Any) -> None:
    """Add a row of plain texts."""
    from rich.text import Text

    table.add_row(*(Text(str(cell)) for cell in cells))


def show_summary(summary: Mapping[str, Any], folder: str) -> None:
    """Print the summary of a plan: counts, the worst sites and why, rejects, assumptions."""
    out = console()
    out.print(
        f"{summary['name']}: {summary['sites']} of {summary['rows_read']} sites planned,"
        f" {summary['rejected']} rejected; target {percent(summary['availability_pct'])},"
        f" satellite at {orbital_position(summary['satellite_lon_deg'], sign='')}"
    )
    counts = summary["counts"]
    table = _table("", ("Margin", "Sites", "Antenna", "Sites ", "Mount", "Sites  "),
                   ("Sites", "Sites ", "Sites  "))  # fmt: skip
    antennas = {k if k == "none" else f"{k} m": n for k, n in counts["antenna_m"].items()}
    columns = [list(c.items()) for c in (counts["margin_class"], antennas, counts["mount"])]
    for i in range(max(len(c) for c in columns)):
        cells = [cell for c in columns for cell in (c[i] if i < len(c) else ("", ""))]
        _row(table, *cells)
    out.print(table)
    worst = _table("The worst sites", ("Site", "Name", "Margin", "Why"), ("Margin",))
    for w in summary["worst"]:
        margin = "-" if w["margin_db"] is None else f"{w['margin_db']:.1f} dB"
        _row(worst, w["site_id"], w["name"], margin, w["reason"])
    out.print(worst)
    show_assumed(summary["assumed"])
    out.print(f"Mind: {summary['limits'][0]} {summary['limits'][1]}")
    out.print(summary.get("crew", ""))
    if folder:
        out.print(f"Written to {folder}")


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
    table = _table("Assumed", ("Key", "Value", "Unit", "Meaning"))
    for a in assumed:
        _row(table, a["key"], a["value"], a["unit"], a["meaning"])
    console().print(table)


def show_rejects(rejects: Sequence[Reject]) -> None:
    """Print the rejected rows: what, why, and how to mend it."""
    if not rejects:
        return
    table = _table("Rejected", ("Row", "Site", "Column", "Value", "Why and what to do"), ("Row",))
    for r in rejects[:REJECTS_SHOWN]:
        _row(table, r.row, r.site_id, r.key, r.value[:40], r.advice)
    out = console()
    out.print(table)
    if len(rejects) > REJECTS_SHOWN:
        out.print(f"... and {len(rejects) - REJECTS_SHOWN} more")


def show_dictionary(*, markdown: bool) -> None:
    """Print result fields and flags."""
    for listing in dictionary():
        show_rows(*listing, markdown=markdown)
        print()


def show_network_keys(*, markdown: bool) -> None:
    """Print every key of network.toml, with default, unit, range and meaning."""
    from siteplan.network.reference import HEADINGS, reference_rows

    show_rows("Keys of network.toml", HEADINGS, reference_rows(), markdown=markdown)


def show_rows(
    title: str, headings: Sequence[str], rows: Sequence[Sequence[str]], *, markdown: bool
) -> None:
    """Print rows of text as a table for the terminal, or in Markdown."""
    if markdown:
        print(markdown_table(headings, rows))
        return
    table = _table(title, headings)
    for row in rows:
        _row(table, *row)
    console().print(table)


def show_notes(notes: Sequence[tuple[str, str]]) -> None:
    """Print what was mended or doubted on reading: site and sentence."""
    if not notes:
        return
    table = _table("Kept, but mended or doubted", ("Site", "Note"))
    for site, sentence in notes[:REJECTS_SHOWN]:
        _row(table, site, sentence)
    out = console()
    out.print(table)
    if len(notes) > REJECTS_SHOWN:
        out.print(f"... and {len(notes) - REJECTS_SHOWN} more")


def show_site(plan: Plan) -> None:
    """Print the first site of a plan: angles, rain, margins with each antenna, flags.

    Plain lines: the table library takes as long to import as the site to plan.
    """
    for heading, names in SITE_BLOCKS:
        print(f"\n{heading}")
        for name in names:
            field = FIELDS[name]
            print(f"  {field.label:<28}{_shown(plan.columns[name][0], field)}")
    print("\nMargin with each antenna")
    for name in plan.columns:
        entry = lookup(name)
        if entry is not None and name not in FIELDS:
            print(f"  {entry.label:<28}{_shown(plan.columns[name][0], entry)}")
    for sentence in (plan.columns["no_fit_reason"][0], plan.columns["flag_notes"][0]):
        if sentence:
            print(f"\n{sentence}")


def _shown(value: Any, field: Field) -> str:
    """Return a value with its unit, or a dash."""
    if field.decimals is None:
        return str(value) or "-"
    if np.isnan(value):
        return "-"
    return f"{value + 0.0:.{field.decimals}f} {field.unit}".strip()


@contextmanager
def progress(*, quiet: bool) -> Iterator[Callable[..., Callable[[int], None]]]:
    """Yield what ``plan_project`` calls with a number and a label: a bar for long work."""
    from contextlib import ExitStack

    with ExitStack() as open_bars:
        shared: list[Any] = []

        def watch(total: int, label: str = "Planning") -> Callable[[int], None]:
            least = SHEETS_PROGRESS_FROM if label == "Sheets" else PROGRESS_FROM_SITES
            if quiet or total < least:
                return lambda done: None
            if not shared:
                shared.append(open_bars.enter_context(_bars()))
            task = shared[0].add_task(label, total=total)
            return lambda done: shared[0].update(task, completed=done)

        yield watch


def _bars() -> Any:
    """Return the bars that long work moves, on the error stream and gone at the end."""
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn

    columns = ("{task.description}", BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    return Progress(*columns, console=console(error=True), transient=True)


def show_asbuilt(result: AsBuilt, folder: str) -> None:
    """Print what came back: verdicts, the sites that were not accepted and why."""
    out = console()
    counts = ", ".join(f"{count} {verdict}" for verdict, count in result.counts.items() if count)
    missing = f"; {len(result.missing)} have not come back" if result.missing else ""
    out.print(f"{len(result)} sites came back: {counts or 'none'}{missing}")
    c = result.columns
    worst = [i for i, verdict in enumerate(c["verdict"].tolist()) if verdict == "not accepted"]
    table = _table("Not accepted", ("Site", "Name", "Findings"))
    for i in worst[:REJECTS_SHOWN]:
        _row(table, c["site_id"][i], c["name"][i], c["findings"][i])
    if worst:
        out.print(table)
    if len(worst) > REJECTS_SHOWN:
        out.print(f"... and {len(worst) - REJECTS_SHOWN} more")
    out.print(f"Written to {folder}")


def show_coverage(shares: Mapping[str, Sequence[tuple[str, float]]], note: str) -> None:
    """Print the share of the area [%] that each class of each quantity takes."""
    out = console()
    table = _table("Coverage of the area", ("Quantity", "Class", "Share"), ("Share",))
    for name, classes in shares.items():
        for k, (label, share) in enumerate(classes):
            _row(table, FIELDS[name].label if k == 0 else "", label, f"{share:.1f} %")
    out.print(table)
    out.print(note)


def show_written(points: int, names: Sequence[str], folder: str) -> None:
    """Print which files of coverage were written."""
    out = console()
    out.print(f"{points:,} points; {', '.join(names)} written to {folder}")
    if not any(name.endswith(".tif") for name in names):
        out.print("No GeoTIFF: it needs rasterio (pip install 'siteplan[terrain]').")
