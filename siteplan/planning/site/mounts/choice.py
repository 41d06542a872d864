"""Mounts: every option weighed, with what speaks for it and what against it.

Scores and limits are common practice, no source; the survey, the maker's data and a qualified
engineer decide.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.messages import fill
from siteplan.model import STRUCTURES
from siteplan.network import Network
from siteplan.physics.holding import WallReactions
from siteplan.planning.site import loads
from siteplan.planning.site.loads import Frame, Loads, Standing
from siteplan.planning.site.mounts.weighing import Option, Reason, weigh

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
TextArray = NDArray[np.object_]

#: Largest dish on a wall bracket [m], on a ballasted roof frame [m] and on a pole [m].
WALL_LIMIT_M = 1.2
ROOF_LIMIT_M = 1.8
POLE_LIMIT_M = 2.4
#: A dish on a wall looks past it up to this angle from the way the wall faces [deg].
WALL_SWING_DEG = 70.0
#: Below this elevation a parapet easily shadows a dish on a roof [deg].
PARAPET_ELEVATION_DEG = 20.0
#: Above this elevation eaves over a wall come into the way [deg].
EAVES_ELEVATION_DEG = 65.0
#: Elevation below which things on the ground come into the way [deg].
GROUND_ELEVATION_DEG = 15.0
#: Pull on one fixing [N] and depth of a footing [m] from which they count against a mount.
HEAVY_PULL_N = 3000.0
DEEP_FOOTING_M = 1.5
#: Ballast that is much to carry [kg].
HEAVY_BALLAST_KG = 500.0
#: The best option is chosen from this score on; below it the survey decides.
LEAST_SCORE = 50

POLE, WALL, ROOF, GROUND, SURVEY = "pole", "wall", "non_penetrating", "ground", "survey_decides"
#: The options in the order of the table of scores.
OPTIONS = (POLE, WALL, ROOF, GROUND)


@dataclass(frozen=True)
class Place:
    """What the mounts are weighed by: arrays (n,), NaN and '' where not known.

    ``parapet_m`` is how far behind the parapet a frame must stand to look over it.
    """

    structure: TextArray
    antenna_m: FloatArray
    roof_height_m: FloatArray
    wall_facing_deg: FloatArray
    azimuth_true_deg: FloatArray
    elevation_deg: FloatArray
    wind_m_s: FloatArray
    parapet_m: FloatArray

    @functools.cached_property
    def on(self) -> dict[str, BoolArray]:
        """Where each structure is (n,), '' being 'not known'; texts are compared once."""
        return {word: np.asarray(self.structure == word) for word in ("", *STRUCTURES)}


class Trial(NamedTuple):
    """Each option tried at every site (n,): how the dish stands, and what the wind does."""

    standing: dict[str, Standing]
    load: dict[str, Loads]
    roof_frame: Frame
    ground_frame: Frame
    embedment_m: FloatArray
    fixing: WallReactions


class Mounts(NamedTuple):
    """The mount of each site (n,), why, all options in words, and their scores (n, 4)."""

    mount: TextArray
    reason: TextArray
    options: TextArray
    score: FloatArray


def try_mounts(place: Place, network: Network) -> Trial:
    """Return what each option would have to bear at each site."""
    dish, zero = place.antenna_m, np.zeros_like(place.antenna_m)
    standing = {
        POLE: loads.on_pole(dish, network),
        WALL: loads.on_wall(dish, place.roof_height_m, network),
        ROOF: loads.on_frame(dish, loads.roof_m(place.roof_height_m, network), network),
        GROUND: loads.on_frame(dish, zero, network),
    }
    load = {kind: loads.loads(s, dish, place.wind_m_s, network) for kind, s in standing.items()}
    roof, ground = (
        loads.frame(load[k], standing[k].lever_m, dish, network) for k in (ROOF, GROUND)
    )
    depth = loads.embedment_m(load[POLE], standing[POLE].lever_m, network)
    fixing = loads.fixings(load[WALL], standing[WALL].lever_m, dish, network)
    return Trial(standing, load, roof, ground, depth, fixing)


def mounts(place: Place, trial: Trial, network: Network) -> Mounts:
    """Return a mount for each site, always with the reasons.

    Parameters
    ----------
    place : Place
        Of n sites.
    trial : Trial
        From `try_mounts`.
    network : Network
        For the roof's limit and the snow.

    Returns
    -------
    Mounts
        The option of the highest score; ``survey_decides`` where none reaches `LEAST_SCORE`,
        or where there is no antenna or no view of the satellite.
    """
    options = [
        _pole(place, trial),
        _wall(place, trial),
        _roof(place, trial, network),
        _ground(place, trial, network),
    ]
    weighed = [weigh(option) for option in options]
    score = np.stack([w.score for w in weighed], axis=1)
    texts = np.stack([w.text for w in weighed], axis=1)
    order = np.argsort(-np.nan_to_num(score, nan=-1.0), axis=1, kind="stable")
    rows = np.arange(len(score))
    best = order[:, 0]
    top = np.nan_to_num(score[rows, best], nan=-1.0)
    chosen = top >= LEAST_SCORE
    mount = np.where(chosen, np.array(OPTIONS, dtype=object)[best], SURVEY)
    reason = texts[rows, best]
    open_ = np.flatnonzero(~chosen)
    reason[open_] = _survey_reason(place, open_, top[open_], reason[open_])
    everything = texts[:, 0] + " " + texts[:, 1] + " " + texts[:, 2] + " " + texts[:, 3]
    idle = np.isnan(place.elevation_deg) | np.isnan(place.antenna_m)
    mount[idle], everything[idle] = SURVEY, ""
    reason[np.isnan(place.antenna_m)] = "No antenna is planned, so no mount is chosen."
    reason[np.isnan(place.elevation_deg)] = "No mount: the satellite is below the horizon."
    score[idle] = np.nan
    return Mounts(mount, reason, everything, score)


def _survey_reason(
    place: Place, at: NDArray[np.intp], top: FloatArray, best: TextArray
) -> TextArray:
    """Return why the survey decides at the sites ``at`` (k,), and what looks best from here."""
    if not at.size:
        return best
    given = {"antenna": place.antenna_m[at]}
    unknown = fill("The structure is not given: survey what can carry {antenna:.2g} m.", given)
    poor = fill("No mount stands out for {antenna:.2g} m on what is given.", given)
    first = np.where(place.on[""][at], unknown, poor)
    return np.where(top < 0, first, first + " The best from here: " + best)


def swing_deg(place: Place) -> FloatArray:
    """Return how far the satellite's bearing lies from the way the wall faces (n,) [deg]."""
    return np.asarray(np.abs((place.azimuth_true_deg - place.wall_facing_deg + 180) % 360 - 180))


