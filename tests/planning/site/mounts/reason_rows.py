"""Every reason for and against a mount, with its condition and its points: a row a reason.

To add a reason, a bar, a limit or a question: a row of `REASONS`, `BARS`, `LIMITS` or `QUESTIONS`;
a kind of mount: its base in `BASES`. Loads are worked out anew by hand; limits stand here as
numbers, not by the code's names.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from siteplan.arrays import BoolArray, FloatArray
from siteplan.planning.site.mounts.kind import Spot

#: Kinds in the order of the table of scores, by the key of their names.
MOUNTS = {
    "mount.pole": "pole",
    "mount.wall": "wall",
    "mount.roof": "non_penetrating",
    "mount.ground": "ground",
}
#: Base scores by structure; none where the mount has no place.
BASES = {
    "mount.pole": {"ground": 85, "flat_roof": 45, "pitched_roof": 45, "wall": 45, "": 50},
    "mount.wall": {"wall": 80, "flat_roof": 45, "pitched_roof": 50, "": 30},
    "mount.roof": {"flat_roof": 85, "": 30},
    "mount.ground": {"ground": 70, "flat_roof": 40, "pitched_roof": 45, "wall": 45, "": 40},
}
FOR, AGAINST = "for", "against"
GRAVITY = 9.80665


class Rules(NamedTuple):
    """What the network file says: snow [Pa], the roof's limit [Pa], whether that was given."""

    snow_pa: float = 0.0
    limit_pa: float = 1500.0
    limit_given: bool = False

    @property
    def site(self) -> dict[str, float]:
        """The table ``[site]`` that says so."""
        limit = {"roof_limit_pa": self.limit_pa} if self.limit_given else {}
        return {"snow_pa": self.snow_pa} | limit


class Bears:
    """What each kind has to bear (n,), by hand: a gust in open country, defaults of ``[site]``."""

    def __init__(self, spot: Spot, rules: Rules) -> None:
        self.spot, self.rules, self.dish = spot, rules, spot.antenna_m
        self.mass_kg = 40 * np.pi / 4 * self.dish**2
        self.swing = np.abs((spot.azimuth_true_deg - spot.wall_facing_deg + 180) % 360 - 180)
        self.embedment_m = self._embedment_m()
        self.pull_n = self._pull_n()
        roof = np.where(np.isnan(spot.roof_height_m), 6.0, spot.roof_height_m)
        self.roof_ballast_kg = self._ballast_kg(roof)
        self.ground_ballast_kg = self._ballast_kg(np.zeros_like(roof))
        held = (self.roof_ballast_kg + self.mass_kg) * GRAVITY
        self.roof_load_pa = held / (1.8 * self.dish) ** 2 + rules.snow_pa

    def drag_n(self, height_m: FloatArray) -> FloatArray:
        """Return 1.5 x 0.613 Kz V^2 x aperture at a height; ASCE 7-16, exposure C."""
        kz = 2.01 * (np.maximum(height_m, 4.57) / 274.32) ** (2 / 9.5)
        return 1.5 * 0.613 * kz * self.spot.wind_m_s**2 * np.pi / 4 * self.dish**2

    def on(self, *words: str) -> BoolArray:
        """Return where the structure is one of ``words`` (n,)."""
        return np.array([word in words for word in self.spot.structure.tolist()])

    def _embedment_m(self) -> FloatArray:
        """IBC 1807.3.2.1 with S at a third of the depth: d^3 = k d + 1.09 k h."""
        lever = 1.2 + self.dish / 2
        k = 2.34 * 3 * self.drag_n(lever) / (15_700 * 0.6)
        depths = []
        for a, h in zip(k.tolist(), lever.tolist(), strict=True):
            if np.isnan(a):
                depths.append(np.nan)
                continue
            roots = np.roots([1.0, 0.0, -a, -1.09 * a * h])
            depths.append(max(r.real for r in roots if abs(r.imag) < 1e-9))
        return np.array(depths)

    def _pull_n(self) -> FloatArray:
        """A quarter of the drag, or its moment along the wall on two fixings; and the weight's."""
        roof = self.spot.roof_height_m
        drag = self.drag_n(np.where(roof > 3, roof, 3.0))
        off = np.maximum(0.6, self.dish / 2)
        hanging = self.mass_kg * GRAVITY * off / (2 * 0.4)
        return np.maximum(drag / 4, drag * off / (2 * 0.4)) + hanging

    def _ballast_kg(self, roof_m: FloatArray) -> FloatArray:
        """Friction 0.4, safety 1.5, lift a third of the drag, base 1.8 times the dish."""
        lever, base = 0.3 + self.dish / 2, 1.8 * self.dish
        drag = self.drag_n(roof_m + lever)
        sliding = 1.5 * (drag / 0.4 + drag / 3)
        tipping = 1.5 * (drag * lever + drag / 3 * base / 2) / (base / 2)
        return np.maximum(np.maximum(sliding, tipping) / GRAVITY - self.mass_kg, 0)


