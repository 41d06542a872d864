"""Mount rules: each structure, each reason."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.planning.mounts import mounts

NAN = float("nan")


@pytest.mark.parametrize(
    ("structure", "antenna", "facing", "azimuth", "elevation", "mount", "words"),
    [
        ("ground", 2.4, NAN, 120.0, 50.0, "pole", "2.4 m"),
        ("flat_roof", 1.8, NAN, 120.0, 50.0, "non_penetrating", "without piercing"),
        ("flat_roof", 1.2, NAN, 120.0, 12.0, "non_penetrating", "parapet"),
        ("flat_roof", 2.4, NAN, 120.0, 50.0, "survey_decides", "more than the 1.8 m"),
        ("pitched_roof", 1.2, NAN, 120.0, 50.0, "survey_decides", "no ballast"),
        ("wall", 1.2, 100.0, 120.0, 30.0, "wall", "20 deg from"),
        ("wall", 1.2, 350.0, 40.0, 30.0, "wall", "50 deg from"),  # across north
        ("wall", 1.2, 190.0, 120.0, 30.0, "wall", "70 deg from"),
        ("wall", 1.2, 191.0, 120.0, 30.0, "survey_decides", "71 deg away"),
        ("wall", 1.8, 120.0, 120.0, 30.0, "survey_decides", "more than the 1.2 m"),
        ("wall", 1.2, NAN, 120.0, 30.0, "survey_decides", "not given"),
        ("", 1.2, NAN, 120.0, 30.0, "survey_decides", "structure is not given"),
        ("ground", NAN, NAN, 120.0, 30.0, "survey_decides", "No antenna"),
        ("ground", 1.2, NAN, NAN, NAN, "survey_decides", "below the horizon"),
    ],
)
def test_rule(
    structure: str,
    antenna: float,
    facing: float,
    azimuth: float,
    elevation: float,
    mount: str,
    words: str,
) -> None:
    found = mounts(
        np.array([structure], dtype=object),
        *(np.array([x]) for x in (antenna, facing, azimuth, elevation)),
    )
    assert found.mount[0] == mount
    assert words in found.reason[0]


def test_every_site_has_a_reason() -> None:
    rng = np.random.default_rng(5)
    n = 500
    words = np.array(["", "ground", "flat_roof", "pitched_roof", "wall"], dtype=object)
    found = mounts(
        words[rng.integers(0, 5, n)],
        rng.choice([1.2, 1.8, 2.4, NAN], n),
        rng.choice([NAN, 90.0, 270.0], n),
        rng.uniform(0, 360, n),
        rng.choice([NAN, 8.0, 40.0, 88.0], n),
    )
    assert all(found.reason)
    assert set(found.mount) == {"pole", "wall", "non_penetrating", "survey_decides"}
