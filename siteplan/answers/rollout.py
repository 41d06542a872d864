"""When sites are built: by wave in visiting order, and what that asks for as it goes on."""

from __future__ import annotations

import math
from dataclasses import field

from siteplan.answers import _Answer
from siteplan.frozen import frozen


@frozen(eq=False)
class RolloutSite(_Answer):
    """When one site is built.

    ``wave`` is as the sites table has it, else the week; ``week`` counts from 1, None where no
    weeks are told. ``date`` is the first day of that week (ISO), empty without a start. ``round``
    names the round of visits, ``position`` counts its sites from 1. A site whose ``state`` is not
    empty is not built: it stands already, or gets no kit. Of very many sites the visits are not put
    in order: ``round`` is empty, ``position`` None, and ``remark`` says so.
    """

    site_id: str
    name: str
    group: str
    wave: str
    week: int | None
    date: str
    round: str
    position: int | None
    state: str = ""
    remark: str = ""


@frozen(eq=False)
class RolloutPeriod(_Answer):
    """A month of the roll-out, or a wave where no weeks are told; figures are those at its end.

    ``built`` sites are new, ``live`` all that work. ``leased_mhz`` is for those; ``capex`` is spent
    in the period, ``running`` what its month costs, ``cumulative`` all that was spent so far; NaN
    what is not known. ``overflows`` tell in sentences what is too small by then.
    """

    period: str
    built: int
    live: int
    outbound_carriers: int
    inbound_carriers: int
    leased_mhz: float
    capex: float = math.nan
    running: float = math.nan
    cumulative: float = math.nan
    overflows: tuple[str, ...] = ()


@frozen(eq=False)
class WaveKit(_Answer):
    """How much of a kind one wave takes, spares apart; NaN a price or a cost that is not known."""

    wave: str
    part: str
    kind: str
    quantity: float
    unit: str
    price: float
    cost: float


@frozen(eq=False)
class RolloutPlan(_Answer):
    """The roll-out: its sites in order, its months or waves, its kit by wave.

    ``by_month`` says whether periods are months. ``first_overflow`` is the period and the sentence
    of what is first too small, empty where nothing is. ``notes`` are sentences.
    """

    sites: tuple[RolloutSite, ...]
    periods: tuple[RolloutPeriod, ...]
    kit: tuple[WaveKit, ...]
    by_month: bool
    priced: bool
    first_overflow: tuple[str, str] = ("", "")
    notes: tuple[str, ...] = field(default=())
