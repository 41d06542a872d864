"""What a plan answers beside its row a site: what to buy, to mend and to pay; link budgets.

Planning makes them, `results.Facts` carries all but budgets, the outputs show them.
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
class BudgetLine:
    """One line of a link budget: its value in clear sky, with the site faded, with the hub faded.

    ``sign`` says what the line does to those above it in its part: ``+`` adds, ``-`` takes away,
    ``=`` is what they come to, ``sum`` is the power sum of the lines without a sign that stand
    before it. ``values`` are in ``unit``, NaN in a column that is not worked out. ``basis`` is one
    of ``BASES``, ``source`` says in words where the figure comes from.
    """

    code: str
    label: str
    sign: str
    unit: str
    values: tuple[float, float, float]
    basis: str
    source: str


#: Where a figure comes from: given, put in where nobody gave one, worked out of given figures, or
#: worked out of figures some of which nobody gave.
BASES = ("given", "assumed", "computed", "in part assumed")


@dataclass(frozen=True, slots=True)
class BudgetPart:
    """Lines of a budget that add up among themselves, under a heading."""

    code: str
    heading: str
    lines: tuple[BudgetLine, ...]


@dataclass(frozen=True, slots=True)
class BudgetWay:
    """The budget of one direction, ``outbound`` or ``inbound``.

    ``site_pct`` and ``hub_pct`` are the shares of the target's outage [%] at which the site and
    the hub are faded, 0 for less than the method's least of 0.001 %; ``hub_counted`` says whether
    the hub's rain counts at all. ``margin_db`` is the direction's margin, the smaller of the two
    faded columns'. ``notes`` are sentences.
    """

    direction: str
    site_pct: float
    hub_pct: float
    hub_counted: bool
    margin_db: float
    parts: tuple[BudgetPart, ...]
    notes: tuple[str, ...]

    @property
    def lines(self) -> tuple[BudgetLine, ...]:
        """The lines of all parts, in order."""
        return tuple(line for part in self.parts for line in part.lines)


@dataclass(frozen=True, slots=True)
class Budget:
    """The link budget of one site, line by line.

    ``antenna_m`` and ``buc_w`` are the pair that it holds for; ``tried`` says that it was tried and
    is not planned. ``ways`` is empty where there is no link; ``notes`` then says why.
    """

    site_id: str
    name: str
    network: str
    date: str
    availability_target_pct: float
    antenna_m: float
    buc_w: float
    tried: bool
    margin_db: float
    ways: tuple[BudgetWay, ...]
    notes: tuple[str, ...] = ()

    def way(self, direction: str) -> BudgetWay:
        """Return the budget of one direction; StopIteration where there is no link."""
        return next(way for way in self.ways if way.direction == direction)
