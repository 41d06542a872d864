"""What a plan answers beside its row a site: what to buy, to mend, to pay, to license; budgets.

Planning makes them, `results.Facts` carries all but budgets, the outputs show them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Any


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


@dataclass(frozen=True, slots=True, eq=False)
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


@dataclass(frozen=True, slots=True, eq=False)
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


@dataclass(frozen=True, slots=True, eq=False)
class Remedy(_Answer):
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


@dataclass(frozen=True, slots=True, eq=False)
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


@dataclass(frozen=True, slots=True, eq=False)
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


@dataclass(frozen=True, slots=True, eq=False)
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
    is not planned. The target is one of a year or, as ``availability_basis`` says, of its worst
    month. ``ways`` is empty where there is no link; ``notes`` then says why.
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
    availability_basis: str = "year"

    def way(self, direction: str) -> BudgetWay:
        """Return the budget of one direction; StopIteration where there is no link."""
        return next(way for way in self.ways if way.direction == direction)


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


@dataclass(frozen=True, slots=True, eq=False)
class MaskInForce(_Answer):
    """A limit off axis that holds: where it stands, and what it counts in.

    ``edition`` is empty for one of the operator's own, ``tag`` says what a published one was
    copied from. The limit counts in ``reference_khz``, its angles from the dish's ``axis`` or from
    the line to the ``satellite``. ``hub_judged`` is False where its band does not hold the hub's
    uplink.
    """

    name: str
    edition: str
    date: str
    source: str
    reference_khz: float
    angle_from: str
    tag: str
    hub_judged: bool = True

    @property
    def told(self) -> str:
        """Edition and date, and how it was copied."""
        text = ", ".join(filter(None, (self.edition or "the operator's own", self.date)))
        return f"{text} ({self.tag})" if self.tag else text


@dataclass(frozen=True, slots=True, eq=False)
class Station(_Answer):
    """What the stations of one antenna and one transmitter radiate; ``hub`` for the hub's one.

    Powers are the greatest of its ``sites`` in clear sky, the hub's with the range of its power
    control; ``tx_power_w`` is the BUC's output, ``feed_w`` what reaches the antenna's flange,
    ``allowed_feed_w`` what the masks allow there. Densities are in 4 and 40 kHz, that towards the
    horizon in ``horizon_density_khz`` at the least elevation. The margin is the least, under
    ``off_axis_mask`` at ``off_axis_angle_deg``. What is not known is NaN, or empty.
    """

    kind: str
    antenna_m: float
    buc_w: float
    sites: int
    efficiency: float
    tx_gain_dbi: float
    rx_gain_dbi: float
    tx_pattern: str
    rx_pattern: str
    tx_power_w: float
    feed_w: float
    allowed_feed_w: float
    eirp_dbw: float
    feed_density_dbw_4khz: float
    feed_density_dbw_40khz: float
    eirp_density_dbw_4khz: float
    eirp_density_dbw_40khz: float
    horizon_density_dbw: float
    horizon_density_khz: float
    emission: str
    symbol_rate_msps: float
    uplink_ghz: float
    uplink_polarization: str
    downlink_ghz: float
    downlink_polarization: str
    least_elevation_deg: float
    greatest_elevation_deg: float
    off_axis_margin_db: float
    off_axis_mask: str
    off_axis_angle_deg: float

    @property
    def exceeds(self) -> bool:
        """Whether a mask is exceeded."""
        return self.off_axis_margin_db < 0


@dataclass(frozen=True, slots=True)
class HubPlace:
    """Where the hub stands and looks: its place, its altitude [m], its look angles [deg]."""

    lat: float
    lon: float
    altitude_m: float
    azimuth_true_deg: float
    elevation_deg: float


#: A line of a drawing: angle [deg] and EIRP density [dBW in a reference bandwidth] of each point.
DensityLine = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class MaskCurves:
    """One mask and one antenna: the limit's parts, and what the antenna radiates off its axis.

    ``edition`` is what `MaskInForce.told` says.
    Densities count in the mask's ``reference_khz``, angles from what the mask counts from. The
    limit is the one that holds: less 10 log N. ``allowed`` is drawn at the power that all masks
    together allow, ``used`` at the greatest in use. ``touches_deg`` is the angle where ``allowed``
    meets this limit; NaN where another mask is the tightest.
    """

    mask: str
    edition: str
    reference_khz: float
    angle_from: str
    limit: tuple[DensityLine, ...]
    allowed: DensityLine
    used: DensityLine
    touches_deg: float


@dataclass(frozen=True, slots=True)
class MaskDrawing:
    """What is drawn of one antenna, a panel a mask; ``hub`` for the hub's."""

    kind: str
    antenna_m: float
    tx_pattern: str
    allowed_feed_w: float
    used_feed_w: float
    panels: tuple[MaskCurves, ...]


@dataclass(frozen=True, slots=True)
class Licence:
    """What a licence asks: the masks in force, the hub's carrier, each kind of terminal, curves.

    ``simultaneous`` is N of 10 log N, which counts for terminals; ``action`` whether a power that
    is too high is cut or reported. ``hub_place`` is None where the hub is not placed. ``types`` go
    by size of antenna, then of BUC; ``to_40khz_db`` is what a terminal's density in 40 kHz is over
    that in 4 kHz [dB]. ``beams`` are those that the carriers serve, where there are several, and
    ``others`` what is asked for the carriers of other beams, each with its own hub.
    """

    masks: tuple[MaskInForce, ...]
    simultaneous: int
    action: str
    hub: Station
    hub_place: HubPlace | None
    hub_drawing: MaskDrawing | None
    to_40khz_db: float
    types: tuple[Station, ...] = ()
    drawings: tuple[MaskDrawing, ...] = ()
    beams: tuple[str, ...] = ()
    others: tuple[Licence, ...] = ()
