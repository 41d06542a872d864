"""The mask of a QR code is the one that segno finds by itself, its points are the standard's."""

from __future__ import annotations

import numpy as np
import pytest
import segno

from siteplan.outputs.sheets.qr import penalties, qr_code


def test_segno_alone_draws_the_same_codes() -> None:
    rng = np.random.default_rng(1)
    places = zip(rng.uniform(-90, 90, 150), rng.uniform(-180, 180, 150), strict=True)
    texts = [f"geo:{lat:.6f},{lon:.6f}" for lat, lon in places]
    for words in [*texts, "geo:0,0", "longer, of a further version: " + "x" * 150]:
        code = segno.make_qr(words, error="m")
        alone = code.svg_inline(omitsize=True, border=4, svgclass=None, lineclass=None)
        assert qr_code(words) == alone


@pytest.mark.parametrize(
    ("row", "points"),
    [
        ("10101010101", 0),
        ("11111000000", 3 + 4),  # runs of five and six
        ("10111010101", 40),  # a finder's likeness behind the edge, ahead of it, behind light
        ("01011011101", 40),
        ("00001011101", 40),
    ],
)
def test_points_of_features(row: str, points: int) -> None:
    """ISO/IEC 18004:2015, 7.8.3.1, Table 11: one line changed in ground that has no points."""
    symbol = np.indices((11, 11)).sum(axis=0).astype(np.uint8) % 2
    assert int(penalties(symbol[None])[0]) == 0
    symbol[5] = [int(module) for module in row]
    assert int(penalties(symbol[None])[0]) == points


@pytest.mark.parametrize(("dark", "points"), [(50, 0), (46, 0), (45, 10), (55, 10), (70, 40)])
def test_points_of_balance(dark: int, points: int) -> None:
    """ISO/IEC 18004:2015, 7.8.3.1, Table 11: ten for each 5 % off half."""
    from siteplan.outputs.sheets.qr import _balance

    symbol = (np.arange(100) < dark).astype(np.uint8).reshape(1, 10, 10)
    assert int(_balance(symbol)[0]) == points
