"""The command line: reads arguments, calls ``siteplan.api``, prints. Computes nothing.

A file a group of commands: ``planning``, ``comparing``, ``looking`` (answers on the screen),
``keeping`` (what lies on the disk), ``operating`` (the network at work).
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence

from siteplan.cli import comparing, keeping, looking, operating, planning
from siteplan.cli.parsing import Parser
from siteplan.cli.screen import tidy_when_terminated, told_on_the_screen, unread_is_no_fault
from siteplan.errors import INTERNAL, INTERRUPTED, SiteplanError
from siteplan.version import __version__


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command and return its exit code.

    0: all planned; 1: some rejected; 2: unusable input; 3: internal error; 130: interrupted.
    """
    with unread_is_no_fault():
        return _carried_out(sys.argv[1:] if argv is None else argv)


def _carried_out(argv: Sequence[str]) -> int:
    """Run a command and return its exit code; tell what ended it."""
    debug = False
    try:
        arguments = _parser().parse_args(argv)
        debug = arguments.debug
        _prepare(arguments)
        with told_on_the_screen(), tidy_when_terminated():
            code: int = arguments.run(arguments)
            sys.stdout.flush()
    except SiteplanError as error:
        print(f"siteplan: {error}", file=sys.stderr)
        return error.exit_code
    except KeyboardInterrupt:
        print("siteplan: stopped; the last good outputs are untouched.", file=sys.stderr)
        return INTERRUPTED
    except Exception as error:  # the last line of defence: no traceback reaches a user
        return _internal(error, argv, debug=debug)
    return code


def _prepare(arguments: argparse.Namespace) -> None:
    """Set what holds for every command, before anything heavy is imported."""
    # Nothing here multiplies matrices: threads for it would only delay the start.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # No plugin has a say in what network.toml may hold, and looking for them takes time.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    if arguments.no_cache:
        os.environ["SITEPLAN_NO_CACHE"] = "1"


def _internal(error: Exception, argv: Sequence[str], *, debug: bool) -> int:
    """Print what the machine refused, else an error that is the program's own fault."""
    from siteplan.machine import refused, report

    if debug:
        import traceback

        traceback.print_exc()
    if (ours := refused(error)) is not None:
        print(f"siteplan: {ours}", file=sys.stderr)
        return ours.exit_code
    path = report(error, argv)
    told = f"Send the report {path}" if path else "Run again with --debug, send what it prints"
    print(
        f"siteplan: internal error: {type(error).__name__}: {error}\n"
        f"This is a defect of siteplan. {told} and, if you may, the input.",
        file=sys.stderr,
    )
    return INTERNAL


def _parser() -> argparse.ArgumentParser:
    parser = Parser(
        prog="siteplan",
        description="Plan VSAT sites: look angles, rain, link margins, kit, mount, offline map.",
    )
    parser.add_argument("--version", action="version", version=f"siteplan {__version__}")
    parser.add_argument(
        "--no-cache",
        action="store_true",
        help="neither use nor keep inflated maps, compiled templates",
    )
    parser.add_argument("--debug", action="store_true", help="show tracebacks of internal errors")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    planning.add_plan(commands)
    looking.add_check(commands)
    looking.add_fields(commands)
    keeping.add_new(commands)
    looking.add_site(commands)
    looking.add_budget(commands)
    planning.add_coverage(commands)
    planning.add_sheets(commands)
    keeping.add_cache(commands)
    keeping.add_maps(commands)
    planning.add_asbuilt(commands)
    comparing.add_compare(commands)
    operating.add_availability(commands)
    return parser
