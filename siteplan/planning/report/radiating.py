"""What the terminals of a plan radiate, counted by kind: parts of a plan add up.

A kind is an antenna with a BUC. Terminals of one kind have the same gain, pattern and allowed
power; what they use differs from site to site, and the greatest counts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray
from siteplan.network import Network
from siteplan.planning.beams.passes import pass_numbers
from siteplan.planning.kit.catalogue import catalogue, nearest
from siteplan.results import Plan


class Kind(NamedTuple):
    """An antenna with a BUC: sizes, aperture efficiency, number of the pattern, of the carriers.

    ``carriers`` counts from 0 the passes of the plan's beams: those of one share their carriers.
    """

    antenna_m: float
    buc_w: float
    efficiency: float
    pattern: int
    carriers: int = 0


@dataclass
class Radiated:
    """What the terminals of one kind radiate: the greatest power, and the least margin.

    ``tx_power_w`` is the BUC's output in clear sky; mask, angle and allowed power are those of the
    least margin.
    """

    sites: int
    tx_power_w: float
    least_elevation_deg: float
    greatest_elevation_deg: float
    margin_db: float
    mask: str
    angle_deg: float
    allowed_feed_w: float

    def add(self, other: Radiated) -> None:
        """Add other terminals of the kind."""
        self.sites += other.sites
        self.tx_power_w = max(self.tx_power_w, other.tx_power_w)
        self.least_elevation_deg = min(self.least_elevation_deg, other.least_elevation_deg)
        self.greatest_elevation_deg = max(self.greatest_elevation_deg, other.greatest_elevation_deg)
        if other.margin_db < self.margin_db:
            self.margin_db, self.mask = other.margin_db, other.mask
            self.angle_deg, self.allowed_feed_w = other.angle_deg, other.allowed_feed_w


@dataclass
class Radiating:
    """What terminals radiate, by kind."""

    kinds: dict[Kind, Radiated] = field(default_factory=dict)

    def add(self, other: Radiating) -> None:
        """Add other terminals."""
        for kind, found in other.kinds.items():
            if kind in self.kinds:
                self.kinds[kind].add(found)
            else:
                self.kinds[kind] = Radiated(**asdict(found))

    def to_json(self) -> list[Any]:
        """Return the counts as plain data."""
        return [[*kind, asdict(found)] for kind, found in sorted(self.kinds.items())]

    @classmethod
    def from_json(cls, data: Sequence[Any]) -> Radiating:
        """Return counts from what ``to_json`` gave, perhaps by way of a file."""
        return cls({Kind(*row[:-1]): Radiated(**row[-1]) for row in data})


def radiating(plan: Plan) -> Radiating:
    """Return what the terminals of a plan radiate: those with kit that see the satellite.

    It needs columns alone; nothing is counted of a plan without limits off axis.
    """
    columns = plan.columns
    if "off_axis_margin_db" not in columns:
        return Radiating()
    rows = np.flatnonzero(~np.isnan(columns["off_axis_margin_db"]))
    taken = {name: columns[name][rows] for name in _NEEDED}
    if plan.network.beams:
        taken["beam"] = columns["beam"][rows]
    kinds, each = np.unique(_kinds(taken, plan.network), axis=0, return_inverse=True)
    places = each.reshape(-1)
    found = Radiating()
    for number, (antenna, buc, efficiency, pattern, carriers) in enumerate(kinds.tolist()):
        kind = Kind(antenna, buc, efficiency, int(pattern), int(carriers))
        found.kinds[kind] = _radiated(taken, places == number)
    return found


_NEEDED = (
    *("antenna_m", "buc_w", "fixed_antenna_m", "fixed_efficiency", "elevation_deg"),
    *("tx_power_w", "off_axis_margin_db", "off_axis_mask", "off_axis_angle_deg", "allowed_feed_w"),
)


def _kinds(taken: Mapping[str, NDArray[Any]], network: Network) -> FloatArray:
    """Return the kind of each terminal (n, 5), as the link has it.

    An installed antenna without an efficiency has that of the nearest size, and its pattern.
    """
    sizes = catalogue(network)
    near = nearest(sizes.diameter_m, taken["antenna_m"])
    told = ~np.isnan(taken["fixed_antenna_m"]) & ~np.isnan(taken["fixed_efficiency"])
    efficiency = np.where(told, taken["fixed_efficiency"], sizes.efficiency[near])
    beam = taken.get("beam")
    carriers = np.zeros(len(near)) if beam is None else pass_numbers(network, beam).astype(float)
    parts = taken["antenna_m"], taken["buc_w"], efficiency, sizes.pattern[near], carriers
    return np.column_stack(parts).astype(float).reshape(-1, len(Kind._fields))


def _radiated(taken: Mapping[str, NDArray[Any]], here: BoolArray) -> Radiated:
    """Return what the terminals of one kind radiate."""
    of = {name: values[here] for name, values in taken.items()}
    worst = int(np.argmin(of["off_axis_margin_db"]))
    return Radiated(
        sites=int(here.sum()),
        tx_power_w=float(of["tx_power_w"].max()),
        least_elevation_deg=float(of["elevation_deg"].min()),
        greatest_elevation_deg=float(of["elevation_deg"].max()),
        margin_db=float(of["off_axis_margin_db"][worst]),
        mask=str(of["off_axis_mask"][worst]),
        angle_deg=float(of["off_axis_angle_deg"][worst]),
        allowed_feed_w=float(of["allowed_feed_w"][worst]),
    )
