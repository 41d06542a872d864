"""Likely causes of what differs at a built site: where each finding holds.

What a finding does to the verdict stands in `siteplan.planning.asbuilt.verdicts`. Limits are common
practice, no source.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, TextArray, at_decimals
from siteplan.frozen import frozen
from siteplan.messages import english, join
from siteplan.planning.asbuilt.readings import FAR_M, MOVED_M
from siteplan.words import beside

#: What instruments on a roof can tell: a compass, an inclinometer, a skew scale [deg].
AZIMUTH_READING_DEG = 3.0
ELEVATION_READING_DEG = 1.0
SKEW_READING_DEG = 5.0
#: Rim and beam, each read by an inclinometer, go together within this [deg].
RIM_APART_DEG = 2 * ELEVATION_READING_DEG
#: A known mistake is taken to explain a reading that it meets this closely [deg].
MATCH_DEG = 1.0
#: A difference that nothing explains must be read again from here on, whatever the signal [deg].
FAR_OFF_AZIMUTH_DEG, FAR_OFF_ELEVATION_DEG = 15.0, 5.0
#: Loss of a cable beyond its class: so much [dB], and so large a part of it.
CABLE_EXCESS_DB, CABLE_EXCESS_PART = 2.0, 0.25
#: Loss of a cable that is too low to be true: so much less [dB], and so large a part less.
CABLE_LOW_DB, CABLE_LOW_PART = 2.0, 0.5
#: A cable this much longer than planned is told [m] and as a part of it.
CABLE_LONGER_M, CABLE_LONGER_PART = 3.0, 0.15
#: A voltage this far under what the cable should leave is told [V].
VOLTAGE_SHORT_V = 1.5
#: C/N better than expected by this much is told as well [dB].
TOO_GOOD_DB = 3.0

#: Where each finding holds (m,), by the key of its sentence.
Found = dict[str, BoolArray]


@frozen
class Evidence:
    """What speaks for one cause or another: arrays (m,), NaN where not measured, and limits.

    ``neighbour_deg`` is the angle between the measured direction and the nearest neighbouring
    satellite; ``azimuths_apart_deg`` how far the compass's bearing, turned into a true one, is from
    the true one that came back; ``mirrored_skew_deg`` how far the measured skew is from the planned
    one with the other sign; ``cable_loss_db`` what the cable should lose. ``accepted_from_db`` is
    the least C/N as the crew's sheet has it; ``sees`` says whether the measured position does,
    ``no_kit`` that the plan gives the site no pair; ``built_margin_db`` is the planned kit's
    margin at the target where the site stands, ``stopped_by`` tells for which flags beside it the
    plan does not serve the site, '' for none; ``id_written`` is the id that a
    spreadsheet had eaten, ''.
    """

    swapped: BoolArray
    sign_lost: BoolArray
    read_lat: FloatArray
    read_lon: FloatArray
    moved_m: FloatArray
    sees: BoolArray
    altitude_feet: BoolArray
    measured_altitude_m: FloatArray
    planned_altitude_m: FloatArray
    measured_elevation_deg: FloatArray
    azimuth_error_deg: FloatArray
    elevation_error_deg: FloatArray
    rim_error_deg: FloatArray
    azimuths_apart_deg: FloatArray
    pointing_error_deg: FloatArray
    skew_error_deg: FloatArray
    mirrored_skew_deg: FloatArray
    declination_deg: FloatArray
    true_given: BoolArray
    offset_deg: FloatArray
    neighbour_deg: FloatArray
    c_n_db: FloatArray
    accepted_from_db: FloatArray
    c_n_difference_db: FloatArray
    cross_polar_db: FloatArray
    cable_feet: BoolArray
    measured_cable_m: FloatArray
    cable_loss_db: FloatArray
    cable_loss_difference_db: FloatArray
    cable_difference_m: FloatArray
    planned_cable_m: FloatArray
    buc_voltage_v: FloatArray
    expected_voltage_v: FloatArray
    clearance_deg: FloatArray
    margin_db: FloatArray
    after_db: FloatArray
    built_margin_db: FloatArray
    stopped_by: TextArray
    least_v: float
    wanted_cross_polar_db: float
    linear: BoolArray | bool
    no_kit: BoolArray
    id_written: TextArray


def findings(x: Evidence) -> Found:
    """Return where each finding holds: of a site without kit those of its place alone."""
    short = x.c_n_db < x.accepted_from_db
    of_kit = {**_pointing(x, short), **_skew(x), **_cable(x), **_level(x, short)}
    of_kit |= _not_served(x)
    kept = {key: where & ~x.no_kit for key, where in of_kit.items()}
    eaten = {"asbuilt.id_eaten": x.id_written != ""}
    return {**eaten, **_place(x), **kept, **_without_kit(x)}


def figures(x: Evidence) -> dict[str, Any]:
    """Return the numbers of the sentences; beside a limit, with as many digits as it takes."""
    # Adding zero turns the minus zero that rounding leaves into plain zero.
    rounded = {
        k: at_decimals(v, 5 if k.startswith("read_") else 1)
        if isinstance(v, np.ndarray) and v.dtype == float
        else v
        for k, v in vars(x).items()
    }
    return rounded | {
        "differing": _differing(x),
        "rim_apart_deg": at_decimals(x.rim_error_deg - x.elevation_error_deg, 1),
        "isolation": _beside(x.cross_polar_db, x.wanted_cross_polar_db, 0),
        "voltage": _beside(x.buc_voltage_v, x.least_v, 1),
        "c_n": _beside(x.c_n_db, x.accepted_from_db, 1),
        "clearance": _beside(x.clearance_deg, 0.0, 1),
        "missed": _beside(-x.built_margin_db, 0.0, 1),
        "cable_less_db": at_decimals(-x.cable_loss_difference_db, 1),
        "far_km": _beside(x.moved_m / 1000, FAR_M / 1000, 1),
        "far_limit_km": FAR_M / 1000,
    }


def _differing(x: Evidence) -> TextArray:
    """Return which angles differ from plan (m,), those that came back alone."""
    no_azimuth, no_elevation = np.isnan(x.azimuth_error_deg), np.isnan(x.elevation_error_deg)
    numbers = {
        "azimuth_error_deg": at_decimals(x.azimuth_error_deg, 1),
        "elevation_error_deg": at_decimals(x.elevation_error_deg, 1),
    }
    told = (
        ("asbuilt.angles_differ", ~no_azimuth & ~no_elevation),
        ("asbuilt.azimuth_differs", ~no_azimuth & no_elevation),
        ("asbuilt.elevation_differs", no_azimuth & ~no_elevation),
    )
    n, words = len(no_azimuth), english()
    return join([(where, words.many(key, numbers, n)[where]) for key, where in told], "", n)


def _beside(values: FloatArray, limit: float | FloatArray, decimals: int) -> TextArray:
    """Return numbers (m,) as texts that stand on their side of a limit."""
    limits = np.broadcast_to(limit, values.shape).tolist()
    texts = [beside(*pair, decimals) for pair in zip(values.tolist(), limits, strict=True)]
    return np.array([*texts, ""], dtype=object)[:-1]


def _place(x: Evidence) -> Found:
    """Return what position and altitude tell."""
    moved = x.moved_m > MOVED_M
    return {
        "asbuilt.position_swapped": x.swapped,
        "asbuilt.position_sign": x.sign_lost,
        "asbuilt.moved": moved & x.sees & ~x.no_kit,
        "asbuilt.moved_without_kit": moved & x.sees & x.no_kit,
        "asbuilt.moved_out_of_sight": moved & ~x.sees,
        "asbuilt.far_away": x.moved_m > FAR_M,
        "asbuilt.altitude_feet": x.altitude_feet,
    }


def _not_served(x: Evidence) -> Found:
    """Return where the plan itself does not serve the site, however well it was built."""
    missed = np.round(x.built_margin_db, 6) < 0
    moved = x.moved_m > MOVED_M
    return {
        "asbuilt.target_missed": missed & ~moved,
        "asbuilt.target_missed_there": missed & moved,
        "asbuilt.stopped": np.asarray(x.stopped_by != "", dtype=bool),
    }


def _without_kit(x: Evidence) -> Found:
    """Return that there is nothing to accept, and whether a dish seems to stand there."""
    measured = (x.c_n_db, x.cross_polar_db, x.cable_loss_db, x.buc_voltage_v)
    stands = np.logical_or.reduce([~np.isnan(values) for values in measured])
    return {
        "asbuilt.no_kit": x.no_kit & ~stands,
        "asbuilt.unplanned_kit": x.no_kit & stands,
    }


def _pointing(x: Evidence, short: BoolArray) -> Found:
    """Return what the angles tell, known mistakes first."""
    off_azimuth = np.abs(x.azimuth_error_deg) > AZIMUTH_READING_DEG
    off_elevation = np.abs(x.elevation_error_deg) > ELEVATION_READING_DEG
    beside_it = x.neighbour_deg < np.minimum(x.pointing_error_deg / 2, MATCH_DEG)
    beside_it &= off_azimuth | off_elevation
    azimuths = _azimuths(x, off_azimuth & ~beside_it)
    elevations = _elevations(x, off_elevation & ~beside_it)
    known = (np.logical_or.reduce(list(group.values())) for group in (azimuths, elevations))
    azimuth_known, elevation_known = known
    wrong = (off_azimuth & ~azimuth_known) | (off_elevation & ~elevation_known)
    wrong &= ~beside_it
    far_off = ~azimuth_known & (np.abs(x.azimuth_error_deg) > FAR_OFF_AZIMUTH_DEG)
    far_off |= ~elevation_known & (np.abs(x.elevation_error_deg) > FAR_OFF_ELEVATION_DEG)
    level = ~np.isnan(x.c_n_db)
    return {
        "asbuilt.wrong_satellite": beside_it,
        **azimuths,
        **elevations,
        "asbuilt.mispointed": wrong & short,
        "asbuilt.angles_misread": wrong & ~short & level & ~far_off,
        "asbuilt.angles_far_off": wrong & ~short & level & far_off,
        "asbuilt.maybe_mispointed": wrong & ~level,
        "asbuilt.azimuths_apart": np.abs(x.azimuths_apart_deg) > AZIMUTH_READING_DEG,
        **_rim(x, off_elevation & ~wrong),
    }


def _rim(x: Evidence, explained: BoolArray) -> Found:
    """Return what the inclinometer on the rim tells beside an elevation, and alone.

    ``explained`` (m,) says where the elevation's difference has its finding already.
    """
    apart = np.abs(x.rim_error_deg - x.elevation_error_deg) > RIM_APART_DEG
    alone = np.isnan(x.elevation_error_deg) & (np.abs(x.rim_error_deg) > ELEVATION_READING_DEG)
    return {"asbuilt.rim_apart": apart & ~explained, "asbuilt.rim_alone": alone}


def _azimuths(x: Evidence, off: BoolArray) -> Found:
    """Return the known mistakes in azimuth: read from in front, declination left out or reversed.

    True is magnetic plus declination. Left out, a compass bearing written as a true one is off
    by minus the declination, a true one in the compass's column by plus it; the wrong way round,
    reading or dish is off by twice the declination to one side or the other.
    """
    error, declination = x.azimuth_error_deg, x.declination_deg
    round_ = off & (np.abs(np.abs(error) - 180) <= AZIMUTH_READING_DEG)
    left_out = np.where(x.true_given, -declination, declination)
    once = off & ~round_ & (np.abs(error - left_out) < MATCH_DEG)
    twice = np.abs(np.abs(error) - 2 * np.abs(declination)) < MATCH_DEG
    return {
        "asbuilt.turned_round": round_,
        "asbuilt.magnetic_bearing": once & x.true_given,
        "asbuilt.true_bearing": once & ~x.true_given,
        "asbuilt.declination_reversed": off & ~round_ & ~once & twice,
    }


def _elevations(x: Evidence, off: BoolArray) -> Found:
    """Return the known mistakes in elevation: the rim's tilt, the angle from overhead."""
    error = x.elevation_error_deg
    rim = off & (x.offset_deg > 0) & (np.abs(np.abs(error) - x.offset_deg) < MATCH_DEG)
    planned = x.measured_elevation_deg - error
    zenith = np.abs(x.measured_elevation_deg - (90 - planned)) < MATCH_DEG
    return {"asbuilt.offset_reading": rim, "asbuilt.zenith_angle": off & ~rim & zenith}


