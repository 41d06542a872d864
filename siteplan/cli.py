"""The command line: reads arguments, calls ``siteplan.api``, prints. Computes nothing."""

from __future__ import annotations

import argparse
import gc
import logging
import os
import signal
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, NoReturn, TextIO, cast

from siteplan.errors import (
    ALL_PLANNED,
    INTERNAL,
    INTERRUPTED,
    SOME_REJECTED,
    TERMINATED,
    UNUSABLE,
    SiteplanError,
)
from siteplan.version import __version__

#: What commands say of the project that they take.
_PROJECT = "folder with sites.csv (or .xlsx, ...) and network.toml, or with project.xlsx"


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command and return its exit code.

    0: all planned; 1: some rejected; 2: unusable input; 3: internal error; 130: interrupted.
    """
    with _unread_is_no_fault():
        return _carried_out(sys.argv[1:] if argv is None else argv)


def _carried_out(argv: Sequence[str]) -> int:
    """Run a command and return its exit code; tell what ended it."""
    debug = False
    try:
        arguments = _parser().parse_args(argv)
        debug = arguments.debug
        _prepare(arguments)
        with _told_on_the_screen(), _tidy_when_terminated():
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


class _Unread:
    """A stream that goes on into nothing once nobody reads it any more (``| head``)."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)

    def write(self, text: str) -> int:
        """Write a text, or drop it."""
        try:
            return self._stream.write(text)
        except BrokenPipeError:
            self._drop()
            return len(text)

    def flush(self) -> None:
        """Write what waits, or drop it."""
        try:
            self._stream.flush()
        except BrokenPipeError:
            self._drop()

    def end(self) -> None:
        """Write what waits a last time; where that fails (a full disk) it was told before."""
        try:
            self.flush()
        except (OSError, ValueError):
            with suppress(OSError, ValueError):
                self._drop()

    def _drop(self) -> None:
        """Lead the stream into nothing: what waits in it would be tried again at the end."""
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, self._stream.fileno())
        os.close(nothing)


@contextmanager
def _unread_is_no_fault() -> Iterator[None]:
    """Let a command end as it would have where nobody reads what it prints to the end."""
    before = sys.stdout, sys.stderr
    # A process may be started with either of them closed.
    with Path(os.devnull).open("w", encoding="utf-8") as nothing:
        out, error = (_Unread(stream or nothing) for stream in before)
        sys.stdout, sys.stderr = cast(TextIO, out), cast(TextIO, error)
        try:
            yield
        finally:
            out.end()
            error.end()
            sys.stdout, sys.stderr = before


def _prepare(arguments: argparse.Namespace) -> None:
    """Set what holds for every command, before anything heavy is imported."""
    # Imports make many objects and no rubbish: looking for it would take a tenth of the time.
    gc.set_threshold(200_000, 20, 100)
    # Nothing here multiplies matrices: threads for it would only delay the start.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # No plugin has a say in what network.toml may hold, and looking for them takes time.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    if arguments.no_cache:
        os.environ["SITEPLAN_NO_CACHE"] = "1"


class _Screen(logging.Handler):
    """Prints what is told on the way, such as files put back, with the command's name."""

    def emit(self, record: logging.LogRecord) -> None:
        """Print one message, whatever standard error is just then."""
        print(f"siteplan: {record.getMessage()}", file=sys.stderr)


@contextmanager
def _told_on_the_screen() -> Iterator[None]:
    """Print what the package logs while a command runs; from Python it is the caller's to do."""
    log, screen = logging.getLogger("siteplan"), _Screen()
    log.addHandler(screen)
    try:
        yield
    finally:
        log.removeHandler(screen)


@contextmanager
def _tidy_when_terminated() -> Iterator[None]:
    """Let SIGTERM end the command as an exception does, so that nothing half-made is left."""

    def stop(_signal: int, _frame: object) -> NoReturn:
        raise SystemExit(TERMINATED)

    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGTERM, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


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


