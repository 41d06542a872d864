"""What other settings would bring: MODCOD, target, power control at hub or site."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, IntArray
from siteplan.network import Carrier
from siteplan.physics.radio.waveforms import Modcod, find_modcod
from siteplan.planning.kit.needy import (
    LEAST_GAIN_DB,
    Case,
    Found,
    changed,
    climb,
    reaches,
    under,
)
from siteplan.planning.kit.shortfall import control_db
from siteplan.planning.link.coding import alike, undominated
from siteplan.planning.link.ends import power_of
from siteplan.planning.link.outage import margin_db, outage_pct
from siteplan.planning.link.ways import inbound, outbound
from siteplan.planning.targets import from_basis_pct, in_basis_pct, outside

OUTBOUND, INBOUND = "outbound", "inbound"
#: No target under this is looked for [%]: nobody orders less. Common practice, no source.
LEAST_TARGET_PCT = 90.0
#: Outages [%] up to which targets are ordered in steps of, and the steps [%]: 99.95, 99.7, 98.5.
#: Common practice, no source.
_TARGET_STEPS_PCT = ((0.01, 0.001), (0.1, 0.01), (1.0, 0.1), (5.0, 0.5), (100.0, 1.0))
#: Range of power control that is tried where no range would do alone [dB]; common practice.
USUAL_CONTROL_DB = 10.0
#: The most power control that a plan takes [dB]: the range of the network file.
MOST_CONTROL_DB = 30.0
#: The largest amplifier that a plan takes [W]: the range of the network file.
MOST_HPA_W = 5000.0
_SHORT = " short"


def settings(x: Case) -> Iterator[Found]:
    """Yield what other settings would bring at the sites of a case."""
    yield from _hub_control(x)
    yield from _hub_amplifier(x)
    yield from _terminal_control(x)
    single = [*_modcod(x, OUTBOUND, ~x.inbound_limits), *_modcod(x, INBOUND, x.inbound_limits)]
    yield from single
    yield from _both_modcods(x, single)
    yield from _target(x)


def _as_it_is(x: Case, at: IntArray) -> tuple[FloatArray, FloatArray]:
    """Return the pair of the sites at ``at`` (j,)."""
    return x.kit.dish_m[at], x.kit.tried_w[at]


def _out_db(x: Case, at: IntArray, table: str, **values: Any) -> FloatArray:
    """Return the outbound margin of the sites ``at`` (j,) [dB] under a changed network."""
    link = under(x.link.take(at), changed(x.network, table, **values))
    return margin_db(outbound(link, x.dish(at)), x.p_pct[at])


def _back_db(x: Case, at: IntArray, table: str, **values: Any) -> FloatArray:
    """Return the inbound margin of the sites ``at`` (j,) [dB] under a changed network."""
    link = under(x.link.take(at), changed(x.network, table, **values))
    return margin_db(inbound(link, x.dish(at), x.kit.buc_dbw[at]), x.p_pct[at])


# --- MODCOD -----------------------------------------------------------------------------------


class Ladder(NamedTuple):
    """The MODCOD of a direction, and the more robust ones of its waveform, the nearest first."""

    now: Modcod
    down: tuple[Modcod, ...]

    def less_pct(self, step: int) -> float:
        """Return how much less data a symbol carries at a step [%]."""
        return 100 * (1 - self.down[step].efficiency / self.now.efficiency)


def ladder(carrier: Carrier) -> Ladder | None:
    """Return the MODCODs under a carrier's own; None where it gives a threshold instead.

    Those that carry less than another one that needs no more are left out, and so are bursts of
    another length, and MODCODs for linear channels where the carrier's own is none.
    """
    if carrier.es_n0_db is not None or carrier.eb_n0_db is not None:
        return None
    now = find_modcod(carrier.waveform, carrier.modcod or "")
    lower = [
        m for m in alike(carrier)
        if m.es_n0_db < now.es_n0_db and m.efficiency < now.efficiency
        and (now.linear or not m.linear)
    ]  # fmt: skip
    return Ladder(now, undominated(lower)[::-1])


def _modcod(x: Case, way: str, limits: BoolArray) -> Iterator[Found]:
    """Yield the next more robust MODCOD of the limiting direction, and the first that serves."""
    rungs = ladder(getattr(x.network, way))
    if rungs is None or not limits.any():
        return
    other = x.back_db if way == OUTBOUND else x.out_db
    open_ = limits & ~reaches(x.margin_db, x.goal_db) & (other - x.margin_db >= LEAST_GAIN_DB)
    margin = _out_db if way == OUTBOUND else _back_db
    for rung in climb(
        x, [open_] * len(rungs.down),
        lambda k, at: np.minimum(margin(x, at, way, modcod=rungs.down[k].name), other[at]), other,
    ):  # fmt: skip
        name = rungs.down[rung.step].name
        yield Found(
            "modcod", f"modcod.{way}", rung.at, rung.margin_db, *_as_it_is(x, rung.at),
            {"modcod": name, "was": rungs.now.name, "less_pct": rungs.less_pct(rung.step)},
            ((way, "modcod", name),), rung.step,
        )  # fmt: skip


def _both_modcods(x: Case, single: Sequence[Found]) -> Iterator[Found]:
    """Yield the MODCODs that serve where both directions fall short, or the most robust ones.

    Where they do better than one direction's alone (``single``).
    """
    ladders = ladder(x.network.outbound), ladder(x.network.inbound)
    short = ~reaches(x.out_db, x.goal_db) & ~reaches(x.back_db, x.goal_db)
    if ladders[0] is None or ladders[1] is None or not short.any():
        return
    if not (ladders[0].down and ladders[1].down):
        return
    steps, margins = zip(
        _first(x, short, OUTBOUND, ladders[0]), _first(x, short, INBOUND, ladders[1]), strict=True
    )
    margin = np.minimum(*margins)
    known = x.margin_db.copy()
    for found in single:
        known[found.at] = np.maximum(known[found.at], found.margin_db)
    good = short & (margin - known >= LEAST_GAIN_DB)
    for out, back in sorted(
        set(zip(steps[0][good].tolist(), steps[1][good].tolist(), strict=True))
    ):
        at = np.flatnonzero(good & (steps[0] == out) & (steps[1] == back))
        names = ladders[0].down[out].name, ladders[1].down[back].name
        yield Found(
            "modcods", "modcods", at, margin[at], *_as_it_is(x, at),
            {"modcod": names[0], "was": ladders[0].now.name, "less_pct": ladders[0].less_pct(out),
             "back": names[1], "back_was": ladders[1].now.name,
             "back_less_pct": ladders[1].less_pct(back)},
            (("outbound", "modcod", names[0]), ("inbound", "modcod", names[1])), out + back,
        )  # fmt: skip


def _first(x: Case, where: BoolArray, way: str, rungs: Ladder) -> tuple[IntArray, FloatArray]:
    """Return the first step (k,) with which a direction reaches the goal, else the last.

    And the direction's margin with it [dB], NaN elsewhere.
    """
    step, found = np.zeros(len(x), dtype=np.intp), np.full(len(x), np.nan)
    margin = _out_db if way == OUTBOUND else _back_db
    open_ = np.flatnonzero(where)
    for k, modcod in enumerate(rungs.down):
        if not open_.size:
            break
        step[open_], found[open_] = k, margin(x, open_, way, modcod=modcod.name)
        open_ = open_[~reaches(found[open_], x.goal_db[open_])]
    return step, found


# --- target -----------------------------------------------------------------------------------


def ordered_pct(outage_pct: FloatArray) -> FloatArray:
    """Return the targets (n,) [%] that people order for outages (n,) [%], rounded down.

    >>> ordered_pct(np.array([0.62, 0.0431, 1.2])).tolist()
    [99.3, 99.95, 98.5]
    """
    most, steps = np.array(_TARGET_STEPS_PCT).T
    step = steps[np.minimum(np.searchsorted(most, outage_pct - 1e-9), len(steps) - 1)]
    return np.asarray(np.round(100 - step * np.ceil(outage_pct / step - 1e-9), 3))


def _target(x: Case) -> Iterator[Found]:
    """Yield the target that is held, rounded down to what people order."""
    outage = np.maximum(*(outage_pct(way, x.goal_db) for way in x.ways))
    outage = in_basis_pct(x.network, np.where(np.isfinite(outage), outage, 100.0))
    target = ordered_pct(np.where(np.isfinite(outage), outage, 100.0))
    was = 100 - in_basis_pct(x.network, x.p_pct)
    orderable = (target >= LEAST_TARGET_PCT) & ~outside(x.network, target)
    at = np.flatnonzero(orderable & (target < was - 1e-9))
    if at.size:
        new = target[at]
        allowed = from_basis_pct(x.network, 100 - new)
        margin = np.minimum(*(margin_db(way.take(at), allowed) for way in x.ways))
        yield Found(
            "target", "target", at, margin, *_as_it_is(x, at),
            {"target_pct": new, "was_pct": np.round(was[at], 6)},
            (("sites", "availability_pct", new),),
        )  # fmt: skip


# --- power control ----------------------------------------------------------------------------


def _hub_control(x: Case) -> Iterator[Found]:
    """Yield the hub's uplink power control that reaches the goal where the hub's rain limits.

    In whole decibels; where the sites' own rain uses up the outage, what a usual range buys. Where
    the hub's amplifier does not give that range, with one that does.
    """
    was = x.link.hub.control_db
    where = np.flatnonzero(x.hub_blamed & ~x.inbound_limits)
    if not where.size:
        return
    need = np.empty(where.size)
    for goal in np.unique(x.goal_db[where]).tolist():
        here = x.goal_db[where] == goal
        at = where[here]
        need[here] = control_db(x.ways[0].take(at), x.p_pct[at], goal)
    need = np.where(need <= MOST_CONTROL_DB, np.ceil(np.round(need, 6)), USUAL_CONTROL_DB)
    for size in np.unique(need[need > was]).tolist():
        at = where[need == size]
        hpa_w = _amplifier_w(x, size)
        more = {} if hpa_w is None else {"hpa_w": hpa_w}
        margin = _out_db(x, at, "hub", power_control_db=size, **more)
        key = "amplifier" if more else "more" if was else "none"
        yield Found(
            "hub_control", f"hub_control.{key}",
            at, np.minimum(margin, x.back_db[at]), *_as_it_is(x, at),
            {"control_db": size, "was_db": was, "hub": x.link.hub.spoken, **more},
            (("hub", "power_control_db", size), *(("hub", k, v) for k, v in more.items())),
            int(size),
        )  # fmt: skip


def _hub_amplifier(x: Case) -> Iterator[Found]:
    """Yield the amplifier of the hub that gives clear sky's power, where it falls short of that."""
    was = x.network.hub.hpa_w
    at = np.flatnonzero(~x.inbound_limits)
    if was is None or not x.link.hub.short_db or not at.size:
        return
    if (hpa_w := _amplifier_w(x, 0.0)) is None:
        return
    margin = np.minimum(_out_db(x, at, "hub", hpa_w=hpa_w), x.back_db[at])
    yield Found(
        "hub_amplifier", "hub_amplifier", at, margin, *_as_it_is(x, at),
        {"hpa_w": hpa_w, "was_w": was, "hub": x.link.hub.spoken}, (("hub", "hpa_w", hpa_w),),
    )  # fmt: skip


