"""The one list of what a plan writes: names, writer, what asks for it, and what parts make of it.

A plan is held in memory as a whole, or laid in files part by part. Of one in parts that is small
enough, all sites are read back, and it is written as a whole one is. Of a larger one each row of
`PRODUCTS` says what becomes of it: ``joined`` from the parts, the same ``whole`` whatever the
sites, or ``refused`` where it is asked for (and, where it is not, left out: the summary tells).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from siteplan.errors import OutputError
from siteplan.frozen import frozen
from siteplan.jobs import crew
from siteplan.jobs.asked import PARTS_KINDS, WHOLE_KINDS, Asked, Job
from siteplan.jobs.check.notes import by_severity
from siteplan.jobs.compare.kept import INPUTS_NAME
from siteplan.jobs.maps import keep_templates
from siteplan.model import NoteLine, Reject, Sites, Surroundings
from siteplan.results import Plan

if TYPE_CHECKING:
    from siteplan.jobs.coverage import Covered
    from siteplan.outputs.map.backdrop import Behind

#: Sites that the map of a plan too large to be read back shows.
MAP_SITES = 50_000
#: Plans of more sites than this are written from their parts.
READ_BACK_UP_TO = crew.PACK_UP_TO
#: What each gateway gives and loses.
HUB_NAME = "hub.json"
#: What an operator asks before a network is switched on, as a page and as a table.
TRANSMISSION_NAMES = ("transmission_plan.html", "transmission_plan.csv")
#: When the sites are built: by site, by month or wave, and the kit by wave.
ROLLOUT_NAMES = ("rollout.csv", "rollout_periods.csv", "kit_by_wave.csv")
#: The folder of what a licence asks, where limits off axis are given.
REGULATION_NAME = "regulation"
#: The folder of what monitoring is to expect.
MONITORING_NAME = "monitoring"
#: Plans of more sites than this get it where it is asked for: it is some 7 kB a site.
MONITORED_UP_TO = 100_000
#: The plan as a workbook, and the most sites that one is written for.
WORKBOOK_NAME, WORKBOOK_UP_TO = "plan.xlsx", 20_000


@frozen
class Made:
    """A plan that was worked out, for the writers.

    ``plan`` holds all ``sites``, or the first alone where they are too many to read back;
    ``parts`` are the files of a plan in parts, in order, and ``as_folder`` whether they become
    ``sites.parquet`` as they are. ``summary`` is written last: writers may add to it. ``lines`` are
    the notes on the file and on its rows. ``read`` are the checked sites, None of a plan in parts,
    ``around`` what is known around them.
    """

    job: Job
    plan: Plan
    sites: int
    rejects: tuple[Reject, ...]
    summary: dict[str, Any]
    covered: Covered | None
    behind: Behind
    parts: tuple[Path, ...] = ()
    as_folder: bool = False
    lines: tuple[NoteLine, ...] = ()
    read: Sites | None = None
    around: Surroundings = field(default_factory=Surroundings)

    @property
    def whole(self) -> bool:
        """Whether all sites are at hand."""
        return len(self.plan) == self.sites

    @property
    def tables(self) -> tuple[str, ...]:
        """Kinds of tables that are written."""
        return self.job.asked.tables or (PARTS_KINDS if self.parts else WHOLE_KINDS)


Writer = Callable[[Made, Path], None]


@frozen
class Product:
    """One output: its names in the folder, what asks for it, its writer, what parts make of it."""

    names: tuple[str, ...]
    wanted: Callable[[Made], bool]
    write: Writer
    in_parts: Literal["joined", "whole", "refused"]


def write(made: Made, folder: Path) -> None:
    """Write all that is asked for into a folder that exists."""
    keep_templates()
    made.summary["crew"] = _crew_note(made)
    if told := _workbook_note(made):
        made.summary["workbook"] = told
    if told := _rollout_note(made):
        made.summary["rollout"] = told
    for product in PRODUCTS:
        if product.wanted(made) and (made.whole or product.in_parts != "refused"):
            product.write(made, folder)


def names(made: Made) -> frozenset[str]:
    """Return the names that a plan takes in its folder; what else lies there is the user's.

    Coverage counts only where the plan has it: else it is that of ``siteplan coverage``.
    """
    ours = (p for p in PRODUCTS if p.write is not _coverage or made.covered is not None)
    return frozenset(name for product in ours for name in product.names)


def check_size(asked: Asked, sites: int) -> None:
    """Raise where a plan in parts has too many sites for what is asked.

    Raises
    ------
    OutputError
        With how to get it.
    """
    if asked.sheets and sites > READ_BACK_UP_TO:
        raise OutputError(
            f"a plan in parts of more than {READ_BACK_UP_TO} sites writes no sheets.",
            where="--sheets",
            fix="Plan without, then write those of some sites:"
            " 'siteplan sheets PROJECT --only ID,ID' or '--group NAME'.",
        )


def _crew_note(made: Made) -> str:
    """Return what the summary says of the crew's pack, and of what else was left out."""
    asked = made.job.asked.sheets
    told = crew.note(
        made.sites,
        wanted=made.whole and crew.sheets_wanted(made.sites, asked),
        refused=asked is False,
        possible=made.whole,
    )
    if (made.job.folder / crew.SELECTED_NAME).is_dir():
        told += " selected/ is of an earlier plan: ask for it again with 'siteplan sheets'."
    if not _watched(made):
        told += (
            f" No monitoring/: more than {MONITORED_UP_TO} sites or rows; --monitoring writes it."
        )
    if made.whole or not made.job.asked.map:
        return told
    return (
        f"{told} The map of a plan in parts goes without what-if questions, one kit everywhere,"
        " link budgets and what it would take: see what_it_takes.csv."
    )