class _Parser(argparse.ArgumentParser):
    """An argument parser whose errors read like the others."""

    def error(self, message: str) -> NoReturn:
        """Print the message and the way to help, and exit."""
        print(f"siteplan: {message}\nTry '{self.prog} --help'.", file=sys.stderr)
        raise SystemExit(UNUSABLE)


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="siteplan",
        description="Plan VSAT sites: look angles, rain, link margins, kit, mount, offline map.",
    )
    parser.add_argument("--version", action="version", version=f"siteplan {__version__}")
    parser.add_argument(
        "--no-cache", action="store_true", help="neither use nor keep inflated maps"
    )
    parser.add_argument("--debug", action="store_true", help="show tracebacks of internal errors")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    plan = commands.add_parser("plan", help="plan a project folder and write its outputs")
    plan.add_argument("project", help=_PROJECT)
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
    plan.add_argument("--quiet", action="store_true", help="print nothing but errors")
    _add_many(plan)
    plan.set_defaults(run=_plan)
    _add_check(commands)
    fields = commands.add_parser("fields", help="list the result fields and flags")
    fields.add_argument("--network", action="store_true", help="list the keys of network.toml")
    fields.add_argument("--markdown", action="store_true", help="print Markdown tables")
    fields.set_defaults(run=_fields)
    _add_new(commands)
    _add_site(commands)
    _add_budget(commands)
    _add_coverage(commands)
    _add_sheets(commands)
    cache = commands.add_parser("cache", help="where the inflated maps are kept, and their state")
    what = cache.add_mutually_exclusive_group()
    what.add_argument("--verify", action="store_true", help="check every byte; drop what is bad")
    what.add_argument("--clear", action="store_true", help="remove them; they are made anew")
    cache.set_defaults(run=_cache)
    _add_maps(commands)
    _add_asbuilt(commands)
    return parser


def _add_new(commands: argparse._SubParsersAction[_Parser]) -> None:
    """Add the command that makes a project to begin with."""
    new = commands.add_parser("new", help="make a starter project that plans without edits")
    new.add_argument("folder", help="folder to make")
    new.add_argument(
        "--workbook", action="store_true", help="as one workbook, project.xlsx, to fill in"
    )
    new.add_argument(
        "--from", dest="source", metavar="PROJECT", help="make the workbook from this project"
    )
    new.set_defaults(run=_new)


def _add_check(commands: argparse._SubParsersAction[_Parser]) -> None:
    """Add the command that tells how a project was understood."""
    check = commands.add_parser("check", help="read and check a project; plan nothing")
    check.add_argument("project", help=_PROJECT)
    check.add_argument("--all", action="store_true", help="every column, reject and note, unfolded")
    check.add_argument("--notes", metavar="FILE", help="write every note to this CSV file")
    check.add_argument(
        "--write-ids",
        action="store_true",
        help="write a copy of the list with an id in every row, beside it",
    )
    check.set_defaults(run=_check)


def _add_workers(parser: argparse._ActionsContainer) -> None:
    """Add where large work is spread: workers on this machine, or a cluster."""
    where = parser.add_mutually_exclusive_group()
    where.add_argument(
        "--workers",
        metavar="N",
        type=int,
        help="on N dask workers here, which this machine alone can reach",
    )
    where.add_argument(
        "--scheduler",
        metavar="ADDRESS",
        help="on a dask cluster, as the user who runs its workers; whoever reaches its scheduler"
        " can run code on them and here, so keep it on a network of your own",
    )


def _add_many(plan: argparse.ArgumentParser) -> None:
    """Add what very large plans take: workers, a cluster, the tables to write."""
    many = plan.add_argument_group("very large plans")
    _add_workers(many)
    many.add_argument(
        "--tables",
        metavar="KINDS",
        help="of csv,gpkg,geojson,parquet (else the first three, in parts the last)",
    )


def _add_site(commands: argparse._SubParsersAction[_Parser]) -> None:
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


