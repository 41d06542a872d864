"""What differs between two lists of network.toml, entry by entry: added, taken out, changed."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any, Final, NamedTuple

from siteplan.answers.differences import InputChange
from siteplan.messages import english
from siteplan.network.reference import table_keys, toml_text
from siteplan.planning.differences.groups import group_of_key

#: The keys by which entries of a list are one and the same, where it is not the first alone.
KNOWN_BY: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {"contours": ("direction", "beam"), "overlays": ("file", "name")}
)
#: Most letters of a value and of a whole entry that are shown.
_LONGEST_VALUE, _LONGEST = 80, 160


class Pairs(NamedTuple):
    """The entries of two lists: those that are the same one in both, and those of one alone."""

    both: tuple[tuple[Any, Any], ...]
    gone: tuple[Any, ...]
    added: tuple[Any, ...]


def entry_changes(table: str, old: Sequence[Any], new: Sequence[Any]) -> Iterator[InputChange]:
    """Yield what differs between two lists: each key of an entry, each entry of one alone.

    Lists of the same entries in another order say so.
    """
    group, found = group_of_key(table), pairs(table, old, new)
    for one, other in found.both:
        for key in type(one).model_fields:
            was, is_ = getattr(one, key), getattr(other, key)
            if was != is_:
                place = f"[[{table}]] {called(table, one)}: {key}"
                yield InputChange(group, place, *both_told(was, is_))
    for entry in found.gone:
        yield InputChange(group, f"[[{table}]] {called(table, entry)}", _whole(table, entry), "")
    for entry in found.added:
        yield InputChange(group, f"[[{table}]] {called(table, entry)}", "", _whole(table, entry))
    if not (found.gone or found.added) and all(one == other for one, other in found.both):
        yield InputChange(group, f"[[{table}]]", english()["differences.as_before"],
                          english()["differences.other_order"])  # fmt: skip


def pairs(table: str, old: Sequence[Any], new: Sequence[Any]) -> Pairs:
    """Return the entries of two lists, paired.

    Equal ones first; of the others those that the keys of `KNOWN_BY` name as one, where no other
    entry has the same; and what is left of as many on both sides that nothing else tells apart.
    """
    both, gone, added = _equal(old, new)
    names = [Counter(_known_by(table, x) for x in of) for of in (gone, added)]
    twins = {_known_by(table, x): x for x in added}
    for entry in list(gone):
        name = _known_by(table, entry)
        if names[0][name] == names[1][name] == 1:
            both.append((entry, twins[name]))
            gone.remove(entry)
            added.remove(twins[name])
    alike = {_known_by(table, x) for x in (*gone, *added)}
    if len(alike) == 1 and len(gone) == len(added):
        return Pairs((*both, *zip(gone, added, strict=True)), (), ())
    return Pairs(tuple(both), tuple(gone), tuple(added))


def _equal(old: Sequence[Any], new: Sequence[Any]) -> tuple[list[Any], list[Any], list[Any]]:
    """Return the pairs of equal entries, and the entries of either list that have none."""
    both, gone, added = [], [], list(new)
    for entry in old:
        if entry in added:
            both.append((entry, added.pop(added.index(entry))))
        else:
            gone.append(entry)
    return both, gone, added


def _known_by(table: str, entry: Any) -> tuple[str, ...]:
    keys = KNOWN_BY.get(table, table_keys(table)[:1])
    values = {key: getattr(entry, key) for key in keys}
    return tuple(f"{k} = {toml_text(v)}" for k, v in values.items() if v is not None)


def called(table: str, entry: Any) -> str:
    """Return what an entry is called: the keys that it is known by, such as ``diameter_m = 3``."""
    return ", ".join(text for text in _known_by(table, entry) if not text.endswith('""'))


def _whole(table: str, entry: Any) -> str:
    """Return an entry with the keys that were given, as network.toml may have it."""
    given = {k: getattr(entry, k) for k in table_keys(table) if k in entry.model_fields_set}
    text = toml_text(given)
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 1]}…"


def both_told(old: Any, new: Any) -> tuple[str, str]:
    """Return two values that differ as network.toml has them, '' for none.

    What is long is cut off; where that leaves both alike, a digest tells them apart.
    """
    texts = ["" if value is None else toml_text(value) for value in (old, new)]
    was, is_ = (t if len(t) <= _LONGEST_VALUE else f"{t[: _LONGEST_VALUE - 1]}…" for t in texts)
    if was != is_:
        return was, is_
    digests = (hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()[:8] for text in texts)
    one, other = (f"{was} (contents {digest})" for digest in digests)
    return one, other
