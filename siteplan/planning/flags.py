"""Flags: what to know of a site before going there, as stable codes and sentences."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.fields import FLAGS
from siteplan.messages import fill, join
from siteplan.model import Note

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
TextArray = NDArray[np.object_]

#: Elevations under this see a long path in rain and near obstacles [deg]; common practice.
LOW_ELEVATION_DEG = 15.0
#: Elevation below which ITU-R P.676 annex 2 and P.618 section 2.4.1 do not hold [deg].
METHOD_ELEVATION_DEG = 5.0
#: Rain rates exceeded for 0.01 % of the year that count as heavy [mm/h]; common practice.
HEAVY_RAIN_MM_H = 80.0
#: A reflector leaning back more than this from the vertical holds water [deg]; common practice.
NEAR_VERTICAL_TILT_DEG = 70.0
#: A position error of 1 km that turns the azimuth by more than this matters [deg/km].
SENSITIVE_DEG_KM = 0.1
#: Percentage of time below which the prediction is uncertain [%] (scintillation's lower end).
SMALL_P_PCT = 0.01


class Flags(NamedTuple):
    """Codes and sentences of each site (n,), joined."""

    codes: TextArray
    notes: TextArray


@dataclass(frozen=True)
class FlagInputs:
    """What the flags are decided from: arrays (n,), and the rules' limits.

    ``outage_pct`` is the smallest percentage of time that any answer of the site rests on:
    the target's, and those of the availabilities achieved. ``depression_deg`` is how far the
    satellite stands below the horizon (negative above it).
    """

    depression_deg: FloatArray
    elevation_deg: FloatArray
    reflector_tilt_deg: FloatArray
    azimuth_turn_deg_km: FloatArray
    rain_rate_mm_h: FloatArray
    margin_db: FloatArray
    kit_given: BoolArray
    no_fit: BoolArray
    no_fit_reason: TextArray
    share_excess_db: FloatArray
    outage_pct: FloatArray
    capped: BoolArray
    low_availability: BoolArray
    compass_reliable: BoolArray
    magnetic_valid: bool
    reserve_db: float
    min_elevation_deg: float


def flags(
    inputs: FlagInputs,
    notes: Mapping[int, tuple[Note, ...]],
    raised: Mapping[str, tuple[BoolArray, TextArray]] = MappingProxyType({}),
) -> Flags:
    """Return the flags of each site, the worst first.

    Parameters
    ----------
    inputs : FlagInputs
        Results of the other steps.
    notes : mapping
        Index of a site to what reading it mended or doubted.
    raised : mapping
        Code of a flag that another step raised to where (n,), and the sentences there (k,).

    Returns
    -------
    Flags
        Codes joined by ``;`` in the order of ``siteplan.fields.FLAGS``, and their sentences.
    """
    n = len(inputs.elevation_deg)
    values = {
        name: value
        for name, value in vars(inputs).items()
        if isinstance(value, np.ndarray) and value.dtype == float
    }
    found: dict[str, tuple[BoolArray, TextArray]] = {}
    for code, mask, sentence in _conditions(inputs):
        found[code] = mask, fill(sentence, {k: v[mask] for k, v in values.items()})
    found["no_fit"] = inputs.no_fit, inputs.no_fit_reason[inputs.no_fit]
    found |= raised
    found |= _from_notes(notes, n)
    ordered = [(code, found[code]) for code in FLAGS if code in found]
    return Flags(
        join([(m, np.full(int(m.sum()), code, object)) for code, (m, _) in ordered], ";", n),
        join([pair for _, pair in ordered], " ", n),
    )


Condition = tuple[str, BoolArray, str]


def _conditions(x: FlagInputs) -> list[Condition]:
    """Return code, mask (n,) and sentence of every flag that results decide."""
    return [
        *_place_conditions(x),
        *_compass_conditions(x),
        *_margin_conditions(x),
        *_answer_conditions(x),
    ]


def _place_conditions(x: FlagInputs) -> list[Condition]:
    """Return what the place decides."""
    seen = ~np.isnan(x.elevation_deg)
    return [
        (
            "below_horizon",
            ~seen,
            "The satellite is {depression_deg:.1f} deg below the horizon: check the"
            " sign of the longitude, or choose another satellite.",
        ),
        (
            "below_min_elevation",
            x.elevation_deg < x.min_elevation_deg,
            "Elevation {elevation_deg:.1f} deg is under the network's minimum of"
            f" {x.min_elevation_deg:g} deg.",
        ),
        (
            "method_range",
            x.elevation_deg < METHOD_ELEVATION_DEG,
            f"Elevation is under {METHOD_ELEVATION_DEG:g} deg, where the gas and scintillation"
            " methods no longer hold: the figures are indicative, no kit is picked.",
        ),
        (
            "low_elevation",
            x.elevation_deg < LOW_ELEVATION_DEG,
            "Elevation {elevation_deg:.1f} deg is low: survey the horizon for trees, buildings"
            " and hills.",
        ),
        (
            "heavy_rain",
            x.rain_rate_mm_h >= HEAVY_RAIN_MM_H,
            "Rain reaches {rain_rate_mm_h:.0f} mm/h for 0.01 % of the year.",
        ),
        (
            "near_vertical",
            x.reflector_tilt_deg >= NEAR_VERTICAL_TILT_DEG,
            "The reflector leans back {reflector_tilt_deg:.0f} deg from the vertical: provide"
            " a drain, and check that the mount reaches that elevation.",
        ),
        (
            "azimuth_sensitive",
            seen & ~(x.azimuth_turn_deg_km < SENSITIVE_DEG_KM),
            "The satellite is nearly overhead: a position error of 1 km turns the azimuth by"
            " {azimuth_turn_deg_km:.1f} deg; measure the position on site.",
        ),
    ]


def _compass_conditions(x: FlagInputs) -> list[Condition]:
    """Return what the compass and the magnetic model decide."""
    everyone = np.full(len(x.elevation_deg), not x.magnetic_valid)
    return [
        (
            "compass_unreliable",
            ~x.compass_reliable & x.magnetic_valid,
            "The earth's field is too steep for a compass here: take bearings from the sun or"
            " from a map.",
        ),
        (
            "magnetic_model_date",
            everyone,
            "The plan's date is outside the magnetic model (2025 to 2029): no magnetic azimuth.",
        ),
    ]


def _margin_conditions(x: FlagInputs) -> list[Condition]:
    """Return what the link decides."""
    margin = np.round(x.margin_db, 6)
    return [
        (
            "margin_negative",
            x.kit_given & (margin < 0),
            "The margin at the target is {margin_db:.1f} dB: the target is missed.",
        ),
        (
            "margin_short",
            x.kit_given & (margin >= 0) & (margin < x.reserve_db),
            f"The margin of {{margin_db:.1f}} dB is under the reserve of {x.reserve_db:g} dB.",
        ),
        (
            "power_share",
            x.kit_given & (x.share_excess_db > 0),
            "In clear sky the inbound carrier takes {share_excess_db:.1f} dB more than its"
            " bandwidth's share of the transponder's power: turn the BUC down, or lease it.",
        ),
    ]


def _answer_conditions(x: FlagInputs) -> list[Condition]:
    """Return how far the answers can be trusted."""
    return [
        (
            "availability_capped",
            x.capped,
            "The margin holds to the end of the method: at least one direction achieves more"
            " than 99.999 %.",
        ),
        (
            "availability_low",
            x.low_availability,
            "At least one direction does not even hold for half of the year.",
        ),
        (
            "small_p",
            x.outage_pct < SMALL_P_PCT,
            f"An answer rests on outages under {SMALL_P_PCT:g} % of the year, where the"
            " prediction is uncertain.",
        ),
    ]


def _from_notes(
    notes: Mapping[int, tuple[Note, ...]], n: int
) -> dict[str, tuple[BoolArray, TextArray]]:
    """Return mask and sentences of each code that the reading of the sites gave."""
    gathered: dict[str, dict[int, str]] = {}
    for index, of_site in notes.items():
        for note in of_site:
            texts = gathered.setdefault(note.code, {})
            texts[index] = f"{texts[index]} {note.sentence}" if index in texts else note.sentence
    found = {}
    for code, texts in gathered.items():
        mask = np.zeros(n, dtype=bool)
        rows = sorted(texts)
        mask[rows] = True
        found[code] = mask, np.array([texts[i] for i in rows] + [""], dtype=object)[:-1]
    return found
