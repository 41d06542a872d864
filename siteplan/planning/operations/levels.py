"""What monitoring is to expect of each site: levels in clear sky, when to warn, when it fails.

``warn_below`` lies under clear sky by the shortfall that is accepted and what scintillation takes
for 1 % of the time, 1 dB at least. ``fault_below`` is the need of the carrier's MODCOD with the
modem's loss and the hysteresis; of an adaptive carrier that of its most robust one. How long a
month each is passed is the plan's own inversion of its fades, both ends' (P.618-14), and its worst
month by P.841-4. Levels are rounded first, so that minutes hold for the level that is written.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final, NamedTuple

import numpy as np

from siteplan.answers.operations import (
    MONTH_MINUTES,
    Expected,
    Monitored,
    MonitoredHub,
    MonitoredWay,
)
from siteplan.arrays import BoolArray, FloatArray, IntArray, TextArray
from siteplan.messages import join
from siteplan.network import Network
from siteplan.physics.propagation.attenuation import P_RANGE_PCT
from siteplan.physics.propagation.scintillation import fade_factor
from siteplan.physics.propagation.variability import worst_month_pct
from siteplan.physics.radio.cable import modem_output_dbm
from siteplan.planning.beams.settings import settings
from siteplan.planning.link.coding import usable
from siteplan.planning.link.outage import outage_pct
from siteplan.planning.link.ways import Inbound, Outbound, repeatedly
from siteplan.planning.link.whatif import DIRECTIONS
from siteplan.planning.operations.again import Again, seen_again, with_kit
from siteplan.planning.operations.near import Nearest
from siteplan.planning.plan import CHUNK_SITES
from siteplan.planning.setting import Setting
from siteplan.planning.site.sun import hub_transits
from siteplan.results import Plan

#: Least distance of the level that warns from clear sky [dB]; common practice, no source.
LEAST_BELOW_DB: Final = 1.0
#: What scintillation takes for this share of the time is no reason to warn [%].
SCINTILLATION_PCT: Final = 1.0
#: Levels are written, and meant, to this many decimals.
LEVEL_DECIMALS: Final = 2
#: A level that is passed for more of the time than this is no alarm [%].
MOST_PCT: Final = 50.0
#: What may be said of a level, behind ``warn_`` or ``fault_``.
PASSED, NO_MORE, NO_WORST = "passed", "no_more", "no_worst_month"
#: Said where the level that warns does not lie over that of a fault.
UNDER_FAULT = "warn_under_fault"
_Columns = Mapping[str, Any]


def monitored(plan: Plan) -> Iterator[Monitored]:
    """Yield what monitoring is to expect of a plan's sites with kit, `CHUNK_SITES` at a time.

    So that the links of very many sites are not held at once; one piece where there is none.

    Raises
    ------
    NetworkError
        As `siteplan.planning.setting.setting`.
    MapsError
        If the cloud maps of the user's own cannot be used.
    """
    rows, hubs = with_kit(plan), hubs_of(plan)
    nearest = Nearest(*(plan.columns[name][rows] for name in ("site_id", "lat", "lon")))
    for first in range(0, max(len(rows), 1), CHUNK_SITES):
        again = seen_again(plan, slice(first, first + CHUNK_SITES))
        near = nearest.of(first, len(again.rows))
        hub, ways = levels(again)
        yield Monitored(again.rows, hub, near, ways, hubs)


def levels(again: Again) -> tuple[IntArray, tuple[MonitoredWay, MonitoredWay]]:
    """Return which hub sites (n,) with kit have, and what to expect of both directions of them."""
    n = len(again.rows)
    hub = np.zeros(n, dtype=np.intp)
    found = [_blank(direction, n) for direction in DIRECTIONS]
    for one in again.passes():
        hub[one.rows] = one.number
        some = {name: values[one.rows] for name, values in again.columns.items()}
        for whole, part in zip(found, _directions(one.ways, some), strict=True):
            _put(whole, part, one.rows)
    return hub, (found[0], found[1])


def hubs_of(plan: Plan) -> tuple[MonitoredHub, ...]:
    """Return what monitoring is to expect of each hub; of the plan the facts are read alone."""
    return tuple(_hubs(plan, settings(plan.network)))


def _directions(
    ways: tuple[Outbound, Inbound], columns: _Columns
) -> tuple[MonitoredWay, MonitoredWay]:
    """Return both directions of n sites of a pass."""
    out, back = ways
    none = np.full(len(out.link), np.nan)
    return (
        _direction("outbound", out, (columns["modem_input_dbm"], none)),
        _direction("inbound", back, _sent_dbm(back, columns)),
    )


def _sent_dbm(way: Inbound, columns: _Columns) -> tuple[FloatArray, FloatArray]:
    """Return what the sites' modems send in clear sky, and at most in their rain (n,) [dBm]."""
    loss, gain = columns["cable_loss_high_db"], way.link.network.ifl.buc_gain_db
    clear = modem_output_dbm(columns["tx_power_w"], gain, loss)
    return clear, clear + way.driven.raise_db


