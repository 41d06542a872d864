"""How many headings as public tables have them are read, told or missed, by language.

``heading_rows.csv`` holds them: what a heading means, '' for one that is none of ours. Read is one
taken for what it means; told one that is carried with a word on what to call it; missed any other.
From the root of the repository: ``python -m tests.inputs.headings.table``.
"""

from __future__ import annotations

import csv
from collections import Counter
from pathlib import Path
from typing import NamedTuple

from siteplan.inputs.headings import open_headings, optional_columns
from siteplan.inputs.headings.meaning import heading_key

ROWS = Path(__file__).with_name("heading_rows.csv")


class Row(NamedTuple):
    """One heading, its language, and what it means."""

    language: str
    heading: str
    meaning: str

    @property
    def found(self) -> str:
        """What the program makes of it: a key, or ''."""
        optional = optional_columns([self.heading], {})
        return next(iter(optional), "") or heading_key(self.heading)

    @property
    def outcome(self) -> str:
        """``read``, ``told`` or ``missed``; a heading that is none of ours is read as none."""
        if self.meaning in ("altitude", "wind") and open_headings([self.heading], {}):
            return "told"
        meant = "altitude_m" if self.meaning == "altitude_ft" else self.meaning
        return "read" if self.found == meant else "missed"


def rows() -> list[Row]:
    """Return all headings."""
    with ROWS.open(encoding="utf-8", newline="") as file:
        return [Row(**row) for row in csv.DictReader(file)]


def counts() -> dict[str, Counter[str]]:
    """Return how many headings of each language are read, told and missed."""
    found: dict[str, Counter[str]] = {}
    for row in rows():
        found.setdefault(row.language, Counter())[row.outcome] += 1
    return found


def main() -> None:
    """Print the table, and the headings that are missed."""
    print("language  headings  read  told  missed")
    for language, of in counts().items():
        print(f"{language:8}{of.total():10}{of['read']:6}{of['told']:6}{of['missed']:8}")
    for row in rows():
        if row.outcome == "missed":
            print(f"missed: {row.language} {row.heading!r}: {row.found or 'none'}")


if __name__ == "__main__":
    main()
