"""Separation of orbital positions seen from the ground, against plane trigonometry on a sphere.

Computed for a sphere of 6378.137 km and the orbit of 42 164.17 km: the ellipsoid's differ from them
by 0.0012 degrees at most.
"""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.physics.angles.pointing import neighbours

RADIUS_KM, ORBIT_KM = 6378.137, 42164.17
#: Latitude, our satellite's longitude less the site's, and the separation of two degrees of the
#: orbit: towards the neighbour that is farther away, and towards the nearer one. [deg]
TWO_DEG = (
    (0.0, 0.0, 2.3563, 2.3563),
    (30.0, 0.0, 2.2927, 2.2927),
    (30.0, 50.0, 2.1461, None),
    (45.0, 30.0, 2.1789, 2.1841),
    (60.0, 0.0, 2.1422, 2.1422),
    (70.0, 50.0, 2.0419, None),
)
#: The same for three degrees.
THREE_DEG = (
    (0.0, 0.0, 3.5343), (30.0, 0.0, 3.4389), (30.0, 50.0, 3.2155),
    (45.0, 30.0, 3.2662), (60.0, 0.0, 3.2132), (70.0, 50.0, 3.0617),
)  # fmt: skip
TOLERANCE_DEG = 0.002


def on_a_sphere_deg(lat: float, away: float, step: float) -> float:
    """Return the angle at the site between positions ``away`` and ``away + step`` east of it."""
    up = np.radians(lat)
    site = RADIUS_KM * np.array([np.cos(up), 0.0, np.sin(up)])
    turns = np.radians([away, away + step])
    rays = [ORBIT_KM * np.array([np.cos(t), np.sin(t), 0.0]) - site for t in turns]
    one, other = (ray / np.linalg.norm(ray) for ray in rays)
    return float(np.degrees(np.arccos(one @ other)))


@pytest.mark.parametrize(("lat", "away", "farther", "nearer"), TWO_DEG)
def test_two_degrees(lat: float, away: float, farther: float, nearer: float | None) -> None:
    found = neighbours(lat, 0.0, 0.0, away, [away + 2, away - 2]).separation_deg
    assert found[0] == pytest.approx(farther, abs=TOLERANCE_DEG)
    assert found[0] == pytest.approx(on_a_sphere_deg(lat, away, 2), abs=TOLERANCE_DEG)
    if nearer is not None:
        assert found[1] == pytest.approx(nearer, abs=TOLERANCE_DEG)


@pytest.mark.parametrize(("lat", "away", "expected"), THREE_DEG)
def test_three_degrees(lat: float, away: float, expected: float) -> None:
    found = neighbours(lat, 0.0, 0.0, away, [away + 3]).separation_deg
    assert found[0] == pytest.approx(expected, abs=TOLERANCE_DEG)
