"""What physics refuses, in whole sentences: each names what was given and what would do."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from typing import Any

import pytest

from siteplan.physics import wind
from siteplan.physics.angles import geometry, magnetic, sun_outage
from siteplan.physics.propagation.mapped import map_files
from siteplan.physics.radio import emission, limits, masks, patterns, waveforms

DAY = dt.date(2026, 6, 21)
LATITUDES = "lat: latitudes must lie within -90 to 90 degrees"
HALF = "half_angle_deg must lie within 0 to 5 degrees"
QPSK = waveforms.find_modcod("DVB-S2", "QPSK 3/4")
MASKS = "47cfr25_ku, 47cfr25_ka, s524_9, s728_1, en301428, en301459"
BANDS = "5.725 to 7.075, 12.75 to 13.25, 13.75 to 14.5, 27.5 to 30 GHz"
RULES = "47 CFR 1.1310, ICNIRP 2020 whole body, ICNIRP 2020 local"


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: geometry.look_angles([10, 90.01], 0, 0, 0), LATITUDES),
        (lambda: geometry.look_angles(-90.01, 0, 0, 0), LATITUDES),
        (lambda: geometry.sky_direction(91, 0, 0, 0), LATITUDES),
        (lambda: magnetic.magnetic_field([10, 90.01], 0, 0, DAY), LATITUDES),
        (lambda: magnetic.magnetic_field(-90.01, 0, 0, DAY), LATITUDES),
        (lambda: sun_outage.sun_outages(0, 0, 0, 0, 5.01, year=2026), HALF),
        (lambda: sun_outage.next_sun_outages(0, 0, 0, 0, -0.01, after=DAY), HALF),
        (lambda: sun_outage.next_season(0, 0, 0, 0, [1, 5.01], after=DAY), HALF),
        *(
            (
                lambda year=year: sun_outage.sun_outages(0, 0, 0, 0, 1, year=year),
                f"year {year}: the sun's series holds from 1950 to 2050",
            )
            for year in (1949, 2051)
        ),
        (
            lambda: wind.mean_wind_pressure(25, 10, "V"),
            "terrain 'V' is not known: use one of 0, I, II, III, IV",
        ),
        (
            lambda: wind.gust_height_factor(10, "A"),
            "exposure 'A' is not known: use one of B, C, D",
        ),
        (
            lambda: limits.exposure_limit_w_m2("a rule", "public", 14),
            f"rule 'a rule' is not known: use one of {RULES}",
        ),
        (
            lambda: limits.exposure_limit_w_m2("47 CFR 1.1310", "staff", 14),  # type: ignore[arg-type]
            "audience 'staff' is not known: use 'public' or 'controlled'",
        ),
        (
            lambda: patterns.off_axis_gain_dbi("S.580", 2, 43, 57),
            "pattern 'S.580' is not known: use one of s580, s465, appendix_8, s580_any_size",
        ),
        (
            lambda: masks.named_mask("S.524", 14.25),
            f"mask 'S.524' is not known: use one of {MASKS}",
        ),
        (
            lambda: masks.named_mask("s524_9", 13.5),
            f"mask 's524_9' is for {BANDS}: the uplink is at 13.5 GHz",
        ),
        *(
            (
                lambda hz=hz: emission.necessary_bandwidth(hz),
                f"bandwidth {hz:g} Hz must lie within 0.001 Hz to 999 GHz",
            )
            for hz in (0.0, -1.0, 0.00049, 999.5e9, float("inf"), float("nan"))
        ),
        *(
            (
                lambda given=given: emission.designator(307.2e3, given),
                f"class of emission {given!r} must be 3 letters or digits",
            )
            for given in ("G7", "G7WX", "G-W", "Ä7W", "")
        ),
        (
            lambda: waveforms.modcods("DVB-T"),
            "waveform 'DVB-T' is not known: use one of DVB-S2, DVB-S2X, DVB-RCS2",
        ),
        (
            lambda: waveforms.find_modcod("DVB-S2", "QPSK 7/8"),
            "DVB-S2 has no MODCOD 'QPSK 7/8'; the nearest are 'QPSK 8/9', 'QPSK 5/6', 'QPSK 4/5'",
        ),
        (
            lambda: waveforms.required_es_n0_db(
                QPSK, implementation_loss_db=1, bits_per_symbol=1.5
            ),
            "bits_per_symbol goes with an Eb/N0, not with a MODCOD: leave it out",
        ),
    ],
)
def test_refused_with(call: Callable[[], Any], told: str) -> None:
    with pytest.raises(ValueError, match=f"^{re.escape(told)}$"):
        call()


def test_the_ends_of_every_range_are_taken() -> None:
    geometry.look_angles([-90, 90], 0, 0, 0)
    magnetic.magnetic_field([-90, 90], 0, 0, DAY)
    for year in (1950, 2050):
        assert len(sun_outage.sun_outages(50, 10, 0, 19, 5.0, year=year).site) > 20
    assert len(sun_outage.sun_outages(50, 10, 0, 19, 0.0, year=2026).site) == 0


def test_what_is_not_installed_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    for cached in (map_files.package_folder, magnetic._coefficients):
        cached.cache_clear()
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
    itur = "the package itur, which carries the ITU-R maps, is not installed"
    with pytest.raises(RuntimeError, match=f"^{itur}$"):
        map_files.package_folder()
    model = "the package wmm-calculator, which carries the model, is not installed"
    with pytest.raises(RuntimeError, match=f"^{model}$"):
        magnetic.magnetic_field(0, 0, 0, DAY)
