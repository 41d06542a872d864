"""What the parsers of commands share."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING, NoReturn

from siteplan.errors import UNUSABLE

if TYPE_CHECKING:
    #: Where a command is added.
    Commands = argparse._SubParsersAction["Parser"]

#: What commands say of the project that they take.
PROJECT = "folder with sites.csv (or .xlsx, ...) and network.toml, or with project.xlsx"


class Parser(argparse.ArgumentParser):
    """An argument parser whose errors read like the others."""

    def error(self, message: str) -> NoReturn:
        """Print the message and the way to help, and exit."""
        print(f"siteplan: {message}\nTry '{self.prog} --help'.", file=sys.stderr)
        raise SystemExit(UNUSABLE)


def add_workers(parser: argparse._ActionsContainer) -> None:
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