def _add_budget(commands: argparse._SubParsersAction[_Parser]) -> None:
    """Add the command that tells a site's link budget line by line."""
    budget = commands.add_parser("budget", help="the link budget of one site, line by line")
    budget.add_argument("project", help=_PROJECT)
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


def _add_coverage(commands: argparse._SubParsersAction[_Parser]) -> None:
    """Add the command that works out a grid over the project's area."""
    coverage = commands.add_parser("coverage", help="elevation, rain, antenna over an area")
    coverage.add_argument("project", help=_PROJECT)
    coverage.add_argument("--step", metavar="DEG", type=float, help="spacing (else 0.25)")
    coverage.add_argument("--area", metavar="FILE", help="polygons (else around the sites)")
    coverage.add_argument("--land", action="store_true", help="cut to land")
    coverage.add_argument("--output", metavar="DIR", help="where to write (else output/NAME)")
    _add_workers(coverage)
    coverage.add_argument("--quiet", action="store_true", help="print nothing but errors")
    coverage.set_defaults(run=_coverage)


def _add_sheets(commands: argparse._SubParsersAction[_Parser]) -> None:
    """Add the command that writes the crew's pack for some sites."""
    sheets = commands.add_parser("sheets", help="the crew's sheets and lists for some sites")
    sheets.add_argument("project", help=_PROJECT)
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


def _add_maps(commands: argparse._SubParsersAction[_Parser]) -> None:
    """Add the command for the maps in use, and for cloud maps of the user's own."""
    maps = commands.add_parser("maps", help="the editions of the maps in use; add cloud maps")
    maps.set_defaults(run=_maps)
    add = maps.add_subparsers(metavar="").add_parser(
        "add", help="use ITU-R P.840-9's cloud maps in all projects"
    )
    add.add_argument("file", help="ZIP or folder of its annual maps, L_5.txt to L_50.txt")
    add.set_defaults(run=_maps_add)


def _add_asbuilt(commands: argparse._SubParsersAction[_Parser]) -> None:
    """Add the command that compares what came back with the plan."""
    asbuilt = commands.add_parser("asbuilt", help="compare what came back with the plan")
    asbuilt.add_argument("project", help=_PROJECT)
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
            watch=watch,
        )
    if not arguments.quiet:
        console.show_rejects(outcome.rejects)
        console.show_kinds(outcome.noted, where="notes.csv", most=console.KINDS_OF_A_PLAN)
        console.show_summary(outcome.summary, str(outcome.folder))
    return SOME_REJECTED if outcome.rejects else ALL_PLANNED


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


def _fields(arguments: argparse.Namespace) -> int:
    from siteplan.outputs import console

    if arguments.network:
        console.show_network_keys(markdown=arguments.markdown)
        print()
    else:
        console.show_dictionary(markdown=arguments.markdown)
    return ALL_PLANNED


def _new(arguments: argparse.Namespace) -> int:
    from siteplan.api import new_project

    folder = new_project(arguments.folder, workbook=arguments.workbook, source=arguments.source)
    what = "A starter project" if arguments.source is None else "The project as a workbook"
    print(f"{what} is in {folder}. Plan it with: siteplan plan {folder}")
    return ALL_PLANNED


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


def _cache(arguments: argparse.Namespace) -> int:
    from siteplan.api import map_cache_state

    print(map_cache_state(verify=arguments.verify, clear=arguments.clear))
    return ALL_PLANNED


def _maps(arguments: argparse.Namespace) -> int:
    from siteplan.api import map_editions
    from siteplan.outputs import console

    console.show_maps(map_editions())
    return ALL_PLANNED


def _maps_add(arguments: argparse.Namespace) -> int:
    from siteplan.api import add_cloud_maps

    folder = add_cloud_maps(arguments.file)
    print(
        f"The cloud maps of ITU-R P.840-9 are in {folder}. Every plan uses them unless [methods]"
        " cloud_maps of its network.toml names others; deleting the folder takes them out again."
    )
    return ALL_PLANNED
