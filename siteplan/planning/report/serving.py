"""Which sites are served as planned: the one answer that summary, report and workbook count by."""

from __future__ import annotations

import numpy as np

from siteplan.arrays import BoolArray
from siteplan.fields import UNSERVED
from siteplan.planning.assembly import given
from siteplan.planning.kit.needy import TIGHT_DB
from siteplan.planning.report.thinning import carrying
from siteplan.results import Plan


def served(plan: Plan) -> BoolArray:
    """Return the sites (n,) that are served as planned.

    They have a pair, picked or installed, whose margin at the target is not below zero, and none
    of the flags ``UNSERVED``: a beam that is blocked serves nobody.

    Parameters
    ----------
    plan : Plan
        The results; of its columns the kit, ``margin_db`` and ``flags``.
    """
    c = plan.columns
    holds = np.round(c["margin_db"], 6) >= 0
    return np.asarray(given(c)["kit"] & holds & ~carrying(c["flags"], frozenset(UNSERVED)))


def tight(plan: Plan) -> BoolArray:
    """Return the sites (n,) that are served with less than ``TIGHT_DB`` left after the reserve."""
    after = np.nan_to_num(np.round(plan.columns["margin_after_reserve_db"], 6))
    return np.asarray(served(plan) & (after < TIGHT_DB))
