"""The crew's sheets: one file a site, one file a round of at most 300 sites, and an index.

Written into sheets/ of the output folder; printed, and read on the roof.

Sheets are made and written one at a time, so that memory does not grow with their number.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from siteplan.outputs.filenames import safe_names
from siteplan.outputs.paper import page
from siteplan.outputs.sheets import words as sheet_words
from siteplan.outputs.sheets.assumed import page_of
from siteplan.outputs.sheets.context import Visit, context
from siteplan.outputs.sheets.cover import cover_html
from siteplan.outputs.sheets.heights import density, sketch_behind
from siteplan.outputs.shown import SiteValues
from siteplan.outputs.standing import marks
from siteplan.outputs.units import US
from siteplan.results import Plan


class Sheet(NamedTuple):
    """One site's sheet: the site's index, the file name's stem, and the HTML within the page."""

    site: int
    stem: str
    html: str


def write_sheets(
    plan: Plan,
    rounds: Sequence[Any],
    folder: Path,
    *,
    legs_km: Sequence[Any] | None = None,
    progress: Callable[[int], None] = lambda done: None,
) -> int:
    """Write ``SITE.html`` for each site, ``groups/GROUP.html`` for each round, and an index.

    A round's file begins with its cover and ends with the figures that nobody gave.

    Parameters
    ----------
    plan : Plan
        The results.
    rounds : sequence of Round
        Sites in visiting order; those in no round get no sheet.
    folder : Path
        Where the sheets go; made if it is not there.
    legs_km : sequence of arrays, optional
        Of each round, the straight way from each stop to the next [km].
    progress : callable
        Told the number of sheets written after each.

    Returns
    -------
    int
        The number of sites that have a sheet.
    """
    (folder / "groups").mkdir(parents=True, exist_ok=True)
    names = round_names(rounds)
    done = 0
    stems = _stems(plan, rounds)
    on_letter = letter(plan)
    assumed = page_of(plan)
    ways = legs_km if legs_km is not None else [None] * len(rounds)
    for stop, name, legs in zip(rounds, names, ways, strict=True):
        with (folder / "groups" / f"{name}.html").open(
            "w", encoding="utf-8", errors="replace"
        ) as file:
            file.write(
                page.head(f"{_group_title(stop)}: {len(stop.sites)} sites", letter=on_letter)
            )
            file.write(cover_html(plan, stop, _group_title(stop), legs))
            for sheet in sheets(plan, stop, stems):
                head = page.head(_title(plan, sheet.site), letter=on_letter)
                text = head + sheet.html + page.tail()
                _write(folder / f"{sheet.stem}.html", text)
                file.write(sheet.html)
                done += 1
                progress(done)
            file.write(assumed + page.tail())
    _write(folder / "index.html", _index(plan, rounds, names, stems))
    return done


def _write(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8", errors="replace")


def sheets(plan: Plan, stop: Any, stems: dict[int, str]) -> Iterator[Sheet]:
    """Yield the sheets of a round, one at a time."""
    for k, site in enumerate(stop.sites.tolist()):
        visit = Visit(k + 1, len(stop.sites))
        html = sheet_html(plan, site, visit=visit, anchor=stems[site])
        yield Sheet(site, stems[site], html)


def sheet_html(plan: Plan, site: int, *, visit: Visit | None = None, anchor: str = "") -> str:
    """Return one site's sheet as an ``article`` element."""
    found = context(plan, site, visit=visit, anchor=anchor)
    on_letter = letter(plan)
    type_ = density(found, letter=on_letter)
    shown = {
        "s": found,
        "density": type_,
        "sketch_behind": sketch_behind(found, type_, letter=on_letter),
        "sketched": sheet_words.SKETCHED,
        "cautions": sheet_words.CAUTIONS,
        "photos": sheet_words.PHOTOS,
        "no_factor": sheet_words.NO_FACTOR,
        "wind_caveat": sheet_words.WIND_CAVEAT,
        "exposure_caveat": sheet_words.EXPOSURE_CAVEAT,
    }
    return page.rendered("sheets/templates/sheet.html", shown)


def letter(plan: Plan) -> bool:
    """Return whether the sheets are for letter paper: as asked, else by the units."""
    paper, units = plan.network.sheets.paper, plan.network.network.units
    return paper == "letter" if paper else units == US


def round_names(rounds: Sequence[Any]) -> list[str]:
    """Return the stem of each round's file: the group's name, later parts with their number."""
    groups = list(dict.fromkeys(stop.group for stop in rounds))
    safe = dict(zip(groups, safe_names([g or "no_group" for g in groups]), strict=True))
    taken: set[str] = set()
    names = []
    for stop in rounds:
        stem = safe[stop.group] + (f"-{stop.part}" if stop.part > 1 else "")
        while stem.casefold() in taken:
            stem += "_"
        taken.add(stem.casefold())
        names.append(stem)
    return names


def _stems(plan: Plan, rounds: Sequence[Any]) -> dict[int, str]:
    """Return the file name's stem of each site, the same whatever the selection."""
    every = safe_names([str(site) for site in plan.columns["site_id"]])
    return {site: every[site] for stop in rounds for site in stop.sites.tolist()}


def _group_title(stop: Any) -> str:
    part = f", part {stop.part}" if stop.part > 1 else ""
    return f"{stop.group or 'No group'}{part}"


def _title(plan: Plan, site: int) -> str:
    return f"{plan.columns['site_id'][site]} {plan.columns['name'][site]}"


def _index(plan: Plan, rounds: Sequence[Any], names: Sequence[str], stems: dict[int, str]) -> str:
    """Return the page of the index: rounds, and their sites in visiting order."""
    groups = [
        {
            "title": _group_title(stop),
            "file": name,
            "sites": [
                (stems[site], _title(plan, site), marks(SiteValues(plan, site)))
                for site in stop.sites.tolist()
            ],
        }
        for stop, name in zip(rounds, names, strict=True)
    ]
    found = {"groups": groups, "network": plan.facts.name}
    template = "sheets/templates/sheet_index.html"
    return page.on_page("Sheets", template, found, letter=letter(plan))
