"""What a plan costs over the years, and against terrestrial lines."""

from __future__ import annotations

from siteplan.answers import _Answer
from siteplan.frozen import frozen


@frozen(eq=False)
class CostCase(_Answer):
    """What one site costs over the years, and a line to it; NaN what is not known."""

    site_id: str
    name: str
    capex: float
    monthly_cost: float
    life_cost: float
    line_life_cost: float
    breakeven_months: float
    cheaper_by: float


@frozen(eq=False)
class LifeCosts(_Answer):
    """Costs of all sites with kit over the years, in the planner's unit.

    ``known`` of ``sites`` have a cost over the years; ``capex``, ``monthly_cost`` and ``life_cost``
    are sums over those sites of which each is known, NaN where it is known of none. ``lined`` have
    a line's cost too: ``line_cheaper`` of them are cheaper by line, by ``line_saves`` in all, the
    others by satellite, by ``satellite_saves``. ``leased_mhz`` is the lease of all, ``own_mhz``
    what the sites' pairs were picked by (NaN where kit is not picked by cost). ``unpriced`` are the
    keys of a month that nobody gave. ``dearest``, ``cheapest`` and ``by_line`` (the sites for which
    a line is cheapest beside the satellite) are the first few.
    """

    years: int
    discount_pct: float
    factor: float
    sites: int
    known: int
    capex: float
    monthly_cost: float
    life_cost: float
    lined: int
    line_cheaper: int
    line_saves: float
    satellite_saves: float
    lease_month: float
    leased_mhz: float
    own_mhz: float
    unpriced: tuple[str, ...]
    dearest: tuple[CostCase, ...] = ()
    cheapest: tuple[CostCase, ...] = ()
    by_line: tuple[CostCase, ...] = ()
