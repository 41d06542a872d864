"""What lies between two plans: inputs, sites come and gone, and each change with its cause."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping

from siteplan.frozen import frozen

#: What changes at a site, in the order in which it matters: a field, ``service`` or ``flag``.
WHATS = ("service", "antenna_m", "buc_w", "beam", "margin_class", "flag", "margin_db")

#: Totals that are no order: money, but for the bandwidth that is leased [MHz].
SUMS = ("cost", "priced", "spares", "monthly_cost", "life_cost", "leased_mhz")

#: A change of margin, or a share in one, that is no greater is none [dB]: decisions round to it.
LEAST_DB = 1e-6


@frozen
class PlanNamed:
    """One of the two plans: its name, its date as ISO has it, and by which version it was made."""

    folder: str
    name: str
    date: str = ""
    version: str = ""


@frozen
class InputChange:
    """An input that differs: a key of network.toml, a column of the sites, or what is around.

    ``old`` and ``new`` are texts; ``sites`` is the number of sites whose column differs, None for
    what is told of the whole plan.
    """

    group: str
    key: str
    old: str
    new: str
    sites: int | None = None


@frozen
class Change:
    """One change at a site.

    ``what`` is one of `WHATS`, ``old`` and ``new`` what was told, '' for nothing; of a flag its
    code on the side that has it. ``cause`` names the groups of inputs that brought it: one, or
    several that do so only together; empty where nobody can tell.
    """

    what: str
    old: str
    new: str
    cause: tuple[str, ...] = ()


@frozen
class SiteChange:
    """What changed at a site that is in both plans.

    ``margin_by_group`` holds the change of margin [dB] of each step on the way from the old plan to
    the new one, in order, by the groups switched; together they are ``margin_change_db``.
    ``service`` is ``lost``, ``gained`` or ''. ``stood`` says of an antenna or a BUC that is another
    one in which plan it stands at the site already: ``old``, so that it is exchanged, ``new``, so
    that another one stands there than was planned; '' where both plans pick it.
    """

    site_id: str
    name: str
    changes: tuple[Change, ...]
    margin_change_db: float = math.nan
    margin_by_group: tuple[tuple[tuple[str, ...], float], ...] = ()
    service: str = ""
    stood: str = ""

    @property
    def kit_changes(self) -> bool:
        """Whether antenna or BUC is another one."""
        return any(change.what in ("antenna_m", "buc_w") for change in self.changes)


@frozen
class Totals:
    """What a plan comes to in all, as its output tells it.

    ``order`` holds how much is to be ordered by part, kind and unit, and its cost, NaN where it
    has no price; it is None where nobody knows. ``sums`` holds the totals by the words of `SUMS`;
    those that are not known are left out.
    """

    order: Mapping[tuple[str, str, str], tuple[float, float]] | None
    sums: Mapping[str, float]


@frozen
class TotalChange:
    """A total in which two plans differ: what is to be ordered of a kind, or a word of `SUMS`.

    ``part`` is that word, or the part of a ``kind``, counted in ``unit``; ``old`` and ``new`` are
    amounts, of sums of money NaN; ``old_cost`` and ``new_cost`` what they cost, NaN without price.
    """

    part: str
    kind: str
    unit: str
    old: float
    new: float
    old_cost: float = math.nan
    new_cost: float = math.nan


@frozen
class SiteMoved:
    """A site that is in one of the plans only, and why where that is known."""

    site_id: str
    name: str
    why: str = ""


@frozen
class Differences:
    """Two plans held against one another.

    ``told`` are sentences on what is to be known first: versions, methods, maps, what was not
    replayed. ``by_results`` says that causes are not known. ``common`` counts the sites that are
    in both; ``sites`` are those of them at which something changed, what matters most first.
    ``totals`` are the totals that differ, of those that both plans tell; ``ordered`` whether both
    tell what is to be ordered.
    """

    old: PlanNamed
    new: PlanNamed
    told: tuple[str, ...]
    by_results: bool
    inputs: tuple[InputChange, ...]
    added: tuple[SiteMoved, ...]
    gone: tuple[SiteMoved, ...]
    common: int
    sites: tuple[SiteChange, ...]
    totals: tuple[TotalChange, ...] = ()
    ordered: bool = True

    @property
    def same_sites(self) -> bool:
        """Whether both plans have the same sites, and come to the same at each."""
        return not (self.added or self.gone or self.sites)

    @property
    def is_empty(self) -> bool:
        """Whether the plans come to the same, in what is to be ordered and what it costs too."""
        return self.same_sites and not self.totals

    @property
    def lost(self) -> tuple[SiteChange, ...]:
        """The sites that are served by the old plan and not by the new one."""
        return tuple(site for site in self.sites if site.service == "lost")

    @property
    def gained(self) -> tuple[SiteChange, ...]:
        """The sites that are served by the new plan and not by the old one."""
        return tuple(site for site in self.sites if site.service == "gained")

    @property
    def other_kit(self) -> tuple[SiteChange, ...]:
        """The sites whose antenna or BUC is another one."""
        return tuple(site for site in self.sites if site.kit_changes)

    def by_cause(self) -> Mapping[tuple[str, ...], Counter[str]]:
        """Return how many changes of each kind every cause brought; the most frequent first.

        Margins are left out: each group has a share of its own in them.
        """
        found: dict[tuple[str, ...], Counter[str]] = {}
        for site in self.sites:
            for change in (c for c in site.changes if c.what != "margin_db"):
                found.setdefault(change.cause, Counter())[change.what] += 1
        return dict(sorted(found.items(), key=lambda item: (-item[1].total(), item[0])))

    def margin_shares(self) -> Mapping[tuple[str, ...], tuple[float, ...]]:
        """Return the shares [dB] that the groups of each step have in changes of margin, by site.

        Steps that move no margin are left out, and so are sites whose margin one does not move.
        """
        found: dict[tuple[str, ...], list[float]] = {}
        for site in self.sites:
            for groups, share in site.margin_by_group:
                if groups and abs(share) > LEAST_DB:
                    found.setdefault(groups, []).append(share)
        return {groups: tuple(shares) for groups, shares in found.items()}
