"""An invented plan with everything that the site pack knows, at its longest."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.answers import Tuned
from siteplan.fields import FIELDS, FLAGS
from siteplan.model import Assumption
from siteplan.results import Plan

#: The longest sentences that the planning steps make, at their usual length.
REASON = (
    "A ballasted frame: the flat roof takes it without a hole, the ballast stays under the roof's"
    " limit, and the parapet is looked over from 3.4 m behind it. Against it: snow takes up part"
    " of the limit. Check the roof's skin and its load with the owner."
)
OPTIONS = (
    "Pole, 45 of 100; for: any bearing, carries large dishes; against: ground beside the building"
    " has to be found, digging and concrete, deep footing in this wind. Wall bracket: beyond a"
    " planning limit: the satellite 143.0 deg from the way the wall faces, planning limit 70 deg."
    " Non-penetrating roof frame, 80 of 100; for: roof stays unpierced, any bearing, out of reach;"
    " against: much ballast to carry up, low beam: stand clear of the parapet's shadow, snow adds"
    " to the roof's load. Ballasted frame on the ground, 10 of 100; for: no digging, any bearing;"
    " against: people and animals reach it: fence it, much ballast to bring, snow can bury the"
    " lower rim."
)
TEXTS = {
    "mount": "non_penetrating",
    "mount_certainty": "provisional",
    "mount_question": "What does this roof carry?",
    "mount_reason": REASON,
    "mount_options": OPTIONS,
    "wind_source": "assumed",
    "ballast_governs": "overturning",
    "horizon_source": "survey and terrain",
    "obstacle_kind": "trees",
    "cable_class": "75 ohm, series 11",
    "cable_advice": (
        "No class of the catalogue works over 140 m: the supply collapses. A run of 62 m would do,"
        " or a supply of 48 V, or a local supply beside the BUC."
    ),
    "exposure_rule": "ICNIRP 2020 whole body",
    "exposure_basis": (
        "Rated power of 123.4 W less the given 0.75 dB between BUC and feed. Limits at 14.25 GHz:"
        " 10 W/m2 for the public, 50 W/m2 for trained workers (47 CFR 1.1310, ICNIRP 2020)."
    ),
    "stand_off_from": "roof",
    "sun_first_day": "2026-02-27",
    "sun_last_day": "2026-03-08",
    "sun_peak_utc": "2026-03-03T12:04:31",
    "sun_peak_local": "2026-03-03T13:04:31+01:00",
    "sun_outage": "yes",
    "timezone": "America/Argentina/ComodRivadavia",
    "altitude_source": "P.1511",
}
#: Receive and transmit, the second with its spectrum inverted and out of the cable's band.
TUNING = (
    Tuned(True, 11.953125, "vertical", 6.0, 0.2, "DVB-S2 QPSK 3/4", 10.6, 1353.125),
    Tuned(False, 14.25, "horizontal", 0.256, 0.2, "DVB-RCS2 QPSK 1/2", 16.5, 2250.0, True, False),
)
KEYS = ("wind_m_s", "friction", "force_coefficient", "roof_limit_pa", "soil_pa_per_m", "footing_m")


def with_pack(plan: Plan, *, zone: str = "", flags: tuple[str, ...] = ()) -> Plan:
    """Return ``plan`` with the fields and tables of the site pack filled in."""
    n = len(plan)
    up = np.isfinite(plan.columns["elevation_deg"])
    columns: dict[str, NDArray[Any]] = dict(plan.columns)
    for name, field in FIELDS.items():
        if field.group in ("mount", "sky", "cable", "exposure", "sun", "pointing"):
            columns[name] = _column(name, field.is_text, n, up)
    columns["inclinometer_deg"] = columns["elevation_deg"] - 22.0
    columns["mount"] = np.full(n, "non_penetrating", dtype=object)
    for name in ("mount_certainty", "mount_question", "mount_reason"):
        columns[name] = np.full(n, TEXTS[name], dtype=object)
    columns["timezone"] = np.full(n, zone, dtype=object)
    columns["altitude_source"] = np.full(n, "P.1511", dtype=object)
    if flags:
        columns["flags"] = np.full(n, ";".join(flags), dtype=object)
        columns["flag_notes"] = np.full(n, _sentences(flags), dtype=object)
    neighbours = {"neighbours_deg": (10.0, 16.0, 19.2)}
    satellite = plan.network.satellite.model_copy(update=neighbours)
    return dataclasses.replace(
        plan,
        columns=MappingProxyType(columns),
        tables=MappingProxyType(_tables(n, up, columns)),
        network=plan.network.model_copy(update={"satellite": satellite}),
        facts=dataclasses.replace(
            plan.facts,
            install_date="2026-03-10",
            hub_sun=_hub_sun(),
            stand_off_heights_m=(3, 5, 10, 15, 20),
            tuning=TUNING,
        ),
        assumptions=(
            *plan.assumptions,
            *(Assumption(f"site.{key}", "1500", "Pa/m", "Of the site") for key in KEYS * 6),
        ),
    )  # fmt: skip


def _column(name: str, text: bool, n: int, up: NDArray[np.bool_]) -> NDArray[Any]:
    if text:
        return np.where(up, np.full(n, TEXTS.get(name, "text"), dtype=object), "")
    return np.where(up, 123.456 + len(name), np.nan)


def _sentences(flags: tuple[str, ...]) -> str:
    return " ".join(
        f"{FLAGS[f].meaning}: 12.3 dB at 45.6 degrees against a limit of 7.8." for f in flags
    )


def _tables(n: int, up: NDArray[np.bool_], columns: dict[str, Any]) -> dict[str, NDArray[Any]]:
    gap = np.where(up, 0.0, np.nan)[:, None]
    around = np.arange(72) * 5
    horizon = np.where((around > 60) & (around < 240), 8 + 6 * np.sin(around / 9), 0)
    hour = np.arange(24)
    sun_up = np.degrees(np.arcsin(np.clip(np.cos(np.pi * (hour - 12) / 12), -1, 1))) * 0.7
    site = np.repeat(np.flatnonzero(up), 14)
    day = np.concatenate([np.arange(7), np.arange(200, 207)])
    start = np.datetime64("2026-02-27T11:58:03") + np.tile(day, up.sum()) * np.timedelta64(1, "D")
    return {
        "horizon_deg": (np.tile(horizon, (n, 1)) + gap).astype(np.float32),
        "stand_off_m": np.tile([0.0, 7.1, 31.3, 55.5, 79.7], (n, 1)) + gap,
        "sun_site": site.astype(np.int64),
        "sun_start": start.astype("datetime64[s]"),
        "sun_peak": (start + np.timedelta64(400, "s")).astype("datetime64[s]"),
        "sun_end": (start + np.timedelta64(800, "s")).astype("datetime64[s]"),
        "sun_depth_db": np.full(len(site), 7.31),
        "sun_offset_min": np.full(len(site), np.nan),
        "sun_hour_from": np.full(n, np.datetime64("2026-03-10T00:00:00")),
        "sun_hour_azimuth_deg": np.tile((hour * 15.0) % 360, (n, 1)).astype(np.float32),
        "sun_hour_elevation_deg": np.tile(np.where(sun_up > 0, sun_up, np.nan), (n, 1)),
        "sun_on_azimuth": np.tile(
            np.array(["2026-03-10T09:41:07", "NaT"], dtype="datetime64[s]"), (n, 1)
        ),
        "neighbour_azimuth_deg": columns["azimuth_true_deg"][:, None] + np.array([3.0, -3.0, -6.0]),
        "neighbour_elevation_deg": columns["elevation_deg"][:, None] + np.array([0.3, -0.4, -0.9]),
        "neighbour_separation_deg": np.tile([3.2, 3.2, 6.6], (n, 1)) + gap,
    }


def _hub_sun() -> list[dict[str, Any]]:
    return [
        {"start": f"2026-03-0{d}T10:01:00", "peak": f"2026-03-0{d}T10:03:00",
         "end": f"2026-03-0{d}T10:05:00", "depth_db": 9.1}
        for d in range(1, 5)
    ]  # fmt: skip


def every_flag() -> tuple[str, ...]:
    """Return all flags at once: no site can have more."""
    return tuple(FLAGS)


Maker = Callable[..., Plan]


def policy_of(page: str) -> list[tuple[str, str]]:
    """Return the rules of a page's policy: what they govern, and what they allow."""
    (content,) = re.findall(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)">', page)
    words = [rule.strip().partition(" ") for rule in content.split(";")]
    return [(rule, allowed) for rule, _, allowed in words]
