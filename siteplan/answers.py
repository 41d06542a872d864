"""What a plan answers as a whole, beside its row a site: what to buy, what to mend, what it costs.

Planning makes them, `results.Facts` carries them, the outputs show them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

#: A kind of kit: diameter of the antenna [m] and rated power of the BUC [W].
Kind = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Tuned:
    """A carrier as every remote is tuned to it.

    ``receives`` tells the outbound carrier from the inbound one that is sent; ``carrier_ghz`` is
    its frequency on the air, ``l_band_mhz`` that on the cable (NaN without a local oscillator),
    ``inverted`` whether the spectrum is turned round there, and ``in_band`` whether the whole
    carrier lies within what the cable is planned for.
    """

    receives: bool
    carrier_ghz: float
    polarization: str
    symbol_rate_msps: float
    roll_off: float
    modcod: str
    lo_ghz: float = math.nan
    l_band_mhz: float = math.nan
    inverted: bool = False
    in_band: bool = True


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
