"""How often a year the limiting direction goes out for long: ITU-R P.1623-1 at the site's end."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray, IntArray
from siteplan.frozen import frozen
from siteplan.physics.propagation.attenuation import P_RANGE_PCT
from siteplan.physics.propagation.climate import FROZEN_P_PCT
from siteplan.physics.propagation.fade_duration import (
    ELEVATION_RANGE_DEG,
    FREQUENCY_RANGE_GHZ,
    YEAR_S,
    fades_longer,
)
from siteplan.planning.link.ways import Inbound, Outbound
from siteplan.planning.step import Told

#: Durations that services feel [s]: a call or a poll is lost, and a shift's work waits.
SHORT_S, LONG_S = 10.0, 600.0


@frozen(eq=False)
class Fades(Arrays):
    """Outages a year (n,) that last longer than 10 s and 10 min, of the site's own sky.

    ``site_outage_pct`` is how long the site's end misses in the limiting direction: 0 for less
    than the method's least [%]; ``frequency_ghz`` its carrier's there, ``seen`` where there is an
    answer at all.
    """

    outages_over_10_s: Column
    outages_over_10_min: Column
    site_outage_pct: FloatArray
    frequency_ghz: FloatArray
    elevation_deg: FloatArray
    seen: BoolArray


def fades(
    ways: tuple[Outbound, Inbound],
    site_outage_pct: tuple[FloatArray, FloatArray],
    inbound_limits: BoolArray,
    elevation_deg: FloatArray,
) -> Fades:
    """Return how many outages a year are longer than `SHORT_S` and `LONG_S`.

    Parameters
    ----------
    ways : pair of Outbound and Inbound
        Of n sites with their kit.
    site_outage_pct : pair of (n,) arrays
        How long the site's end misses level zero in each direction. [%]
    inbound_limits : (n,) array of bool
        Where the inbound direction is the limiting one.
    elevation_deg : (n,) array
        [deg]

    Returns
    -------
    Fades
        The threshold is the fade that the site's end just holds, gas not counted. NaN outside the
        ranges of ITU-R P.1623-1, and where the site's end misses for over 5 % of the year: rain
        has no part in that. An outage under 0.001 % counts as that.
    """
    outage = np.where(inbound_limits, site_outage_pct[1], site_outage_pct[0])
    counted = np.maximum(outage, P_RANGE_PCT[0])
    counted = np.where(counted <= FROZEN_P_PCT, counted, np.nan)
    threshold = np.empty_like(counted)
    for way, at in ((ways[0], ~inbound_limits), (ways[1], inbound_limits)):
        threshold[at] = _fade_db(way, np.flatnonzero(at), counted)
    network = ways[0].link.network
    out_ghz, back_ghz = network.outbound.downlink_ghz, network.inbound.uplink_ghz
    ghz = np.where(inbound_limits, back_ghz, out_ghz)
    short, long = (
        fades_longer(duration, threshold, elevation_deg, ghz, counted / 100 * YEAR_S)
        for duration in (SHORT_S, LONG_S)
    )
    seen = ~np.isnan(ways[0].clear_db)
    return Fades(short, long, outage, ghz, elevation_deg, seen)


def _fade_db(way: Outbound | Inbound, index: IntArray, p_pct: FloatArray) -> FloatArray:
    """Return what the sky at some sites takes beyond gas at their percentages of time [dB]."""
    if not index.size:
        return np.empty(0)
    asked = p_pct[index]
    sky = way.take(index).sky(np.where(np.isnan(asked), FROZEN_P_PCT, asked))
    return np.where(np.isnan(asked), np.nan, sky.total - sky.gas)


def told(of: Fades) -> Iterator[Told]:
    """Yield why outages a year are blank, or counted for more time than they take."""
    wrong = _outside(of.frequency_ghz, FREQUENCY_RANGE_GHZ) & of.seen
    yield Told("fades.frequency", wrong, {"frequency_ghz": of.frequency_ghz})
    steep = _outside(of.elevation_deg, ELEVATION_RANGE_DEG) & of.seen & ~wrong
    yield Told("fades.elevation", steep)
    dry = (of.site_outage_pct > FROZEN_P_PCT) & of.seen & ~wrong & ~steep
    yield Told("fades.dry", dry)
    yield Told("fades.least", (of.site_outage_pct < P_RANGE_PCT[0]) & of.seen & ~wrong & ~steep)


def _outside(values: FloatArray, limits: tuple[float, float]) -> BoolArray:
    return (values < limits[0]) | (values > limits[1])
