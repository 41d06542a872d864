"""Which sites miss target or reserve: the nearest miss, the end to blame, what would mend it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, telling, telling_above
from siteplan.frozen import frozen
from siteplan.physics.propagation.attenuation import P_RANGE_PCT
from siteplan.planning.kit.pick import PART_INSTALLED, Sizing
from siteplan.planning.link.outage import Shares, fixed_share, site_outage_pct
from siteplan.planning.link.ways import Outbound
from siteplan.planning.link.weather import Fades
from siteplan.planning.place import METHOD_ELEVATION_DEG
from siteplan.planning.step import Raised, Told


@frozen
class Shortfall:
    """What the reasons are made of: arrays (n,), and the lowest elevation that gets kit.

    ``least_deg`` is the rule's, which may lie under that of the methods.
    ``reached`` is where a beam of the satellite reaches the site.
    ``installed`` is where a dish or a BUC stands already, ``hub`` where the hub's end is to
    blame. ``dish_m`` and ``buc_w`` are the pair that comes nearest, ``short_db`` how far it
    misses the reserve, ``fade_db`` what the sky takes at the site in the limiting
    direction, ``control_db`` the uplink power control with which the hub's rain would do
    no harm outbound (infinite where none would do), and ``held_db`` what limits on off-axis
    radiation take of that BUC's power. ``coarse`` is where no antenna of the catalogue keeps the
    satellite in its beam with the error of pointing that is given [deg]. ``doubted`` is where the
    coordinates are to be checked before anything that rests on them is mended.
    """

    missing: BoolArray
    margin_db: FloatArray
    reserve_db: float
    installed: BoolArray
    outbound: BoolArray
    hub: BoolArray
    elevation_deg: FloatArray
    floor_deg: float
    least_deg: float
    dish_m: FloatArray
    buc_w: FloatArray
    short_db: FloatArray
    fade_db: FloatArray
    control_db: FloatArray
    required_m: FloatArray
    coarse: BoolArray
    held_db: FloatArray
    error_deg: float
    reached: BoolArray
    doubted: BoolArray

    @property
    def high_enough(self) -> BoolArray:
        """Where elevation and beam allow of kit (n,)."""
        return (self.elevation_deg >= self.floor_deg) & self.reached


def shortfall(
    of: Sizing,
    split: Shares,
    fades: Fades,
    elevation_deg: FloatArray,
    p_pct: FloatArray,
    *,
    floor_deg: float,
    reached: BoolArray,
    doubted: BoolArray,
) -> Shortfall:
    """Return what is missing where no kit is given.

    Parameters
    ----------
    of, split, fades : Sizing, Shares, Fades
        Of n sites.
    elevation_deg, p_pct : (n,) arrays
        Of the satellite [deg]; outages that the targets allow [%].
    floor_deg : float
        The least elevation [deg] with which kit is given.
    reached : (n,) array of bool
        Where a beam of the satellite reaches the site.
    doubted : (n,) array of bool
        Where the coordinates are to be checked.
    """
    outbound, network = ~of.inbound_limits, of.ways[0].link.network
    held_db = of.ways[1].driven.held_db
    return Shortfall(
        missing=of.missing,
        margin_db=of.margin_db,
        reserve_db=network.rules.reserve_db,
        installed=of.kit.source == PART_INSTALLED,
        outbound=outbound,
        hub=split.hub_blamed,
        elevation_deg=elevation_deg,
        floor_deg=floor_deg,
        least_deg=network.rules.min_elevation_deg,
        dish_m=of.kit.dish_m,
        buc_w=of.kit.tried_w,
        short_db=-of.margin_after_reserve_db,
        fade_db=np.where(outbound, fades.downlink_attenuation_db, fades.uplink_attenuation_db),
        control_db=_needed_control_db(of, p_pct, outbound & split.hub_blamed),
        required_m=of.required_antenna_m,
        coarse=of.coarse & (elevation_deg >= floor_deg) & reached,
        held_db=np.zeros(len(p_pct)) if held_db is None else held_db,
        error_deg=network.terminal.pointing_error_deg or 0.0,
        reached=reached,
        doubted=doubted,
    )


def _in_range(p_pct: FloatArray) -> FloatArray:
    return np.maximum(p_pct, P_RANGE_PCT[0])


def _needed_control_db(of: Sizing, p_pct: FloatArray, where: BoolArray) -> FloatArray:
    """Return the hub's power control (n,) [dB] that would mend its rain outbound."""
    found = np.full(len(p_pct), np.inf)
    wanted = np.flatnonzero(where & (of.missing | (of.margin_after_reserve_db < 0)))
    if wanted.size:
        found[wanted] = control_db(of.ways[0].take(wanted), p_pct[wanted])
    return found


def control_db(way: Outbound, p_pct: FloatArray, level_db: float | None = None) -> FloatArray:
    """Return the uplink power control (n,) [dB] with which the hub's end leaves the reserve.

    Or another level [dB]. Infinite where none does: the sites' own rain uses up the outage.
    """
    level = way.link.network.rules.reserve_db if level_db is None else level_db
    share, site = fixed_share(way), site_outage_pct(way, level)
    left = share * p_pct if share else p_pct - site
    holds = site <= p_pct - left if share else site < p_pct
    need = way.fade.at(_in_range(np.where(holds, left, 1.0))) - (way.clear_db - level)
    return np.where(holds, need, np.inf)