# --- tables ---------------------------------------------------------------------------------


def _kind(kind: str) -> Callable[[Made], bool]:
    return lambda made: kind in made.tables


def _csv(made: Made, folder: Path) -> None:
    path = folder / "sites.csv"
    if made.parts:
        from siteplan.outputs.tables import parquet

        parquet.join_csv(made.parts, path)
    else:
        from siteplan.outputs.tables import files

        files.write_csv(made.plan, path)


def _gpkg(made: Made, folder: Path) -> None:
    path = folder / "sites.gpkg"
    if made.parts:
        from siteplan.outputs.tables import parquet

        parquet.join_gpkg(made.parts, path)
    else:
        from siteplan.outputs.tables import files

        files.write_gpkg(made.plan, path)


def _geojson(made: Made, folder: Path) -> None:
    path = folder / "sites.geojson"
    if made.parts:
        from siteplan.outputs.tables import parquet

        parquet.join_geojson(made.parts, path)
    else:
        from siteplan.outputs.tables import files

        files.write_geojson(made.plan, path)


def _parquet(made: Made, folder: Path) -> None:
    from siteplan.outputs.tables import parquet

    path = folder / "sites.parquet"
    if not made.parts:
        parquet.write_part(made.plan, path)
    elif made.as_folder:
        parquet.copy_parts(made.parts, path)
    else:
        parquet.join_parquet(made.parts, path)


def _takes(made: Made, folder: Path) -> None:
    """Write what it would take; of parts that are not read back, from the rows that each laid."""
    from siteplan.outputs.lists import remedies

    path = folder / "what_it_takes.csv"
    if made.whole:
        remedies.write_remedies(made.plan, path)
    else:
        from siteplan.jobs.parts.part import rows_of_remedies

        remedies.join_remedies([rows_of_remedies(part) for part in made.parts], path)


def sensed_unasked(sites: int) -> bool:
    """Return whether what would change the kit is written of so many sites without asking."""
    from siteplan.planning.certainty.sensitivity import TABLES_UP_TO

    return sites <= TABLES_UP_TO


def _sensed(made: Made) -> bool:
    """Whether what would change the kit is written: of few sites, or where it is asked for."""
    return made.job.asked.sensitivity or sensed_unasked(made.sites)


def _sensitivity(made: Made, folder: Path) -> None:
    """Write what would change the kit; of parts that are not read back, from their rows."""
    from siteplan.outputs.lists import sensitivity

    path = folder / "sensitivity.csv"
    if made.whole:
        sensitivity.write_sensitivity(made.plan, path)
    else:
        from siteplan.jobs.parts.part import rows_of_sensitivity

        sensitivity.join_sensitivity([rows_of_sensitivity(part) for part in made.parts], path)


def _rejects(made: Made, folder: Path) -> None:
    from siteplan.outputs.tables.files import write_rejects

    write_rejects(made.rejects, folder / "rejects.csv")


def _notes(made: Made, folder: Path) -> None:
    from siteplan.outputs.tables.notes import write_notes

    write_notes(by_severity(made.lines), folder / "notes.csv")


# --- the crew's pack, the map, coverage, the summary ----------------------------------------


def _lists(made: Made, folder: Path) -> None:
    crew.write_lists(made.plan, folder)


def _sheets(made: Made, folder: Path) -> None:
    crew.write_sheets(made.plan, folder / crew.SHEETS_NAME, made.job.watch)


def _map(made: Made, folder: Path) -> None:
    """Write the map; of too many sites, a choice that leaves no failing one out if it can."""
    from siteplan.outputs.map.payload import write_map

    plan = made.plan
    if not made.whole:
        plan, made.summary["map"] = _some(made)
    facts = replace(plan.facts, sheets=(folder / crew.SHEETS_NAME).is_dir())
    options = made.job.asked.map_options
    write_map(replace(plan, facts=facts), folder / "map.html", backing=made.behind, **options)


