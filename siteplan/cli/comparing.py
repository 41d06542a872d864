"""The command that compares: a project with other satellites, or two outputs."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from siteplan.cli.parsing import PROJECT
from siteplan.errors import ALL_PLANNED, SOME_REJECTED

if TYPE_CHECKING:
    from siteplan.cli.parsing import Commands, Parser

#: What is compared with what.
_EITHER = (
    "say what to compare with: 'siteplan compare PROJECT --satellites FILE' plans the project with"
    " each satellite of the file, 'siteplan compare OLD NEW' tells what changed between the"
    " outputs of two plans."
)


def add_compare(commands: Commands) -> None:
    """Add the command that compares satellites, or two outputs."""
    compare = commands.add_parser(
        "compare", help="a project with other satellites, or two plans' outputs"
    )
    compare.add_argument("project", help=f"{PROJECT}; or the outputs of an earlier plan")
    compare.add_argument("new", nargs="?", help="the outputs of a later plan")
    compare.add_argument(
        "--satellites",
        metavar="FILE",
        help=".csv or .toml: name, longitude_deg, and what is known of each satellite",
    )
    compare.add_argument(
        "--output",
        metavar="DIR",
        help="where to write: with --satellites into DIR/compare (else output/NAME/compare), of two"
        " plans into DIR itself (else NEW/compared)",
    )
    compare.add_argument("--quiet", action="store_true", help="print nothing but errors")
    compare.set_defaults(run=_compare, parser=compare)


def _compare(arguments: argparse.Namespace) -> int:
    parser: Parser = arguments.parser
    if (arguments.new is None) == (arguments.satellites is None):
        parser.error(_EITHER)
    if arguments.new is not None:
        return _outputs(arguments)
    return _satellites(arguments)


def _outputs(arguments: argparse.Namespace) -> int:
    from siteplan.api import compare_outputs
    from siteplan.outputs import console

    with console.progress(quiet=arguments.quiet) as watch:
        found, folder = compare_outputs(
            arguments.project, arguments.new, arguments.output, watch=watch
        )
    if not arguments.quiet:
        console.show_differences(found, str(folder))
    return ALL_PLANNED


def _satellites(arguments: argparse.Namespace) -> int:
    from siteplan.api import compare_satellites
    from siteplan.outputs import console

    with console.progress(quiet=arguments.quiet) as watch:
        outcome = compare_satellites(
            arguments.project, arguments.satellites, arguments.output, watch=watch
        )
    if not arguments.quiet:
        console.show_rejects(outcome.rejects)
        sheets, mapped = outcome.sheets, outcome.mapped
        console.show_slots(outcome.comparison, str(outcome.folder), sheets=sheets, mapped=mapped)
    return SOME_REJECTED if outcome.rejects else ALL_PLANNED
