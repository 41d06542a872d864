"""What each site takes: its parts and the work on it, from the columns of the plan."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray, IntArray
from siteplan.frozen import frozen
from siteplan.planning.assembly import given
from siteplan.prices import kind_of

#: Stands for the class of cable where none of the catalogue works.
OPEN = "open"


class Kinds(NamedTuple):
    """Kinds, and which of them each site (n,) takes."""

    names: list[str]
    which: IntArray


@frozen
class Part:
    """One part of sites (n,), or a kind of work on them.

    ``quantity`` is what is still to be ordered or done: 0 where it stands there already, NaN where
    the site has no such part. ``open_`` is how much of that rests on a mount that a question may
    still change; None for what rests on no mount.
    """

    name: str
    kinds: Kinds
    quantity: FloatArray
    open_: FloatArray | None = None


def parts(columns: Mapping[str, NDArray[Any]]) -> tuple[Part, ...]:
    """Return the parts of sites (n,) in the order in which they are listed.

    A site that no pair is given to takes nothing. An antenna that is installed stands on its
    mount, ballast and all; where the BUC is installed too, the whole station stands: LNB, modem
    and cable as well, and nobody goes there.
    """
    here = given(columns)["kit"]
    dish, buc = ~np.isnan(columns["fixed_antenna_m"]), ~np.isnan(columns["fixed_buc_w"])
    mount = columns["mount"]
    placed = here & (mount != "")
    provisional = np.where(columns["mount_certainty"] == "provisional", 1.0, 0.0)
    alike, mounts = Kinds([""], np.zeros(len(here), dtype=np.intp)), coded(mount.tolist())
    built = _count(placed, ~dish)
    station = _count(here, ~(dish & buc))
    weight = np.ceil(columns["ballast_kg"]) * _count(here, ~dish)
    classes = coded(columns["cable_class"].tolist())
    cable = Kinds([name or OPEN for name in classes.names], classes.which)
    return (
        Part("antenna", _sizes(columns["antenna_m"]), _count(here, ~dish)),
        Part("BUC", _sizes(columns["buc_w"]), _count(here, ~buc)),
        Part("LNB", alike, station),
        Part("modem", alike, station),
        Part("mount", mounts, built, built * provisional),
        Part("cable", cable, np.ceil(columns["ifl_length_m"]) * station),
        Part("ballast", mounts, weight, weight * provisional),
        Part("installation", mounts, built, built * provisional),
        Part("visit", alike, station),
    )


def coded(values: Iterable[str]) -> Kinds:
    """Return the distinct values in their order, and which of them each site (n,) has."""
    known: dict[str, int] = {}
    which = [known.setdefault(value, len(known)) for value in values]
    return Kinds(list(known), np.array(which, dtype=np.intp))


def _count(here: BoolArray, wanted: BoolArray) -> FloatArray:
    """Return 1 where a part is wanted, 0 where it stands, NaN where it is none of the site's."""
    return np.where(here, np.where(wanted, 1.0, 0.0), np.nan)


def _sizes(values: FloatArray) -> Kinds:
    """Return sizes (n,) as kinds; none is one of them too, of which nothing is ordered."""
    sizes, which = np.unique(values, return_inverse=True)
    return Kinds([kind_of(size) for size in sizes.tolist()], which)
