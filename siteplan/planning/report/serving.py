"""Which sites are served as planned: the one answer that summary, report and workbook count by."""

from __future__ import annotations

from typing import Final

import numpy as np

from siteplan.arrays import BoolArray
from siteplan.fields import FLAGS
from siteplan.planning.assembly import given
from siteplan.planning.report.thinning import carrying
from siteplan.results import Plan

#: Flags that say that a site is not served as planned, whatever its margin. What is told of the
#: plan as a whole stops no site of its own: margins hold what it takes.
UNSERVED: Final = tuple(f.code for f in FLAGS.values() if f.severity == "stop" and f.told == "site")


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
