"""Flags: what to know of a site before going there, as stable codes and sentences.

Steps raise them, and so does reading; here they are put in order, the worst first, and told. A flag
of kit that is not given to a site (``rests_on`` of ``flags.csv``) falls here, whoever raises it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

import numpy as np

from siteplan.arrays import BoolArray, TextArray
from siteplan.fields import FLAGS
from siteplan.messages import Catalogue, join
from siteplan.model import Note
from siteplan.planning.step import Raised, sentences


class Flags(NamedTuple):
    """Codes and sentences of each site (n,), joined; of what is told once the number of sites."""

    codes: TextArray
    notes: TextArray
    once: dict[str, int]


#: Where a flag holds (n,), and its sentences there (k,).
Part = tuple[BoolArray, TextArray]


def flags(
    raised: Iterable[Raised],
    notes: Mapping[int, tuple[Note, ...]],
    catalogue: Catalogue,
    *,
    given: Mapping[str, BoolArray],
    tried: TextArray,
) -> Flags:
    """Return the flags of each site, the worst first.

    Parameters
    ----------
    raised : iterable of Raised
        From the steps. Several may raise one code, each at sites of its own.
    notes : mapping
        Index of a site to what reading it mended or doubted.
    catalogue : Catalogue
        Where the sentences are.
    given : mapping of (n,) arrays of bool
        Where ``dish``, ``buc`` and ``kit`` are given to the site.
    tried : (n,) array
        What heads a sentence on a pair that was tried and is not given; empty elsewhere.

    Returns
    -------
    Flags
        Codes joined by ``;`` in the order of ``siteplan.fields.FLAGS``, and their sentences.
    """
    found: dict[str, list[Part]] = {}
    once: dict[str, int] = {}
    n = len(tried)
    for code, told in raised:
        rests_on = FLAGS[code].rests_on
        here = told._replace(where=told.where & given.get(rests_on, True))
        if FLAGS[code].told == "plan":
            once[code] = once.get(code, 0) + int(here.where.sum())
        elif here.where.any():
            texts = sentences(here, catalogue)
            heads = tried[here.where] if rests_on == "tried" else ""
            found.setdefault(code, []).append((here.where, heads + texts))
    for code, part in _from_notes(notes, n).items():
        found.setdefault(code, []).append(part)
    parts = [(code, found[code]) for code in FLAGS if code in found]
    return Flags(
        join([_once(code, of_code) for code, of_code in parts], ";", n),
        join([part for _, of_code in parts for part in of_code], " ", n),
        once,
    )


def told_once(counts: Mapping[str, int], sites: int, catalogue: Catalogue) -> tuple[str, ...]:
    """Return a sentence for each flag that is told once, with how many of the sites it is of."""
    return tuple(
        catalogue.one(f"once.{code}", count=counts[code], sites=sites)
        for code in FLAGS
        if counts.get(code, 0)
    )


def _once(code: str, parts: list[Part]) -> Part:
    """Return a code at the sites of any of its parts: several sentences are one flag."""
    where = np.logical_or.reduce([mask for mask, _ in parts])
    return where, np.full(int(where.sum()), code, object)


def _from_notes(notes: Mapping[int, tuple[Note, ...]], n: int) -> dict[str, Part]:
    """Return mask and sentences of each code that the reading of the sites gave."""
    gathered: dict[str, dict[int, str]] = {}
    for index, of_site in notes.items():
        for note in of_site:
            texts = gathered.setdefault(note.code, {})
            before = f"{texts[index]} " if index in texts else ""
            texts[index] = before + note.spoken
    found = {}
    for code, texts in gathered.items():
        mask = np.zeros(n, dtype=bool)
        rows = sorted(texts)
        mask[rows] = True
        found[code] = mask, np.array([texts[i] for i in rows] + [""], dtype=object)[:-1]
    return found
