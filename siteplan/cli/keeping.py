"""The commands for what lies on the disk: new, cache, maps."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from siteplan.errors import ALL_PLANNED

if TYPE_CHECKING:
    from siteplan.cli.parsing import Commands


def add_new(commands: Commands) -> None:
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


def _new(arguments: argparse.Namespace) -> int:
    from siteplan.api import new_project

    folder = new_project(arguments.folder, workbook=arguments.workbook, source=arguments.source)
    what = "A starter project" if arguments.source is None else "The project as a workbook"
    print(f"{what} is in {folder}. Plan it with: siteplan plan {folder}")
    return ALL_PLANNED


def add_cache(commands: Commands) -> None:
    """Add the command for the inflated maps."""
    cache = commands.add_parser("cache", help="where the inflated maps are kept, and their state")
    what = cache.add_mutually_exclusive_group()
    what.add_argument("--verify", action="store_true", help="check every byte; drop what is bad")
    what.add_argument("--clear", action="store_true", help="remove them; they are made anew")
    cache.set_defaults(run=_cache)


def _cache(arguments: argparse.Namespace) -> int:
    from siteplan.api import map_cache_state

    print(map_cache_state(verify=arguments.verify, clear=arguments.clear))
    return ALL_PLANNED


def add_maps(commands: Commands) -> None:
    """Add the command for the maps in use, and for cloud maps of the user's own."""
    maps = commands.add_parser("maps", help="the editions of the maps in use; add cloud maps")
    maps.set_defaults(run=_maps)
    add = maps.add_subparsers(metavar="").add_parser(
        "add", help="use ITU-R P.840-9's cloud maps in all projects"
    )
    add.add_argument("file", help="ZIP or folder of its annual maps, L_5.txt to L_50.txt")
    add.set_defaults(run=_maps_add)


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
