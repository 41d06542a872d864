"""What a carrier's MODCODs bring."""

from __future__ import annotations

import itertools

import pytest
from pydantic import ValidationError

from siteplan.errors import NetworkError
from siteplan.network import Inbound, Outbound
from siteplan.planning.link import coding


def test_information_rate_by_hand() -> None:
    """Symbol rate x efficiency of the MODCOD (EN 302 307-1 table 13) x frame efficiency."""
    rate = coding.information_rate_kbit_s(Outbound(symbol_rate_msps=6, modcod="QPSK 3/4"))
    assert rate == pytest.approx(6000 * 1.487473 * 0.95, rel=1e-12)
    back = coding.information_rate_kbit_s(Inbound(symbol_rate_msps=0.256, frame_efficiency=0.7))
    assert back == pytest.approx(256 * 1504 / 1616 * 0.7, rel=1e-12)


def test_rate_of_a_threshold_in_place_of_a_modcod() -> None:
    """Bits that come with an Eb/N0 count; an Es/N0 alone does not say what a symbol carries."""
    given = Outbound(symbol_rate_msps=2, eb_n0_db=4, bits_per_symbol=1.5, frame_efficiency=1)
    assert coding.information_rate_kbit_s(given) == pytest.approx(3000, rel=1e-12)
    assert coding.information_rate_kbit_s(Outbound(es_n0_db=5)) is None
    assert coding.bits_per_symbol(Outbound(es_n0_db=5)) is None


def test_adaptive_changes_no_fixed_rate() -> None:
    both = [coding.information_rate_kbit_s(Outbound(adaptive=x)) for x in (False, True)]
    assert both[0] == both[1]


def names(carrier: Outbound | Inbound) -> list[str]:
    return [m.name for m in coding.ladder("outbound", carrier)]


def test_all_of_the_waveform_but_those_that_another_betters() -> None:
    """DVB-S2 (EN 302 307-1 table 13) has six that need more and carry no more."""
    found = coding.ladder("outbound", Outbound())
    dominated = {"QPSK 8/9", "8PSK 5/6", "8PSK 8/9", "8PSK 9/10", "16APSK 8/9", "16APSK 9/10"}
    everyone = {m.name for m in coding.modcods("DVB-S2")}
    assert everyone - {m.name for m in found} == dominated
    for low, high in itertools.pairwise(found):
        assert low.es_n0_db < high.es_n0_db
        assert low.efficiency < high.efficiency


def test_bursts_have_the_length_of_the_modcod() -> None:
    assert not any(name.endswith("short") for name in names(Inbound()))
    assert all(name.endswith("short") for name in names(Inbound(modcod="QPSK 1/2 short")))


def test_listed_modcods_however_they_are_spelled() -> None:
    some = Outbound(modcods=("8psk-2/3", "QPSK1/2", "qpsk 8/9"))
    assert names(some) == ["QPSK 1/2", "QPSK 8/9", "8PSK 2/3"]


def test_none_carries_more_than_the_greatest_allowed() -> None:
    assert names(Outbound(max_modcod="8PSK 3/5"))[-1] == "8PSK 3/5"
    assert names(Outbound(max_modcod="8PSK 3/5", modcods=("QPSK 1/2", "8PSK 2/3"))) == ["QPSK 1/2"]


@pytest.mark.parametrize(
    ("keys", "match"),
    [
        ({"modcods": ("QPSK 7/8",)}, r"no MODCOD 'QPSK 7/8'.*nearest.*\n?.*"),
        ({"max_modcod": "8PSK 1/9"}, r"max_modcod: DVB-S2 has no MODCOD '8PSK 1/9'"),
        ({"modcods": ("8PSK 2/3",), "max_modcod": "QPSK 1/2"}, "leaves none of modcods"),
    ],
)
def test_names_that_are_none(keys: dict[str, object], match: str) -> None:
    with pytest.raises(NetworkError, match=match):
        coding.check("outbound", Outbound.model_validate(keys))


@pytest.mark.parametrize(
    ("keys", "match"),
    [
        ({"adaptive": True, "es_n0_db": 5.0}, "es_n0_db names none: give waveform and modcod"),
        ({"adaptive": True, "eb_n0_db": 5.0, "bits_per_symbol": 1.5}, "eb_n0_db names none"),
        ({"modcods": ("QPSK 1/2", "QPSK 1/2")}, "names 'QPSK 1/2' twice"),
        ({"hysteresis_db": 3.1}, "less than or equal to 3"),
        ({"frame_efficiency": 0.29}, "greater than or equal to 0.3"),
    ],
)
def test_keys_that_do_not_fit(keys: dict[str, object], match: str) -> None:
    with pytest.raises(ValidationError, match=match):
        Outbound.model_validate(keys)
