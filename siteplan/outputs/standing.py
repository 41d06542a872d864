"""Whether a site is built as planned: what sheet, lists, map files and console say of it first.

A site without a pair is not built: nothing is ordered for it, nobody installs. Kit that stands
there already is told of even where it misses the target, since it radiates all the same; it is
checked and not built. Where a flag stops a site that has a pair, nobody builds before that is
settled.
"""

from __future__ import annotations

import math
import re
from functools import cache
from typing import Final, NamedTuple

import numpy as np

from siteplan.arrays import telling_above
from siteplan.fields import COORDINATE_DOUBT, FLAGS
from siteplan.messages import english
from siteplan.outputs.shown import SiteValues, stated
from siteplan.outputs.units import in_sentence
from siteplan.words import beside

#: Stands over everything else of a site that gets no pair.
DO_NOT_INSTALL = "DO NOT INSTALL"
#: Stands over a site whose installed kit does not do.
MISSES = "MISSES THE TARGET"
#: Stands over a site whose pair must not be built before something is settled; over kit that
#: stands there already, to which the reason says what is done, the first word alone.
STOP: Final = "STOP: DO NOT BUILD YET"
STOP_STANDING: Final = "STOP"
#: Flags that stop a site with a pair, and those of them whose sentence tells no remedy.
HALTS: Final = ("blocked", "mount_engineered", "off_axis_exceeded", "below_min_elevation")
_BARE: Final = frozenset(("below_min_elevation",))
#: How many of these a box tells of; more are told with the other flags.
_IN_BOX: Final = 2
#: What stands already, by whether antenna and BUC do: key of the sentence, and the word over it.
_STANDING: Final = {
    (True, True): ("whole", "STANDS ALREADY"),
    (True, False): ("antenna", "ANTENNA STANDS ALREADY"),
    (False, True): ("buc", "BUC STANDS ALREADY"),
}
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


def halt(v: SiteValues) -> Banner | None:
    """Return what stops a site that has a pair, and what is to be done; None for nothing."""
    codes = [code for code in HALTS if code in v["flags"].split(";")] if v.has_kit else []
    codes = codes[:_IN_BOX]
    if not codes:
        return None
    word = STOP_STANDING if whole_stands(v) else STOP
    return Banner(word, " ".join(_to_settle(v, code) for code in codes), frozenset(codes))


def _to_settle(v: SiteValues, code: str) -> str:
    """Return what stands against a site, and what to do."""
    told, remedy = sentence(v, code), english()[f"risk.{code}"]
    if told and code not in _BARE:
        return told
    return f"{told or FLAGS[code].meaning + '.'} {remedy}"


def stands(v: SiteValues) -> Banner | None:
    """Return which part of a site's pair stands there already; None where all of it is new."""
    if not v.has_kit:
        return None
    key, word = _STANDING.get((bool(v["fixed_antenna_m"]), bool(v["fixed_buc_w"])), ("", ""))
    if not key:
        return None
    told = english().one(f"stands.{key}", antenna=v["antenna_m"], buc=v["buc_w"])
    return Banner(word, told, frozenset())


def whole_stands(v: SiteValues) -> bool:
    """Whether antenna and BUC stand already: nothing is built."""
    return v.has_kit and bool(v["fixed_antenna_m"] and v["fixed_buc_w"])


def marks(v: SiteValues) -> str:
    """Return what index and cover say beside a site; empty for one to be built as planned."""
    there, over, stopped = stands(v), banner(v), halt(v)
    words = [f"{there.word}: {english()[_IN_SHORT[whole_stands(v)]]}"] if there else []
    return "; ".join([*(b.word for b in (over, stopped) if b), *words])


#: What is done where a part of the pair stands, or the whole of it.
_IN_SHORT: Final = ("stands.short.part", "stands.short.whole")


def sentence(v: SiteValues, code: str) -> str:
    """Return a flag's sentence as the site's notes have it; empty where they have none."""
    found = _said(v, code)
    return in_sentence(found[0], v.units) if found else ""


def figure(v: SiteValues, code: str, name: str) -> str:
    """Return the figure that fills a gap of a flag's sentence; empty where there is none."""
    found = _said(v, code)
    return (found.groupdict().get(name) or "") if found else ""


def _said(v: SiteValues, code: str) -> re.Match[str] | None:
    """Return where the notes of a site hold a flag's sentence."""
    notes = v.plan.columns.get("flag_notes")
    text = "" if notes is None else str(notes[v.index])
    return next((m for said in _sentences(code) if (m := said.search(text))), None)


@cache
def _sentences(code: str) -> tuple[re.Pattern[str], ...]:
    """Return what a flag's sentences look like, whatever fills their gaps; the longest first."""
    key = f"flag.{code}"
    told = [text for name, text in english().items() if name == key or name.startswith(f"{key}.")]
    return tuple(re.compile(_open(text)) for text in sorted(told, key=len, reverse=True))


def _open(text: str) -> str:
    """Return a pattern of a sentence with gaps, each under its name."""
    pieces = re.split(r"\{(\w+)[^}]*\}", text)
    seen: set[str] = set()
    found = [re.escape(pieces[0])]
    for name, rest in zip(pieces[1::2], pieces[2::2], strict=True):
        found += [".*?" if name in seen else f"(?P<{name}>.*?)", re.escape(rest)]
        seen.add(name)
    return "".join(found)


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
