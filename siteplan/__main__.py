"""``python -m siteplan``: the same as the command ``siteplan``."""

from __future__ import annotations

import sys

from siteplan.cli import main

if __name__ == "__main__":
    sys.exit(main())