def _is(place: Place, *words: str) -> BoolArray:
    return np.asarray(np.logical_or.reduce([place.on[word] for word in words]))


def _base(place: Place, scores: dict[str, float]) -> FloatArray:
    """Return the score that the structure gives an option (n,)."""
    found = np.full(len(place.structure), np.nan)
    for word, score in scores.items():
        found[place.on[word]] = score
    return found


def _pole(place: Place, trial: Trial) -> Option:
    base = {"ground": 85.0, "flat_roof": 45.0, "pitched_roof": 45.0, "wall": 45.0, "": 40.0}
    return Option(
        "Pole",
        _base(place, base),
        (
            Reason(0, _is(place, "ground"), "open ground, any bearing"),
            Reason(0, ~_is(place, "ground"), "any bearing"),
            Reason(0, place.antenna_m > WALL_LIMIT_M, "carries large dishes"),
            Reason(-5, ~_is(place, "ground"), "ground beside the building has to be found"),
            Reason(-5, np.ones(len(place.structure), dtype=bool), "digging and concrete"),
            Reason(-10, trial.embedment_m > DEEP_FOOTING_M, "deep footing in this wind"),
            Reason(-5, place.elevation_deg < GROUND_ELEVATION_DEG, "low beam near the ground"),
            Reason(-10, place.antenna_m > POLE_LIMIT_M, "more dish than one pole usually carries"),
        ),
        (),
    )


