"""What a column that is kept and not read looks like, by its heading and its values.

It is told, with the name that would make it ours, and never taken: a percentage may be last year's
figure, a number the owner's and no id.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType

import numpy as np

from siteplan.inputs.files.cells import Findings, as_texts, strip_texts, unknown_mask
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.headings.likely import likely_keys, name_to_give
from siteplan.inputs.layout.evidence import Labels
from siteplan.inputs.sites.optional import NUMBER_RULES, is_structure, read_numbers
from siteplan.model import Note

#: Rows whose cells are looked at: what a column is shows early.
LOOKED_ROWS = 400
#: No target of a network is lower: a percentage under it counts something else. [%]
LOWEST_TARGET_PCT = 90.0
#: Of these one column is told, the first: a table has many regions and numbers.
_TOLD_ONCE = ("group", "site_id")
_RULES = {rule.key: rule for rule in NUMBER_RULES}


@dataclass
class Looked:
    """One column: what its heading may mean, and the cells of its first rows as texts."""

    heading: str
    written: str
    keys: tuple[str, ...]
    rows: int = 0
    texts: list[str] = field(default_factory=list)
    labels: Labels = field(default_factory=Labels)

    def add(self, table: Table) -> None:
        """Look at one more chunk."""
        values = table.columns[self.heading]
        if "site_id" in self.keys:
            self.labels.add(values, unlike=True)
        cells = values[: LOOKED_ROWS - self.rows]
        if len(cells):
            self.rows += len(cells)
            texts = strip_texts(as_texts(cells))
            self.texts += texts[~unknown_mask(texts)].tolist()

    def key(self, rows: int, taken: Sequence[str]) -> str:
        """Return which of our columns this looks like, '' for none.

        Parameters
        ----------
        rows : int
            Of the whole file.
        taken : sequence of str
            The keys that have a column.
        """
        keys = [key for key in (*self.keys, "structure") if key not in taken]
        return next((key for key in keys if self.texts and self._fits(key, rows)), "")

    def _fits(self, key: str, rows: int) -> bool:
        if key == "site_id":
            return self.labels.filled == rows > 1 and not self.labels.repeated
        return (_FITS.get(key) or _are_numbers(key))(self.texts)

    def note(self, key: str) -> Note:
        """Return what is said of the column."""
        return Note.of(
            "note.input_mended.column_likely",
            heading=self.written.strip(),
            ours=name_to_give(key, self.written),
        )


def to_look_at(table: Table, known: set[str]) -> list[Looked]:
    """Return the columns of a table that are not ``known`` to be ours by their headings."""
    written = {heading: table.written.get(heading, heading) for heading in table.columns}
    return [Looked(h, w, likely_keys(w)) for h, w in written.items() if h not in known]


def likely_notes(
    looked: Sequence[Looked], rows: int, taken: Sequence[str], passed: set[str]
) -> list[Note]:
    """Return what is said of columns that look like ours.

    Parameters
    ----------
    looked : sequence of Looked
        In the order of the file.
    rows : int
        Of the whole file.
    taken : sequence of str
        Our keys that have a column.
    passed : set of str
        Headings of which something is said already, or that are read.
    """
    told: list[str] = []
    notes = []
    for one in looked:
        key = "" if {one.heading, one.written.strip()} & passed else one.key(rows, taken)
        if key and not (key in told and key in _TOLD_ONCE):
            told.append(key)
            notes.append(one.note(key))
    return notes


def _are_numbers(key: str) -> Callable[[Sequence[str]], bool]:
    """Return what tells whether most texts are numbers that a column of ours may hold."""
    rule = _RULES[key]
    if key == "availability_pct":
        rule = replace(rule, low=LOWEST_TARGET_PCT)

    def fits(texts: Sequence[str]) -> bool:
        numbers = read_numbers(np.array(texts, dtype=object), rule, Findings())
        return 5 * int(np.isfinite(numbers).sum()) >= 4 * len(texts)

    return fits


def _are_structures(texts: Sequence[str]) -> bool:
    return 2 * sum(is_structure(text) for text in texts) > len(texts)


def _repeat(texts: Sequence[str]) -> bool:
    """Whether texts part the sites into a few groups."""
    return 1 < len(set(texts)) <= len(texts) / 2


_FITS: Mapping[str, Callable[[Sequence[str]], bool]] = MappingProxyType(
    {"structure": _are_structures, "group": _repeat}
)
