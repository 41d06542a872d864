"""Frozen dataclasses of siteplan's own, against those of the standard library."""

from __future__ import annotations

import copy
import dataclasses
import inspect
import pickle
from collections.abc import Callable
from dataclasses import FrozenInstanceError, field, fields, is_dataclass, replace
from typing import Any

import numpy as np
import pytest

from siteplan.frozen import frozen

#: Both ways of making a class; what each does must be the same.
WAYS: list[Callable[..., Any]] = [frozen, dataclasses.dataclass(frozen=True)]


def dish(way: Callable[..., Any]) -> Any:
    """Return a class with each kind of field that there is."""

    @way
    class Dish:
        """A dish."""

        diameter_m: float
        efficiency: float = 0.65
        notes: list[str] = field(default_factory=list)
        seen: dict[str, int] = field(default_factory=dict, repr=False, compare=False)

        @property
        def radius_m(self) -> float:
            return self.diameter_m / 2

    return Dish


@pytest.fixture(params=WAYS, ids=["own", "library"])
def made(request: pytest.FixtureRequest) -> Any:
    return dish(request.param)


@frozen
class Kept:
    """What is pickled must be found by its name."""

    a: int
    b: tuple[int, ...] = ()


@frozen(eq=False)
class Column:
    """Fields that are arrays."""

    values: Any


def test_arguments_by_place_and_by_name(made: Any) -> None:
    one = made(1.2, 0.6, notes=["wet"])
    assert (one.diameter_m, one.efficiency, one.notes, one.seen) == (1.2, 0.6, ["wet"], {})
    assert one.radius_m == 0.6


@pytest.mark.parametrize("wrong", [(), (1.2, 0.6, [], {}, 5)])
def test_too_few_and_too_many(made: Any, wrong: tuple[Any, ...]) -> None:
    with pytest.raises(TypeError, match=r"__init__\(\)"):
        made(*wrong)
    with pytest.raises(TypeError, match="unexpected keyword argument 'size'"):
        made(1.2, size=3)


def test_a_factory_makes_each_its_own(made: Any) -> None:
    one, other = made(1.2), made(1.2)
    one.notes.append("wet")
    assert other.notes == []


def test_nothing_is_changed_later(made: Any) -> None:
    one = made(1.2)
    with pytest.raises(FrozenInstanceError, match="cannot assign to field 'diameter_m'"):
        one.diameter_m = 1.8
    with pytest.raises(FrozenInstanceError, match="cannot assign to field 'spare'"):
        one.spare = 1
    with pytest.raises(FrozenInstanceError, match="cannot delete field 'diameter_m'"):
        del one.diameter_m
    assert one.diameter_m == 1.2


def test_equal_where_the_compared_fields_are(made: Any) -> None:
    assert made(1.2, seen={"a": 1}) == made(1.2)
    assert made(1.2) != made(1.8)
    assert made(1.2) != (1.2, 0.65, [])
    assert made(1.2, notes=()) in {made(1.2, notes=()): 1}
    with pytest.raises(TypeError, match="unhashable"):
        hash(made(1.2))


def test_equal_to_none_of_another_class() -> None:
    assert dish(frozen)(1.2) != dish(frozen)(1.2)


def test_told_alike() -> None:
    told = [repr(dish(way)(1.2)) for way in WAYS]
    assert told[0] == told[1]
    assert told[0].endswith("Dish(diameter_m=1.2, efficiency=0.65, notes=[])")


def test_shown_alike() -> None:
    own, library = (dish(way) for way in WAYS)
    assert list(inspect.signature(own).parameters) == list(inspect.signature(library).parameters)
    assert own.__match_args__ == library.__match_args__
    assert [f.name for f in fields(own)] == [f.name for f in fields(library)]


def test_replaced_and_taken_apart(made: Any) -> None:
    other = replace(made(1.2, 0.6), diameter_m=1.8)
    assert (other.diameter_m, other.efficiency) == (1.8, 0.6)
    assert is_dataclass(other)
    match other:
        case object(diameter_m=d, efficiency=e):
            assert (d, e) == (1.8, 0.6)


@pytest.mark.parametrize("protocol", range(pickle.HIGHEST_PROTOCOL + 1))
def test_travels(protocol: int) -> None:
    one = Kept(1, (2, 3))
    assert pickle.loads(pickle.dumps(one, protocol)) == one
    assert copy.deepcopy(one) == copy.copy(one) == one


def test_arrays_have_no_one_answer() -> None:
    one, other = Column(np.arange(3)), Column(np.arange(3))
    assert (one == copy.copy(one), one == other) == (False, False)
    assert len({one, other}) == 2


def test_a_class_keeps_what_it_defines() -> None:
    @frozen
    class Named:  # noqa: PLW1641
        name: str

        def __post_init__(self) -> None:
            if not self.name:
                raise ValueError("no name")

        def __repr__(self) -> str:
            return self.name

        def __eq__(self, other: object) -> bool:
            return str(self).lower() == str(other).lower()

    assert (repr(Named("hub")), Named("hub") == Named("HUB")) == ("hub", True)
    assert hash(Named("hub")) == hash(("hub",))
    with pytest.raises(ValueError, match="no name"):
        Named("")


def test_fields_of_a_base_come_first() -> None:
    @frozen
    class Base:
        a: int

    @frozen
    class More(Base):
        b: int = 2

    assert More(1) == More(1, 2)
    assert Base(1) != More(1)


@pytest.mark.parametrize("odd", [field(init=False, default=1), field(kw_only=True)])
def test_odd_fields_are_refused(odd: Any) -> None:
    with pytest.raises(TypeError, match=r"Odd\.a: each field is a plain argument"):

        @frozen
        class Odd:
            a: int = odd


def test_a_default_for_all_is_refused() -> None:
    with pytest.raises(ValueError, match="mutable default"):

        @frozen
        class Shared:
            a: list[int] = []  # noqa: RUF012