def _wall(place: Place, trial: Trial) -> Option:
    swing = swing_deg(place)
    base = {"wall": 80.0, "flat_roof": 45.0, "pitched_roof": 50.0, "": 40.0}
    return Option(
        "Wall bracket",
        _base(place, base),
        (
            Reason(0, swing <= WALL_SWING_DEG, "the wall looks towards the satellite"),
            Reason(0, ~_is(place, "ground"), "above people, short cable, no ballast"),
            Reason(-20, np.isnan(swing), "the wall's facing is not given"),
            Reason(-10, (swing > 50) & (swing <= WALL_SWING_DEG), "the beam passes along the wall"),
            Reason(-40, place.antenna_m > WALL_LIMIT_M, "more dish than a bracket usually carries"),
            Reason(-10, trial.fixing.pull_n > HEAVY_PULL_N, "strong pull on the fixings"),
            Reason(-5, place.elevation_deg > EAVES_ELEVATION_DEG, "eaves may shadow a high beam"),
        ),
        (
            (_is(place, "ground"), "there is no wall"),
            (swing > WALL_SWING_DEG, "the wall looks away from the satellite"),
        ),
    )


def _roof(place: Place, trial: Trial, network: Network) -> Option:
    site = network.site
    heavy = trial.roof_frame.load_pa + site.snow_pa > site.roof_limit_pa
    much = trial.roof_frame.ballast_kg > HEAVY_BALLAST_KG
    # A limit that somebody gave weighs more than one that is only assumed.
    given = "roof_limit_pa" in site.model_fields_set
    limit = "the roof's limit" if given else "the limit assumed for the roof"
    return Option(
        "Non-penetrating roof frame",
        _base(place, {"flat_roof": 85.0, "": 40.0}),
        (
            Reason(0, np.ones(len(place.structure), dtype=bool), "roof stays unpierced"),
            Reason(0, np.ones(len(place.structure), dtype=bool), "any bearing, out of reach"),
            Reason(-45 if given else -25, heavy, f"load over {limit}"),
            Reason(-25, place.antenna_m > ROOF_LIMIT_M, "more dish than ballast usually holds"),
            Reason(-5, much, "much ballast to carry up"),
            Reason(
                -5,
                place.elevation_deg < PARAPET_ELEVATION_DEG,
                "low beam: stand clear of the parapet's shadow",
            ),
            Reason(-5, np.full(len(heavy), site.snow_pa > 0), "snow adds to the roof's load"),
        ),
        (
            (_is(place, "pitched_roof"), "a pitched roof takes no ballast"),
            (_is(place, "ground", "wall"), "there is no flat roof"),
        ),
    )


def _ground(place: Place, trial: Trial, network: Network) -> Option:
    base = {"ground": 70.0, "flat_roof": 40.0, "pitched_roof": 45.0, "wall": 45.0, "": 40.0}
    everywhere = np.ones(len(place.structure), dtype=bool)
    much = trial.ground_frame.ballast_kg > 2 * HEAVY_BALLAST_KG
    return Option(
        "Ballasted frame on the ground",
        _base(place, base),
        (
            Reason(0, everywhere, "no digging, any bearing"),
            Reason(-5, everywhere, "people and animals reach it: fence it"),
            Reason(-5, ~_is(place, "ground"), "ground beside the building has to be found"),
            Reason(-10, much, "much ballast to bring"),
            Reason(-5, place.elevation_deg < GROUND_ELEVATION_DEG, "low beam near the ground"),
            Reason(
                -10, np.full(len(much), network.site.snow_pa > 0), "snow can bury the lower rim"
            ),
        ),
        (),
    )
