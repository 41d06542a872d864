"""What the crew carries, end to end: visiting order, sheets, tracks, kit, sun, blank to fill in."""

from __future__ import annotations

from pathlib import Path

from siteplan.jobs.watch import Watch, unwatched
from siteplan.results import Plan

#: Names of the lists, of the sheets, and of the pack of a selection.
LIST_NAMES = ("sites.kml", "sites.gpx", "kit.csv", "sun.csv", "sun", "returned_blank.csv")
SHEETS_NAME, SELECTED_NAME = "sheets", "selected"
#: What the crew's pack is called in the output folder.
OUTPUT_NAMES = (SHEETS_NAME, *LIST_NAMES)
#: Sheets come of themselves up to so many sites, the rest of the pack up to so many.
SHEETS_UP_TO = 500
PACK_UP_TO = 20_000


def write_lists(plan: Plan, folder: Path) -> None:
    """Write tracks, kit list, sun transits and the blank to fill in, into a folder that exists."""
    from siteplan.outputs.lists import kit, returned, tracks
    from siteplan.outputs.lists import sun as sun_files

    tracks.write_kml(plan, folder / "sites.kml")
    tracks.write_gpx(plan, folder / "sites.gpx")
    kit.write_kit(plan, folder / "kit.csv")
    returned.write_blank(plan, folder / "returned_blank.csv")
    sun_files.write_sun_table(plan, folder / "sun.csv")
    sun_files.write_sun_calendars(plan, folder / "sun")


def write_sheets(plan: Plan, folder: Path, watch: Watch = unwatched) -> None:
    """Write the sheets into a folder to be made, each group in visiting order."""
    from siteplan.outputs.sheets.files import write_sheets as write
    from siteplan.planning.rounds import legs_km, rounds

    columns = plan.columns
    lat, lon = columns["lat"], columns["lon"]
    visits = rounds(columns["group"], lat, lon)
    legs = [legs_km(stop.sites, lat, lon) for stop in visits]
    write(plan, visits, folder, legs_km=legs, progress=watch(len(plan), "Sheets"))


def sheets_wanted(sites: int, asked: bool | None) -> bool:
    """Return whether sheets are written; where nobody says, up to ``SHEETS_UP_TO`` sites."""
    return sites <= SHEETS_UP_TO if asked is None else asked


def note(sites: int, *, wanted: bool, refused: bool, possible: bool = True) -> str:
    """Return what the summary says of the crew's pack.

    Parameters
    ----------
    sites : int
        How many the plan has.
    wanted, refused : bool
        Whether sheets were written; whether they were not, as asked.
    possible : bool
        Whether the same plan could have sheets for all.
    """
    if wanted:
        told = "Sheets for the crew: sheets/index.html; print sheets/groups/ for a round of visits."
    elif refused:
        told = "No sheets, as asked."
    else:
        every = "all with --sheets, or for some" if possible else "some"
        told = (
            f"No sheets: more than {SHEETS_UP_TO} sites. Ask for {every}"
            " with 'siteplan sheets PROJECT --only ID,ID' or '--group NAME'."
        )
    if sites > PACK_UP_TO:
        told += f" No kit list, tracks or table of sun transits: more than {PACK_UP_TO} sites."
    return told
