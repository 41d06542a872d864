"""First rules for the mount: what the structure, the dish and the bearing allow.

The limits are common practice, no source; the survey and the maker's data decide.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.planning.sentences import fill

FloatArray = NDArray[np.float64]
TextArray = NDArray[np.object_]

#: Largest dish on a wall bracket [m] and on a ballasted roof frame [m].
WALL_LIMIT_M = 1.2
ROOF_LIMIT_M = 1.8
#: A dish on a wall looks past it up to this angle from the way the wall faces [deg].
WALL_SWING_DEG = 70.0
#: Below this elevation a parapet easily shadows a dish on a roof [deg].
PARAPET_ELEVATION_DEG = 20.0

POLE, WALL, ROOF, SURVEY = "pole", "wall", "non_penetrating", "survey_decides"


class Mounts(NamedTuple):
    """Mount and reason of each site (n,)."""

    mount: TextArray
    reason: TextArray


def mounts(
    structure: TextArray,
    antenna_m: FloatArray,
    wall_facing_deg: FloatArray,
    azimuth_true_deg: FloatArray,
    elevation_deg: FloatArray,
) -> Mounts:
    """Return a mount for each site, always with the reason.

    Parameters
    ----------
    structure : (n,) array of str
        ``ground``, ``flat_roof``, ``pitched_roof``, ``wall`` or empty (not known).
    antenna_m : (n,) array
        Diameter of the dish [m]; NaN where there is none.
    wall_facing_deg, azimuth_true_deg, elevation_deg : (n,) arrays
        Way the wall looks, bearing and elevation of the satellite [deg]; NaN where not known.

    Returns
    -------
    Mounts
        The first rule that applies decides.
    """
    swing = np.abs((azimuth_true_deg - wall_facing_deg + 180) % 360 - 180)
    given = {
        "antenna": antenna_m,
        "facing": wall_facing_deg,
        "azimuth": azimuth_true_deg,
        "elevation": elevation_deg,
        "swing": swing,
    }
    mount = np.full(len(structure), SURVEY, dtype=object)
    reason = np.full(len(structure), "", dtype=object)
    open_ = np.ones(len(structure), dtype=bool)
    for applies, kind, sentence in _rules(structure, antenna_m, swing, elevation_deg):
        here = open_ & applies
        mount[here] = kind
        reason[here] = fill(sentence, {k: v[here] for k, v in given.items()})
        open_ &= ~applies
    return Mounts(mount, reason)


Rule = tuple[NDArray[np.bool_], str, str]


def _rules(
    structure: TextArray, antenna_m: FloatArray, swing_deg: FloatArray, elevation_deg: FloatArray
) -> list[Rule]:
    """Return the rules in order: where each applies, the mount, and the reason."""
    everywhere = np.ones(len(structure), dtype=bool)
    return [
        (np.isnan(elevation_deg), SURVEY, "No mount: the satellite is below the horizon."),
        (np.isnan(antenna_m), SURVEY, "No antenna is planned, so no mount is chosen."),
        (
            structure == "ground",
            POLE,
            "Open ground: a pole in a concrete foot carries {antenna:.2g} m and turns to any"
            " bearing.",
        ),
        *_roof_rules(structure, antenna_m, elevation_deg),
        *_wall_rules(structure == "wall", antenna_m, swing_deg),
        (everywhere, SURVEY, "The structure is not given: survey what can carry {antenna:.2g} m."),
    ]


def _roof_rules(
    structure: TextArray, antenna_m: FloatArray, elevation_deg: FloatArray
) -> list[Rule]:
    """Return the rules for flat and pitched roofs."""
    flat = structure == "flat_roof"
    light = flat & (antenna_m <= ROOF_LIMIT_M)
    frame = "Flat roof: a ballasted frame carries {antenna:.2g} m without piercing the roof;"
    return [
        (
            light & (elevation_deg < PARAPET_ELEVATION_DEG),
            ROOF,
            f"{frame} at {{elevation:.0f}} deg elevation check the parapet's shadow, and the"
            " roof's load.",
        ),
        (light, ROOF, f"{frame} check the roof's load."),
        (
            flat,
            SURVEY,
            f"Flat roof, but {{antenna:.2g}} m is more than the {ROOF_LIMIT_M:g} m usual on"
            " ballast: survey the roof's load, or a pole on the ground.",
        ),
        (
            structure == "pitched_roof",
            SURVEY,
            "A pitched roof takes no ballast: survey a gable wall or a pole beside the building.",
        ),
    ]


def _wall_rules(
    wall: NDArray[np.bool_], antenna_m: FloatArray, swing_deg: FloatArray
) -> list[Rule]:
    """Return the rules for walls."""
    return [
        (
            wall & ~(antenna_m <= WALL_LIMIT_M),
            SURVEY,
            f"{{antenna:.2g}} m is more than the {WALL_LIMIT_M:g} m usual on a wall bracket:"
            " survey a pole beside the building.",
        ),
        (
            wall & np.isnan(swing_deg),
            SURVEY,
            "The wall's facing is not given: survey whether it looks towards {azimuth:.0f} deg.",
        ),
        (
            wall & (swing_deg <= WALL_SWING_DEG),
            WALL,
            "The wall faces {facing:.0f} deg, {swing:.0f} deg from the satellite's bearing of"
            " {azimuth:.0f} deg: a bracket clears it with {antenna:.2g} m.",
        ),
        (
            wall,
            SURVEY,
            "The wall faces {facing:.0f} deg, {swing:.0f} deg away from the satellite's bearing"
            " of {azimuth:.0f} deg: survey another wall or a pole.",
        ),
    ]
