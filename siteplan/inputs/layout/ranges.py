"""Whether a column under a heading that is nearly ours holds what ours would.

A heading of ours in any capitals is taken at its word. Under any other that could mean ours, one
value outside of the range, or no number at all, shows that the column is something else.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from siteplan.inputs.files.cells import Findings, as_texts, strip_texts
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.headings import Column
from siteplan.inputs.sites.optional import NUMBER_RULES, NumberRule, read_numbers
from siteplan.model import Note

#: A mean wind that a mount is designed for is never less: common practice, no source. [m/s]
DESIGN_WIND_FLOOR_M_S = 15.0
_BAD = ("note.input_mended.not_a_number", "note.input_mended.out_of_range")
_RULES = {rule.key: rule for rule in NUMBER_RULES}


@dataclass
class Judged:
    """The first value of a column that is none of ours, and how many there are."""

    column: Column
    key: str
    text: str = ""
    count: int = 0

    def add(self, table: Table) -> None:
        """Look at one more chunk."""
        rule = self._rule()
        found = Findings()
        read_numbers(table.columns[self.column.heading], rule, found, factor=self.column.factor)
        bad = sorted(
            at
            for at, notes in found.notes.items()
            if any(note.key.startswith(_BAD) for note in notes)
        )
        if bad and not self.count:
            cell = table.columns[self.column.heading][bad[0] : bad[0] + 1]
            self.text = str(strip_texts(as_texts(cell))[0])[:40]
        self.count += len(bad)

    def _rule(self) -> NumberRule:
        rule = _RULES[self.key]
        low = max(rule.low, DESIGN_WIND_FLOOR_M_S) if self.key == "wind_m_s" else rule.low
        return replace(rule, severe=False, low=low)

    @property
    def why(self) -> Note:
        """What is said of a column that is not taken."""
        heading = self.column.heading.strip()
        if self.key == "wind_m_s":
            return Note.of(
                "note.input_mended.not_design_wind", heading=heading, ours=self.key, text=self.text
            )
        return Note.of(
            "note.input_mended.column_free",
            heading=heading,
            ours=self.key,
            text=self.text,
            limits=_RULES[self.key].limits,
        )


def to_judge(columns: Mapping[str, tuple[Column, ...]]) -> list[Judged]:
    """Return the columns that have to be looked at: numbers under headings that are not ours."""
    return [
        Judged(column, key)
        for key, found in columns.items()
        if key in _RULES
        for column in found
        if not column.exact
    ]
