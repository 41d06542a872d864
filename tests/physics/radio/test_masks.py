"""Masks: which is found for an uplink, what stands with each, what their own file must hold."""

from __future__ import annotations

import re
from itertools import pairwise

import numpy as np
import pytest

from siteplan.physics.radio.masks import Mask, Segment, limit_db, mask_names, named_mask

BANDS = {
    "47cfr25_ku": [(14.0, 14.5)],
    "47cfr25_ka": [(28.35, 28.6), (29.25, 30.0)],
    "s524_9": [(5.725, 7.075), (12.75, 13.25), (13.75, 14.5), (27.5, 30.0)],
    "s728_1": [(14.0, 14.5)],
    "en301428": [(14.0, 14.5)],
    "en301459": [(29.5, 30.0)],
}


def test_names():
    assert mask_names() == tuple(BANDS)


@pytest.mark.parametrize("name", BANDS)
def test_both_ends_of_each_band_are_in_it_and_what_lies_beyond_is_refused(name):
    for low, high in BANDS[name]:
        for inside in (low, (low + high) / 2, high):
            mask = named_mask(name, inside)
            assert mask.name == name
            assert any(a <= inside <= b for a, b in mask.bands_ghz)
        for outside in (low - 0.001, high + 0.001):
            told = re.escape(f"mask {name!r} is for ")
            with pytest.raises(ValueError, match=f"^{told}.*{low:g} to {high:g}.*GHz: the uplink"):
                named_mask(name, outside)


@pytest.mark.parametrize("name", BANDS)
def test_edition_date_source_and_tag_stand_with_each(name):
    for low, _ in BANDS[name]:
        mask = named_mask(name, low)
        assert mask.edition
        assert re.search(r"\b(19|20)\d\d$", mask.date)
        assert mask.source
        assert mask.tag == ("copy" if name.startswith("47cfr") else "from memory")


@pytest.mark.parametrize("name", BANDS)
def test_segments_rise_without_gaps_to_180_degrees(name):
    for low, _ in BANDS[name]:
        segments = named_mask(name, low).segments
        assert all(a.to_deg == b.from_deg for a, b in pairwise(segments))
        assert all(part.from_deg < part.to_deg for part in segments)
        assert segments[-1].to_deg == 180


def test_a_gap_of_an_own_mask_limits_nothing():
    mask = Mask(
        *("own", "", "", "", (), 40.0, "axis"), (Segment(1, 2, 10, 0), Segment(3, 4, 20, 10))
    )
    found = limit_db(mask, [0.5, 1, 2, 2.5, 3, 4, 5])
    known = [np.nan, 10, 10, np.nan, 20 - 10 * np.log10(3), 20 - 10 * np.log10(4), np.nan]
    np.testing.assert_allclose(found, known, rtol=0, atol=1e-12)
    assert np.isnan(limit_db(mask, np.nan))
