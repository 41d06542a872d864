"""The commands that plan: plan, coverage, sheets, asbuilt."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from siteplan.cli.parsing import PROJECT, add_workers
from siteplan.errors import ALL_PLANNED, SOME_REJECTED

if TYPE_CHECKING:
    from siteplan.cli.parsing import Commands


def _add_many(plan: argparse.ArgumentParser) -> None:
    """Add what very large plans take: workers, a cluster, the tables to write."""
    many = plan.add_argument_group("very large plans")
    add_workers(many)
    many.add_argument(
        "--tables",
        metavar="KINDS",
        help="of csv,gpkg,geojson,parquet (else the first three, in parts the last)",
    )


def add_plan(commands: Commands) -> None:
    """Add the command that plans a project."""
    plan = commands.add_parser("plan", help="plan a project folder and write its outputs")
    plan.add_argument("project", help=PROJECT)
    plan.add_argument("--output", metavar="DIR", help="where to write (else output/NAME)")
    plan.add_argument("--no-map", action="store_true", help="write tables only")
    plan.add_argument("--plain-map", action="store_true", help="leave a large map uncompressed")
    plan.add_argument(
        "--tiles",
        metavar="URL",
        default="",
        help="online map tiles behind the sites, https://HOST/{z}/{x}/{y}.png (else offline)",
    )
    plan.add_argument("--coverage", metavar="DEG", type=float, help="also a grid of this step")
    plan.add_argument(
        "--sheets",
        action=argparse.BooleanOptionalAction,
        help="write a sheet for each site, or none (else up to 500 sites)",
    )
    plan.add_argument("--no-report", action="store_true", help="write no report.html")
    plan.add_argument(
        "--workbook",
        action=argparse.BooleanOptionalAction,
        help="write plan.xlsx too, or not (else where the project is a workbook)",
    )
    plan.add_argument("--all-fields", action="store_true", help="every field in plan.xlsx")
    plan.add_argument(
        "--sensitivity",
        action="store_true",
        help="write sensitivity.csv of more than 5,000 sites too",
    )
    plan.add_argument(
        "--monitoring",
        action="store_true",
        help="write monitoring/ of more than 100,000 sites too (some 7 kB a site)",
    )
    plan.add_argument("--quiet", action="store_true", help="print nothing but errors")
    _add_many(plan)
    plan.set_defaults(run=_plan)


def _plan(arguments: argparse.Namespace) -> int:
    from siteplan.api import plan_project
    from siteplan.outputs import console

    with console.progress(quiet=arguments.quiet) as watch:
        outcome = plan_project(
            arguments.project,
            arguments.output,
            with_map=not arguments.no_map,
            with_sheets=arguments.sheets,
            with_report=not arguments.no_report,
            coverage_step_deg=arguments.coverage,
            map_options={"tiles": arguments.tiles, "plain": arguments.plain_map},
            tables=arguments.tables,
            workers=arguments.workers,
            scheduler=arguments.scheduler,
            workbook=arguments.workbook,
            all_fields=arguments.all_fields,
            sensitivity=arguments.sensitivity,
            monitoring=arguments.monitoring,
            watch=watch,
        )
    if not arguments.quiet:
        console.show_rejects(outcome.rejects)
        console.show_kinds(outcome.noted, where="notes.csv", most=console.KINDS_OF_A_PLAN)
        console.show_summary(outcome.summary, str(outcome.folder))
    return SOME_REJECTED if outcome.rejects else ALL_PLANNED


def add_sheets(commands: Commands) -> None:
    """Add the command that writes the crew's pack for some sites."""
    sheets = commands.add_parser("sheets", help="the crew's sheets and lists for some sites")
    sheets.add_argument("project", help=PROJECT)
    sheets.add_argument("--only", metavar="ID,ID", default="", help="ids of the sites")
    sheets.add_argument("--group", metavar="NAME", help="a group of sites")
    sheets.add_argument("--output", metavar="DIR", help="the project's outputs (else output/NAME)")
    sheets.add_argument("--quiet", action="store_true", help="print nothing but errors")
    sheets.set_defaults(run=_sheets)


def _sheets(arguments: argparse.Namespace) -> int:
    from siteplan.api import sheets_project
    from siteplan.outputs import console

    only = [site.strip() for site in arguments.only.split(",") if site.strip()]
    with console.progress(quiet=arguments.quiet) as watch:
        folder = sheets_project(
            arguments.project, arguments.output, only=only, group=arguments.group, watch=watch
        )
    if not arguments.quiet:
        console.console().print(f"Sheets and lists written to {folder}")
    return ALL_PLANNED


def add_coverage(commands: Commands) -> None:
    """Add the command that works out a grid over the project's area."""
    coverage = commands.add_parser("coverage", help="elevation, rain, antenna over an area")
    coverage.add_argument("project", help=PROJECT)
    coverage.add_argument("--step", metavar="DEG", type=float, help="spacing (else 0.25)")
    coverage.add_argument("--area", metavar="FILE", help="polygons (else around the sites)")
    coverage.add_argument("--land", action="store_true", help="cut to land")
    coverage.add_argument("--output", metavar="DIR", help="where to write (else output/NAME)")
    add_workers(coverage)
    coverage.add_argument("--quiet", action="store_true", help="print nothing but errors")
    coverage.set_defaults(run=_coverage)


def _coverage(arguments: argparse.Namespace) -> int:
    from siteplan.api import coverage_project
    from siteplan.outputs import console

    with console.progress(quiet=arguments.quiet) as watch:
        written = coverage_project(
            arguments.project,
            arguments.output,
            step_deg=arguments.step,
            area=arguments.area,
            land_only=arguments.land,
            workers=arguments.workers,
            scheduler=arguments.scheduler,
            watch=watch,
        )
    if not arguments.quiet:
        console.show_coverage(written.covered.shares, written.covered.coverage.note)
        console.show_written(written.points, written.names, str(written.folder))
    return ALL_PLANNED


def add_asbuilt(commands: Commands) -> None:
    """Add the command that compares what came back with the plan."""
    asbuilt = commands.add_parser("asbuilt", help="compare what came back with the plan")
    asbuilt.add_argument("project", help=PROJECT)
    asbuilt.add_argument("returned", help="the filled-in copy of returned_blank.csv")
    asbuilt.add_argument("--output", metavar="DIR", help="the project's outputs (else output/NAME)")
    asbuilt.add_argument("--quiet", action="store_true", help="print nothing but errors")
    asbuilt.set_defaults(run=_asbuilt)


def _asbuilt(arguments: argparse.Namespace) -> int:
    from siteplan.api import asbuilt_outputs
    from siteplan.outputs import console

    result, folder = asbuilt_outputs(arguments.project, arguments.returned, arguments.output)
    if not arguments.quiet:
        console.show_rejects(result.rejects)
        console.show_asbuilt(result, str(folder))
    return SOME_REJECTED if result.rejects else ALL_PLANNED
