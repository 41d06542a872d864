"""What adaptive carriers bring, in short: counts that parts of a plan add up, and their medians."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.network import Network
from siteplan.planning.link.coding import information_rate_kbit_s
from siteplan.planning.link.whatif import DIRECTIONS

#: Fields of a direction that are told by their median, and those counted by value.
MEDIANS = ("target_kbit_s", "clear_kbit_s", "mean_kbit_s", "no_service_pct")
COUNTED = ("target_modcod", "clear_modcod")
#: Digits that a figure is counted with: so few that parts of a large plan stay small.
_DIGITS = 4

#: Sites by field and value.
Rates = dict[str, Counter[str]]


def rates(columns: Mapping[str, NDArray[Any]]) -> Rates:
    """Return the number of sites by each field's value; nothing of carriers that do not adapt."""
    found: Rates = {}
    for name in (f"{way}_{field}" for way in DIRECTIONS for field in (*MEDIANS, *COUNTED)):
        if name not in columns:
            continue
        values = columns[name]
        if values.dtype == object:
            found[name] = Counter(v for v in values.tolist() if v)
        else:
            some = values[~np.isnan(values)].tolist()
            found[name] = Counter(f"{v:.{_DIGITS}g}" for v in some)
    return found


def added(one: Rates, other: Rates) -> Rates:
    """Return the counts of two parts of a plan together."""
    names = dict.fromkeys((*one, *other))
    return {name: one.get(name, Counter()) + other.get(name, Counter()) for name in names}


def figures(counted: Rates, network: Network) -> dict[str, Any]:
    """Return the summary's figures of each adaptive carrier; medians over sites with kit.

    What beams have unlike one another is not told: their MODCODs joined, and no fixed rate.
    """
    found = {}
    own = [network.of_beam(beam.name) for beam in network.beams] or [network]
    for way in DIRECTIONS:
        carriers = [carrier for one in own if (carrier := getattr(one, way)).adaptive]
        if carriers:
            carrier, fixed = carriers[0], {information_rate_kbit_s(of) for of in carriers}
            one = fixed.pop() if len(fixed) == 1 else None
            found[way] = {
                "modcod": " or ".join(dict.fromkeys(of.modcod or "" for of in carriers)),
                "fixed_kbit_s": None if one is None else round(one, 1),
                **{f"{k}_median": _median(counted.get(f"{way}_{k}", Counter())) for k in MEDIANS},
                **{f"{k}s": dict(_most(counted.get(f"{way}_{k}", Counter()))) for k in COUNTED},
                "assumes": "a linear transponder; a MODCOD is used from"
                f" {carrier.hysteresis_db:g} dB over its need",
            }
    return {"coding": found} if found else {}


def _most(counter: Counter[str]) -> list[tuple[str, int]]:
    return sorted(counter.items(), key=lambda item: (-item[1], item[0]))


def _median(counter: Counter[str]) -> float | None:
    """Return the median of counted numbers: of an even number the mean of the middle two."""
    values = sorted(counter, key=float)
    if not values:
        return None
    ends = np.cumsum([counter[v] for v in values])
    middle = np.searchsorted(ends, [(ends[-1] - 1) // 2, ends[-1] // 2], side="right")
    return float(np.mean([float(values[k]) for k in middle]))
