"""What a plan answers as a whole, beside its row a site: what to buy, what to mend, what it costs.

Planning makes them, `results.Facts` carries them, the outputs show them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

#: A kind of kit: diameter of the antenna [m] and rated power of the BUC [W].
Kind = tuple[float, float]


@dataclass(frozen=True, slots=True)
class KindSet:
    """The set of at most ``k`` kinds that serves most sites, and what it takes.

    ``kinds`` are the pairs in the order of the catalogue, ``sites`` how many sites take each (each
    the first that serves it), ``served`` of ``judged`` sites in all; sites with installed kit
    stand apart and are not judged. ``area_m2`` is the total area of the reflectors, ``cost``
    what the pairs cost in the planner's unit (NaN where a price is missing), ``exact`` False for
    a greedy choice.
    """

    k: int
    kinds: tuple[Kind, ...]
    sites: tuple[int, ...]
    served: int
    judged: int
    area_m2: float
    cost: float = math.nan
    exact: bool = True


@dataclass(frozen=True, slots=True)
class Remedy:
    """One change that helps an unserved or tight site.

    ``code`` is a row of ``siteplan.planning.kit.remedies``' list, ``change`` the change in words,
    ``buys_db`` the rise of the site's margin [dB], ``margin_after_reserve_db`` the margin that is
    then left after the reserve [dB], and ``served`` whether the target is then met with it.
    """

    site_id: str
    code: str
    change: str
    buys_db: float
    margin_after_reserve_db: float
    served: bool


@dataclass(frozen=True, slots=True)
class BillLine:
    """One kind of thing to order: how much, how much of it rests on open questions, spares.

    ``price`` is for one ``unit`` and ``cost`` for ``quantity`` with spares, in the planner's unit
    (NaN where no price is given).
    """

    part: str
    kind: str
    unit: str
    quantity: float
    provisional: float
    spares: float
    to_order: float
    supplier_code: str = ""
    price: float = math.nan
    cost: float = math.nan
    note: str = ""


@dataclass(frozen=True, slots=True)
class GroupCost:
    """What the sites of one group cost, spares apart (NaN where a price is missing)."""

    group: str
    sites: int
    cost: float = math.nan


@dataclass(frozen=True, slots=True)
class Bill:
    """The bill of quantities: lines by kind, costs by group, and what all of it costs.

    ``priced`` says whether any price is given; ``missing`` names kinds in use without a price, so
    that a sum is never taken for the whole.
    """

    lines: tuple[BillLine, ...]
    groups: tuple[GroupCost, ...] = ()
    priced: bool = False
    total: float = math.nan
    missing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class VerdictItem:
    """One count of a verdict: its words, how many sites it counts, and what asks for them.

    ``asks`` are what a map's filters are to hold, by name (empty: nothing to ask for); ``detail``
    is told where there is room.
    """

    text: str
    sites: int
    asks: tuple[tuple[str, str], ...] = ()
    detail: str = ""


@dataclass(frozen=True, slots=True)
class VerdictLine:
    """One line of a verdict: what it is of, and its counts."""

    code: str
    label: str
    items: tuple[VerdictItem, ...]

    @property
    def text(self) -> str:
        """The line as a sentence without its stop."""
        told = (f"{x.text} ({x.detail})" if x.detail else x.text for x in self.items)
        return f"{self.label}: {', '.join(told)}"


@dataclass(frozen=True, slots=True)
class Verdict:
    """The plan in a few counts: who is served, what to buy, what to look into.

    A site is ``served`` that has a pair whose margin at the target is not below zero, with no flag
    that stops it; ``under_reserve`` of those keep less than the reserve. ``unserved`` names the
    worst of the others. ``antennas`` and ``bucs`` count sites by size [m], [W], rising; ``mounts``
    by kind, the most frequent first, each with how many are to be surveyed; ``in_doubt`` are the
    sites whose coordinates are to be checked; ``stops`` count sites by each flag that stops them
    (a site may have two). ``lines`` say all this in words.
    """

    sites: int
    served: int
    under_reserve: int
    unserved: tuple[str, ...]
    antennas: tuple[tuple[float, int], ...]
    bucs: tuple[tuple[float, int], ...]
    mounts: tuple[tuple[str, int, int], ...]
    in_doubt: int
    stops: tuple[tuple[str, int], ...] = ()
    lines: tuple[VerdictLine, ...] = ()

    @property
    def not_served(self) -> int:
        """How many sites are not served."""
        return self.sites - self.served

    @property
    def to_survey(self) -> int:
        """How many mounts are to be surveyed."""
        return sum(open_ for _, _, open_ in self.mounts)
