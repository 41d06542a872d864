"""Why a site has no kit, in a sentence, with the nearest miss."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.messages import fill

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True)
class Shortfall:
    """What the reasons are made of: arrays (n,), and the lowest elevation that gets kit.

    ``installed`` is where a dish or a BUC stands already. ``dish_m`` and ``buc_w`` are the
    largest pair that was tried, ``short_db`` how far it misses margin and reserve, ``fade_db``
    what the sky takes in the limiting direction.
    """

    missing: BoolArray
    installed: BoolArray
    outbound: BoolArray
    elevation_deg: FloatArray
    floor_deg: float
    dish_m: FloatArray
    buc_w: FloatArray
    short_db: FloatArray
    fade_db: FloatArray
    required_m: FloatArray


def no_fit_reasons(x: Shortfall) -> NDArray[np.object_]:
    """Return why each site has no kit (n,); empty where it has."""
    numbers = {k: v for k, v in vars(x).items() if isinstance(v, np.ndarray) and v.dtype == float}
    reason = np.full(len(x.missing), "", dtype=object)
    for mask, template in _templates(x):
        reason[mask] = fill(template, {k: v[mask] for k, v in numbers.items()})
    return reason


def _templates(x: Shortfall) -> list[tuple[BoolArray, str]]:
    """Return where each sentence applies; no two apply to one site."""
    seen = x.missing & ~np.isnan(x.elevation_deg)
    low = seen & (x.elevation_deg < x.floor_deg)
    short = seen & ~low
    known = ~np.isnan(x.required_m)
    nothing = "Nothing in the catalogue meets the target with the reserve: the nearest, {pair}, is"
    beside = "Nothing beside the installed kit meets the target with the reserve: {pair} is"
    tail = "{{short_db:.1f}} dB short {way}, where the sky takes {{fade_db:.1f}} dB;"
    would = "with that BUC some {required_m:.1f} m would do"
    never = "no antenna up to 30 m would do with that BUC"
    found = [
        (x.missing & ~seen, "The satellite is below the horizon."),
        (
            low,
            f"Elevation {{elevation_deg:.1f}} deg is under {x.floor_deg:g} deg: no kit is picked.",
        ),
    ]
    pair = "{dish_m:.3g} m with {buc_w:.3g} W"
    for start, is_start in ((nothing, ~x.installed), (beside, x.installed)):
        for way, side in (("outbound", x.outbound), ("inbound", ~x.outbound)):
            for advice, is_known in ((would, known), (never, ~known)):
                template = f"{start.format(pair=pair)} {tail.format(way=way)} {advice}."
                found.append((short & is_start & side & is_known, template))
    return found
