"""Whether a site is built as planned: what sheet, lists, map files and console say of it first.

A site without a pair is not built: nothing is ordered for it, nobody installs. Kit that stands
there already is told of even where it misses the target, since it radiates all the same.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from siteplan.arrays import telling_above
from siteplan.fields import COORDINATE_DOUBT
from siteplan.messages import english
from siteplan.outputs.shown import SiteValues, stated
from siteplan.words import beside

#: Stands over everything else of a site that gets no pair.
DO_NOT_INSTALL = "DO NOT INSTALL"
#: Stands over a site whose installed kit does not do.
MISSES = "MISSES THE TARGET"
#: Flags whose sentence the banner carries.
_BY_BANNER = frozenset(
    ("no_fit", "below_horizon", "outside_beam", "below_min_elevation", "margin_negative")
)
#: Why a site sees nothing, by its flag, and what would do.
_UNSEEN = (
    ("below_horizon", "The satellite is below the horizon.", "Another satellite would do."),
    ("outside_beam", "The site lies in no beam.", "Another one would do."),
)
#: Margins are decided to the sixth decimal.
_DECIDED_DB = 6


class Banner(NamedTuple):
    """The word that stands over a site, the reason, and the flags that these tell of."""

    word: str
    reason: str
    flags: frozenset[str] = _BY_BANNER

    @property
    def text(self) -> str:
        """Word and reason in a line."""
        return f"{self.word}: {self.reason}"


def banner(v: SiteValues) -> Banner | None:
    """Return what stands over a site; None for one that is built as planned."""
    if not v.has_kit:
        return Banner(DO_NOT_INSTALL, v["no_fit_reason"] or "No kit is planned here.")
    margin = v.number("margin_db")
    check = english()["no_fit.doubted"] if _doubted(v) else ""
    for code, what, mend in _UNSEEN:
        if math.isnan(margin) and code in v["flags"].split(";"):
            return Banner(MISSES, f"{check} {what}" if check else f"{what} {mend}")
    if round(margin, _DECIDED_DB) < 0:
        return Banner(MISSES, _missed(v, margin))
    return None


def _doubted(v: SiteValues) -> bool:
    """Return whether the coordinates are to be checked before anything else."""
    return COORDINATE_DOUBT in v["flags"].split(";")


def _missed(v: SiteValues, margin_db: float) -> str:
    """Return by how much the kit misses, where, and what would do."""
    where = [f"limited {v['limiting_direction']}"] if v["limiting_direction"] else []
    where += [f"at the {v['limiting_end']}"] if v["limiting_end"] else []
    short = stated(beside(-margin_db, 0.0, 1), "dB")
    missed = f"The installed {v['antenna_m']} with {v['buc_w']} is {short} short{_joined(where)}."
    return " ".join(filter(None, (missed, _mend(v), "It radiates all the same.")))


def _mend(v: SiteValues) -> str:
    """Return which dish would do; nothing where the hub is to blame, as the flags' words tell."""
    if _doubted(v):
        return english()["no_fit.doubted"]
    needed = v.number("required_antenna_m")
    if math.isnan(needed):
        return "" if v["limiting_end"] == "hub" else english().one("no_fit.mend.no_dish")
    told = telling_above(np.array(needed), np.array(v.number("antenna_m")))
    return english().one("no_fit.mend.dish", required_m=float(told))


def _joined(where: list[str]) -> str:
    return f", {' '.join(where)}" if where else ""
