"""The commands that answer on the screen: check, fields, site, budget."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from siteplan.cli.parsing import PROJECT
from siteplan.errors import ALL_PLANNED, SOME_REJECTED

if TYPE_CHECKING:
    from siteplan.cli.parsing import Commands


def add_check(commands: Commands) -> None:
    """Add the command that tells how a project was understood."""
    check = commands.add_parser("check", help="read and check a project; plan nothing")
    check.add_argument("project", help=PROJECT)
    check.add_argument("--all", action="store_true", help="every column, reject and note, unfolded")
    check.add_argument("--notes", metavar="FILE", help="write every note to this CSV file")
    check.add_argument(
        "--write-ids",
        action="store_true",
        help="write a copy of the list with an id in every row, beside it",
    )
    check.set_defaults(run=_check)


def _check(arguments: argparse.Namespace) -> int:
    from siteplan.api import check_project, write_ids, write_notes
    from siteplan.outputs import console

    checked = check_project(arguments.project)
    console.show_columns(checked.columns, all_of_them=arguments.all)
    if arguments.all:
        console.show_rejects(checked.rejects, all_of_them=True)
        console.show_notes(checked.by_severity)
    else:
        console.show_reject_kinds(checked.reject_kinds)
        console.show_kinds(checked.kinds, where="siteplan check --all, or --notes FILE")
    out = console.console()
    if arguments.notes:
        out.print(f"Notes written to {write_notes(checked, arguments.notes)}")
    if arguments.write_ids:
        out.print(write_ids(checked).told)
    checked.refuse()
    out.print(checked.count)
    return SOME_REJECTED if checked.rejects else ALL_PLANNED


def add_fields(commands: Commands) -> None:
    """Add the command that lists fields, flags and keys."""
    fields = commands.add_parser("fields", help="list the result fields and flags")
    fields.add_argument("--network", action="store_true", help="list the keys of the network")
    fields.add_argument("--markdown", action="store_true", help="print Markdown tables")
    fields.set_defaults(run=_fields)


def _fields(arguments: argparse.Namespace) -> int:
    from siteplan.outputs import console

    if arguments.network:
        console.show_network_keys(markdown=arguments.markdown)
        print()
    else:
        console.show_dictionary(markdown=arguments.markdown)
    return ALL_PLANNED


def add_site(commands: Commands) -> None:
    """Add the command that answers for one place."""
    site = commands.add_parser("site", help="one place, no files: angles, rain, margins, the pick")
    site.add_argument("lat", help="latitude, decimal or DMS, north positive")
    site.add_argument("lon", help="longitude, decimal or DMS, east positive")
    site.add_argument("--satellite", metavar="DEG", help="orbital position, east positive, or 61W")
    site.add_argument("--network", metavar="FILE", help="a network.toml to take the rest from")
    site.add_argument("--altitude", metavar="M", type=float, help="height above sea level")
    site.add_argument("--availability", metavar="PCT", type=float, help="availability target")
    site.add_argument("--budget", action="store_true", help="the link budget, line by line")
    site.add_argument("--assumed", action="store_true", help="list every figure assumed")
    site.set_defaults(run=_site)


def _site(arguments: argparse.Namespace) -> int:
    from siteplan.api import budget, plan_one
    from siteplan.outputs import console

    result = plan_one(
        arguments.lat,
        arguments.lon,
        satellite=arguments.satellite,
        network=arguments.network,
        altitude_m=arguments.altitude,
        availability_pct=arguments.availability,
    )
    console.show_site(result)
    if arguments.budget:
        print()
        console.show_budget(budget(result, str(result.columns["site_id"][0])))
    print()
    assumed = [a.to_json() for a in result.assumptions]
    console.show_assumed(assumed, where="--assumed", all_of_them=arguments.assumed)
    return ALL_PLANNED


def add_budget(commands: Commands) -> None:
    """Add the command that tells a site's link budget line by line."""
    budget = commands.add_parser("budget", help="the link budget of one site, line by line")
    budget.add_argument("project", help=PROJECT)
    budget.add_argument("site", help="id of the site")
    budget.add_argument("--csv", metavar="FILE", help="write it as a table to this CSV file")
    budget.add_argument("--page", metavar="FILE", help="write it as an HTML page to print")
    budget.set_defaults(run=_budget)


def _budget(arguments: argparse.Namespace) -> int:
    from siteplan.api import budget_project, write_budget
    from siteplan.outputs import console

    found = budget_project(arguments.project, arguments.site)
    console.show_budget(found)
    for path in write_budget(found, csv=arguments.csv, page=arguments.page):
        console.console().print(f"Written to {path}")
    return ALL_PLANNED