def _amplifier_w(x: Case, control_db: float) -> float | None:
    """Return the amplifier [W] with which a range of power control is had, in whole watts.

    None where the one that is given does, or where none is given; at most the largest that a plan
    takes.
    """
    power = power_of(x.network, x.link.hub)
    if control_db <= power.headroom_db:
        return None
    return min(float(math.ceil(10 ** ((power.drive_dbw + control_db) / 10))), MOST_HPA_W)


def _terminal_control(x: Case) -> Iterator[Found]:
    """Yield the sites' power control that reaches the goal, where they have less than their cut."""
    was, cut = x.network.terminal.power_control_db, x.ways[1].driven.cut_db
    if was is None:
        return
    open_ = x.inbound_limits & ~x.hub_blamed & (cut > was)
    most = min(float(np.max(cut, where=open_, initial=0.0)), MOST_CONTROL_DB)
    sizes: Sequence[float] = [float(s) for s in range(int(was) + 1, int(np.ceil(most)) + 1)]
    for rung in climb(
        x, [open_ & (size < cut + 1) for size in sizes],
        lambda k, at: np.minimum(
            _back_db(x, at, "terminal", power_control_db=sizes[k]), x.out_db[at]
        ), x.out_db,
    ):  # fmt: skip
        size = sizes[rung.step]
        yield Found(
            "terminal_control", "terminal_control.more" if was else "terminal_control.none",
            rung.at, rung.margin_db, *_as_it_is(x, rung.at), {"control_db": size, "was_db": was},
            (("terminal", "power_control_db", size),), rung.step,
        )  # fmt: skip
