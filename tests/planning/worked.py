"""The chain's results up to the kit, for tests that look inside."""

from __future__ import annotations

from typing import NamedTuple

from siteplan.model import Sites
from siteplan.planning.kit.pick import Sizing
from siteplan.planning.link.ends import Links
from siteplan.planning.link.weather import Weather
from siteplan.planning.place import Place
from siteplan.planning.plan import equip, see
from siteplan.planning.setting import Setting


class Worked(NamedTuple):
    """Place, link, weather at the targets, and kit of sites (n,)."""

    at: Place
    link: Links
    weather: Weather
    sizing: Sizing


def work_out(sites: Sites, shared: Setting) -> Worked:
    """Return what the chain gives up to the kit."""
    seen = see(sites, shared)
    return Worked(*seen, equip(sites, seen, shared).sizing)
