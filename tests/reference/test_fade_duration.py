"""Fade duration, ITU-R P.1623-1 section 2.2, against the itur package and worked figures."""

from __future__ import annotations

import math
import warnings

import numpy as np
import pytest

from siteplan.physics.propagation.fade_duration import YEAR_S, durations, fades_longer


def test_counts_equal_those_of_itur() -> None:
    """itur 0.4.0 (MIT) takes one threshold at a time; 200 of them over the whole range."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from itur.models.itu1623 import fade_duration_number_fades
    rng = np.random.default_rng(1623)
    a, el, f = (rng.uniform(low, high, 200) for low, high in ((0.3, 30), (5, 60), (10, 50)))
    seconds, asked = rng.uniform(100, 1e5, 200), np.geomspace(1, 2e4, 7)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = np.array(
            [
                fade_duration_number_fades(asked, *at, t).value
                for *at, t in zip(a, el, f, seconds, strict=True)
            ]
        )
    ours = np.array([fades_longer(d, a, el, f, seconds) for d in asked]).T
    np.testing.assert_allclose(ours, theirs, rtol=1e-9)


def test_the_worked_fade_depth_of_itur() -> None:
    """The example of itur's documentation: 25 fades a year over a minute at 21.6922280 dB."""
    pct = [50, 30, 20, 10, 5, 3, 2, 1, .5, .3, .2, .1, .05, .03, .02, .01, .005, .003, .002,
           .001]  # fmt: skip
    db = [0.4, 0.6, 0.8, 1.8, 2.70, 3.5, 4.20, 5.7, 7.4, 9, 10.60, 14, 18.3, 22.3, 25.8, 32.6,
          40.1, 46.1, 50.8, 58.8]  # fmt: skip
    share = 10 ** np.interp(21.6922280, db, np.log10(pct)) / 100
    found = fades_longer(60, 21.6922280, 38.5, 28, share * YEAR_S)
    assert float(found) == pytest.approx(25, abs=1e-5)


def test_the_parameters_by_hand() -> None:
    """P.1623-1 steps 1 to 5 (from memory), 5 dB at 14.25 GHz and 40 degrees."""
    of = durations(5.0, 40.0, 14.25)
    mean = 80 / 40**0.4 * 14.25**1.4 / 5**0.39
    sigma, gamma = 1.85 / 14.25**0.05 / 5**0.027, 0.055 * 14.25**0.65 / 5**0.003
    assert float(of.mean_s) == pytest.approx(mean, rel=1e-12)
    assert float(of.number_s) == pytest.approx(mean / math.exp(sigma**2), rel=1e-12)
    assert (float(of.sigma), float(of.exponent)) == pytest.approx((sigma, gamma), rel=1e-12)
    assert 0 < float(of.short) < 1