class Reason(NamedTuple):
    """A reason of a kind of mount: which way it speaks, its points, and where it holds."""

    kind: str
    key: str
    side: str
    points: int
    where: Callable[[Bears], Any]


class Bar(NamedTuple):
    """What makes a kind of mount impossible, and where."""

    kind: str
    key: str
    where: Callable[[Bears], Any]


class Limit(NamedTuple):
    """A limit of a kind of mount: what is limited, to what, and whether design can go beyond."""

    kind: str
    key: str
    value: Callable[[Bears], Any]
    most: Callable[[Rules], float]
    decimals: int = 0
    by_design: bool = True


class Question(NamedTuple):
    """A question that leaves a mount provisional where it is the kind chosen."""

    kind: str
    key: str
    where: Callable[[Bears], Any]


def everywhere(b: Bears) -> BoolArray:
    """Return true at every site."""
    return np.ones(len(b.dish), dtype=bool)


def _low(b: Bears) -> BoolArray:
    return b.spot.elevation_deg < 15


def _beside(b: Bears) -> BoolArray:
    return ~b.on("ground")


def _snow(b: Bears) -> BoolArray:
    return everywhere(b) & (b.rules.snow_pa > 0)


def _swing_that_counts(b: Bears) -> FloatArray:
    """The swing from the wall's facing; from 75 degrees of elevation on it does not count."""
    return np.where(b.spot.elevation_deg < 75, b.swing, np.nan)


def _over_the_wall(b: Bears) -> BoolArray:
    return (b.spot.elevation_deg >= 75) & (b.swing > 70)


def _perhaps_over_the_wall(b: Bears) -> BoolArray:
    return (b.spot.elevation_deg >= 75) & ~(b.swing <= 70)