def _some(made: Made) -> tuple[Plan, str]:
    """Return the sites that the map of a very large plan shows, and what it leaves out."""
    from siteplan.fields import FLAGS
    from siteplan.outputs.tables.parquet import column_of, plan_rows
    from siteplan.planning.report.thinning import choose

    stops = frozenset(f.code for f in FLAGS.values() if f.severity == "stop")
    chosen = choose(column_of(made.parts, "flags"), stops, MAP_SITES)
    plan = plan_rows(made.parts, chosen.rows, made.plan)
    shown = replace(plan.facts, shown=chosen.note)
    return replace(plan, facts=shown), chosen.note or "all sites"


def _report(made: Made, folder: Path) -> None:
    """Write the report; of too many sites from what the parts' tables hold of all of them."""
    from siteplan.outputs.report.files import write_report
    from siteplan.planning.report.composed import composed

    table = f"sites.{'csv' if 'csv' in made.tables else made.tables[0]}"
    if made.whole:
        plan, found = made.plan, composed(made.plan, table=table)
    else:
        from siteplan.jobs.parts.columns import columns_of, rows_of
        from siteplan.planning.report.composed import wanted

        names = wanted(made.plan.network)
        plan = replace(made.plan, columns=columns_of(made.parts, names), extra={})
        found = composed(plan, rows_of(made.parts, made.plan), table=table)
    write_report(plan, found, folder / "report.html")


def _coverage(made: Made, folder: Path) -> None:
    from siteplan.jobs import coverage

    assert made.covered is not None
    coverage.write(made.covered, folder)


def _workbook_wanted(made: Made) -> bool:
    """Whether the plan is to be a workbook too: asked for, or the project is one."""
    asked = made.job.asked.workbook
    return made.job.project.workbook is not None if asked is None else asked


def _workbook(made: Made, folder: Path) -> None:
    """Write the plan as a workbook; its kit list is the one that was written before."""
    import csv

    from siteplan.outputs.workbook.plan import Beside, write_plan
    from siteplan.planning.kit.needy import TIGHT_DB
    from siteplan.planning.report.serving import tight

    with (folder / "kit.csv").open(encoding="utf-8", newline="") as file:
        kit = list(csv.reader(file))
    short = int(tight(made.plan).sum()), TIGHT_DB
    beside = Beside(made.summary, made.rejects, by_severity(made.lines), kit, short)
    every = made.job.asked.all_fields
    write_plan(made.plan, beside, folder / WORKBOOK_NAME, all_fields=every)


def _workbook_note(made: Made) -> str:
    """Return what the summary says of the workbook; nothing where none was asked for."""
    if not _workbook_wanted(made):
        return ""
    if made.whole and made.sites <= WORKBOOK_UP_TO:
        return f"{WORKBOOK_NAME} holds the plan as a workbook."
    return f"No {WORKBOOK_NAME}: a plan of more than {WORKBOOK_UP_TO} sites writes none."


def _regulated(made: Made) -> bool:
    """Whether limits off axis are given."""
    return made.plan.facts.licence is not None


def _regulation(made: Made, folder: Path) -> None:
    """Write what a licence asks; of too many sites to hold from the parts' tables."""
    from siteplan.outputs.regulation.files import write_regulation

    parts = () if made.whole else made.parts
    write_regulation(made.plan, folder / REGULATION_NAME, parts)


def _inputs(made: Made, folder: Path) -> None:
    """Write what the plan was made from; of one in parts the sites that each part laid."""
    from siteplan.jobs.compare.kept import write_inputs

    sites = _laid_sites(made) if made.read is None else made.read
    write_inputs(made.plan, made.job.network, made.around, sites, folder / INPUTS_NAME)


def _laid_sites(made: Made) -> list[Path]:
    """Return where each part laid its sites."""
    from siteplan.jobs.parts.part import sites_of

    return [sites_of(part) for part in made.parts]


def _rolled_out(made: Made) -> bool:
    """Whether a roll-out is told of."""
    return made.plan.facts.rollout is not None


def _rollout(made: Made, folder: Path) -> None:
    """Write when the sites are built."""
    from siteplan.outputs.rollout.files import write_rollout

    assert made.plan.facts.rollout is not None
    write_rollout(made.plan.facts.rollout, *(folder / name for name in ROLLOUT_NAMES))


def _rollout_note(made: Made) -> str:
    """Return what the summary says of a roll-out's order; nothing where it is that of visits."""
    found = made.plan.facts.rollout
    listed = found is not None and any(site.remark for site in found.sites[:1])
    return found.notes[0] if found is not None and listed else ""


