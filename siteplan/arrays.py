"""Arrays, sites along the last axis of groups of them: their types, and picking sites out."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator, Sequence
from dataclasses import fields, is_dataclass, replace
from functools import cache
from typing import Any, ClassVar, Generic, Protocol, Self, TypeVar

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]
TextArray = NDArray[np.object_]
#: A result field, as a step's results annotate it: `Arrays` gathers these.
Column = FloatArray
TextColumn = TextArray
T = TypeVar("T")

_COLUMNS = frozenset({"Column", "TextColumn"})


class Arrays:
    """Base of what a step gives: frozen dataclasses of arrays, sites along axis 0.

    An attribute annotated ``Column`` or ``TextColumn`` is a result field of that name; any other
    stays inside, for later steps. Subclasses are frozen dataclasses with ``eq=False``: two arrays
    compared have no one answer.
    """

    _fields: ClassVar[tuple[str, ...]] = ()

    def __init_subclass__(cls, **options: Any) -> None:
        """Gather the result fields from the annotations."""
        super().__init_subclass__(**options)
        own = inspect.get_annotations(cls)
        cls._fields = (*cls._fields, *(name for name, kind in own.items() if kind in _COLUMNS))

    @classmethod
    def field_names(cls) -> tuple[str, ...]:
        """Return the names of the result fields that this step gives."""
        return cls._fields

    def columns(self) -> dict[str, NDArray[Any]]:
        """Return the result fields by name, arrays (n,)."""
        return {name: getattr(self, name) for name in self._fields}


#: What holds no arrays.
_PLAIN = frozenset({type(None), bool, int, float, str})


def _map_arrays(group: T, change: Callable[[FloatArray], FloatArray]) -> T:
    """Return a copy of a frozen group of arrays (groups may nest) with each array changed."""
    kind: Any = type(group)
    names = _names_of(kind)
    if not names:
        return group
    changed: dict[str, Any] = {}
    for name in names:
        value = getattr(group, name)
        if isinstance(value, np.ndarray):
            value = change(value)
        elif type(value) not in _PLAIN:
            value = _map_arrays(value, change)
        changed[name] = value
    if not hasattr(group, "__dict__"):
        return replace(group, **changed)  # type: ignore[type-var]
    # As replace would, without asking the class for what it is made of each time.
    copy = object.__new__(type(group))
    copy.__dict__.update(changed)
    return copy


@cache
def _names_of(kind: Any) -> tuple[str, ...]:
    """Return the names of a dataclass's fields; none of anything else."""
    return tuple(f.name for f in fields(kind)) if is_dataclass(kind) else ()


def take(group: T, index: IntArray) -> T:
    """Return a frozen dataclass of arrays (..., n), nested too, at the sites ``index`` (k,)."""
    return _map_arrays(group, lambda values: values.take(index, axis=-1))


def at_sites(value: Any, index: IntArray) -> Any:
    """Return the values of the sites at ``index`` (k,); a number serves all."""
    return value[index] if isinstance(value, np.ndarray) and value.ndim else value


def of_each(values: Sequence[Any], which: IntArray, site: IntArray) -> Any:
    """Return what each row (r,) has of several values, by which of them and which site is its own.

    Values are numbers, or arrays (n,); one number that serves all rows stays a number.
    """
    first = values[0]
    if all(value is first for value in values):
        return at_sites(first, site)
    if any(isinstance(value, np.ndarray) and value.ndim for value in values):
        return np.stack(np.broadcast_arrays(*values))[which, site]
    return first if all(value == first for value in values) else np.array(values)[which]


def is_everyone(index: IntArray, n: int) -> bool:
    """Return whether an index of distinct sites in rising order takes all ``n`` of them."""
    return len(index) == n


#: So many rows stand side by side at most: beyond, a call costs little, and copies cost more.
MOST_ROWS = 8_192


def at_once(sizes: Sequence[int]) -> Iterator[list[int]]:
    """Yield which groups of rows are worked on at once, in their order; empty ones are left out.

    >>> list(at_once([4000, 4000, 0, 4000, 20_000]))
    [[0, 1], [3], [4]]
    """
    some: list[int] = []
    rows = 0
    for k, size in enumerate(sizes):
        if some and rows + size > MOST_ROWS:
            yield some
            some, rows = [], 0
        if size:
            some.append(k)
            rows += size
    if some:
        yield some


class Takes(Protocol):
    """A group of arrays that gives itself at some of its sites."""

    def take(self, index: IntArray) -> Self:
        """Return the group at the sites ``index`` (k,), distinct and rising."""


G = TypeVar("G", bound=Takes)


class Narrowing(Generic[G]):
    """A group of arrays asked for fewer and fewer of its sites: what was taken is kept.

    As in a search that goes on for some of the sites: where the same are asked for again,
    nothing is copied.
    """

    def __init__(self, whole: G) -> None:
        self._whole = self._last = whole
        self._index: IntArray | None = None

    def at(self, index: IntArray) -> G:
        """Return the group at the sites ``index`` (k,), distinct and rising."""
        if self._index is None or not np.array_equal(index, self._index):
            self._index, self._last = index, self._whole.take(index)
        return self._last


def at_decimals(values: NDArray[Any], decimals: int | None) -> NDArray[Any]:
    """Return numbers rounded as they are written, without a minus zero.

    What is no decimal number, and what has no decimals (None), stays as it is.

    >>> at_decimals(np.array([-0.04, 1.26]), 1).tolist()
    [0.0, 1.3]
    """
    if decimals is None or values.dtype.kind != "f":
        return values
    return np.asarray(np.round(values, decimals) + 0.0)  # adding zero turns -0 into 0


def telling(values: FloatArray) -> FloatArray:
    """Return differences as they are told: to a tenth, smaller ones to one digit, none as zero.

    So that a decision never seems to contradict the number beside it.

    >>> telling(np.array([1.26, 0.043, -0.0012, 0.0])).tolist()
    [1.3, 0.04, -0.001, 0.0]
    """
    size = np.abs(values)
    known = np.where(size > 0, np.maximum(size, 0.001), 0.1)  # NaN goes through
    decimals = np.clip(np.ceil(-np.log10(np.where(np.isnan(known), 0.1, known))), 1, 3)
    rounded = np.round(known * 10**decimals) / 10**decimals
    return np.where(size > 0, np.sign(values) * rounded, values)


def telling_above(values: FloatArray, floor: FloatArray) -> FloatArray:
    """Return sizes as they are told: up to a tenth, or to a hundredth near ``floor``.

    Never rounded down: what is told does, and never reads as what was tried.

    >>> telling_above(np.array([2.72, 2.402]), np.array([2.4, 2.4])).tolist()
    [2.8, 2.41]
    """
    tenths, hundredths = (np.ceil(np.round(values * k, 6)) / k for k in (10, 100))
    return np.where(values >= floor + 0.05, tenths, hundredths)


def no_more(values: FloatArray) -> FloatArray:
    """Return positive figures rounded down to three digits: what is told is never too much.

    >>> no_more(np.array([0.96299, 12.99])).tolist()
    [0.962, 12.9]
    """
    digit = 10.0 ** (np.floor(np.log10(values)) - 2)
    return np.asarray(np.floor(values / digit + 1e-9) * digit)


def stretch(group: T, n: int) -> T:
    """Return a frozen dataclass of arrays (1,) as one of arrays (n,), without copying."""
    return _map_arrays(group, lambda values: np.broadcast_to(values, n))
