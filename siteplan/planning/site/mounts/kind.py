"""What every kind of mount has: how it stands, what it asks for, how it is weighed."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, TextArray
from siteplan.frozen import frozen
from siteplan.model import STRUCTURES
from siteplan.network import Network
from siteplan.planning.site.loads import Loads, Standing
from siteplan.planning.site.mounts.weighing import Option
from siteplan.planning.step import Columns

#: Dishes from here on count as large [m]; common practice.
LARGE_DISH_M = 1.2
#: Elevation below which things on the ground come into the way [deg]; common practice.
GROUND_ELEVATION_DEG = 15.0
#: Ballast that is much to carry [kg]; common practice.
HEAVY_BALLAST_KG = 500.0


@frozen
class Spot:
    """What the mounts are weighed by: arrays (n,), NaN and '' where not known.

    ``parapet_distance_m`` is how far behind the parapet a frame must stand to look over it.
    """

    structure: TextArray
    antenna_m: FloatArray
    roof_height_m: FloatArray
    wall_facing_deg: FloatArray
    azimuth_true_deg: FloatArray
    elevation_deg: FloatArray
    wind_m_s: FloatArray
    parapet_distance_m: FloatArray

    @functools.cached_property
    def on(self) -> dict[str, BoolArray]:
        """Where each structure is (n,), '' being 'not known'; texts are compared once."""
        return {word: np.asarray(self.structure == word) for word in ("", *STRUCTURES)}

    def on_any(self, *words: str) -> BoolArray:
        """Return where the structure is one of ``words`` (n,)."""
        return np.asarray(np.logical_or.reduce([self.on[word] for word in words]))

    @property
    def everywhere(self) -> BoolArray:
        """True at every site (n,)."""
        return np.ones(len(self.structure), dtype=bool)

    @property
    def wanted(self) -> BoolArray:
        """Where there is something to mount: an antenna, and a satellite to see (n,)."""
        return ~(np.isnan(self.elevation_deg) | np.isnan(self.antenna_m))

    def base(self, scores: dict[str, float]) -> FloatArray:
        """Return the score that the structure gives an option (n,); NaN where it has no place."""
        found = np.full(len(self.structure), np.nan)
        for word, score in scores.items():
            found[self.on[word]] = score
        return found


class Tried(NamedTuple):
    """A kind tried at every site (n,): how the dish stands, what the wind does, what it asks for.

    ``needs`` are the kind's own result fields, as they are where it is chosen.
    """

    standing: Standing
    load: Loads
    needs: Columns


class Kind(NamedTuple):
    """A kind of mount.

    Parameters
    ----------
    code : str
        Value of the field ``mount``.
    likely_on : tuple of str
        Structures on which it is the likeliest before a survey.
    stand : callable
        How dishes (n,) [m] stand on it: ``stand(spot, dish_m, network)``.
    tried : callable
        What it asks for at each site: ``tried(spot, network)``.
    option : callable
        How it is weighed: ``option(spot, tried, network)``.
    fields : tuple of str
        Its own result fields.
    """

    code: str
    likely_on: tuple[str, ...]
    stand: Callable[[Spot, FloatArray, Network], Standing]
    tried: Callable[[Spot, Network], Tried]
    option: Callable[[Spot, Tried, Network], Option]
    fields: tuple[str, ...]
