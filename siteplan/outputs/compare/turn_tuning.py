"""What a turned dish is tuned to: as now, or other than now, and what the crew finds there."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from siteplan.answers import Tuned
from siteplan.answers.slots import Repointing
from siteplan.outputs.compare import slot_words
from siteplan.outputs.sheets.tune import CIRCULAR, PORTS
from siteplan.outputs.shown import amount, megahertz

#: What the receive side and the transmit side are called.
_SIDES = ("Receive there", "Transmit there")


def tuning_rows(turn: Repointing, i: int, acceptance_db: float) -> Iterator[tuple[str, str]]:
    """Yield what one dish receives and sends on the new satellite: a heading, and words.

    Parameters
    ----------
    turn : Repointing
        What turning the dishes takes.
    i : int
        Index of the site.
    acceptance_db : float
        How much less C/N than expected is accepted. [dB]
    """
    now, there = turn.tuned[i]
    levels = (_expected(turn, i, acceptance_db, there), _power(turn, i))
    for side, was, is_, level in zip(_SIDES, now, there, levels, strict=False):
        yield side, f"{_carrier(was, is_)}{level}"
    if changed := _ports(now, there):
        yield "Ports", changed


def _carrier(was: Tuned, is_: Tuned) -> str:
    """Return what the new carrier is, and what it was where that is another."""
    if _shown(was) == _shown(is_):
        return f"{_shown(is_)}, as now"
    told = f"{_shown(is_)} instead of {_shown(was)}"
    return told if is_.in_band else f"{told}. CHECK: out of the cable's band"


def _shown(of: Tuned) -> str:
    """Return a carrier on the air: frequency, polarization, symbol rate."""
    port = CIRCULAR if of.polarization == CIRCULAR else PORTS[of.polarization].lower()
    return f"{megahertz(of.carrier_ghz * 1e3)} {port}, {amount(of.symbol_rate_msps, 'Msym/s')}"


def _expected(turn: Repointing, i: int, acceptance_db: float, there: Any) -> str:
    """Return the C/N to find, and from where it will do."""
    level = float(turn.expected_c_n_db[i])
    if math.isnan(level) or not there:
        return "."
    least = amount(level - acceptance_db, "dB", 1)
    wide = amount(there[0].symbol_rate_msps, "MHz")
    return f". In clear sky C/N {amount(level, 'dB', 1)} in {wide}; accept from {least}."


def _power(turn: Repointing, i: int) -> str:
    power = float(turn.tx_power_w[i])
    if math.isnan(power):
        return "."
    return f". BUC set to {amount(power, 'W', 2)}, once the operator says go."


def _ports(now: Any, there: Any) -> str:
    """Return what is to be done where polarizations are others; '' where they are not."""
    pairs = [(was.polarization, is_.polarization) for was, is_ in zip(now, there, strict=False)]
    others = [pair for pair in pairs if pair[0] != pair[1]]
    if not others:
        return ""
    if any(CIRCULAR in pair for pair in others):
        return slot_words.OTHER_FEED
    return slot_words.PORTS_SWAP if len(others) == len(pairs) else slot_words.ONE_PORT
