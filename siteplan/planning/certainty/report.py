"""How sure the plan is, for the report: sites by grade, and those that a bad year hits first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray, IntArray
from siteplan.network import Network
from siteplan.planning.assembly import given
from siteplan.planning.certainty.grade import LETTERS
from siteplan.planning.certainty.sure import chance_rows
from siteplan.reported import Sure, SureSite
from siteplan.results import Plan

#: How many of the sites with the worst years are told one by one.
MOST = 6


def riskiest(columns: Mapping[str, NDArray[Any]], served: BoolArray) -> IntArray:
    """Return the served sites that a single year is likeliest to fail, the worst first.

    Those whose chance is not known stand last.
    """
    rows = np.flatnonzero(served)
    risk = columns["year_risk_pct"][rows]
    order = np.lexsort((columns["availability_achieved_pct"][rows], -np.nan_to_num(risk, nan=-1)))
    return rows[order][:MOST]


def sure(columns: Mapping[str, NDArray[Any]], network: Network, some: Plan, at: list[int]) -> Sure:
    """Return how sure the plan is.

    Parameters
    ----------
    columns : mapping of arrays (n,)
        Result fields of all sites.
    network : Network
        Whose basis and climate hold.
    some : Plan
        Sites that were looked up, with all their columns.
    at : list of int
        Where those with the worst years stand among them.
    """
    letters = Counter(columns["certainty"].tolist())
    kit = given(columns)["kit"]
    return Sure(
        letters=tuple((letter, letters[letter]) for letter in LETTERS if letters[letter]),
        todo=_commonest(columns),
        basis=network.network.availability_basis,
        climate_ratio=network.climate.ratio,
        median_risk_pct=_middle(columns["year_risk_pct"][kit]),
        unknown_risk=int(np.isnan(columns["year_risk_pct"][kit]).sum()),
        median_month_pct=_middle(columns["worst_month_availability_pct"][kit]),
        worst=tuple(_site(some, k) for k in at),
        chances=chance_rows(columns),
    )


def _commonest(columns: Mapping[str, NDArray[Any]]) -> tuple[tuple[str, str, int], ...]:
    """Return what to do for a better grade: letter, sentence, sites; the most sites first."""
    pairs = zip(columns["certainty"].tolist(), columns["certainty_next"].tolist(), strict=True)
    counted = Counter(pair for pair in pairs if pair[0] != "A")
    return tuple((letter, text, n) for (letter, text), n in counted.most_common(len(LETTERS)))


def _middle(values: FloatArray) -> float:
    known = values[~np.isnan(values)]
    return float(np.median(known)) if known.size else float("nan")


def _site(some: Plan, k: int) -> SureSite:
    c = some.columns
    return SureSite(
        str(c["site_id"][k]),
        str(c["name"][k]),
        str(c["certainty"][k]),
        *(
            float(c[name][k])
            for name in (
                *("availability_achieved_pct", "year_risk_pct", "worst_month_availability_pct"),
                *("outages_over_10_s", "outages_over_10_min", "margin_confidence_pct"),
            )
        ),
    )