def told(x: Shortfall) -> Iterator[Told]:
    """Yield why each site has no kit, and what would mend it; none where there is kit.

    Where the coordinates look wrong, checking them is all that mends.
    """
    seen, sure = x.missing & ~np.isnan(x.elevation_deg), ~x.doubted
    yield Told("no_fit.doubted", x.missing & x.doubted)
    yield Told("no_fit.below_horizon", x.missing & ~seen)
    low = {"elevation_deg": x.elevation_deg, "floor_deg": x.floor_deg}
    yield Told("no_fit.mend.below_horizon", x.missing & ~seen & sure)
    outside = seen & ~x.reached
    yield Told("no_fit.outside_beam", outside)
    yield Told("no_fit.mend.outside_beam", outside & sure)
    yield Told("no_fit.low", seen & ~x.high_enough & ~outside, low)
    yield from _higher(x, seen & ~x.high_enough & ~outside & sure)
    yield from _short(x)
    yield from _mends(x)


def _higher(x: Shortfall, low: BoolArray) -> Iterator[Told]:
    """Yield what would do where the satellite stands too low.

    A lower least elevation only where the methods hold and some pair would do there.
    """
    held = np.round(x.margin_db, 6) >= 0
    methods = low & (x.elevation_deg < METHOD_ELEVATION_DEG)
    yield Told("no_fit.mend.low", low & ~methods & held)
    numbers = _numbers(x) | {"missed_db": telling(-x.margin_db)}
    yield Told("no_fit.mend.low.short", low & ~methods & ~held, numbers)
    yield Told("no_fit.mend.low.method", methods)


def raised(x: Shortfall) -> Iterator[Raised]:
    """Yield the flags of sites that get no kit, and of kit that falls short.

    That a site lies under the least elevation the place tells; under that of the methods, where the
    planner's is lower still, it is told here: kit that stands is left there.
    """
    under = x.missing & (x.elevation_deg < METHOD_ELEVATION_DEG) & (x.elevation_deg >= x.least_deg)
    low = {"elevation_deg": x.elevation_deg, "floor_deg": METHOD_ELEVATION_DEG}
    yield Raised("below_min_elevation", Told("flag.below_min_elevation.method", under, low))
    for found in _short(x):
        yield Raised("no_fit", found)
    margin = np.round(x.margin_db, 6)
    below = ~x.missing & (margin < 0)
    for found in _misses("margin_negative", below, x):
        yield Raised("margin_negative", found)
    short = ~x.missing & (margin >= 0) & (margin < x.reserve_db)
    for found in _misses("margin_short", short, x):
        yield Raised("margin_short", found)


def _misses(code: str, where: BoolArray, x: Shortfall) -> Iterator[Told]:
    """Yield the sentences of kit that misses: by how much, at which end, what would mend it."""
    numbers = _numbers(x) | {"missed_db": telling(-x.margin_db), "reserve_db": x.reserve_db}
    for way, side in (("outbound", x.outbound), ("inbound", ~x.outbound)):
        for end, is_end in (("site", ~x.hub), ("hub", x.hub)):
            yield Told(f"flag.{code}.{way}.{end}", where & side & is_end, numbers)
    yield from _hub_mends(x, where)


def _numbers(x: Shortfall) -> dict[str, FloatArray]:
    told = {k: v for k, v in vars(x).items() if isinstance(v, np.ndarray) and v.dtype == float}
    required = telling_above(x.required_m, x.dish_m)
    return told | {"short_db": telling(x.short_db), "required_m": required}


def _short(x: Shortfall) -> Iterator[Told]:
    """Yield the sentences of the sites whose link falls short, with the nearest miss."""
    numbers, short = _numbers(x), x.missing & x.high_enough & ~x.coarse
    yield Told("no_fit.coarse", x.coarse, {"error_deg": x.error_deg})
    for start, is_start in (("nothing", ~x.installed), ("beside", x.installed)):
        for way, side in (("outbound", x.outbound), ("inbound", ~x.outbound)):
            for end, is_end in (("site", ~x.hub), ("hub", x.hub)):
                yield Told(f"no_fit.{start}.{way}.{end}", short & is_start & side & is_end, numbers)


def _mends(x: Shortfall) -> Iterator[Told]:
    """Yield what would do where the link falls short, by the end to blame."""
    numbers, known = _numbers(x), ~np.isnan(x.required_m)
    short = x.missing & x.high_enough & ~x.coarse & ~x.doubted
    yield Told("no_fit.mend.dish", short & known, numbers)
    yield Told("no_fit.mend.no_dish", short & ~known & ~x.hub)
    yield Told("no_fit.mend.limit", short & ~x.outbound & (x.held_db > 0), numbers)
    yield from _hub_mends(x, short)


def _hub_mends(x: Shortfall, where: BoolArray) -> Iterator[Told]:
    """Yield what would mend rain at the hub."""
    where = where & ~x.doubted
    hub = where & x.hub & x.outbound
    yield Told("no_fit.mend.control", hub & np.isfinite(x.control_db), _numbers(x))
    yield Told("no_fit.mend.no_control", hub & np.isinf(x.control_db))
    yield Told("no_fit.mend.hub_inbound", where & x.hub & ~x.outbound)
