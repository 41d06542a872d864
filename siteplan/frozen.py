"""Frozen dataclasses that are made in a third of the time.

``dataclass(frozen=True)`` compiles up to seven functions for each class, one by one. There are some
two hundred, and planning fifty sites spent a tenth of its time on them. Here a class has one
compiled function of its own, ``__init__``, and shares the others with all.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import MISSING, FrozenInstanceError, dataclass, field, fields
from typing import Any, TypeVar, dataclass_transform

T = TypeVar("T")

#: In place of what a factory makes, where an argument is not given.
_LEFT_OUT = object()


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def frozen(cls: type[Any] | None = None, /, *, eq: bool = True) -> Any:
    """Make a class a dataclass whose fields are set once, when it is made.

    As ``dataclasses.dataclass(frozen=True)``; ``fields``, ``replace``, patterns and pickling work.
    Every field is an argument, by position or keyword.

    Parameters
    ----------
    cls : type
        The class, with annotated fields.
    eq : bool, optional
        Whether two are equal, and hash alike, where their fields do. Else each equals itself
        alone: two arrays compared have no one answer.

    Raises
    ------
    TypeError
        A field is none of ``__init__`` or stands by keyword alone.

    Examples
    --------
    >>> @frozen
    ... class Place:
    ...     lat: float
    ...     lon: float = 0.0
    >>> Place(3.5), Place(3.5) == Place(3.5, lon=0.0)
    (Place(lat=3.5, lon=0.0), True)
    """
    if cls is None:
        return lambda made: _made(made, eq=eq)
    return _made(cls, eq=eq)


def _made(cls: type[T], *, eq: bool) -> type[T]:
    """Return the class with its methods; those that it defines itself stay."""
    own = set(vars(cls))
    made: Any = dataclass(init=False, repr=False, eq=False)(cls)
    made.__setattr__, made.__delattr__ = _no_change, _no_removal
    if "__init__" not in own:
        made.__init__ = _init(made)
    if "__repr__" not in own:
        made.__repr__ = _repr
    if eq and "__eq__" not in own:
        made.__eq__ = _eq
    if eq and vars(made).get("__hash__") is None:  # as of a class with an __eq__ of its own
        made.__hash__ = _hash
    kept: type[T] = made
    return kept


def _init(cls: type[Any]) -> Callable[..., None]:
    """Return the ``__init__`` of a class, compiled from its fields."""
    scope: dict[str, Any] = {"_set": object.__setattr__, "_left_out": _LEFT_OUT}
    heads, lines = ["self"], []
    for f in fields(cls):
        if not f.init or f.kw_only:
            raise TypeError(f"{cls.__qualname__}.{f.name}: each field is a plain argument")
        head, value = f.name, f.name
        if f.default is not MISSING:
            scope[f"_of_{f.name}"] = f.default
            head = f"{f.name}=_of_{f.name}"
        elif f.default_factory is not MISSING:
            scope[f"_of_{f.name}"] = f.default_factory
            head = f"{f.name}=_left_out"
            value = f"_of_{f.name}() if {f.name} is _left_out else {f.name}"
        heads.append(head)
        lines.append(f"_set(self, {f.name!r}, {value})")
    if hasattr(cls, "__post_init__"):
        lines.append("self.__post_init__()")
    exec(f"def __init__({', '.join(heads)}):\n {'; '.join(lines) or 'pass'}", scope)
    made: Any = scope["__init__"]
    made.__qualname__, made.__module__ = f"{cls.__qualname__}.__init__", cls.__module__
    made.__annotations__ = {f.name: f.type for f in fields(cls)} | {"return": None}
    return made  # type: ignore[no-any-return]


def _no_change(self: object, name: str, value: object) -> None:
    raise FrozenInstanceError(f"cannot assign to field {name!r}")


def _no_removal(self: object, name: str) -> None:
    raise FrozenInstanceError(f"cannot delete field {name!r}")


def _compared(self: Any) -> tuple[Any, ...]:
    return tuple(getattr(self, f.name) for f in fields(self) if f.compare)


def _repr(self: Any) -> str:
    told = ", ".join(f"{f.name}={getattr(self, f.name)!r}" for f in fields(self) if f.repr)
    return f"{type(self).__qualname__}({told})"


def _eq(self: object, other: object) -> bool:
    return _compared(self) == _compared(other) if type(other) is type(self) else NotImplemented


def _hash(self: object) -> int:
    return hash(_compared(self))