def _skew(x: Evidence) -> Found:
    """Return what skew and cross-polar isolation tell."""
    off = np.abs(x.skew_error_deg) > SKEW_READING_DEG
    # Near 45 degrees of skew a quarter turn and the other sign look alike: the worse counts.
    turned = off & (np.abs(np.abs(x.skew_error_deg) - 90) < SKEW_READING_DEG)
    mirrored = off & ~turned & (np.abs(x.mirrored_skew_deg) < SKEW_READING_DEG)
    return {
        "asbuilt.skew_mirrored": mirrored,
        "asbuilt.skew_swapped": turned,
        "asbuilt.skew_off": off & ~mirrored & ~turned,
        "asbuilt.cross_polar": x.cross_polar_db < x.wanted_cross_polar_db,
        "asbuilt.no_isolation": np.isnan(x.cross_polar_db) & x.linear,
    }


def _cable(x: Evidence) -> Found:
    """Return what cable and supply tell."""
    part = CABLE_EXCESS_PART * x.cable_loss_db
    lossy = x.cable_loss_difference_db > np.maximum(CABLE_EXCESS_DB, part)
    low_part = CABLE_LOW_PART * x.cable_loss_db
    too_low = x.cable_loss_difference_db < -np.maximum(CABLE_LOW_DB, low_part)
    longer = x.cable_difference_m > np.maximum(
        CABLE_LONGER_M, CABLE_LONGER_PART * x.planned_cable_m
    )
    low = x.buc_voltage_v < x.expected_voltage_v - VOLTAGE_SHORT_V
    starved = x.buc_voltage_v < x.least_v
    return {
        "asbuilt.cable_feet": x.cable_feet,
        "asbuilt.cable_longer": longer,
        "asbuilt.cable_lossy": lossy,
        "asbuilt.cable_loss_low": too_low,
        "asbuilt.low_voltage": low & ~starved,
        "asbuilt.voltage_starved": starved,
    }


def _level(x: Evidence, short: BoolArray) -> Found:
    """Return what stands in the beam, and what the level tells by itself."""
    missing = np.isnan(x.c_n_db)
    return {
        "asbuilt.blocked": x.clearance_deg < 0,
        "asbuilt.short": short,
        "asbuilt.too_good": x.c_n_difference_db > TOO_GOOD_DB,
        "asbuilt.no_c_n": missing,
        "asbuilt.nothing_expected": ~missing & np.isnan(x.accepted_from_db),
    }
