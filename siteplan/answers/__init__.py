"""What a plan answers beside its row a site: what to buy, to mend, to pay; a file a subject.

Planning makes them, `results.Facts` carries most, the outputs show them.
"""

from __future__ import annotations

import math
from dataclasses import fields
from typing import Any

from siteplan.frozen import frozen


class _Answer:
    """Two answers that say the same are equal; what is unknown (NaN) in both is the same."""

    __slots__ = ()

    def __eq__(self, other: object) -> bool:
        """Return whether two say the same."""
        return isinstance(other, _Answer) and self._said() == other._said()

    def __hash__(self) -> int:
        """Return the same for answers that say the same."""
        return hash(self._said())

    def _said(self) -> tuple[Any, ...]:
        """Return the kind of answer and its fields, what is unknown as None."""
        told = (getattr(self, each.name) for each in fields(self))  # type: ignore[arg-type]
        return (type(self), *(None if value != value else value for value in told))  # noqa: PLR0124


#: A kind of kit: diameter of the antenna [m] and rated power of the BUC [W].
Kind = tuple[float, float]


@frozen(eq=False)
class Tuned(_Answer):
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


@frozen(eq=False)
class KindSet(_Answer):
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


#: What a change moves.
SITE_ALONE, NETWORK_WIDE = "site", "network"


@frozen(eq=False)
class Remedy(_Answer):
    """One change that helps an unserved or tight site, or why nothing does.

    ``code`` is one of ``siteplan.planning.kit.remedies.CODES``, ``change`` the change in words,
    ``buys_db`` the rise of the site's margin [dB], ``margin_after_reserve_db`` the margin that is
    then left after the reserve [dB], and ``served`` whether the target, with the reserve, is then
    met. ``antenna_m`` and ``buc_w`` are the pair that the figures hold for, ``sets`` what to set to
    plan it anew: with that pair installed, the plan gives these figures. ``mount`` is the kind of
    mount that the antenna then stands on, ``mount_open`` whether it is to be surveyed, and
    ``mount_was`` the kind that is planned now; blank where there is none.

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
    mount: str = ""
    mount_open: bool = False
    mount_was: str = ""

    @property
    def reach(self) -> str:
        """What the change moves: the ``site`` alone, or the ``network``; blank of no change."""
        if not self.helps:
            return ""
        return NETWORK_WIDE if any(table != "sites" for table, _, _ in self.sets) else SITE_ALONE

    @property
    def helps(self) -> bool:
        """Whether this is a change that helps, and not a line that says why none does."""
        return not math.isnan(self.buys_db)


@frozen(eq=False)
class BillLine(_Answer):
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


@frozen(eq=False)
class GroupCost(_Answer):
    """What the sites of one group cost, spares apart (NaN where a price is missing).

    ``sites`` have kit and are in the cost, ``unserved`` have none and are not; ``partial`` is the
    sum of what is priced.
    """

    group: str
    sites: int
    cost: float = math.nan
    unserved: int = 0
    partial: float = math.nan


@frozen(eq=False)
class Bill(_Answer):
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


@frozen
class VerdictItem:
    """One count of a verdict: its words, how many sites it counts, and what asks for them.

    ``asks`` are what a map's filters are to hold, by name (empty: nothing to ask for); ``detail``
    is told where there is room.
    """

    text: str
    sites: int
    asks: tuple[tuple[str, str], ...] = ()
    detail: str = ""


@frozen
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


@frozen
class Verdict:
    """The plan in a few counts: who is served, what to buy, what to look into.

    A site is ``served`` that has a pair whose margin at the target is not below zero, with no flag
    that stops it; ``under_reserve`` of those keep less than the reserve. ``unserved`` names the
    worst of the others. ``antennas`` and ``bucs`` count sites by size [m], [W], rising; ``mounts``
    by kind, the most frequent first, each with how many are to be surveyed; ``in_doubt`` are the
    sites whose coordinates are to be checked; ``stops`` count sites by each flag that stops them
    (a site may have two). ``standing`` counts the sites where an antenna or BUC of a size stands
    already and is not bought: part, size, sites. ``lines`` say all this in words.
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
    standing: tuple[tuple[str, float, int], ...] = ()
    lines: tuple[VerdictLine, ...] = ()

    def stands(self, part: str, size: float | None = None) -> int:
        """How many sites have a part (``antenna``, ``buc``) already, of all sizes or of one."""
        return sum(n for of, s, n in self.standing if of == part and size in (None, s))

    @property
    def not_served(self) -> int:
        """How many sites are not served."""
        return self.sites - self.served

    @property
    def to_survey(self) -> int:
        """How many mounts are to be surveyed."""
        return sum(open_ for _, _, open_ in self.mounts)
