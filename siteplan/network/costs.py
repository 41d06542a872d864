"""``[[mounts]]`` and ``[costs]``: what kit and work cost, in the planner's own unit of money."""

from __future__ import annotations

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
    ballast: float | None = price_key("a kilogram of ballast")
    installation_pole: float | None = price_key("installing a site on a pole")
    installation_wall: float | None = price_key("installing a site on a wall bracket")
    installation_non_penetrating: float | None = price_key("installing a site on a ballasted frame")
    installation_ground: float | None = price_key("installing a site on a frame on the ground")
    installation_engineered: float | None = price_key("installing a site on an engineered mount")
    visit: float | None = price_key("one visit to a site, travel included")

    def installation(self, mount: str) -> float | None:
        """Return the price of installing a site on a kind of mount; None where none is given."""
        found: float | None = getattr(self, f"installation_{mount}", None)
        return found
