"""Why a site has no kit, in a sentence, with the nearest miss."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from siteplan.arrays import BoolArray, FloatArray
from siteplan.planning.kit.pick import PART_INSTALLED, Sizing
from siteplan.planning.link.weather import Weather
from siteplan.planning.step import Raised, Told


@dataclass(frozen=True)
class Shortfall:
    """What the reasons are made of: arrays (n,), and the lowest elevation that gets kit.

    ``installed`` is where a dish or a BUC stands already. ``dish_m`` and ``buc_w`` are the
    largest pair that was tried, ``short_db`` how far it misses margin and reserve, ``fade_db``
    what the sky takes in the limiting direction.
    """

    missing: BoolArray
    installed: BoolArray
    outbound: BoolArray
    elevation_deg: FloatArray
    floor_deg: float
    dish_m: FloatArray
    buc_w: FloatArray
    short_db: FloatArray
    fade_db: FloatArray
    required_m: FloatArray

    @property
    def high_enough(self) -> BoolArray:
        """Where the elevation allows of kit (n,)."""
        return self.elevation_deg >= self.floor_deg


def shortfall(
    of: Sizing, at: Weather, elevation_deg: FloatArray, *, floor_deg: float, reserve_db: float
) -> Shortfall:
    """Return what is missing where no kit is given.

    Parameters
    ----------
    of : Sizing
        Of n sites.
    at : Weather
        At the sites' targets.
    elevation_deg : (n,) array
        Of the satellite [deg].
    floor_deg, reserve_db : float
        The least elevation [deg] and margin [dB] with which kit is given.
    """
    outbound = ~of.inbound_limits
    return Shortfall(
        missing=of.missing,
        installed=of.kit.source == PART_INSTALLED,
        outbound=outbound,
        elevation_deg=elevation_deg,
        floor_deg=floor_deg,
        dish_m=of.kit.dish_m,
        buc_w=of.kit.tried_w,
        short_db=reserve_db - of.margin_db,
        fade_db=np.where(outbound, at.down.total, at.up.total),
        required_m=of.required_antenna_m,
    )


def told(x: Shortfall) -> Iterator[Told]:
    """Yield why each site has no kit; no two hold at one site, none where there is kit."""
    seen = x.missing & ~np.isnan(x.elevation_deg)
    yield Told("no_fit.below_horizon", x.missing & ~seen)
    low = {"elevation_deg": x.elevation_deg, "floor_deg": x.floor_deg}
    yield Told("no_fit.low", seen & ~x.high_enough, low)
    yield from _short(x)


def raised(x: Shortfall) -> Iterator[Raised]:
    """Yield the flag of the sites that are high enough and yet get no kit."""
    for found in _short(x):
        yield Raised("no_fit", found)


def _short(x: Shortfall) -> Iterator[Told]:
    """Yield the sentences of the sites whose link falls short, with the nearest miss."""
    numbers = {k: v for k, v in vars(x).items() if isinstance(v, np.ndarray) and v.dtype == float}
    short, known = x.missing & x.high_enough, ~np.isnan(x.required_m)
    for start, is_start in (("nothing", ~x.installed), ("beside", x.installed)):
        for way, side in (("outbound", x.outbound), ("inbound", ~x.outbound)):
            for advice, is_known in (("would", known), ("never", ~known)):
                where = short & is_start & side & is_known
                yield Told(f"no_fit.{start}.{way}.{advice}", where, numbers)
