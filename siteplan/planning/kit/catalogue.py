"""What may be picked: the network's antennas and BUCs, and what sites have already."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from siteplan.arrays import FloatArray, IntArray
from siteplan.network import Network


@dataclass(frozen=True)
class Catalogue:
    """The network's antennas (a,) and BUCs (b,), smallest first."""

    diameter_m: FloatArray
    efficiency: FloatArray
    offset_deg: FloatArray
    buc_w: FloatArray
    buc_backoff_db: FloatArray

    @property
    def buc_dbw(self) -> FloatArray:
        """Power of each BUC after its back-off [dBW]."""
        return np.asarray(10 * np.log10(self.buc_w) - self.buc_backoff_db)


@dataclass(frozen=True)
class Installed:
    """Kit that sites have already (n,): NaN where there is none."""

    antenna_m: FloatArray
    buc_w: FloatArray

    @property
    def nothing(self) -> bool:
        """Whether no site has kit already."""
        return bool(np.isnan(self.antenna_m).all() and np.isnan(self.buc_w).all())


def catalogue(network: Network) -> Catalogue:
    """Return the network's antennas and BUCs, smallest first."""
    antennas = sorted(network.antennas, key=lambda a: a.diameter_m)
    bucs = sorted(network.bucs, key=lambda b: b.rated_w)
    return Catalogue(
        np.array([a.diameter_m for a in antennas]),
        np.array([a.efficiency for a in antennas]),
        np.array([a.offset_angle_deg for a in antennas]),
        np.array([b.rated_w for b in bucs]),
        np.array([b.backoff_db for b in bucs]),
    )


def nearest(sizes: FloatArray, wanted: FloatArray) -> IntArray:
    """Return the index of the catalogue size nearest each wanted one (0 where NaN)."""
    gap = np.abs(sizes[None, :] - wanted[:, None])
    return np.asarray(np.argmin(np.where(np.isnan(gap), 0.0, gap), axis=1))
