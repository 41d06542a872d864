"""What can go wrong, the worst first, each with what to do about it.

Coordinates that look wrong stand above all: what to do of the others rests on them.
Flags of the sites, and what holds for the plan as a whole. What to do stands in the catalogue of
sentences under ``risk.CODE``; a flag without one cannot be told.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray
from siteplan.fields import COORDINATE_DOUBT, FLAGS
from siteplan.messages import english
from siteplan.reported import SEVERITIES, Ranked, Risk
from siteplan.results import Facts

#: How many of a risk's sites are named.
EXAMPLES = 3


def with_flag(flags: NDArray[Any]) -> dict[str, BoolArray]:
    """Return at which sites (n,) each flag stands that some site has, in the flags' order."""
    texts, which = np.unique(flags.astype(object), return_inverse=True)
    codes = [frozenset(text.split(";")) for text in texts.tolist()]
    found = {}
    for code in FLAGS:
        here = np.array([code in of_text for of_text in codes], dtype=bool)
        if here.any():
            found[code] = here[which]
    return found


def risks(
    columns: Mapping[str, NDArray[Any]],
    flagged: Mapping[str, BoolArray],
    facts: Facts,
    ranked: tuple[Ranked, ...],
    *,
    tight: BoolArray,
    tight_db: float,
) -> tuple[tuple[Risk, NDArray[np.intp]], ...]:
    """Return the risks, the worst first, each with the first of its sites (at most `EXAMPLES`).

    Parameters
    ----------
    columns : mapping of arrays (n,)
        Result fields.
    flagged : mapping of (n,) arrays of bool
        Where each flag stands.
    facts : Facts
        Of the plan as a whole.
    ranked : tuple of Ranked
        What was assumed.
    tight : (n,) array of bool
        Served sites with less than ``tight_db`` left after the reserve.
    """
    others = {code: where for code, where in flagged.items() if code != COORDINATE_DOUBT}
    found = [*_of_flags(others), *_of_sites(columns, tight, tight_db), *_of_plan(facts, ranked)]
    found.sort(key=lambda risk: (SEVERITIES.index(risk[0].severity), -risk[0].sites))
    # All that is advised of a site rests on where it is.
    doubt = {code: where for code, where in flagged.items() if code == COORDINATE_DOUBT}
    return (*_of_flags(doubt), *found)


def _of_flags(flagged: Mapping[str, BoolArray]) -> Iterator[tuple[Risk, NDArray[np.intp]]]:
    """Yield a risk for each flag that some site has."""
    for code, where in flagged.items():
        flag, todo = FLAGS[code], english().one(f"risk.{code}")
        yield _at_sites(flag.severity, where, flag.meaning, todo)


def _of_sites(
    columns: Mapping[str, NDArray[Any]], tight: BoolArray, tight_db: float
) -> Iterator[tuple[Risk, NDArray[np.intp]]]:
    """Yield the risks of sites that no flag tells."""
    told = english()
    for code, where in (
        ("tight", tight),
        ("provisional", columns["mount_certainty"] == "provisional"),
        ("hub_rain", columns["limiting_end"] == "hub"),
    ):
        if where.any():
            what = told.one(f"risk.plan.{code}.what", tight_db=tight_db)
            yield _at_sites("warn", where, what, told.one(f"risk.plan.{code}"))


def _of_plan(facts: Facts, ranked: tuple[Ranked, ...]) -> Iterator[tuple[Risk, NDArray[np.intp]]]:
    """Yield the risks of the plan as a whole."""
    told, nobody = english(), np.empty(0, dtype=np.intp)
    if facts.rejected:
        what = told.one("risk.plan.rejected.what")
        yield Risk("stop", facts.rejected, what, told.one("risk.plan.rejected")), nobody
    for code, count in facts.told_once:
        if FLAGS[code].severity == "stop" and count:
            todo = told.one(f"risk.{code}")
            yield Risk("stop", count, FLAGS[code].meaning, todo), nobody
    for caution in facts.cautions:
        yield Risk("warn", 0, caution, told.one("risk.plan.hub")), nobody
    deciding = sum(len(r.values) for r in ranked if r.weight == "decides")
    if deciding:
        what = told.one("risk.plan.assumed.what", count=deciding)
        yield Risk("warn", 0, what, told.one("risk.plan.assumed")), nobody


def _at_sites(
    severity: str, where: BoolArray, what: str, todo: str
) -> tuple[Risk, NDArray[np.intp]]:
    """Return a risk of some sites, and the first of them."""
    at = np.flatnonzero(where)
    return Risk(severity, len(at), what, todo), at[:EXAMPLES]