def _hub(made: Made, folder: Path) -> None:
    """Write what each gateway gives and loses."""
    from siteplan.outputs.tables.files import write_json

    gateways = [hub.to_json() for hub in made.plan.facts.hubs]
    write_json({"gateways": gateways}, folder / HUB_NAME)


def _lease(made: Made, folder: Path) -> None:
    """Write what is leased; of parts from what was counted of all of them."""
    from siteplan.outputs.capacity.files import write_lease

    if made.plan.facts.capacity is not None:
        write_lease(made.plan.facts.capacity, folder / "lease.csv")


def _transmission(made: Made, folder: Path) -> None:
    """Write what an operator asks before a network is switched on; of parts from their counts."""
    from siteplan.outputs.capacity.transmission import write_transmission_page
    from siteplan.outputs.capacity.transmission_table import write_transmission_csv
    from siteplan.planning.capacity.transmission import transmission

    if (found := transmission(made.plan.facts, made.plan.network)) is not None:
        page, table = (folder / name for name in TRANSMISSION_NAMES)
        write_transmission_page(found, made.plan, page)
        write_transmission_csv(found, table)


def monitored_unasked(sites: int) -> bool:
    """Return whether what monitoring is to expect is written of so many sites without asking."""
    return sites <= MONITORED_UP_TO


def _watched(made: Made) -> bool:
    """Whether what monitoring is to expect is written of so many sites; every part laid it then."""
    few = made.job.asked.monitoring or monitored_unasked(made.sites)
    if not few or not made.parts:
        return few
    from siteplan.jobs.parts.beside import MONITORED

    return all(path.with_suffix(MONITORED).exists() for path in made.parts)


def _monitored(made: Made) -> bool:
    """Whether it is written, and any site has kit."""
    bill = made.plan.facts.bill
    return _watched(made) and bill is not None and bill.sites > 0


def _monitoring(made: Made, folder: Path) -> None:
    """Write what monitoring is to expect of the sites with kit; of parts from what each laid."""
    from siteplan.outputs.operations.monitoring import write_monitoring

    if made.parts:
        from siteplan.jobs.parts.gathered import monitored_parts

        pieces = monitored_parts(made.parts, made.plan)
    else:
        from siteplan.planning.operations.levels import monitored

        pieces = ((made.plan, of) for of in monitored(made.plan))
    write_monitoring(pieces, folder / MONITORING_NAME)


def _summary(made: Made, folder: Path) -> None:
    from siteplan.outputs.tables.files import write_json

    write_json(made.summary, folder / "summary.json")


def _always(made: Made) -> bool:
    return True


#: In the order in which they are written: the map links to the sheets, the summary tells of all.
PRODUCTS: tuple[Product, ...] = (
    Product(("sites.csv",), _kind("csv"), _csv, "joined"),
    Product(("sites.gpkg",), _kind("gpkg"), _gpkg, "joined"),
    Product(("sites.geojson",), _kind("geojson"), _geojson, "joined"),
    Product(("sites.parquet",), _kind("parquet"), _parquet, "joined"),
    Product(("what_it_takes.csv",), _always, _takes, "joined"),
    Product(("sensitivity.csv",), _sensed, _sensitivity, "joined"),
    Product(("rejects.csv",), _always, _rejects, "whole"),
    Product(("notes.csv",), _always, _notes, "whole"),
    Product(crew.LIST_NAMES, lambda made: made.sites <= crew.PACK_UP_TO, _lists, "refused"),
    Product(
        (crew.SHEETS_NAME,),
        lambda made: crew.sheets_wanted(made.sites, made.job.asked.sheets),
        _sheets,
        "refused",
    ),
    Product(
        (WORKBOOK_NAME,),
        lambda made: _workbook_wanted(made) and made.sites <= WORKBOOK_UP_TO,
        _workbook,
        "refused",
    ),
    Product((INPUTS_NAME,), _always, _inputs, "joined"),
    Product(ROLLOUT_NAMES, _rolled_out, _rollout, "whole"),
    Product((HUB_NAME,), _always, _hub, "whole"),
    Product((REGULATION_NAME,), _regulated, _regulation, "joined"),
    Product(("lease.csv",), _always, _lease, "whole"),
    Product(TRANSMISSION_NAMES, _always, _transmission, "whole"),
    Product((MONITORING_NAME,), _monitored, _monitoring, "joined"),
    Product(("map.html",), lambda made: made.job.asked.map, _map, "joined"),
    Product(("report.html",), lambda made: made.job.asked.report, _report, "joined"),
    Product(
        ("coverage.geojson", "coverage.gpkg", "coverage.tif"),
        lambda made: made.covered is not None,
        _coverage,
        "whole",
    ),
    Product(("summary.json",), _always, _summary, "whole"),
)
#: What a plan writes into its folder.
OUTPUT_NAMES = tuple(name for product in PRODUCTS for name in product.names)
