"""Sites far from the others: of the file, or of what a column says is their region or country.

The statistics are medians of the sites themselves: common practice, no source. Each threshold is
a named constant with its reason.
"""

from __future__ import annotations

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, IntArray
from siteplan.inputs.sites.doubts.ground import Ground, at_sea
from siteplan.inputs.sites.doubts.outside import one_digit
from siteplan.inputs.sites.doubts.points import Found
from siteplan.inputs.sites.doubts.slips import TOLD, signs_and_swaps
from siteplan.model import Note

#: Fewer sites make no cluster that a stray one could be compared with.
MIN_CLUSTER = 5
#: A site is far from the others beyond this many times their median distance.
FAR_TIMES_MEDIAN = 4.0
#: Sites this near to the centre are never far, however tight the cluster [deg].
NEAR_DEG = 1.0
#: The core must hold this share of the sites, or the file has no single cluster.
MIN_CORE_SHARE = 0.6
#: A wider cluster than this (median distance) may well have good sites far out [deg].
TIGHT_DEG = 1.0
#: In a wide cluster a site is apart where its nearest neighbour is so much farther than is usual.
APART_TIMES = 10.0
APART_KM = 300.0
#: Without a slip to explain it, a site is far where its nearest neighbour is so many times
#: farther off than the others reach from their middle.
ALONE_TIMES = 4.0
_KM_A_DEG = 111.2
_SAMPLE = 2000


def strays(ground: Ground, told: set[int]) -> Found:
    """Find far sites, with the slip that would put them among the others where there is one."""
    found: Found = []
    done = np.zeros(len(ground), dtype=bool)
    done[list(told)] = True
    whole = [] if ground.regions or ground.countries else [np.arange(len(ground))]
    for members in (*ground.regions, *ground.countries, *whole):
        new = _strays(ground, members, done)
        done[[at for at, _ in new]] = True
        found += new
    return found


def _wrap(degrees: FloatArray) -> FloatArray:
    """Return longitudes in [-180, 180)."""
    return (degrees + 180) % 360 - 180


def _middle_lon(lon: FloatArray) -> float:
    """Return the median longitude, counted from the side where the sites are."""
    x, y = np.cos(np.radians(lon)).mean(), np.sin(np.radians(lon)).mean()
    mean = float(np.degrees(np.arctan2(y, x)))
    return mean + float(np.median(_wrap(lon - mean)))


def _strays(ground: Ground, members: IntArray, done: BoolArray) -> Found:
    """Find those among ``members`` that are not told of yet."""
    if len(members) < MIN_CLUSTER:
        return []
    lat, lon = ground.lat[members], ground.lon[members]
    lat0, lon0 = float(np.median(lat)), _middle_lon(lon)
    dy, dx = lat - lat0, _wrap(lon - lon0)
    distance = np.hypot(dy, dx * np.cos(np.radians(lat0)))
    median = float(np.median(distance))
    core: BoolArray = distance <= max(FAR_TIMES_MEDIAN * median, NEAR_DEG)
    if core.mean() < MIN_CORE_SHARE or core.all():
        return []
    far = np.flatnonzero(~core & ~done[members])
    tight = median <= TIGHT_DEG
    if not tight:
        far = far[_apart(ground, members, far)]
    if not len(far):
        return []
    found, left = [], np.ones(len(far), dtype=bool)
    for slip in signs_and_swaps(lat[far], lon[far]):
        within = _inside(slip.lat - lat0, _wrap(slip.lon - lon0), dy[core], dx[core])
        near = np.flatnonzero(left & within)
        if not tight:
            near = near[_beside(ground, members, slip.lat[near], slip.lon[near])]
        note = Note.of(TOLD["far" if tight else "may", slip.name])
        found += [(int(members[far[k]]), note) for k in near.tolist()]
        left[near] = False
    reach_km = float(np.quantile(distance[core], 0.95)) * _KM_A_DEG
    return found + _unexplained(ground, members[far[left]], reach_km, tight=tight)


def _unexplained(ground: Ground, at: IntArray, reach_km: float, *, tight: bool) -> Found:
    """Find the digit that may be off, else tell of sites that are far from all others."""
    if not len(at):
        return []
    nearest = ground.nearest_other_km(at)
    alone = nearest > ALONE_TIMES * max(reach_km, NEAR_DEG * _KM_A_DEG / 2)
    # A slip of a whole degree leaves a site with no neighbour for as far as others lie from theirs.
    apart = nearest > np.maximum(reach_km, NEAR_DEG * _KM_A_DEG)
    key = np.full(int(apart.sum()), "far", dtype=object)
    found = one_digit(ground, at[apart], key, ground.countries_met) if tight else []
    told = {k for k, _ in found}
    # Of a site at sea that is told instead.
    alone &= ~at_sea(ground.around(at))
    return found + [
        (k, Note.of("note.coordinate_doubt.far_alone", km=round(km, -1 if km < 1000 else -2)))
        for k, km in zip(at[alone].tolist(), nearest[alone].tolist(), strict=True)
        if k not in told
    ]


def _usual_km(ground: Ground, members: IntArray) -> float:
    """Return the median distance of sites to their nearest neighbour. [km]"""
    some = members[:: max(len(members) // _SAMPLE, 1)]
    return float(np.median(ground.nearest_other_km(some)))


def _apart(ground: Ground, members: IntArray, far: IntArray) -> BoolArray:
    """Return which far sites of a wide cluster have no neighbour where others have theirs."""
    if not len(far):
        return np.zeros(0, dtype=bool)
    limit = max(APART_KM, APART_TIMES * _usual_km(ground, members))
    return ground.nearest_other_km(members[far]) > limit


def _beside(ground: Ground, members: IntArray, lat: FloatArray, lon: FloatArray) -> BoolArray:
    """Return which places (k,) would have a neighbour as the sites usually have."""
    if not len(lat):
        return np.zeros(0, dtype=bool)
    return ground.nearest_km(lat, lon) <= 2 * _usual_km(ground, members)


def _inside(dy: FloatArray, dx: FloatArray, core_y: FloatArray, core_x: FloatArray) -> BoolArray:
    """Return which offsets lie in the core's box, widened by a tenth of its size."""
    inside = np.isfinite(dy)
    for offset, core in ((dy, core_y), (dx, core_x)):
        low, high = float(core.min()), float(core.max())
        pad = 0.1 * (high - low) + 0.1
        inside &= (offset >= low - pad) & (offset <= high + pad)
    return inside