def _direction(
    table: str, way: Outbound | Inbound, modem_dbm: tuple[FloatArray, FloatArray]
) -> MonitoredWay:
    """Return a direction of n sites; ``modem_dbm`` is the modem's level, and its greatest."""
    n = len(way.link)
    required = getattr(way.link, f"{table}_required_db")
    carrier = getattr(way.link.network, table)
    clear = way.clear_db + required
    below = way.link.network.site.acceptance_db + _scintillation_db(way)
    warn = clear - np.maximum(LEAST_BELOW_DB, below)
    fault = _fault(table, way.link.network, required)
    levels_db = np.round(np.stack([warn, np.full(n, fault.level_db)]), LEVEL_DECIMALS)
    each = zip(levels_db, _outages_pct(way, levels_db - required), strict=True)
    told = [_asked(level, p) for level, p in each]
    return MonitoredWay(
        table,
        clear,
        np.full(n, carrier.symbol_rate_msps * 1000),
        *modem_dbm,
        told[0].expected,
        told[1].expected,
        np.full(n, fault.modcod, dtype=object),
        _notes(told[0], told[1]),
    )


def _scintillation_db(way: Outbound | Inbound) -> FloatArray:
    """Return what scintillation at the site takes for `SCINTILLATION_PCT` of the time (n,) [dB]."""
    return np.asarray(fade_factor(np.array([SCINTILLATION_PCT])) * way.sigma_db)


class _Fault(NamedTuple):
    """The level under which a carrier fails [dB], and the MODCOD whose need it is; '' for none."""

    level_db: float
    modcod: str


def _fault(table: str, network: Network, required_db: float) -> _Fault:
    """Return when a carrier fails: under its own MODCOD, an adaptive one under its last."""
    carrier = getattr(network, table)
    if not carrier.adaptive:
        own = carrier.es_n0_db is None and carrier.eb_n0_db is None
        return _Fault(required_db + carrier.hysteresis_db, (carrier.modcod or "") if own else "")
    last = usable(table, carrier)[0]
    need = last.es_n0_db + carrier.implementation_loss_db
    return _Fault(need + carrier.hysteresis_db, last.name)


class _Asked(NamedTuple):
    """A level, how long it is passed, and where what is said of it holds (n,), by code."""

    expected: Expected
    asked_db: FloatArray
    said: Mapping[str, BoolArray]


def _outages_pct(way: Outbound | Inbound, margins_db: FloatArray) -> FloatArray:
    """Return for how long margins (k, n) [dB] are not held at n sites [%]."""
    k, n = margins_db.shape
    found = np.empty((k, n))
    for some, part in repeatedly(way, k):
        found[some] = outage_pct(part, margins_db[some].ravel()).reshape(len(some), n)
    return found


def _asked(level: FloatArray, p: FloatArray) -> _Asked:
    """Return levels (n,) [dB] as they are written, and the time a month for which they are passed.

    ``p`` is that of a year [%]. Blank where gas and cloud alone pass them for more than `MOST_PCT`
    of the time.
    """
    passed = ~(p <= MOST_PCT)
    least = p < P_RANGE_PCT[0]
    p = np.where(passed, np.nan, np.maximum(p, P_RANGE_PCT[0]))
    worst = worst_month_pct(p)
    expected = Expected(np.where(passed, np.nan, level), _minutes(p), _minutes(worst))
    said = {PASSED: passed, NO_MORE: least, NO_WORST: ~passed & np.isnan(worst)}
    return _Asked(expected, level, said)


def _minutes(p_pct: FloatArray) -> FloatArray:
    """Return the minutes of a month (n,) that percentages of time are."""
    return np.asarray(p_pct / 100 * MONTH_MINUTES)


def _notes(warn: _Asked, fault: _Asked) -> TextArray:
    """Return the codes of what is said of both levels (n,), joined by ``;``."""
    both = (("warn", warn), ("fault", fault))
    said = [(f"{name}_{code}", where) for name, of in both for code, where in of.said.items()]
    said.append((UNDER_FAULT, warn.asked_db <= fault.asked_db))
    n = len(warn.asked_db)
    parts = [(where, np.full(int(where.sum()), code, dtype=object)) for code, where in said]
    return join([(where, texts) for where, texts in parts if where.any()], ";", n)


def _blank(direction: str, n: int) -> MonitoredWay:
    """Return a direction of n sites of which nothing is known yet."""

    def nothing() -> FloatArray:
        return np.full(n, np.nan)

    def no_words() -> TextArray:
        return np.full(n, "", dtype=object)

    warn, fault = (Expected(nothing(), nothing(), nothing()) for _ in range(2))
    es_n0, bandwidth, modem, most = (nothing() for _ in range(4))
    return MonitoredWay(
        *(direction, es_n0, bandwidth, modem, most, warn, fault), no_words(), no_words()
    )


def _put(whole: Any, part: Any, rows: IntArray) -> None:
    """Put the arrays of some sites into those of all."""
    for name, values in vars(whole).items():
        if isinstance(values, np.ndarray):
            values[rows] = getattr(part, name)
        elif isinstance(values, Expected):
            _put(values, getattr(part, name), rows)


def _hubs(plan: Plan, passes: Sequence[Setting]) -> Iterator[MonitoredHub]:
    """Yield each hub of a plan with the sun's transits, those of one place worked out once."""
    date = dt.date.fromisoformat(plan.facts.date)
    known: dict[tuple[Any, ...], tuple[dict[str, Any], ...]] = {}
    for shared, hub in zip(passes, plan.facts.hubs, strict=True):
        of = shared.network.hub
        listens = of.lat, of.lon, of.antenna_m, of.lna_noise_k, shared.network.inbound.downlink_ghz
        if listens not in known:
            known[listens] = tuple(hub_transits(shared.network, date))
        power = hub.eirp_dbw, hub.feed_w
        yield MonitoredHub(hub.name, hub.beams, hub.antenna_m, *power, known[listens])
