"""Which columns a table has for what, as its headings say, before their values are looked at."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from siteplan.frozen import frozen
from siteplan.inputs.headings import PLACED, key_of
from siteplan.inputs.headings.meaning import Meaning, meaning_of

_POSITIONS = (
    *("lat", "lon", "both", "easting", "northing", "x", "y", "zone", "hemisphere"),
    *("site_id", "name", "noun"),
)


@frozen
class Candidate:
    """A column that may be one of ours: its heading in the table, as the file has it, and sense.

    ``exact`` is the heading our own key, in any capitals.
    """

    heading: str
    written: str
    at: int
    meaning: Meaning
    exact: bool = False

    @property
    def order(self) -> tuple[bool, int, int]:
        """What sorts candidates, the surest first."""
        return (not self.exact, self.meaning.rank, self.at)


@frozen
class Candidates:
    """All candidates of a table by key, the surest first."""

    headings: tuple[str, ...]
    by_key: Mapping[str, tuple[Candidate, ...]]

    def of(self, *keys: str) -> list[Candidate]:
        """Return the candidates of some keys."""
        return [c for key in keys for c in self.by_key.get(key, ())]

    def whole(self, key: str) -> list[Candidate]:
        """Return the columns that may hold a whole latitude or longitude."""
        split = any(c.meaning.part == "min" for c in self.of(key))
        alone = ("", "deg") if not split else ("",)
        return [c for c in self.of(key) if c.meaning.part in alone or self._side_only(c, split)]

    def _side_only(self, candidate: Candidate, split: bool) -> bool:
        """Whether ``s`` in a heading is south, and not seconds."""
        meaning = candidate.meaning
        return meaning.part == "sec" and meaning.side == "S" and not split

    def parts(self, key: str) -> dict[str, Candidate]:
        """Return the columns of degrees, minutes, seconds and hemisphere by part."""
        found: dict[str, Candidate] = {}
        for candidate in self.of(key):
            if candidate.meaning.part:
                found.setdefault(candidate.meaning.part, candidate)
        if "deg" not in found and "min" in found:
            bare = [c for c in self.of(key) if not c.meaning.part]
            found |= {"deg": bare[0]} if bare else {}
        return found if {"deg", "min"} <= set(found) else {}


def candidates_of(headings: Sequence[str], written: Mapping[str, str]) -> Candidates:
    """Return the candidates among the headings of a table.

    Parameters
    ----------
    headings : sequence of str
    written : mapping
        What the file calls a column that was renamed, as another has the same heading.
    """
    found: dict[str, list[Candidate]] = {}
    for at, heading in enumerate(headings):
        name = written.get(heading, heading)
        meaning = meaning_of(name)
        # French calls a facility a structure: a heading of ours is never anything else.
        other = key_of(name) not in ("", *PLACED)
        if meaning is not None and meaning.key in _POSITIONS and not other:
            exact = name.strip().casefold() == meaning.key
            found.setdefault(meaning.key, []).append(Candidate(heading, name, at, meaning, exact))
    ordered = {key: tuple(sorted(of, key=lambda c: c.order)) for key, of in found.items()}
    return Candidates(tuple(headings), ordered)
