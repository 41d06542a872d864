"""The link budget of a site, line by line."""

from __future__ import annotations

from siteplan.frozen import frozen


@frozen
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


@frozen
class BudgetPart:
    """Lines of a budget that add up among themselves, under a heading."""

    code: str
    heading: str
    lines: tuple[BudgetLine, ...]


@frozen
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


@frozen
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
