"""MODCOD tables: look-up, spelling, consistency."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import get_args

import numpy as np
import pytest

from siteplan.network import Network
from siteplan.physics.radio.waveforms import (
    Modcod,
    es_n0_from_eb_n0_db,
    find_modcod,
    modcods,
    required_es_n0_db,
    waveforms,
)

WAVEFORMS = waveforms()
ALL = [modcod for waveform in WAVEFORMS for modcod in modcods(waveform)]


@pytest.mark.parametrize("modcod", ALL, ids=lambda m: f"{m.waveform} {m.name}")
def test_every_modcod_is_found_by_its_name_and_agrees_with_it(modcod):
    assert find_modcod(modcod.waveform, modcod.name) is modcod
    modulation, rate = modcod.name.split()[:2]
    points = {"BPSK": 2, "QPSK": 4}.get(modulation) or int(re.match(r"\d+", modulation).group())
    assert 2**modcod.bits_per_symbol == points
    assert modcod.code_rate == float(Fraction(rate.removesuffix("-L")))
    # Framing can only take away.
    assert 0.8 < modcod.efficiency / (modcod.bits_per_symbol * modcod.code_rate) < 1


@pytest.mark.parametrize("carrier", ["outbound", "inbound"])
def test_the_network_file_takes_the_waveforms_of_the_table(carrier):
    table = Network.model_fields[carrier].annotation
    assert get_args(table.model_fields["waveform"].annotation) == WAVEFORMS


def test_the_standards_waveforms_are_there():
    assert set(WAVEFORMS) >= {"DVB-S2", "DVB-S2X", "DVB-RCS2"}
    assert [len(modcods(w)) for w in ("DVB-S2", "DVB-S2X", "DVB-RCS2")] == [28, 67, 17]


@pytest.mark.parametrize("name", ["qpsk-3/4", "QPSK3/4", " Qpsk  3/4 ", "qpsk_3/4", "QPSK\t3/4"])
def test_spellings(name):
    assert find_modcod("dvb-s2", name).name == "QPSK 3/4"


def test_short_burst_has_its_own_names():
    short = find_modcod("DVB-RCS2", "qpsk 1/2 short")
    long = find_modcod("DVB-RCS2", "qpsk 1/2")
    assert short.es_n0_db > long.es_n0_db
    assert short.efficiency < long.efficiency


def test_modcods_for_linear_channels_say_so_in_their_names():
    """EN 302 307-2 table 20a marks thirteen of its rows, read in a copy."""
    linear = [m.name for m in modcods("DVB-S2X") if m.linear]
    assert len(linear) == 13
    assert all(name.endswith("-L") for name in linear)
    assert not any(m.linear for w in ("DVB-S2", "DVB-RCS2") for m in modcods(w))
    assert find_modcod("DVB-S2X", "16apsk 1/2 l").name == "16APSK 1/2-L"


def test_s2x_holds_s2_under_its_own_waveform():
    s2, s2x = modcods("DVB-S2"), modcods("DVB-S2X")
    assert {m.name for m in s2} < {m.name for m in s2x}
    assert {m.waveform for m in s2x} == {"DVB-S2X"}
    old, new = find_modcod("DVB-S2", "8PSK 2/3"), find_modcod("DVB-S2X", "8PSK 2/3")
    assert (old.es_n0_db, old.efficiency) == (new.es_n0_db, new.efficiency)


def test_unknown_name_is_answered_with_the_nearest():
    with pytest.raises(ValueError, match=r"DVB-S2 has no MODCOD 'QPSK 7/8'.*'QPSK"):
        find_modcod("DVB-S2", "QPSK 7/8")
    with pytest.raises(ValueError, match=r"'16APSK 3/4'"):
        find_modcod("DVB-S2", "16QAM 3/4")
    with pytest.raises(ValueError, match=r"no MODCOD ''.*'QPSK 1/4'"):
        find_modcod("DVB-S2", "")


def test_unknown_waveform_names_the_known():
    with pytest.raises(ValueError, match="'DVB-T' is not known: use one of DVB-S2, DVB-S2X"):
        modcods("DVB-T")


def test_names_are_unique_and_the_type_is_frozen():
    for waveform in WAVEFORMS:
        names = [m.name for m in modcods(waveform)]
        assert len(set(names)) == len(names)
    with pytest.raises(AttributeError, match="cannot assign"):
        modcods("DVB-S2")[0].es_n0_db = 0.0


@pytest.mark.parametrize("waveform", WAVEFORMS)
def test_threshold_rises_with_efficiency_within_a_modulation(waveform):
    groups: dict[tuple[str, bool, bool], list[Modcod]] = {}
    for m in modcods(waveform):
        kind = m.name.split()[0], m.linear, m.name.endswith("short")
        groups.setdefault(kind, []).append(m)
    for members in groups.values():
        members.sort(key=lambda m: m.efficiency)
        assert (np.diff([m.es_n0_db for m in members]) > 0).all()


def test_es_n0_from_eb_n0():
    # Two bits a symbol at rate 1/2 carry one bit: no change; 3 dB for two bits.
    np.testing.assert_allclose(es_n0_from_eb_n0_db([5, 5], [1, 2]), [5, 8.0103], atol=1e-4)


def test_required_es_n0_in_its_three_forms():
    modcod = find_modcod("DVB-S2", "QPSK 3/4")
    np.testing.assert_allclose(
        [
            required_es_n0_db(modcod, implementation_loss_db=1),
            required_es_n0_db(4.03, implementation_loss_db=1),
            required_es_n0_db(
                4.03 - 10 * np.log10(1.5), implementation_loss_db=1, bits_per_symbol=1.5
            ),
        ],
        5.03,
        atol=1e-12,
    )


def test_bits_with_a_modcod_are_refused():
    with pytest.raises(ValueError, match="not with a MODCOD"):
        required_es_n0_db(ALL[0], implementation_loss_db=0, bits_per_symbol=1)
