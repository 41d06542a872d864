"""Traffic and lease against published figures.

Erlang's loss and waiting formulas: the tables of the ITU's Teletraffic Engineering Handbook (ITU-D
Study Group 2), of which these are entries; slotted ALOHA: L. Kleinrock, Queueing Systems, volume
2. All from memory of them, to the digits that are printed. Power-equivalent bandwidth: common
practice of satellite leases, as operators' public pages state it; its figures are worked by hand.
"""

from __future__ import annotations

import pytest

from siteplan.physics.radio.carrier import power_equivalent_mhz
from siteplan.physics.radio.queues import erlang_b, erlang_c, lines_for, slotted_aloha

#: Erlangs, lines, and the share of calls that is lost.
LOST = [(1, 1, 0.5), (5, 10, 0.01838), (10, 15, 0.03650), (100, 117, 0.00979)]
#: Erlangs, and the lines at which no more than 1 % of calls is lost.
LINES = [(0.5, 4), (1, 5), (2, 7), (5, 11), (10, 18), (20, 30), (50, 64)]
#: Erlangs, lines, and the share of calls that waits.
WAITS = [(5, 10, 0.03611), (10, 15, 0.10204)]
#: Bursts a slot, and what gets through.
SLOTS = [(0.1, 0.0905), (0.36, 0.2512), (1.0, 0.3679)]
#: EIRP of a carrier [dBW] through 36 MHz of 48 dBW, 3.5 dB backed off; what that is worth [MHz].
WORTH = [(36, 5.0851), (33, 2.5486), (30, 1.2773)]


@pytest.mark.parametrize(("erlangs", "lines", "lost"), LOST)
def test_calls_that_are_lost(erlangs: float, lines: int, lost: float) -> None:
    assert erlang_b(erlangs, lines) == pytest.approx(lost, abs=5e-6)


@pytest.mark.parametrize(("erlangs", "lines"), LINES)
def test_lines_for_one_call_in_a_hundred(erlangs: float, lines: int) -> None:
    assert lines_for(erlangs, 0.01) == lines


@pytest.mark.parametrize(("erlangs", "lines", "waits"), WAITS)
def test_calls_that_wait(erlangs: float, lines: int, waits: float) -> None:
    assert erlang_c(erlangs, lines) == pytest.approx(waits, abs=5e-6)


@pytest.mark.parametrize(("offered", "through"), SLOTS)
def test_slots_taken_by_chance(offered: float, through: float) -> None:
    assert float(slotted_aloha(offered)) == pytest.approx(through, abs=5e-5)


@pytest.mark.parametrize(("eirp_dbw", "mhz"), WORTH)
def test_power_as_bandwidth(eirp_dbw: float, mhz: float) -> None:
    assert float(power_equivalent_mhz(36, 3.5, 48 - eirp_dbw)) == pytest.approx(mhz, abs=5e-5)
