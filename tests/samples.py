"""Where the tests take a project from that is more than a few rows.

``FROZEN`` are both samples as they were: one beam, fixed MODCODs, no later keys. Tests that hold
figures, or take anything of a network for granted, rest on these. ``LIVE`` are the samples that are
shipped; they gain keys whenever siteplan does, so that only a test of what is shipped plans them,
and holds nothing that a key may change. ``tests/test_samples.py`` lists those tests.
"""

from __future__ import annotations

from pathlib import Path

ROOT = Path(__file__).parents[1]
NAMES = ("river_clinics", "fjord_substations")
LIVE = ROOT / "sample_sites"
FROZEN = ROOT / "tests" / "frozen" / "inputs"
