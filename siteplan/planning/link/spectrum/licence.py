"""Whether what each terminal radiates off axis keeps within the limits, and what power does.

The power that an antenna may have at its feed hangs on mask, pattern, symbol rate and pointing, not
on the site: where the plan obeys, it is as if no BUC were larger.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from siteplan.arrays import (
    Arrays,
    BoolArray,
    Column,
    FloatArray,
    IntArray,
    TextColumn,
    no_more,
)
from siteplan.frozen import frozen
from siteplan.physics.radio.antennas import gain_dbi, wavelength_m
from siteplan.physics.radio.emission import designator
from siteplan.planning.link import mispointing
from siteplan.planning.link.ends import Dish, Kit, Level, Links
from siteplan.planning.link.spectrum.limits import Allowed
from siteplan.planning.link.spectrum.lobes import side_gain_dbi
from siteplan.planning.step import Columns, Raised, Told

#: The densities that are told are those of a bandwidth of [kHz].
TOLD_KHZ = 4.0
#: A margin under this is none [dB].
_HAIR_DB = 1e-9
#: Answers for so many dishes at most are kept, and so many answers.
_FEW_DISHES, _MOST_KNOWN = 64, 1000


def allowed(link: Links, dish: Dish) -> Allowed:
    """Return what power the limits allow dishes, arrays of their shape; link.limits is not None."""
    assert link.limits is not None
    more = link.pointing_more_deg
    asked = (*dish[:3], more) if isinstance(more, np.ndarray) else dish[:3]
    shape = np.broadcast_shapes(*(np.shape(part) for part in (*dish, more)))
    distinct, back = _distinct([np.broadcast_to(part, shape).ravel() for part in asked])
    each = [np.empty(len(distinct[0])) for _ in range(2)]
    which = np.empty(len(distinct[0]), dtype=np.intp)
    for number in np.unique(distinct[2]).astype(np.intp).tolist():
        here = distinct[2] == number
        diameter, efficiency, _, *own = (part[here] for part in distinct)
        found = _allowed(link, number, Dish(diameter, efficiency), own[0] if own else more)
        each[0][here], which[here], each[1][here] = found
    at = back.reshape(shape)
    return Allowed(each[0][at] - link.limits.lobes_db, which[at], each[1][at])


def _distinct(parts: list[FloatArray]) -> tuple[list[FloatArray], IntArray]:
    """Return dishes (k,), each once, of those (n,) that parts make, and where each of the n is.

    Where most sizes differ, as in a search for one, all are kept: to find the same costs more.
    """
    n = len(parts[0])
    if 2 * len(np.unique(parts[0])) > n:
        return parts, np.arange(n)
    key = np.zeros(n, dtype=np.int64)
    for part in parts:
        values, place = np.unique(part, return_inverse=True)
        key = key * len(values) + place
    _, first, back = np.unique(key, return_index=True, return_inverse=True)
    return [part[first] for part in parts], back


def _allowed(link: Links, number: int, dish: Dish, more_deg: Level) -> Allowed:
    """Return what power the limits allow dishes (k,) of one pattern, side lobes as they are."""
    of, ghz, rate = link.limits, link.inbound.uplink_ghz, link.inbound.symbol_rate_sps
    assert of is not None
    error = np.asarray(mispointing.error_deg(link.network, dish, ghz, more_deg))
    key = number, ghz, rate, *(np.asarray(x).tobytes() for x in (*dish[:2], error))
    if (known := of.known.get(key)) is not None:
        return known
    found = _searched(link, number, dish, error)
    if np.size(dish.diameter_m) <= _FEW_DISHES and len(of.known) < _MOST_KNOWN:
        of.known[key] = found
    return found


def _searched(link: Links, number: int, dish: Dish, error_deg: FloatArray) -> Allowed:
    """Return what power the limits allow dishes (k,) of one pattern that are so far off [deg]."""
    from siteplan.physics.radio.off_axis import Radiator, tightest

    of, ghz = link.limits, link.inbound.uplink_ghz
    assert of is not None
    radiator = Radiator(
        of.sides[number].tx,
        gain_dbi(dish.diameter_m, dish.efficiency, ghz),
        np.asarray(dish.diameter_m / wavelength_m(ghz)),
    )
    found = [
        tightest(
            mask, radiator, 0.0, link.inbound.symbol_rate_sps,
            displaced_deg=error_deg, simultaneous=of.simultaneous,
        )
        for mask in of.masks
    ]  # fmt: skip
    margins = np.stack([one.margin_db for one in found])
    which, rows = np.argmin(margins, axis=0), np.arange(margins.shape[1])
    angles = np.stack([one.angle_deg for one in found])
    return Allowed(margins[which, rows], which, angles[which, rows])


class Held(NamedTuple):
    """How far limits have BUCs turned down [dB], and the mask, by number, that is the tightest."""

    db: FloatArray
    mask: IntArray


def held(link: Links, dish: Dish, buc_dbw: Level) -> Held | None:
    """Return how far the limits have BUCs turned down; None where nothing is cut.

    ``buc_dbw`` is the power after back-off [dBW].
    """
    if link.limits is None or not link.limits.cuts:
        return None
    return over(link, dish, buc_dbw)


def over(link: Links, dish: Dish, buc_dbw: Level) -> Held:
    """Return by how much BUCs may be too strong, whether they are cut or not."""
    most = allowed(link, dish)
    more = np.asarray(buc_dbw - link.network.terminal.tx_loss_db - most.feed_dbw)
    return Held(np.where(more <= _HAIR_DB, 0.0, more), most.mask)


@frozen(eq=False)
class Licensed(Arrays):
    """What each terminal radiates, and its margin under the tightest mask after any cut (n,).

    ``counted`` says whether limits are given: without any, there is no field. ``cut_dbs`` is what
    the limits take [dB], ``most_w`` what they leave the BUC's output [W]. ``stands`` is where
    antenna and BUC stand already.
    """

    off_axis_margin_db: Column
    off_axis_mask: TextColumn
    off_axis_angle_deg: Column
    allowed_feed_w: Column
    feed_density_dbw_4khz: Column
    eirp_density_dbw_4khz: Column
    horizon_density_dbw: Column
    horizon_density_khz: Column
    emission: TextColumn
    counted: bool
    cut_dbs: FloatArray
    most_w: FloatArray
    stands: BoolArray

    def columns(self) -> Columns:
        """Return the result fields where limits are given."""
        return super().columns() if self.counted else {}


def licensed(
    link: Links, kit: Kit, cut_dbs: FloatArray, elevation_deg: FloatArray, *, stands: BoolArray
) -> Licensed:
    """Return what the terminals of n sites radiate, and how that keeps within the limits.

    Parameters
    ----------
    link, kit : Links, Kit
        Of n sites.
    cut_dbs : (n,) array
        How far the BUC is turned down in clear sky, whatever for [dB].
    elevation_deg : (n,) array
        Of the satellite [deg].
    stands : (n,) array of bool
        Where antenna and BUC stand already.
    """
    n, network = len(link), link.network
    none, blank = np.full(n, np.nan), np.full(n, "", dtype=object)
    if link.limits is None:
        return Licensed(*(none, blank, none, none, none, none, none, none, blank),
                        counted=False, cut_dbs=np.zeros(n), most_w=none, stands=stands)  # fmt: skip
    from siteplan.physics.radio.masks import horizon_reference_khz
    from siteplan.physics.radio.off_axis import density_dbw

    ghz, rate = link.inbound.uplink_ghz, link.inbound.symbol_rate_sps
    full = kit.buc_dbw - network.terminal.tx_loss_db
    feed = np.where(np.isnan(link.site.downlink_loss_db), np.nan, full - cut_dbs)
    most = allowed(link, kit.dish)
    gain = gain_dbi(kit.dish_m, kit.efficiency, ghz)
    khz = float(horizon_reference_khz(ghz))
    horizon = side_gain_dbi(
        *(link.limits.sides, "tx", kit.pattern, np.nan_to_num(elevation_deg)),
        gain_dbi=gain,
        wavelengths=np.asarray(kit.dish_m / wavelength_m(ghz)),
    )
    seen, told = ~np.isnan(feed), density_dbw(feed, rate, TOLD_KHZ)
    names = np.array([mask.name for mask in link.limits.masks], dtype=object)
    cut, loss = held(link, kit.dish, kit.buc_dbw), network.terminal.tx_loss_db
    return Licensed(
        off_axis_margin_db=_without_hair(most.feed_dbw - feed),
        off_axis_mask=np.where(seen, names[most.mask], "").astype(object),
        off_axis_angle_deg=np.where(seen, most.angle_deg, np.nan),
        allowed_feed_w=np.where(seen, 10 ** (most.feed_dbw / 10), np.nan),
        feed_density_dbw_4khz=told,
        eirp_density_dbw_4khz=told + gain,
        horizon_density_dbw=density_dbw(feed, rate, khz) + horizon,
        horizon_density_khz=np.where(seen, khz, np.nan),
        emission=np.where(seen, emission(link), "").astype(object),
        counted=True,
        cut_dbs=np.zeros(n) if cut is None else np.where(seen, cut.db, 0.0),
        most_w=10 ** ((most.feed_dbw + loss) / 10),
        stands=stands,
    )


def _without_hair(margin_db: FloatArray) -> FloatArray:
    """Return margins [dB], those that rounding alone parts from none as none."""
    return np.where(np.abs(margin_db) < _HAIR_DB, 0.0, margin_db)


def emission(link: Links) -> str:
    """Return the designation of the inbound emission: necessary bandwidth and class."""
    network = link.network
    return designator(network.inbound.occupied_mhz * 1e6, network.regulation.emission_class)


def exceeds(of: Licensed) -> BoolArray:
    """Return where a terminal must not send as it is planned or stands (n,)."""
    return np.asarray((of.off_axis_margin_db < 0) | ((of.cut_dbs > 0) & of.stands))


def raised(of: Licensed, power_cut_db: FloatArray) -> Iterator[Raised]:
    """Yield the flags that the limits decide.

    ``power_cut_db`` (n,) is how far BUCs are turned down in clear sky, whatever for: where that is
    more than the limits ask for, they hold for power control alone.
    """
    reported, cut = of.off_axis_margin_db < 0, of.cut_dbs > 0
    deepest = power_cut_db <= of.cut_dbs
    numbers = {
        "cut_db": of.cut_dbs,
        "over_db": -of.off_axis_margin_db,
        "mask": of.off_axis_mask,
        "angle_deg": of.off_axis_angle_deg,
        "most_w": no_more(of.most_w),
        "allowed_w": no_more(of.allowed_feed_w),
    }
    picked = cut & ~of.stands
    yield Raised("power_cut", Told("flag.power_cut.clear", picked & deepest, numbers))
    yield Raised("power_cut", Told("flag.power_cut.control", picked & ~deepest, numbers))
    yield Raised(
        "off_axis_exceeded", Told("flag.off_axis_exceeded.installed", cut & of.stands, numbers)
    )
    yield Raised("off_axis_exceeded", Told("flag.off_axis_exceeded.reported", reported, numbers))
