"""The process of the command ``siteplan``, and of ``python -m siteplan``."""

from __future__ import annotations

import gc
import sys

from siteplan.cli import main


def run() -> None:
    """Run the command in the process's arguments, and end the process."""
    # Imports make many objects and no rubbish: looking for it would take a tenth of the time. A
    # small plan makes some 220,000 that stay, and is to end before the first search.
    gc.set_threshold(400_000, 20, 100)
    code = main()
    # What the interpreter takes down at its end is searched for cycles first: a tenth of a small
    # plan's time, for memory that the system takes back anyway.
    gc.freeze()
    sys.exit(code)


if __name__ == "__main__":
    run()
