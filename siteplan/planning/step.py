"""The contract of a step: what it takes, what it gives, and how it tells.

A step is one function with named, typed parameters that returns one frozen dataclass of arrays
(`siteplan.arrays.Arrays`). An attribute annotated ``Column`` or ``TextColumn`` is a result field
and a row of the dictionary of fields; any other attribute stays inside, for later steps. A step
never gets the whole chain's results, and treats sites apart: the result for some sites is that of
all sites, taken there. ``siteplan.planning.plan`` is the chain: plain calls in the order of the
work.

Steps give codes and numbers. Sentences are made at the end, from the catalogue of messages: a flag
is yielded as `Raised`, a sentence of a text field as `Told`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, TextArray
from siteplan.messages import Catalogue, gaps, join

#: Arrays by name: result fields, or tables.
Columns = dict[str, NDArray[Any]]
_NOTHING: Mapping[str, Any] = MappingProxyType({})


class Told(NamedTuple):
    """A sentence told of some sites: its key, where (n,), and the numbers for its gaps.

    ``numbers`` are arrays (n,), or single values that hold for all sites.
    """

    key: str
    where: BoolArray
    numbers: Mapping[str, Any] = _NOTHING


class Raised(NamedTuple):
    """A flag raised at some sites: its code, and the sentence that tells it."""

    code: str
    told: Told


def flag(code: str, where: BoolArray, **numbers: Any) -> Raised:
    """Return a flag that is told by its own sentence, ``flag.CODE`` in the catalogue."""
    return Raised(code, Told(f"flag.{code}", where, numbers))


def sentences(told: Told, catalogue: Catalogue) -> TextArray:
    """Return the sentences of the sites (k,) at which ``told`` holds."""
    at, here = {}, told.where
    for name in gaps(catalogue[told.key]):
        value = told.numbers[name]
        at[name] = value[here] if isinstance(value, np.ndarray) else value
    return catalogue.many(told.key, at, int(np.count_nonzero(here)))


def text_field(parts: Iterable[Told], catalogue: Catalogue, n: int) -> TextArray:
    """Return a text field (n,) from sentences; several at one site follow one another."""
    return join([(t.where, sentences(t, catalogue)) for t in parts if t.where.any()], " ", n)