REASONS: tuple[Reason, ...] = (
    Reason("mount.pole", "mount.pole.open_ground", FOR, 0, lambda b: b.on("ground")),
    Reason("mount.pole", "mount.pole.any_bearing", FOR, 0, _beside),
    Reason("mount.pole", "mount.pole.large_dishes", FOR, 0, lambda b: b.dish > 1.2),
    Reason("mount.pole", "mount.ground_to_find", AGAINST, -5, _beside),
    Reason("mount.pole", "mount.pole.digging", AGAINST, -5, everywhere),
    Reason("mount.pole", "mount.pole.deep_footing", AGAINST, -10, lambda b: b.embedment_m > 1.5),
    Reason("mount.pole", "mount.low_beam", AGAINST, -5, _low),
    Reason("mount.pole", "mount.pole.too_large", AGAINST, -10, lambda b: b.dish > 2.4),
    Reason("mount.wall", "mount.wall.looks_there", FOR, 0, lambda b: b.swing <= 70),
    Reason("mount.wall", "mount.wall.above_people", FOR, 0, _beside),
    Reason("mount.wall", "mount.wall.facing_unknown", AGAINST, -20, lambda b: np.isnan(b.swing)),
    Reason("mount.wall", "mount.wall.along", AGAINST, -10,
           lambda b: (b.swing > 50) & (b.swing <= 70)),
    Reason("mount.wall", "mount.wall.over_the_top", AGAINST, -20, _over_the_wall),
    Reason("mount.wall", "mount.wall.strong_pull", AGAINST, -10, lambda b: b.pull_n > 1500),
    Reason("mount.wall", "mount.wall.eaves", AGAINST, -5, lambda b: b.spot.elevation_deg > 65),
    Reason("mount.roof", "mount.roof.unpierced", FOR, 0, everywhere),
    Reason("mount.roof", "mount.roof.out_of_reach", FOR, 0, everywhere),
    Reason("mount.roof", "mount.roof.too_large", AGAINST, -25, lambda b: b.dish > 1.8),
    Reason("mount.roof", "mount.roof.much_ballast", AGAINST, -5,
           lambda b: b.roof_ballast_kg > 500),
    Reason("mount.roof", "mount.roof.parapet", AGAINST, -5, lambda b: b.spot.elevation_deg < 20),
    Reason("mount.roof", "mount.roof.snow", AGAINST, -5, _snow),
    Reason("mount.ground", "mount.ground.no_digging", FOR, 0, everywhere),
    Reason("mount.ground", "mount.ground.within_reach", AGAINST, -5, everywhere),
    Reason("mount.ground", "mount.ground_to_find", AGAINST, -5, _beside),
    Reason("mount.ground", "mount.ground.much_ballast", AGAINST, -10,
           lambda b: b.ground_ballast_kg > 1000),
    Reason("mount.ground", "mount.low_beam", AGAINST, -5, _low),
    Reason("mount.ground", "mount.ground.snow", AGAINST, -10, _snow),
)  # fmt: skip

BARS: tuple[Bar, ...] = (
    Bar("mount.wall", "mount.wall.no_wall", lambda b: b.on("ground")),
    Bar("mount.roof", "mount.roof.pitched", lambda b: b.on("pitched_roof")),
    Bar("mount.roof", "mount.roof.no_roof", lambda b: b.on("ground", "wall")),
)

#: Common practice, no source, all of them; the roof's is its own where it is given.
LIMITS: tuple[Limit, ...] = (
    Limit("mount.pole", "mount.limit.footing", lambda b: b.embedment_m, lambda r: 2.5, 2),
    Limit("mount.wall", "mount.limit.bracket_dish", lambda b: b.dish, lambda r: 1.2, 2),
    Limit("mount.wall", "mount.limit.fixing_pull", lambda b: b.pull_n, lambda r: 3000),
    Limit("mount.wall", "mount.limit.wall_angle", _swing_that_counts, lambda r: 70, 1, False),
    Limit("mount.roof", "mount.limit.roof_load", lambda b: b.roof_load_pa, lambda r: r.limit_pa),
    Limit("mount.roof", "mount.limit.roof_ballast", lambda b: b.roof_ballast_kg, lambda r: 1500),
    Limit("mount.ground", "mount.limit.ground_ballast",
          lambda b: b.ground_ballast_kg, lambda r: 5000),
)  # fmt: skip

QUESTIONS: tuple[Question, ...] = (
    Question("mount.pole", "mount.ask.ground", _beside),
    Question("mount.wall", "mount.ask.wall_rise", _perhaps_over_the_wall),
    Question("mount.wall", "mount.ask.facing", lambda b: np.isnan(b.swing)),
    Question("mount.wall", "mount.ask.wall", lambda b: ~b.on("wall")),
    Question("mount.roof", "mount.ask.roof", lambda b: everywhere(b) & (not b.rules.limit_given)),
    Question("mount.ground", "mount.ask.ground", _beside),
)
