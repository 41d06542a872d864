"""``[[mounts]]`` and ``[costs]``: what kit and work cost, in the planner's own unit of money."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal

from siteplan.network.table import Table, key

#: The kinds of mount that a plan can give.
MountName = Literal["pole", "wall", "non_penetrating", "ground", "engineered"]
#: The dearest thing and the longest code that are read.
_DEAREST, _LONGEST = 1e9, 100


def price_key(what: str) -> Any:
    """Return the key of a price; ``what`` is priced, such as 'one antenna'."""
    return key(
        None,
        f"Price of {what}, in your own unit of money (0: it costs nothing)",
        ge=0,
        le=_DEAREST,
    )


def code_key(what: str) -> Any:
    """Return the key of the code by which a supplier knows ``what``."""
    return key("", f"The supplier's code of {what}, for the kit list", max_length=_LONGEST)


class MountPrice(Table):
    """``[[mounts]]``: what a kind of mount costs."""

    kind: MountName = key(..., "Kind of mount that is priced")
    price: float | None = price_key("one mount of the kind")
    supplier_code: str = code_key("the mount")


class Costs(Table):
    """``[costs]``: what every site needs beside antenna, BUC, mount and cable, and the work."""

    modem: float | None = price_key("one modem")
    modem_code: str = code_key("the modem")
    lnb: float | None = price_key("one LNB")
    lnb_code: str = code_key("the LNB")
    cable: float | None = price_key("a metre of cable of a class that gives none")
    ballast: float | None = price_key("a kilogram of ballast")
    installation_pole: float | None = price_key("installing a site on a pole")
    installation_wall: float | None = price_key("installing a site on a wall bracket")
    installation_non_penetrating: float | None = price_key("installing a site on a ballasted frame")
    installation_ground: float | None = price_key("installing a site on a frame on the ground")
    installation_engineered: float | None = price_key("installing a site on an engineered mount")
    visit: float | None = price_key("one visit to a site, travel included")

    hub_capex: float | None = price_key("the hub, shared by the sites that get kit")
    lease_mhz_month: float | None = price_key("a leased megahertz for a month")
    recurring_site_month: float | None = price_key("running a site for a month, power apart")
    spectrum_fee_site_year: float | None = price_key("a site's licence for a year")
    power_kwh: float | None = price_key("a kilowatt-hour, of which a site's BUC takes some")
    line_month: float | None = price_key("a terrestrial line to a site for a month")
    line_fixed: float | None = price_key("a line for a month whatever its length, with line_per_km")
    line_per_km: float | None = price_key("a kilometre of line for a month, by column line_km")
    discount_pct: float = key(
        8.0, "Discount a year by which later costs weigh less", "%", ge=0, le=100
    )

    @property
    def runs(self) -> bool:
        """Whether anything is given that a site costs month by month."""
        monthly = (self.lease_mhz_month, self.recurring_site_month, self.power_kwh)
        return any(x is not None for x in (*monthly, self.spectrum_fee_site_year))

    @property
    def has_lines(self) -> bool:
        """Whether anything is given that a terrestrial line costs."""
        return any(x is not None for x in (self.line_month, self.line_fixed, self.line_per_km))

    @property
    def counts_life(self) -> bool:
        """Whether costs are told over the years: anything beyond what is ordered is given."""
        return self.runs or self.has_lines or self.hub_capex is not None

    def installation(self, mount: str) -> float | None:
        """Return the price of installing a site on a kind of mount; None where none is given."""
        found: float | None = getattr(self, f"installation_{mount}", None)
        return found


def check_pick(
    antennas: Sequence[tuple[str, float | None]],
    bucs: Sequence[tuple[str, float | None]],
    costs: Costs,
) -> None:
    """Raise where kit is to be picked by cost and a price that this needs is missing.

    Parameters
    ----------
    antennas, bucs : sequences of (str, float or None)
        How messages call each of the catalogue, and its price.
    costs : Costs

    Raises
    ------
    ValueError
        Naming the price.
    """
    missing = [name for name, price in (*antennas, *bucs) if price is None]
    missing += [] if costs.lease_mhz_month is not None else ["[costs] lease_mhz_month"]
    if missing:
        raise ValueError(
            f'[rules] pick = "cost" needs {missing[0]}, which is not given: give it (0 where it'
            ' costs nothing), or pick = "smallest"'
        )
