"""Figures of years, months and long outages of sites with their kit, and what is told of them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from siteplan.arrays import Arrays, TextArray
from siteplan.messages import english
from siteplan.planning.certainty import fades, year
from siteplan.planning.kit.pick import Sizing
from siteplan.planning.link.availability import Availability
from siteplan.planning.place import Place
from siteplan.planning.step import Told, text_field


class Lasting(NamedTuple):
    """How the outage of sites falls on years and months, and how long each one lasts."""

    years: year.Years
    fades: fades.Fades

    @property
    def steps(self) -> tuple[Arrays, ...]:
        """The steps that give result fields."""
        return (self.years, self.fades)

    @property
    def notes(self) -> TextArray:
        """What is blank or rests on an end of a range, and why, in sentences (n,)."""
        return text_field(self._told(), english(), len(self.years.outage_pct))

    def _told(self) -> Iterator[Told]:
        yield from year.told(self.years)
        yield from fades.told(self.fades)


def lasting(at: Place, sizing: Sizing, achieved: Availability) -> Lasting:
    """Return how the outage of sites with their kit lasts, in the limiting direction."""
    inbound, network = sizing.inbound_limits, sizing.ways[0].link.network
    return Lasting(
        year.years(achieved, at.annual_pct, inbound, network.climate.ratio),
        fades.fades(sizing.ways, achieved.site_outage_pct, inbound, at.elevation_deg),
    )
