"""What may be picked: the network's antennas and BUCs, and what sites have already."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, IntArray
from siteplan.frozen import frozen
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.link.ends import Dish, Level
from siteplan.planning.link.spectrum.lobes import by_size, numbers


@frozen
class Catalogue:
    """The network's antennas (a,) and BUCs (b,), smallest first.

    ``pattern`` is the number of each antenna's pattern, ``xpi_db`` its isolation [dB].
    """

    diameter_m: FloatArray
    efficiency: FloatArray
    offset_deg: FloatArray
    pattern: IntArray
    xpi_db: FloatArray
    buc_w: FloatArray
    buc_backoff_db: FloatArray

    @property
    def dishes(self) -> list[Dish]:
        """The antennas, smallest first."""
        parts = self.diameter_m, self.efficiency, self.pattern, self.xpi_db
        return [Dish(*of) for of in zip(*(p.tolist() for p in parts), strict=True)]

    def dish_of(self, which: IntArray) -> Dish:
        """Return the antennas (k,) of the catalogue at ``which`` (k,)."""
        return Dish(
            self.diameter_m[which], self.efficiency[which], self.pattern[which], self.xpi_db[which]
        )

    @property
    def buc_dbw(self) -> FloatArray:
        """Power of each BUC after its back-off [dBW]."""
        return np.asarray(10 * np.log10(self.buc_w) - self.buc_backoff_db)


@frozen
class Installed:
    """Kit that sites have already (n,): NaN where there is none, or where it was not told."""

    antenna_m: FloatArray
    buc_w: FloatArray
    efficiency: FloatArray
    buc_backoff_db: FloatArray

    @property
    def nothing(self) -> bool:
        """Whether no site has kit already."""
        return not (self.has_dish.any() or self.has_buc.any())

    @property
    def has_dish(self) -> BoolArray:
        """Where an antenna stands (n,)."""
        return ~np.isnan(self.antenna_m)

    @property
    def has_buc(self) -> BoolArray:
        """Where a BUC stands (n,)."""
        return ~np.isnan(self.buc_w)


def installed(sites: Sites) -> Installed:
    """Return the kit that sites (n,) have already."""
    return Installed(
        sites.fixed_antenna_m,
        sites.fixed_buc_w,
        sites.fixed_efficiency,
        sites.fixed_buc_backoff_db,
    )


class Candidates(NamedTuple):
    """The dishes and BUCs to try, in the catalogue's order: installed kit stands in each place.

    Where nothing is installed the catalogue's numbers do for all sites. ``stands`` is where a dish
    is installed, a truth or one a site (n,): it is judged, not picked.
    """

    dishes: list[Dish]
    watts: list[Level]
    dbw: list[Level]
    stands: BoolArray | bool

    @property
    def pairs(self) -> int:
        """How many pairs there are to try."""
        return len(self.dishes) * len(self.dbw)


def candidates(kinds: Catalogue, stands: Installed) -> Candidates:
    """Return the dishes and BUCs to try at n sites.

    Installed kit that does not tell its efficiency or back-off has that of the nearest size, and
    so with its pattern and its isolation.
    """
    powers = list(zip(kinds.buc_w.tolist(), kinds.buc_dbw.tolist(), strict=True))
    if stands.nothing:
        watts, dbw = ([pair[k] for pair in powers] for k in (0, 1))
        return Candidates(kinds.dishes, watts, dbw, stands=False)
    lent = kinds.dish_of(nearest(kinds.diameter_m, stands.antenna_m))
    efficiency = np.where(np.isnan(stands.efficiency), lent.efficiency, stands.efficiency)
    own = Dish(stands.antenna_m, efficiency, lent.pattern, lent.xpi_db)
    backoff = kinds.buc_backoff_db[nearest(kinds.buc_w, stands.buc_w)]
    backoff = np.where(np.isnan(stands.buc_backoff_db), backoff, stands.buc_backoff_db)
    own_dbw = 10 * np.log10(np.where(stands.has_buc, stands.buc_w, 1.0)) - backoff
    return Candidates(
        [
            Dish(*(np.where(stands.has_dish, *pair) for pair in zip(own, dish, strict=True)))
            for dish in kinds.dishes
        ],
        [np.where(stands.has_buc, stands.buc_w, w) for w, _ in powers],
        [np.where(stands.has_buc, own_dbw, dbw) for _, dbw in powers],
        stands.has_dish,
    )


@frozen
class Lent:
    """Where installed kit (n,) has the figures of the nearest size, and which size that is.

    ``dish`` and ``buc`` are true where kit stands of a size that the catalogue lacks, whose
    efficiency or back-off nobody told; ``near_m`` and ``near_w`` are the sizes that lend theirs.
    """

    dish: BoolArray
    buc: BoolArray
    dish_m: FloatArray
    buc_w: FloatArray
    near_m: FloatArray
    near_w: FloatArray


def lent(kinds: Catalogue, stands: Installed) -> Lent:
    """Return where installed kit (n,) has the figures of the nearest size of the catalogue."""
    near_m = kinds.diameter_m[nearest(kinds.diameter_m, stands.antenna_m)]
    near_w = kinds.buc_w[nearest(kinds.buc_w, stands.buc_w)]
    unlike = (
        stands.has_dish & (stands.antenna_m != near_m),
        stands.has_buc & (stands.buc_w != near_w),
    )
    return Lent(
        unlike[0] & np.isnan(stands.efficiency), unlike[1] & np.isnan(stands.buc_backoff_db),
        stands.antenna_m, stands.buc_w, near_m, near_w,
    )  # fmt: skip


def catalogue(network: Network) -> Catalogue:
    """Return the network's antennas and BUCs, smallest first."""
    antennas = by_size(network)
    bucs = sorted(network.bucs, key=lambda b: b.rated_w)
    return Catalogue(
        np.array([a.diameter_m for a in antennas]),
        np.array([a.aperture_efficiency for a in antennas]),
        np.array([a.offset_angle_deg for a in antennas]),
        np.array(numbers(network)[0], dtype=np.intp),
        np.array([a.xpi_db for a in antennas]),
        np.array([b.rated_w for b in bucs]),
        np.array([b.backoff_db for b in bucs]),
    )


def nearest(sizes: FloatArray, wanted: FloatArray) -> IntArray:
    """Return the index of the catalogue size nearest each wanted one (0 where NaN)."""
    gap = np.abs(sizes[None, :] - wanted[:, None])
    return np.asarray(np.argmin(np.where(np.isnan(gap), 0.0, gap), axis=1))


def chosen(
    candidates: Sequence[Level], which: IntArray, index: IntArray | None = None
) -> FloatArray:
    """Return each site's candidate (n,), from numbers or arrays (n,); those at ``index`` alone.

    Parameters
    ----------
    candidates : sequence of float or (n,) array
    which : (n,) array
        Which of them each site has.
    index : (k,) array, optional
        The sites that are wanted.
    """
    each = [np.broadcast_to(c, which.shape) for c in candidates]
    rows = np.arange(len(which)) if index is None else index
    return np.stack([c[rows] for c in each], axis=1)[np.arange(len(rows)), which[rows]]


def chosen_dish(candidates: Sequence[Dish], which: IntArray, index: IntArray | None = None) -> Dish:
    """Return each site's candidate of dishes (n,); arguments as of `chosen`."""
    diameter, efficiency, pattern, xpi = (
        chosen(column, which, index) for column in zip(*candidates, strict=True)
    )
    return Dish(diameter, efficiency, pattern.astype(np.intp), xpi)
