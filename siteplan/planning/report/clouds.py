"""Which cloud maps a plan used, and how far totals lie from ITU-R's examples with each edition."""

from __future__ import annotations

from types import MappingProxyType
from typing import Any

from siteplan.messages import english
from siteplan.results import Facts

#: The editions of cloud maps, the older first.
EDITIONS = ("P.840-7", "P.840-9")
#: Farthest that the total lies from P.618-14's own examples [dB], by frequency [GHz], with the maps
#: of P.840-7 and with those of P.840-9. ITU-R Study Group 3, validation examples, revision 8.3.0,
#: all rows; measured anew by ``tests/reference/test_itu_total.py``.
RESIDUALS_DB = MappingProxyType(
    {
        13.75: (0.104, 0.010),
        14.25: (0.449, 0.041),
        17.0: (0.145, 0.054),
        20.0: (0.880, 0.108),
    }
)
#: The examples at 17 GHz are of one place. Most by which the totals of the two editions differ
#: there at the places of the other examples, at 1, 0.1, 0.01 and 0.001 % of time [dB].
APART_AT_17_GHZ_DB = 0.597


def figures(facts: Facts) -> dict[str, Any]:
    """Return the edition in use, where its maps come from, and both residuals, for the summary."""
    return {
        "edition": facts.cloud_edition,
        "current": facts.cloud_edition == EDITIONS[1],
        "maps": facts.cloud_maps,
        "residual_db": {
            f"{ghz:g} GHz": dict(zip(EDITIONS, pair, strict=True))
            for ghz, pair in RESIDUALS_DB.items()
        },
    }


def limit(facts: Facts) -> str:
    """Return the sentence that tells what the clouds rest on and what follows from it."""
    older, current = (
        [f"{pair[k]:.3f} dB at {ghz:g} GHz" for ghz, pair in RESIDUALS_DB.items()] for k in (0, 1)
    )
    key = "clouds_current" if facts.cloud_edition == EDITIONS[1] else "clouds_older"
    return english().one(
        f"limit.{key}",
        maps=facts.cloud_maps,
        older=_listed(older),
        current=_listed(current),
        apart_db=APART_AT_17_GHZ_DB,
    )


def in_short(facts: Facts) -> str:
    """Return what the clouds rest on in a plain sentence, with the greatest residual."""
    current = facts.cloud_edition == EDITIONS[1]
    most_db = max(pair[current] for pair in RESIDUALS_DB.values())
    key = "report.clouds_current" if current else "report.clouds_older"
    return english().one(key, most_db=most_db)


def method(facts: Facts) -> str:
    """Return the row of the dictionary's methods that holds: the other edition's is left out."""
    return "cloud, current maps" if facts.cloud_edition == EDITIONS[1] else "cloud"


def _listed(words: list[str]) -> str:
    return f"{', '.join(words[:-1])} and {words[-1]}"
