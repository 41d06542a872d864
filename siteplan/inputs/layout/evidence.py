"""What the whole file's values say about the candidates of its columns."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import FloatArray
from siteplan.inputs.files.cells import (
    as_texts,
    decimal_mask,
    is_numeric,
    strip_texts,
    unknown_mask,
)
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.layout.candidates import Candidates
from siteplan.inputs.layout.facts import Facts, plain_values

_PLACES = ("lat", "lon", "both", "easting", "northing", "x", "y")
#: Two readings of one place that lie farther apart are two places: some 100 m. [deg]
APART_DEG = 1e-3
#: A column of more different zones is none.
_MOST_ZONES = 200


@dataclass
class Labels:
    """The cells of a column that may be a name or an id: how many are filled, or digits alone."""

    filled: int = 0
    digits: int = 0
    first: str = ""
    _hashes: list[NDArray[Any]] = field(default_factory=list)

    def add(self, values: NDArray[Any], *, unlike: bool) -> None:
        """Add the cells (n,) of one more chunk; ``unlike`` tells to count those that repeat."""
        texts = strip_texts(as_texts(values))
        known = ~unknown_mask(texts)
        if known.any():
            # No word for 'not known' is all digits.
            self.digits += int(decimal_mask(texts).sum())
            texts = texts[known]
            self.first = self.first or str(texts[0])
            self.filled += len(texts)
            if unlike:
                self._hashes.append(np.fromiter(map(hash, texts), dtype=np.int64))

    @property
    def repeated(self) -> int:
        """How many cells say what another has said."""
        if not self._hashes:
            return 0
        return self.filled - len(np.unique(np.concatenate(self._hashes)))


@dataclass
class Evidence:
    """All that was gathered: rows in all, facts by heading, and where rivals lie apart."""

    candidates: Candidates
    source: str
    rows: int = 0
    facts: dict[str, Facts] = field(default_factory=dict)
    labels: dict[str, Labels] = field(default_factory=dict)
    apart: dict[tuple[str, str], int] = field(default_factory=dict)
    zones: set[str] = field(default_factory=set)

    def add(self, table: Table, *, placed: bool) -> None:
        """Add one more chunk; the positions of a ``placed`` one need no look."""
        self.rows += len(table)
        for candidate in self.candidates.of("site_id", "name", "noun"):
            labels = self.labels.setdefault(candidate.heading, Labels())
            labels.add(table.columns[candidate.heading], unlike=not candidate.exact)
        if not placed:
            self._add_places(table)

    def _add_places(self, table: Table) -> None:
        for heading in self._headings():
            self.facts.setdefault(heading, Facts()).add(table.columns[heading])
        for key in ("lat", "lon"):
            self._add_rivals(key, table)
        for candidate in self.candidates.of("zone"):
            if len(self.zones) < _MOST_ZONES:
                self.zones |= set(strip_texts(as_texts(table.columns[candidate.heading])))

    def _headings(self) -> Iterable[str]:
        """Return the columns to look at: all, where no heading speaks of a position."""
        found = [c.heading for c in self.candidates.of(*_PLACES)]
        return found or self.candidates.headings

    def _add_rivals(self, key: str, table: Table) -> None:
        rivals = self.candidates.whole(key)
        if len(rivals) < 2:
            return
        read = {c.heading: _degrees(table.columns[c.heading]) for c in rivals}
        for one, other in combinations(read, 2):
            gap = np.abs(np.abs(read[one]) - np.abs(read[other]))
            near = (np.abs(read[one]) <= 360) & (np.abs(read[other]) <= 360)
            found = int((near & (gap > APART_DEG)).sum())
            self.apart[one, other] = self.apart.get((one, other), 0) + found

    def of(self, heading: str) -> Facts:
        """Return the facts of a column."""
        return self.facts.get(heading, Facts())

    def rows_apart(self, one: str, other: str) -> int:
        """Return in how many rows two columns say different places."""
        return self.apart.get((one, other), 0) or self.apart.get((other, one), 0)


def _degrees(values: NDArray[Any]) -> FloatArray:
    """Return degrees (n,) of numbers and of angles in any spelling; NaN elsewhere."""
    numbers = plain_values(values)
    if is_numeric(values):
        return numbers
    spelled = np.flatnonzero(np.isnan(numbers)).tolist()
    if not spelled:
        return numbers
    from siteplan.inputs.sites.spelling import UnreadableAngle, parse_angle

    for at in spelled:
        try:
            numbers[at] = parse_angle(str(values[at] or "")).degrees
        except UnreadableAngle:
            continue
    return numbers
