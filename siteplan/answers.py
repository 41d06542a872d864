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


#: One setting of a change: table of network.toml (or ``sites``), key, and the value to set.
Setting = tuple[str, str, float | str]


@dataclass(frozen=True, slots=True)
class Remedy:
    """One change that helps an unserved or tight site, or why nothing does.

    ``code`` is one of ``siteplan.planning.kit.remedies.CODES``, ``change`` the change in words,
    ``buys_db`` the rise of the site's margin [dB], ``margin_after_reserve_db`` the margin that is
    then left after the reserve [dB], and ``served`` whether the target, with the reserve, is then
    met. ``antenna_m`` and ``buc_w`` are the pair that the figures hold for, ``sets`` what to set to
    plan it anew: with that pair installed, the plan gives these figures.

    A site's remedies follow one another, the best first. Where nothing helps there is one line
    alone, whose ``buys_db`` is NaN: its ``change`` says why, and what to do instead.
    """

    site_id: str
    code: str
    change: str
    buys_db: float
    margin_after_reserve_db: float
    served: bool
    antenna_m: float = math.nan
    buc_w: float = math.nan
    sets: tuple[Setting, ...] = ()

    @property
    def helps(self) -> bool:
        """Whether this is a change that helps, and not a line that says why none does."""
        return not math.isnan(self.buys_db)


@dataclass(frozen=True, slots=True)
class BillLine:
    """One kind of thing to order or of work to pay: how much, how much of it is open, spares.

    ``provisional`` of ``quantity`` rest on mounts that a question may still change; it is NaN for
    what rests on no mount. ``price`` is for one ``unit`` and ``cost`` for ``to_order``, spares
    included, in the planner's unit (NaN where no price is given).
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
    """What the sites of one group cost, spares apart (NaN where a price is missing).

    ``sites`` have kit and are in the cost, ``unserved`` have none and are not; ``partial`` is the
    sum of what is priced.
    """

    group: str
    sites: int
    cost: float = math.nan
    unserved: int = 0
    partial: float = math.nan


@dataclass(frozen=True, slots=True)
class Bill:
    """The bill of quantities: lines by kind, costs by group, and what all of it costs.

    ``priced`` says whether any price is given; ``missing`` names kinds in use without a price, so
    that a sum is never taken for the whole: then ``total`` is NaN and ``partial`` the sum of what
    is priced. Both hold the spares, which are ``spares`` of them. ``sites`` have kit and are in the
    bill, ``unserved`` have none and are not. ``notes`` say what is not in the sum.
    """

    lines: tuple[BillLine, ...]
    groups: tuple[GroupCost, ...] = ()
    priced: bool = False
    total: float = math.nan
    missing: tuple[str, ...] = ()
    partial: float = math.nan
    spares: float = math.nan
    sites: int = 0
    unserved: int = 0
    notes: tuple[str, ...] = ()
