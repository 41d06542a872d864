"""What it would take: for every unserved or tight site, the changes that help, the best first.

Each is worked out by planning the site anew with that change; where nothing helps, a line says
why, and what to do instead. Where the coordinates are in doubt nothing else is told: all the rest
would rest on them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

import numpy as np

from siteplan.answers import Remedy
from siteplan.arrays import BoolArray, FloatArray, IntArray, TextArray, telling
from siteplan.messages import Catalogue, english
from siteplan.planning.kit.needy import (
    LEAST_GAIN_DB,
    Case,
    Found,
    Needs,
    Stock,
    case,
    needs,
    reaches,
)
from siteplan.planning.kit.overpower import overpower
from siteplan.planning.kit.pairs import with_pairs
from siteplan.planning.kit.pick import Sizing
from siteplan.planning.kit.settings import settings
from siteplan.planning.kit.swaps import swaps
from siteplan.planning.link.mispointing import largest_m
from siteplan.planning.link.outage import Shares
from siteplan.planning.place import METHOD_ELEVATION_DEG

#: The changes, the least first: what mends many sites at once, then one site's kit, then what the
#: modems do, then what must be sourced elsewhere, then what gives something up. Of those that serve
#: what touches the site alone stands before what moves the whole network.
CHANGES: Final = (
    *("hub_control", "hub_amplifier", "terminal_control", "buc", "antenna", "kit"),
    *("modcod", "modcods", "beyond", "target"),
)
#: What is told where the coordinates are in doubt.
DOUBTED: Final = "coordinates"
#: Why nothing helps.
REASONS: Final = (
    *(DOUBTED, "below_horizon", "outside_beam", "low", "blocked", "off_axis", "nothing"),
)
#: All codes of `siteplan.answers.Remedy`.
CODES: Final = (*CHANGES, *REASONS)
#: What stands behind a change at a site that has no kit: the rest of the pair that it holds for.
_BESIDE = {"antenna": "buc", "beyond": "buc", "buc": "antenna"}


class View(NamedTuple):
    """What the sites (n,) see: ids, elevation [deg], the least that gets kit, what is blocked.

    ``reached`` is where a beam of the satellite reaches them, ``over`` where the kit exceeds a
    limit on off-axis radiation, ``doubted`` where the coordinates are to be checked.
    """

    site_id: TextArray
    elevation_deg: FloatArray
    floor_deg: float
    blocked: BoolArray
    reached: BoolArray
    over: BoolArray
    doubted: BoolArray


def remedies(
    at: View, of: Sizing, split: Shares, stock: Stock, p_pct: FloatArray
) -> tuple[Remedy, ...]:
    """Return what would help the unserved and tight sites among n, site by site.

    Parameters
    ----------
    at : View
        The sites.
    of, split : Sizing, Shares
        Their kit and margins, and the ends to blame.
    stock : Stock
        Kit that stands already, and what may be picked.
    p_pct : (n,) array
        Outages that the targets allow [%].
    """
    wanted = needs(of, at.blocked, at.elevation_deg < at.floor_deg, at.over)
    if not any(part.any() for part in wanted):
        return ()
    doubted = at.doubted & np.logical_or.reduce(wanted)
    wanted = Needs(*(part & ~doubted for part in wanted))
    words, rows = english(), [*_doubted(at, of, doubted), *_lines(at, of, wanted)]
    rows += _over(at, of, stock, p_pct, np.flatnonzero(wanted.over))
    index = np.flatnonzero(wanted.open)
    if index.size:
        x = case(of, split, stock, index, p_pct=p_pct)
        missing = of.missing[index]
        tried = [f for f in (*swaps(x), *settings(x)) if f.at.size]
        found = list(with_pairs(x, tried, missing))
        rows += _helping(x, found, at.site_id, words, missing=missing)
        rows += _helpless(x, found, at.site_id, words)
    rows.sort(key=lambda row: row[0])
    return tuple(remedy for _, remedy in rows)


#: A remedy, and what it is put in order by: place of the site, then how good it is.
Row = tuple[tuple[float, ...], Remedy]


def _helping(
    x: Case, found: Sequence[Found], site_id: TextArray, words: Catalogue, *, missing: BoolArray
) -> Iterator[Row]:
    """Yield the changes that help: at a site those that serve first, then the least."""
    reserve = x.network.rules.reserve_db
    names = site_id.tolist()
    for f in found:
        gain, rank = f.margin_db - x.margin_db[f.at], CHANGES.index(f.code)
        there, served = reaches(f.margin_db, x.goal_db[f.at]), reaches(f.margin_db, reserve)
        each = zip(
            x.index[f.at].tolist(), _told(f, words, missing[f.at]), gain.tolist(),
            (f.margin_db - reserve).tolist(), served.tolist(), there.tolist(),
            f.antenna_m.tolist(), f.buc_w.tolist(), f.settings(), strict=True,
        )  # fmt: skip
        for i, text, buys, after, serves, enough, antenna, buc, sets in each:
            if buys >= LEAST_GAIN_DB:
                order = (i, not enough, not serves, serves and f.of_network, rank, f.step)
                remedy = Remedy(names[i], f.code, text, buys, after, serves, antenna, buc, sets)
                yield order, remedy


def _told(f: Found, words: Catalogue, missing: BoolArray) -> list[str]:
    """Return the change in words (j,); at sites without kit with the pair that it holds for."""
    said = words.many(f"remedy.{f.key}", f.numbers, len(f.at))
    if missing.any() and f.code != "kit":
        pair = {"antenna_m": f.antenna_m, "buc_w": f.buc_w}
        beside = words.many(f"remedy.beside.{_BESIDE.get(f.code, 'pair')}", pair, len(f.at))
        said = np.where(missing, said + beside, said)
    texts: list[str] = said.tolist()
    return texts


def _helpless(
    x: Case, found: Sequence[Found], site_id: TextArray, words: Catalogue
) -> Iterator[Row]:
    """Yield a line for each site of a case that nothing helps."""
    helped = np.zeros(len(x), dtype=bool)
    for f in found:
        helped[f.at[f.margin_db - x.margin_db[f.at] >= LEAST_GAIN_DB]] = True
    reserve = x.network.rules.reserve_db
    for k in np.flatnonzero(~helped).tolist():
        key = "remedy.nothing.tight" if x.tight[k] else "remedy.nothing.unserved"
        i, margin = int(x.index[k]), float(x.margin_db[k])
        yield (i,), Remedy(
            str(site_id[i]), "nothing", words.one(key), math.nan, margin - reserve,
            bool(reaches(np.array(margin), reserve)),
        )  # fmt: skip


def _over(at: View, of: Sizing, stock: Stock, p_pct: FloatArray, index: IntArray) -> Iterator[Row]:
    """Yield a line for each site (k,) over a limit off axis: what to turn down, or to replace."""
    if not index.size:
        return
    found, words = overpower(of, stock.kinds, p_pct, index), english()
    for key in dict.fromkeys(found.key.tolist()):
        here = np.flatnonzero(found.key == key)
        numbers = {name: values[here] for name, values in found.numbers.items()}
        texts = words.many(f"remedy.off_axis.{key}", numbers, len(here))
        for i, text in zip(index[here].tolist(), texts.tolist(), strict=True):
            after = float(of.margin_after_reserve_db[i])
            yield (i,), Remedy(str(at.site_id[i]), "off_axis", text, math.nan, after, False)


def _doubted(at: View, of: Sizing, where: BoolArray) -> Iterator[Row]:
    """Yield a line for each site whose coordinates are to be checked before anything else."""
    words = english()
    for i in np.flatnonzero(where).tolist():
        after = float(of.margin_after_reserve_db[i])
        text = words["remedy.coordinates"]
        yield (i,), Remedy(str(at.site_id[i]), DOUBTED, text, math.nan, after, False)


def _lines(at: View, of: Sizing, wanted: Needs) -> Iterator[Row]:
    """Yield a line for each site that no kit and no setting helps, with what to do instead."""
    words = english()
    lowest = at.elevation_deg < METHOD_ELEVATION_DEG
    held = np.round(of.margin_db, 6) >= 0
    most = largest_m(of.ways[0].link.network)
    for key, where in (
        ("below_horizon", wanted.unseen & at.reached),
        ("outside_beam", wanted.unseen & ~at.reached),
        ("low", wanted.low & ~lowest & held),
        ("low.short", wanted.low & ~lowest & ~held),
        ("low.method", wanted.low & lowest),
        ("blocked", wanted.blocked),
        ("nothing.coarse", wanted.coarse),
    ):
        index: IntArray = np.flatnonzero(where)
        numbers = {"elevation_deg": at.elevation_deg[index], "floor_deg": at.floor_deg,
                   "largest_m": most, "missed_db": telling(-of.margin_db[index])}  # fmt: skip
        texts = words.many(f"remedy.{key}", numbers, len(index))
        for i, text in zip(index.tolist(), texts.tolist(), strict=True):
            after = float(of.margin_after_reserve_db[i])
            code = key.partition(".")[0]
            yield (i,), Remedy(str(at.site_id[i]), code, text, math.nan, after, False)
