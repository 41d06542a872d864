"""The commands for a network at work: availability."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from siteplan.cli.parsing import PROJECT
from siteplan.errors import ALL_PLANNED, SOME_REJECTED

if TYPE_CHECKING:
    from siteplan.cli.parsing import Commands


def add_availability(commands: Commands) -> None:
    """Add the command that compares a log of outages with the plan."""
    availability = commands.add_parser(
        "availability", help="what a log of outages comes to, against the plan"
    )
    availability.add_argument("project", help=PROJECT)
    availability.add_argument("outages", help="the log: site_id, from, to, cause, counted")
    availability.add_argument(
        "--from", dest="since", metavar="T", default="", help="when the log begins (ISO 8601)"
    )
    availability.add_argument(
        "--until", metavar="T", default="", help="when it ends; outages without an end run to it"
    )
    availability.add_argument(
        "--output", metavar="DIR", help="the project's outputs (else output/NAME)"
    )
    availability.add_argument("--quiet", action="store_true", help="print nothing but errors")
    availability.set_defaults(run=_availability)


def _availability(arguments: argparse.Namespace) -> int:
    from siteplan.api import availability_outputs
    from siteplan.outputs import console

    result, folder = availability_outputs(
        arguments.project,
        arguments.outages,
        arguments.output,
        since=arguments.since,
        until=arguments.until,
    )
    if not arguments.quiet:
        console.show_rejects(result.rejects)
        console.show_availability(result, str(folder))
    return SOME_REJECTED if result.rejects else ALL_PLANNED
